"""The `tethera` command: read the words, run the command, turn each kind of error into its exit status once.

Exit status: 0 done, 1 cannot be done (the reason is printed), 2 the input was wrong.
"""

import importlib
import sys
from collections.abc import Callable, Sequence
from typing import Any, cast

DONE, CANNOT, WRONG_INPUT = 0, 1, 2


def run() -> None:
    """Entry point of the console script."""
    sys.exit(main(sys.argv[1:]))


def main(argv: Sequence[str]) -> int:
    """Run one command and give its exit status."""
    from tethera.cli import parser

    words = parser.build().parse_args(argv)
    module, function = words.run.split(":")
    try:
        command = getattr(importlib.import_module(f"tethera.cli.{module}"), function)
        return cast(Callable[[Any], int], command)(words)
    except BrokenPipeError:
        # The reader of our output went away (| head): nothing more to say to anybody.
        sys.stderr.close()
        return DONE
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped. Nothing was half-written.\n")
        return CANNOT
    except Exception as error:
        from tethera.cli.errors import tell

        return tell(error)


if __name__ == "__main__":
    run()
