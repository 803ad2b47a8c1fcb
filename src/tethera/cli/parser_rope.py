"""The words of the commands about what rope does. Only argparse is imported here: help and completion come at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tethera.cli.parser_parts import millimetres, new_command, number, store_options

if TYPE_CHECKING:
    import argparse

    from tethera.cli.parser_parts import Commands

SCENARIOS = ("backup", "rebelay", "cowstail", "traverse")


def rope_commands(commands: Commands) -> None:
    """All of them."""
    stretch_command(commands)
    fall_command(commands)


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


def _who_and_what(command: argparse.ArgumentParser) -> None:
    command.add_argument("--mass", type=number, default=85.0, metavar="KG", help="the caver with bags and kit (85)")
    command.add_argument("--rope", metavar="NUMBER", help="a rope of the store: its type, diameter, mass and length")
    command.add_argument("--type", choices=("A", "B", "dynamic"), help="type of the rope (else of --rope, else B)")
    command.add_argument("--diameter", type=millimetres, metavar="MM", help="diameter, for its mass (10)")
    command.add_argument(
        "--elongation", type=number, metavar="PERCENT", help="elongation from 50 to 150 kg, as the maker's leaflet says"
    )
    command.add_argument("--wet", action="store_true", help="the rope is wet")
