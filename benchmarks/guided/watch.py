"""Watches one reader while inputs are given to it: what got out of it, how long it took, how much memory."""

import hashlib
import json
import re
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

#: What a single input may take: seconds of the processor, and bytes beyond what the process had before the first.
MOST_S, MOST_BYTES = 10.0, 1024**3
#: A complaint is read by a person: longer ones are the file thrown back at them.
_MOST_LETTERS = 1500
#: What Python says of a value it cannot read, and no complaint should.
FOR_PROGRAMMERS = re.compile(
    r"Traceback|invalid literal|could not convert|has no attribute|not subscriptable|not enough values|isoformat|"
    r"strptime|time data|codec can|out of range|NoneType|KeyError|base 10|embedded null|list index|must be of type|"
    r"unsupported operand|unhashable|object is not|positional argument|mistake of its own|UNIQUE constraint"
)


class TooSlow(BaseException):
    """More than MOST_S seconds of the processor; no `except Exception` of a reader keeps it in."""


class NotInWords(AssertionError):
    """The complaint is empty, too long, or in words for programmers."""


class Watched:
    """An act on bytes with what it may complain with; faults are kept as files, each kind once."""

    def __init__(self, act: Callable[[bytes], object], complaints: tuple[type[Exception], ...], keep: Path) -> None:
        self._act, self._complaints, self._keep = act, complaints, keep
        self._told_at = 0.0
        self.state: dict[str, Any] = {"tried": 0, "read": 0, "slowest_s": 0.0, "faults": []}

    def limit(self) -> None:
        """From here on an input has so much time and memory and no more."""
        signal.signal(signal.SIGVTALRM, _too_slow)
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
        most = pages * resource.getpagesize() + MOST_BYTES
        resource.setrlimit(resource.RLIMIT_AS, (most, most))

    def __call__(self, data: bytes) -> None:
        """Give one input to the reader."""
        state, began = self.state, time.process_time()
        state["tried"] += 1
        signal.setitimer(signal.ITIMER_VIRTUAL, MOST_S)
        try:
            self._act(data)
            state["read"] += 1
        except self._complaints as error:
            self._in_words(error, data)
        except KeyboardInterrupt:
            raise
        except BaseException as error:  # whatever else gets out would reach somebody as a traceback
            self._fault(error, data)
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        took = time.process_time() - began
        if took > state["slowest_s"] + 0.005:
            state["slowest_s"] = took
            (self._keep / "slowest").write_bytes(data)
        if time.monotonic() - self._told_at > 1:
            self.tell()

    def tell(self) -> None:
        """Write down how far it is: libFuzzer ends the process without another word."""
        self._told_at = time.monotonic()
        self.state["most_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        beside = self._keep / "state.json.new"
        beside.write_text(json.dumps(self.state), "utf-8")
        beside.replace(self._keep / "state.json")

    def _in_words(self, error: Exception, data: bytes) -> None:
        words = str(error)
        found = FOR_PROGRAMMERS.search(words)
        if not words.strip() or len(words) > _MOST_LETTERS or found:
            try:
                raise NotInWords(f"{len(words)} letters, {found[0] if found else ''}: {words[:300]}") from error
            except NotInWords as wrong:
                self._fault(wrong, data)

    def _fault(self, error: BaseException, data: bytes) -> None:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        of: BaseException = error
        if isinstance(error, NotInWords):
            # What a complaint was made of tells one kind from another.
            of = error.__cause__ or error
            while of.__context__ is not None:
                of = of.__context__
        places = [each for each in traceback.extract_tb(of.__traceback__) if "guided/watch" not in each.filename]
        ours = [each for each in places if "/tethera/" in each.filename] or places
        where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "?"
        kind = f"{type(error).__name__} at {where}"
        if kind in self.state["faults"]:
            return
        self.state["faults"].append(kind)
        name = hashlib.sha256(kind.encode()).hexdigest()[:12]
        (self._keep / f"fault-{name}").write_bytes(data)
        words = "".join(traceback.format_exception(error)).encode("utf-8", "backslashreplace")
        (self._keep / f"fault-{name}.txt").write_bytes(words[-20_000:])
        sys.stderr.write(f"FAULT {kind}\n")
        self.tell()


def _too_slow(_number: int, _frame: FrameType | None) -> None:
    raise TooSlow(f"more than {MOST_S:g} s")
