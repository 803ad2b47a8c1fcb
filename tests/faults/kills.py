"""Kill the server again and again while eight people record, and count what is left."""

import random
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from faults.crowd import Browser, Crowd
from faults.prepared import Prepared, prepare
from faults.record import Reader, Tally, tally
from faults.served import Served


@dataclass(frozen=True)
class Round:
    """One kill: what stood afterwards in the record, over all rounds of the same store."""

    tally: Tally
    sent_again: int
    other_answers: dict[int, int]
    said: dict[int, str]
    opened_in_s: float
    pages_work: bool
    told: str


def rounds(store: Prepared, times: int, chance: random.Random, kill_more: Callable[[int], None]) -> Iterator[Round]:
    """Start, record, kill at random, start again; `kill_more` may kill the database too, told which round it is.

    The server that is killed next is the one that opens the log after the last kill, and its pages are asked for.
    """
    crowd, reader, eye = Crowd(store), Reader(store), Browser(store.sessions[0])
    server = Served(store)
    try:
        for number in range(times):
            threads, _stop = crowd.begin(server.port)
            time.sleep(chance.uniform(0.05, 1.0))
            kill_more(number)
            server.kill()
            for each in threads:
                each.join(30)
            told = server.errors()
            acknowledged, attempted = crowd.acknowledged, crowd.attempted
            server = Served(store)
            found = reader.entries()
            eye.connect(server.port)
            pages = [eye.get(f"/{store.slug}{page}")[0] for page in ("", "/ropes", "/ropes/UG2")]
            yield Round(
                tally(acknowledged, attempted, found),
                crowd.sent_again,
                dict(crowd.other_answers),
                crowd.told,
                server.started_s,
                pages == [200, 200, 200],
                told,
            )
        last = _all_sent(crowd, server, reader)
        yield Round(
            last, crowd.sent_again, dict(crowd.other_answers), crowd.told, server.started_s, pages_work=True, told=""
        )
    finally:
        eye.close()
        server.stop()
        reader.close()


def _all_sent(crowd: Crowd, server: Served, reader: Reader) -> Tally:
    """What still waited is sent once more to a server that lives: now all that was ever sent is there, once."""
    threads, _stop = crowd.begin(server.port, most=1)
    for each in threads:
        each.join(60)
    found = reader.entries()
    assert set(found) == set(crowd.attempted), sorted(set(found) ^ set(crowd.attempted))
    return tally(crowd.acknowledged, crowd.attempted, found)


def nothing_more(_round: int) -> None:
    """Kill the server alone."""


def stores(
    folder: Path, times: int, each: int, more: Callable[[int], dict[str, str]]
) -> Iterator[tuple[Prepared, int]]:
    """Fresh stores for so many kills: a store that grew over hundreds of kills would only be slow to open."""
    for number in range(0, times, each):
        yield prepare(folder / str(number), more(number)), min(each, times - number)
