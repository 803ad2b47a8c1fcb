"""Completion scripts, made from the parser itself so that they never lag behind it."""

import argparse
import json

import shtab

from tethera.cli import parser
from tethera.cli.main import DONE


def show(words: argparse.Namespace) -> int:
    """Print the completion script of one shell."""
    script = shtab.complete(parser.build(), shell=words.shell)
    print(json.dumps({"shell": words.shell, "script": script}) if words.json else script)
    return DONE
