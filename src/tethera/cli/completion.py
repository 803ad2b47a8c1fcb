"""Completion scripts, made from the parser itself so that they never lag behind it."""

import argparse

import shtab

from tethera.cli import parser
from tethera.cli.main import DONE


def show(words: argparse.Namespace) -> int:
    """Print the completion script of one shell."""
    print(shtab.complete(parser.build(), shell=words.shell))
    return DONE
