"""Kill single commands of the terminal at any moment, several at once on one store, and count what is left."""

import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from faults.prepared import clean
from faults.record import Tally, numbered, tally
from tethera.basics import PartialDate
from tethera.store import Bought, FileLog, Register

AT_ONCE = 4
#: When, by how long the same takes when nobody is killed: while it starts, while it writes, after it has answered.
_FROM, _TO = 0.2, 1.5


@dataclass(frozen=True)
class Killed:
    """After a round: all that was acknowledged and found so far, how many commands were cut off, and what was torn."""

    tally: Tally
    cut_off: int
    repaired: str


def rounds(
    folder: Path, times: int, chance: random.Random, read: Callable[[], tuple[list[str], str]]
) -> Iterator[Killed]:
    """`times` rounds of four commands at once, each killed at a moment of its own; `read` tells the numbered entries.

    The first round is left alone: it shows how long they take.
    """
    acknowledged: list[str] = []
    attempted: list[str] = []
    cut_off, takes_s = 0, 60.0
    for number in range(times + 1):
        names = [f"{who}-{number}" for who in range(AT_ONCE)]
        begun = time.monotonic()
        running = [
            (name, _record(folder, name), begun + (takes_s * chance.uniform(_FROM, _TO) if number else takes_s))
            for name in names
        ]
        attempted += names
        for name, command, until in sorted(running, key=lambda each: each[2]):
            ended, said = _killed_at(command, until)
            acknowledged += [name] if ended == 0 else []
            cut_off += ended == -signal.SIGKILL
            assert ended in (0, -signal.SIGKILL), f"{name} ended with {ended}: {said}"
        if not number:
            takes_s = time.monotonic() - begun
        found, repaired = read()
        yield Killed(tally(acknowledged, attempted, found), cut_off, repaired)


def _record(folder: Path, name: str) -> "subprocess.Popen[bytes]":
    command = [sys.executable, "-m", "tethera.cli.main", "record", "washed", "UG1", "how=hand", f"note=no {name}."]
    return subprocess.Popen(
        [*command, "--store", str(folder)], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=clean()
    )


def _killed_at(command: "subprocess.Popen[bytes]", until: float) -> tuple[int, str]:
    """How it ended, and what it said of it."""
    try:
        _, said = command.communicate(timeout=max(until - time.monotonic(), 0.0))
    except subprocess.TimeoutExpired:
        command.kill()
        _, said = command.communicate(timeout=30)
    return command.returncode, said.decode()


def one_rope(folder: Path) -> Path:
    """The log of a new store in files with one rope in it."""
    path = folder / "events.jsonl"
    bought = Bought(rope="UG1", happened=PartialDate(2024, 5, 1), length_cm=4400)
    Register(FileLog(path)).record(bought, recorded=datetime.now(UTC))
    return path


def read_file(path: Path) -> Callable[[], tuple[list[str], str]]:
    """Opens a log in a file anew each time, as the next command would."""

    def read() -> tuple[list[str], str]:
        log = FileLog(path)
        notes = [getattr(each.event, "note", None) or "" for each in log.read()]
        return numbered(notes), log.repair or ""

    return read
