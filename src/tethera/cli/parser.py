"""The commands and their words. Only argparse is imported here: help and completion must come at once."""

from __future__ import annotations

import argparse
import textwrap
from typing import TYPE_CHECKING

from tethera import __version__

if TYPE_CHECKING:
    _Commands = argparse._SubParsersAction[argparse.ArgumentParser]

_STORE_HELP = "folder of the store (else TETHERA_STORE, else your user data folder)"
_CAUTION = (
    "Lengths are estimates for trained people, who decide on the rope. Follow the maker's leaflet, local law and "
    "the competent person."
)


def build() -> argparse.ArgumentParser:
    """The whole command line. Each command names the function that runs it, imported when it is run."""
    parser = argparse.ArgumentParser(
        prog="tethera",
        description="Which ropes rig which pitch, why, and in which bag; and what happened to each rope.",
        epilog=_CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"tethera {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True, title="commands")
    _store_commands(commands)
    _exchange_commands(commands)
    _route_commands(commands)
    _other_commands(commands)
    return parser


def _command(commands: _Commands, name: str, run: str, what: str, example: str) -> argparse.ArgumentParser:
    command = commands.add_parser(
        name,
        help=what,
        description=what[0].upper() + what[1:] + ".",
        epilog=f"Example:  {example}\n\n" + textwrap.fill(_CAUTION, 79),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.set_defaults(run=run)
    command.add_argument("--json", action="store_true", help="answer as JSON, keys as in docs/json.md")
    return command


def _store_commands(commands: _Commands) -> None:
    command = _command(
        commands,
        "import",
        "store_in:import_spreadsheet",
        "bring ropes in from a spreadsheet as it is, each doubtful cell shown first",
        "tethera import ropes.xlsx --code UG --owner 'Ulvergarth Caving Club' --dry-run",
    )
    command.add_argument("file", help="spreadsheet: .xlsx, .xls, .ods or .csv; or a store exported by tethera")
    command.add_argument("--dry-run", action="store_true", help="show what would be recorded, record nothing")
    command.add_argument("--sheet", help="name of the sheet, if the file has several (else the first with ropes)")
    command.add_argument("--code", help="letters before each rope's number, for a new store: UG gives UG1")
    command.add_argument("--owner", help="whose ropes these are, for a new store")
    _store_options(command)
    command = _command(
        commands,
        "ropes",
        "store_out:list_ropes",
        "list the ropes: length, kind, state, what is doubted",
        "tethera ropes ready 10mm",
    )
    command.add_argument("words", nargs="*", help="show only ropes with all these words (state, number, 10mm, maker)")
    _store_options(command)
    command = _command(
        commands, "rope", "store_out:one_rope", "tell one rope's whole life and what is doubted", "tethera rope UG41"
    )
    command.add_argument("rope", help="rope number, as UG41 or 41")
    _store_options(command)
    command = _command(
        commands,
        "record",
        "store_in:record",
        "record what was done to ropes; a fact is never refused, only doubted",
        "tethera record measured UG41 length=28.6m --on 2026-11-20",
    )
    command.add_argument("what", nargs="?", help="what was done, as washed, measured, retired; leave out to list them")
    command.add_argument("words", nargs="*", help="rope numbers, then details as name=value")
    command.add_argument("--on", help="when it happened: a day, a month or a year (else today)")
    _store_options(command)


def _exchange_commands(commands: _Commands) -> None:
    command = _command(
        commands,
        "export",
        "exchange:export",
        "write all that happened in a store into one file, to read elsewhere or to bring back",
        "tethera export --out ulvergarth.xlsx",
    )
    command.add_argument("--out", required=True, metavar="FILE", help="where to write, .jsonl, .xlsx or .csv")
    command.add_argument("--as", dest="form", choices=("jsonl", "xlsx", "csv"), help="form (else the name's ending)")
    _store_options(command)
    command = _command(
        commands,
        "backup",
        "backup:write",
        "write everything of the store's folder into one zip file: records, photographs, accounts",
        "tethera backup --out ulvergarth.zip",
    )
    command.add_argument("--out", metavar="FILE", help="where to write (tethera-backup-DAY-TIME.zip)")
    _store_options(command)
    command = _command(
        commands,
        "restore",
        "backup:restore",
        "make a new folder from a backup, after checking all of it",
        "tethera restore ulvergarth.zip --store ulvergarth",
    )
    command.add_argument("file", help="backup written by tethera backup")
    _store_options(command)


def _route_commands(commands: _Commands) -> None:
    command = _command(
        commands,
        "needs",
        "routes:needs",
        "metres each pitch of a route takes, and why",
        "tethera needs quillet.toml --why",
    )
    command.add_argument("route", help="route file (.toml) or spreadsheet of pitches (.xlsx, .ods, .csv)")
    command.add_argument("--why", action="store_true", help="every leg, knot and loop, with its source")
    _confidence(command)
    _store_options(command)
    for name, run, what, example in (
        (
            "plan",
            "trips:plan",
            "choose the ropes for one or several trips, and say why",
            "tethera plan quillet.toml sorrowby.toml --on 2026-12-05 --take 41@2 --leave 17",
        ),
        (
            "sheet",
            "trips:sheet",
            "print the rigging sheet to take underground (PDF)",
            "tethera sheet quillet.toml --out quillet.pdf",
        ),
        (
            "bags",
            "trips:bags",
            "pack the bags in order of use and print the packing list (PDF)",
            "tethera bags quillet.toml --party 4 --out bags.pdf",
        ),
    ):
        _planning_options(_command(commands, name, run, what, example), out=name != "plan")


def _planning_options(command: argparse.ArgumentParser, *, out: bool) -> None:
    command.add_argument("routes", nargs="+", metavar="ROUTE", help="route files, one trip each, planned together")
    command.add_argument(
        "--on",
        action="append",
        metavar="DAY",
        help="day of the trip, 2026-12-05 or 2026-12-05/2026-12-06; repeat, one a ROUTE",
    )
    command.add_argument("--party", type=_whole_number, help="cavers on each trip (else the route's own, else 4)")
    command.add_argument(
        "--take",
        action="append",
        default=[],
        metavar="ROPE@PITCH",
        help="use this rope on that pitch: 41@2, or UG41@2; with several trips 41@ROUTE:2",
    )
    command.add_argument("--leave", action="append", default=[], metavar="ROPE", help="do not use this rope")
    command.add_argument(
        "--prefer",
        choices=("least-left-over", "long-ropes-kept"),
        default="least-left-over",
        help="what to do with the freedom that 1 %% more mass gives",
    )
    command.add_argument(
        "--limit", type=_number, default=60.0, metavar="SECONDS", help="longest time to look for a better plan (60)"
    )
    _confidence(command)
    if out:
        command.add_argument("--out", metavar="FILE", help="where to write the PDF")
    _store_options(command)


def _confidence(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--confidence",
        type=float,
        default=95.0,
        metavar="PERCENT",
        help="how sure that no rope of the trip is short (95)",
    )


def _number(text: str) -> float:
    try:
        return float(text.replace(",", ".").removesuffix("%"))
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a number") from None


def _whole_number(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is not a whole number") from None


def _other_commands(commands: _Commands) -> None:
    command = _command(
        commands,
        "demo",
        "demo:run",
        "run the whole job on an invented store, into a folder",
        "tethera demo --into demo-out",
    )
    command.add_argument("--into", default="demo-out", metavar="FOLDER", help="where to write (demo-out)")
    command = _command(
        commands,
        "serve",
        "serving:run",
        "open the store in the browser, for this machine or for all in the room",
        "tethera serve --listen 0.0.0.0:8017",
    )
    command.add_argument(
        "--listen",
        default="127.0.0.1:8017",
        metavar="ADDRESS:PORT",
        help="who may come: 127.0.0.1:8017 this machine only, 0.0.0.0:8017 every phone in the same network",
    )
    command.add_argument("--open", action="store_true", help="open the first page in the browser")
    _store_options(command)
    command = _command(
        commands,
        "completion",
        "completion:show",
        "print the completion script of your shell",
        "tethera completion bash > ~/.local/share/bash-completion/completions/tethera",
    )
    command.add_argument("shell", choices=("bash", "zsh", "tcsh"))


def _store_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--store", metavar="FOLDER", help=_STORE_HELP)
    command.add_argument("--by", metavar="NAME", help="who acts (else your user name)")
