"""The commands of buying and cutting. Only argparse is imported here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tethera.cli.parser_parts import millimetres, new_command, number, store_options, whole_number

if TYPE_CHECKING:
    import argparse

    from tethera.cli.parser_parts import Commands

HABITS = ("cut-then-soak", "soak-then-cut")


def buying_commands(commands: Commands) -> None:
    """Both of them."""
    _buy_command(commands)
    _cut_command(commands)


def _buy_command(commands: Commands) -> None:
    command = new_command(
        commands,
        "buy",
        "buying:run",
        "which lengths to buy for the routes you do, how to cut them, and what they cost",
        "tethera buy quillet.toml sorrowby.toml --at-once 2 --reel 200m@310 --reel 100yd@140",
    )
    command.add_argument("routes", nargs="*", metavar="ROUTE", help="route files, or routes of the store by name")
    command.add_argument("--lengths", metavar="LENGTHS", help="lengths the store must have: 20m,2x45m")
    command.add_argument("--at-once", type=whole_number, default=1, metavar="N", help="so many routes at once (1)")
    command.add_argument(
        "--together", action="append", default=[], metavar="A+B", help="routes that go at once, by number: 1+3; repeat"
    )
    command.add_argument(
        "--reel", action="append", default=[], metavar="LENGTH@POUNDS", help="a reel on offer: 200m@310, 2x100yd@140"
    )
    command.add_argument("--per-metre", metavar="POUNDS", help="price of a metre cut to length in the shop")
    command.add_argument("--spare", type=whole_number, default=0, metavar="N", help="so many ropes may be away (0)")
    command.add_argument("--ceiling", metavar="POUNDS", help="at most so much: what is lost then")
    command.add_argument("--until", metavar="DAY", help="ropes that leave service before it are not counted (today)")
    command.add_argument(
        "--years", type=whole_number, metavar="N", help="what N years from this one cost, year by year"
    )
    command.add_argument(
        "--limit", type=number, default=60.0, metavar="SECONDS", help="longest time to look for a cheaper list (60)"
    )
    _how(command)
    _which_rope(command)
    store_options(command)


def _cut_command(commands: Commands) -> None:
    command = new_command(
        commands,
        "cut",
        "cutting:run",
        "how to cut a reel into the lengths you want, both habits, around damage",
        "tethera cut 40 40 55 20 --reel 200m --cut 25m=22.6m",
    )
    command.add_argument("wanted", nargs="+", metavar="LENGTH", help="lengths to be left after the wash: 40, 2x45m")
    command.add_argument("--reel", action="append", default=[], metavar="LENGTH", help="a reel at hand: 200m; repeat")
    command.add_argument("--rope", metavar="NUMBER", help="cut this rope or reel of the store")
    command.add_argument("--soaked", action="store_true", help="the reel is soaked, dried and measured already")
    command.add_argument(
        "--damaged", action="append", default=[], metavar="PLACE", help="cut around this place: 70m from its outer end"
    )
    command.add_argument(
        "--cut", action="append", default=[], metavar="CUT=LEFT", help="cut already, and measured: 25m=22.6m, or 25m"
    )
    _how(command)
    _which_rope(command)
    store_options(command)


def _how(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--confidence", type=number, default=95.0, metavar="PERCENT", help="how sure of all of it together (95)"
    )
    command.add_argument("--habit", choices=HABITS, default=HABITS[0], help="cut long and soak, or soak the reel first")
    command.add_argument("--step", metavar="LENGTH", help="pieces are cut in multiples of this (1m)")


def _which_rope(command: argparse.ArgumentParser) -> None:
    command.add_argument("--material", metavar="MATERIAL", help="nylon or polyester (nylon, which shrinks more)")
    command.add_argument("--diameter", type=millimetres, metavar="MM", help="diameter of the new rope")
    command.add_argument("--type", choices=("A", "B", "dynamic"), help="type of the new rope")
