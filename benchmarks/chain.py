"""What the chain costs: recording and opening a long log with it and without it, as ratios within one run.

.venv/bin/python -m benchmarks.chain
"""

import json
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from benchmarks.big_store import events

from tethera.store import GENESIS, Chain, FileLog, Fold, decode_recorded, encode_recorded, encode_to_keep, linked

TIMES, APPENDS = 3, 300


def seconds(what: Callable[[], object]) -> float:
    """The middle of some runs [s]."""
    found = []
    for _ in range(TIMES):
        began = time.perf_counter()
        what()
        found.append(time.perf_counter() - began)
    return statistics.median(found)


def main() -> None:
    """Print one table."""
    plain = list(events())
    chained = list(linked(plain, GENESIS))
    without = [json.dumps(encode_recorded(each)) for each in plain]
    carried = [json.dumps(encode_recorded(each)) for each in chained]

    def opened(lines: list[str]) -> None:
        Fold(decode_recorded(json.loads(line)) for line in lines).ids()

    def encoded() -> None:
        for each in plain:
            json.dumps(encode_to_keep(each))

    def encoded_in_chain() -> None:
        for each in plain:
            encode_to_keep(each)
        for each in linked(plain, GENESIS):
            json.dumps(encode_recorded(each))

    rows = {
        "read and folded": (seconds(lambda: opened(without)), seconds(lambda: opened(carried))),
        "made ready to write, without the disk": (seconds(encoded), seconds(encoded_in_chain)),
    }
    print(f"{len(plain):,} events")
    for name, (bare, with_it) in rows.items():
        print(f"{name}: {bare:.2f} s without, {with_it:.2f} s with the chain, {with_it / bare:.2f} times")
    print(f"walked through (tethera verify): {seconds(lambda: Chain().extend(chained)):.2f} s")
    for length in (1_000, 100_000):
        print(f"one append to a file of {length:,} events: {1000 * _append_s(carried[:length]):.2f} ms")


def _append_s(lines: list[str]) -> float:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.jsonl"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        log, more = FileLog(path), list(events(1, 20))[-1:]
        length, found = len(log.read()), []
        for _ in range(APPENDS):
            began = time.perf_counter()
            log.append(length, more)
            found.append(time.perf_counter() - began)
            length += 1
    return statistics.median(found)


if __name__ == "__main__":
    main()
