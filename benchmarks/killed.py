"""Kill what keeps the record, hundreds of times, while eight people record; count what is left.

python benchmarks/killed.py [--times 500] [--on sqlite postgresql file commands] [--seed 1]

SIGKILL at a random moment between 0.05 and 1 s after everybody began. On PostgreSQL every fifth time the whole database
server is killed as well, every seventh time one of its processes. Each line: how many times, how many entries were
acknowledged, how many of them are lost (must be 0), how many stand twice (must be 0). Exit status 1 if any is.
"""

import argparse
import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from faults import command_kills, file_kills, kills
from faults.prepared import prepare
from faults.record import Reader
from postgresql import Cluster, cluster

_PLACES = ("sqlite", "postgresql", "file", "commands")
#: After so many kills a fresh store: one that only grows would tell how long it takes to open a long log.
_EACH = 25


class Sum:
    """What all rounds came to."""

    def __init__(self, name: str) -> None:
        self.name, self.began = name, time.monotonic()
        self.killed = self.acknowledged = self.found = self.lost = self.twice = self.again = self.pages = 0
        self.answers: Counter[int] = Counter()
        self.slowest_s, self.more = 0.0, Counter[str]()

    def tell(self) -> bool:
        """Print it; whether nothing was lost."""
        answers = ", ".join(f"{times} × {status}" for status, times in sorted(self.answers.items())) or "none"
        more = ", ".join(f"{what} {times}" for what, times in self.more.items())
        print(
            f"{self.name}: killed {self.killed} times{f' ({more})' if more else ''}, acknowledged {self.acknowledged}, "
            f"found {self.found}, lost {self.lost}, twice {self.twice}, sent again {self.again}, "
            f"other answers {answers}, slowest start {self.slowest_s:.1f} s, pages did not work {self.pages} times, "
            f"{time.monotonic() - self.began:.0f} s in all",
            flush=True,
        )
        return not (self.lost or self.twice or self.pages)


def served(name: str, times: int, chance: random.Random, database: Cluster | None, seconds: float) -> bool:
    """Kill servers over SQLite, or over PostgreSQL with parts of it."""
    total = Sum(name)
    with tempfile.TemporaryDirectory(prefix="tethera-faults-") as folder:
        for number, (store, rounds) in enumerate(kills.stores(Path(folder), times, _EACH, _addresses(database))):
            more = _killer(database, chance, total.more, number * _EACH)
            last = None
            for each in kills.rounds(store, rounds, chance, more):
                total.slowest_s = max(total.slowest_s, each.opened_in_s)
                total.pages += not each.pages_work
                last = each
                if not each.tally.good:
                    print("  ", each.tally, flush=True)
                if set(each.other_answers) - {503}:
                    print("  ", each.said, each.told[-1500:], flush=True)
            assert last is not None
            total.killed += rounds
            total.acknowledged += last.tally.acknowledged
            total.found += last.tally.found
            total.lost += len(last.tally.lost) + len(last.tally.never_sent)
            total.twice += len(last.tally.twice)
            total.again += last.sent_again
            total.answers += Counter(last.other_answers)
            if time.monotonic() - total.began > seconds:
                break
    return total.tell()


def _addresses(database: Cluster | None) -> Callable[[int], dict[str, str]]:
    if database is None:
        return lambda _number: {}
    return lambda number: {"TETHERA_DATABASE": database.new_database(f"store{number}")}


def _killer(database: Cluster | None, chance: random.Random, told: Counter[str], before: int) -> Callable[[int], None]:
    def more(number: int) -> None:
        turn = number + before
        if database is None:
            return
        if turn % 5 == 4:
            database.kill()
            database.start()
            told["the whole PostgreSQL too"] += 1
        elif turn % 7 == 6 and (backends := database.backends()):
            os.kill(chance.choice(backends), signal.SIGKILL)
            told["one of its processes too"] += 1
            time.sleep(0.2)

    return more


def files(times: int, chance: random.Random, seconds: float) -> bool:
    """Kill those who write to a log in a file; every third time the last line is torn as by a power cut."""
    total = Sum("file of lines, all eight writers at once")
    with tempfile.TemporaryDirectory(prefix="tethera-faults-") as folder:
        for number in range(0, times, _EACH):
            path = Path(folder) / f"{number}.jsonl"
            last = None
            for tally, mended in file_kills.rounds(path, min(_EACH, times - number), chance):
                last = tally
                total.killed += 1
                total.more["mended on opening"] += bool(mended)
            assert last is not None
            total.acknowledged += last.acknowledged
            total.found += last.found
            total.lost += len(last.lost) + len(last.never_sent)
            total.twice += len(last.twice)
            if time.monotonic() - total.began > seconds:
                break
    return total.tell()


def commands(times: int, chance: random.Random, seconds: float) -> bool:
    """Kill single commands, four at once: half of the rounds on a store in files, half on one in SQLite."""
    good = _commands(True, times // 2, chance, seconds / 2)
    return _commands(False, times // 2, chance, seconds / 2) and good


def _commands(in_files: bool, times: int, chance: random.Random, seconds: float) -> bool:
    total = Sum(f"single commands, store {'in files' if in_files else 'in SQLite'}")
    with tempfile.TemporaryDirectory(prefix="tethera-faults-") as name:
        folder = Path(name) / "store"
        if in_files:
            folder.mkdir()
            read = command_kills.read_file(command_kills.one_rope(folder))
        else:
            reader = Reader(prepare(folder))
            read = lambda: (reader.entries(), "")  # noqa: E731
        last = None
        for each in command_kills.rounds(folder, times // command_kills.AT_ONCE, chance, read):
            last = each
            total.more["mended on opening"] += bool(each.repaired)
            if time.monotonic() - total.began > seconds:
                break
        if not in_files:
            reader.close()
    assert last is not None
    total.killed, total.acknowledged, total.found = last.cut_off, last.tally.acknowledged, last.tally.found
    total.lost, total.twice = len(last.tally.lost) + len(last.tally.never_sent), len(last.tally.twice)
    return total.tell()


def main(asked: Iterable[str] | None = None) -> int:
    """Everything, told as it comes."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=500)
    parser.add_argument("--on", nargs="+", choices=_PLACES, default=list(_PLACES))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=2400.0, help="longest time for each (2400)")
    words = parser.parse_args(None if asked is None else list(asked))
    good = True
    for each in words.on:
        chance = random.Random(words.seed)
        if each == "sqlite":
            good &= served("SQLite", words.times, chance, None, words.seconds)
        elif each == "file":
            good &= files(words.times, chance, words.seconds)
        elif each == "commands":
            good &= commands(words.times, chance, words.seconds)
        else:
            with cluster() as database:
                good &= served("PostgreSQL", words.times, chance, database, words.seconds)
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
