"""The words of the commands about what rope does. Only argparse is imported here: help and completion come at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tethera.cli.parser_parts import millimetres, new_command, number, store_options, whole_number

if TYPE_CHECKING:
    import argparse

    from tethera.cli.parser_parts import Commands

SCENARIOS = ("backup", "rebelay", "cowstail", "traverse")


def rope_commands(commands: Commands) -> None:
    """All of them."""
    shrink_command(commands)
    buy_length_command(commands)
    stretch_command(commands)
    fall_command(commands)
    anchor_command(commands)
    loads_command(commands)


def shrink_command(commands: Commands) -> None:
    """What new rope loses."""
    command = new_command(
        commands,
        "shrink",
        "shrinkage:tell",
        "what each kind of rope loses in its first washes, as the store has measured it",
        "tethera shrink --kind 9.5mm --reel 200m",
    )
    _which_kind(command)
    command.add_argument("--reel", metavar="LENGTH", help="tell what a reel of this length will give (100m)")
    store_options(command)


def buy_length_command(commands: Commands) -> None:
    """How long to buy."""
    command = new_command(
        commands,
        "buy-length",
        "buy_length:run",
        "how long to buy a rope so that enough is left after its first washes, or for life",
        "tethera buy-length 40 --confidence 95 --rope 41",
    )
    command.add_argument("left", metavar="LENGTH", help="length that is to be left: 40, 40m, 130ft")
    command.add_argument(
        "--confidence", type=number, default=95.0, metavar="PERCENT", help="how sure that it is left (95)"
    )
    _which_kind(command)
    command.add_argument("--material", metavar="MATERIAL", help="of rope not in the store: nylon, polyester (nylon)")
    command.add_argument("--ropes", type=whole_number, default=1, metavar="N", help="so many, all long enough (1)")
    command.add_argument("--for-life", action="store_true", help="left at the end of its life")
    command.add_argument("--uses", type=number, metavar="N", help="left after so many uses")
    command.add_argument("--washed", action="store_true", help="it is washed and counted: only use still takes length")
    store_options(command)


def _which_kind(command: argparse.ArgumentParser) -> None:
    command.add_argument("--kind", metavar="WORDS", help="kinds whose name has these words: 9.5mm, a product")
    command.add_argument("--rope", metavar="NUMBER", help="the kind of this rope of the store")


def stretch_command(commands: Commands) -> None:
    """Where a hanging rope's foot is."""
    command = new_command(
        commands,
        "stretch",
        "stretch:run",
        "how far a hanging rope stretches, what reaches a floor, and what a rebelay's loop needs",
        "tethera stretch 40m --length 41m --mass 95",
    )
    command.add_argument("depth", metavar="DEPTH", help="from the anchor to the floor or the rebelay: 40m, 130ft")
    command.add_argument("--length", metavar="LENGTH", help="rope below the anchor, washed, without its knots")
    command.add_argument("--at", metavar="LENGTH", help="rope from the anchor to the caver (else all of it)")
    command.add_argument("--loop", metavar="LENGTH", help="slack wanted in a rebelay's loop afterwards (0.8m)")
    _who_and_what(command)
    command.add_argument("--g-per-m", type=number, metavar="GRAMS", help="mass of a metre of dry rope")
    store_options(command)


def fall_command(commands: Commands) -> None:
    """The force that stops a fall."""
    command = new_command(
        commands,
        "fall",
        "falls:run",
        "the force that stops a fall: a backup takes over, a rebelay fails, a cow's tail, a traverse",
        "tethera fall rebelay --hang 5m --slack 1.5m --rope 41",
    )
    command.add_argument("scenario", choices=SCENARIOS, help="what happens")
    for option, what in (
        ("--link", "backup: rope from the main anchor to the backup, knot to knot (0.5m)"),
        ("--below", "backup, rebelay: rope from the anchor that fails down to the caver (2m, 0.5m)"),
        ("--backup-above", "backup: height of the backup above the main anchor (0m)"),
        ("--hang", "rebelay: from the anchor above down to the rebelay (10m)"),
        ("--slack", "rebelay: rope in the loop beyond that (1m); traverse: rope beyond the span (0.2m)"),
        ("--tail", "cowstail, traverse: length of the cow's tail (0.5m)"),
        ("--above", "cowstail, traverse: height of the harness above anchor or line (0m); --above=-0.2m below"),
        ("--span", "traverse: between its two anchors (3m)"),
    ):
        command.add_argument(option, metavar="LENGTH", help=what)
    command.add_argument("--measured", action="store_true", help="the slack was measured, not guessed")
    command.add_argument("--used", action="store_true", help="the rope has been used much: 20 %% more at the high end")
    _who_and_what(command)
    command.add_argument(
        "--impact-force", type=number, metavar="KN", help="peak force of its drop test, as the maker's leaflet says"
    )
    command.add_argument("--tail-of", choices=("dynamic", "A", "B", "tape"), help="what the cow's tail is (dynamic)")
    store_options(command)


