"""What all commands have in common: their help, their store, numbers as typed. Only argparse is imported here."""

from __future__ import annotations

import argparse
import textwrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

CAUTION = (
    "Lengths are estimates for trained people, who decide on the rope. Follow the maker's leaflet, local law and "
    "the competent person."
)
_STORE_HELP = "folder of the store (else TETHERA_STORE, else your user data folder)"


def new_command(commands: Commands, name: str, run: str, what: str, example: str) -> argparse.ArgumentParser:
    """A command with its help; `run` is the module and function of this room that run it."""
    command = commands.add_parser(
        name,
        help=what,
        description=what[0].upper() + what[1:] + ".",
        epilog=f"Example:  {example}\n\n" + textwrap.fill(CAUTION, 79),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.set_defaults(run=run)
    command.add_argument("--json", action="store_true", help="answer as JSON, keys as in docs/json.md")
    return command


def store_options(command: argparse.ArgumentParser) -> None:
    """Which store, and who acts."""
    command.add_argument("--store", metavar="FOLDER", help=_STORE_HELP)
    command.add_argument("--by", metavar="NAME", help="who acts (else your user name)")


def number(text: str) -> float:
    """A number as people write it, with a comma too."""
    try:
        return float(text.replace(",", ".").removesuffix("%"))
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a number") from None


def millimetres(text: str) -> float:
    """A number that may bear its unit: 10.5mm."""
    return number(text.strip().lower().removesuffix("mm"))


def whole_number(text: str) -> int:
    """A whole number."""
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a whole number") from None
