"""Every command and option is in the manual, and the manual names no other."""

import argparse
import re
from collections.abc import Iterator
from pathlib import Path

from tethera.cli import parser

MANUAL = (Path(__file__).parents[2] / "docs" / "commands.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    """Each command's own parser."""
    actions = [a for a in parser.build()._actions if isinstance(a, argparse._SubParsersAction)]
    return dict(actions[0].choices)


def options() -> Iterator[tuple[str, str]]:
    """Each command with each of its long options."""
    for name, command in commands().items():
        for action in command._actions:
            yield from ((name, option) for option in action.option_strings if option.startswith("--"))


def test_every_command_is_in_the_manual() -> None:
    assert {name for name in commands() if f"`tethera {name}" not in MANUAL} == set()


def test_every_option_is_in_the_manual() -> None:
    assert {(name, option) for name, option in options() if f"`{option}" not in MANUAL and option != "--help"} == set()


def test_the_manual_names_only_options_that_exist() -> None:
    known = {option for _, option in options()}
    assert set(re.findall(r"--[a-z][a-z-]+", MANUAL)) <= known


def test_every_command_has_an_example_that_begins_with_its_own_name() -> None:
    for name, command in commands().items():
        assert f"Example:  tethera {name}" in (command.epilog or ""), name