def anchor_command(commands: Commands) -> None:
    """What an anchor is asked to hold."""
    command = new_command(
        commands,
        "anchor",
        "anchors:run",
        "what an anchor is asked to hold: a Y-hang, deviations, a traverse line, and what a failure brings",
        "tethera anchor y --apart 1.2m --leg 0.8m --leg 0.9m --rating 12",
    )
    command.add_argument("rigged", choices=("y", "deviation", "traverse"), help="what is rigged")
    command.add_argument("--apart", metavar="LENGTH", help="y: between its two anchors, across (1m)")
    command.add_argument("--higher", metavar="LENGTH", help="y: the second anchor higher by (0m); --higher=-0.2m lower")
    command.add_argument("--leg", action="append", metavar="LENGTH", help="y: a leg, anchor to knot; repeat (0.8m)")
    command.add_argument(
        "--place", action="append", metavar="ACROSS,OUT,UP", help="y: where an anchor is, in metres; one a leg"
    )
    command.add_argument(
        "--aside", type=number, default=0.0, metavar="DEGREES", help="y: pull to the right of straight down (0)"
    )
    command.add_argument(
        "--at", action="append", metavar="ASIDE,DOWN,SLING", help="deviation: in metres, from the anchor above; repeat"
    )
    command.add_argument("--span", metavar="LENGTH", help="traverse: between its anchors, level (3m)")
    command.add_argument("--slack", metavar="LENGTH", help="traverse: rope beyond the straight line (a twentieth)")
    command.add_argument("--drop", metavar="LENGTH", help="traverse: the far end lower by (0m)")
    command.add_argument("--above", metavar="LENGTH", help="traverse: harness above the line when falling (0m)")
    command.add_argument("--rating", type=number, metavar="KN", help="what each anchor is declared to hold (none)")
    command.add_argument("--mass", type=number, default=100.0, metavar="KG", help="the caver with bags and kit (100)")
    command.add_argument("--rope", metavar="NUMBER", help="a rope of the store: its type")
    command.add_argument("--type", choices=("A", "B", "dynamic"), help="type of the rope (else of --rope)")
    command.add_argument("--wet", action="store_true", help="the rope is wet")
    command.add_argument("--used", action="store_true", help="the rope has been used")
    store_options(command)


def loads_command(commands: Commands) -> None:
    """Every anchor of a route."""
    command = new_command(
        commands,
        "loads",
        "anchors:loads",
        "every anchor of a route: its loads and its worst fall, the bad ones first",
        "tethera loads quillet.toml --type A",
    )
    command.add_argument(
        "route", help="route file (.toml), spreadsheet of pitches, or a route of the store by its name"
    )
    command.add_argument("--mass", type=number, metavar="KG", help="one caver with bags and kit (100)")
    command.add_argument("--type", choices=("A", "B", "dynamic"), help="type of the rope (not declared: the stiffest)")
    store_options(command)


def _who_and_what(command: argparse.ArgumentParser) -> None:
    command.add_argument("--mass", type=number, default=85.0, metavar="KG", help="the caver with bags and kit (85)")
    command.add_argument("--rope", metavar="NUMBER", help="a rope of the store: its type, diameter, mass and length")
    command.add_argument("--type", choices=("A", "B", "dynamic"), help="type of the rope (else of --rope, else B)")
    command.add_argument("--diameter", type=millimetres, metavar="MM", help="diameter, for its mass (10)")
    command.add_argument(
        "--elongation", type=number, metavar="PERCENT", help="elongation from 50 to 150 kg, as the maker's leaflet says"
    )
    command.add_argument("--wet", action="store_true", help="the rope is wet")
