"""The commands and their words. Only argparse is imported here: help and completion must come at once."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tethera import __version__
from tethera.cli.parser_buying import buying_commands
from tethera.cli.parser_parts import CAUTION, new_command, number, store_options, whole_number
from tethera.cli.parser_rope import rope_commands
from tethera.cli.parser_store import exchange_commands, mark_command, store_commands

if TYPE_CHECKING:
    from tethera.cli.parser_parts import Commands


def build() -> argparse.ArgumentParser:
    """The whole command line. Each command names the function that runs it, imported when it is run."""
    parser = argparse.ArgumentParser(
        prog="tethera",
        description="Which ropes rig which pitch, why, and in which bag; and what happened to each rope.",
        epilog=CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"tethera {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True, title="commands")
    store_commands(commands)
    mark_command(commands)
    exchange_commands(commands)
    _route_commands(commands)
    rope_commands(commands)
    buying_commands(commands)
    _other_commands(commands)
    return parser


def _route_commands(commands: Commands) -> None:
    command = new_command(
        commands,
        "needs",
        "routes:needs",
        "metres each pitch of a route takes, and why",
        "tethera needs quillet.toml --why",
    )
    command.add_argument(
        "route",
        help="route file (.toml), spreadsheet of pitches, or a route of the store by its name",
    )
    command.add_argument("--why", action="store_true", help="every leg, knot and loop, with its source")
    _confidence(command)
    store_options(command)
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
        _planning_options(new_command(commands, name, run, what, example), out=name != "plan")


def _planning_options(command: argparse.ArgumentParser, *, out: bool) -> None:
    command.add_argument(
        "routes",
        nargs="+",
        metavar="ROUTE",
        help="route files, or routes of the store by name; one trip each",
    )
    command.add_argument(
        "--on",
        action="append",
        metavar="DAY",
        help="day of the trip, 2026-12-05 or 2026-12-05/2026-12-06; repeat, one a ROUTE",
    )
    command.add_argument("--party", type=whole_number, help="cavers on each trip (else the route's own, else 4)")
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
        "--limit", type=number, default=60.0, metavar="SECONDS", help="longest time to look for a better plan (60)"
    )
    _confidence(command)
    if out:
        command.add_argument("--out", metavar="FILE", help="where to write the PDF")
    store_options(command)


def _confidence(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--confidence",
        type=float,
        default=95.0,
        metavar="PERCENT",
        help="how sure that no rope of the trip is short (95)",
    )


def _other_commands(commands: Commands) -> None:
    command = new_command(
        commands,
        "demo",
        "demo:run",
        "run the whole job on an invented store, into a folder",
        "tethera demo --into demo-out",
    )
    command.add_argument("--into", default="demo-out", metavar="FOLDER", help="where to write (demo-out)")
    command = new_command(
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
    store_options(command)
    command = new_command(
        commands,
        "work",
        "serving:work",
        "do long work beside pages that other processes serve; run as many as there are cores",
        "tethera work --store /var/lib/tethera",
    )
    store_options(command)
    command = new_command(
        commands,
        "completion",
        "completion:show",
        "print the completion script of your shell",
        "tethera completion bash > ~/.local/share/bash-completion/completions/tethera",
    )
    command.add_argument("shell", choices=("bash", "zsh", "tcsh"))
