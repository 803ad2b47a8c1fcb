"""The exact end of cutting in a process of its own, so that it can use the second core and be stopped whatever it does.

The integer solver looks at its time limit only now and then and has overrun one tenfold; a process can be ended.
Run by itself: a question comes in, pickled, an answer goes out.
"""

import pickle
import subprocess
import sys
import threading
from typing import Any

from tethera.planning.stock.exact import Answer, Question, answer


class Apart:
    """One question asked of another process; `done` tells whether it has answered or failed."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.answer: Answer | None = None
        self._process = subprocess.Popen(
            [sys.executable, __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        self._thread = threading.Thread(target=self._wait, daemon=True)
        self._thread.start()

    def _wait(self) -> None:
        out, _ = self._process.communicate(pickle.dumps(self.question))
        if self._process.returncode == 0 and out:
            got: Any = pickle.loads(out)
            self.answer = got

    @property
    def done(self) -> bool:
        """Whether there is nothing more to wait for."""
        return not self._thread.is_alive()

    def wait(self, seconds: float) -> bool:
        """Wait so long for it [s]; whether it is done."""
        self._thread.join(max(seconds, 0.0))
        return self.done

    def stop(self) -> None:
        """End the process, whatever it is doing."""
        if self._process.poll() is None:
            self._process.kill()
        self._thread.join(5.0)


def main() -> None:
    """Answer the question on standard input."""
    question: Question = pickle.loads(sys.stdin.buffer.read())
    got = answer(question.cut, question.proofs, question.least, question.target, question.seconds)
    sys.stdout.buffer.write(pickle.dumps(got))


if __name__ == "__main__":
    main()
