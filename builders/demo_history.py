"""Write the four years of events of the demo store: src/tethera/cli/demo_data/history.jsonl.

    python builders/demo_history.py

Everything is invented. The store begins with its spreadsheet (ropes.csv beside the history); these are the facts
recorded since: trips most weekends, washing, drying and checking after each, new reels cut up, the yearly stocktake
with every rope measured, and the few ropes that the demo is about. The seed is fixed, so that the file only changes
with this script.
"""

import json
import random
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from tethera.basics import PartialDate, read_workbook
from tethera.store import (
    Bought,
    Cut,
    Dried,
    Event,
    Inspected,
    LeftRigged,
    Marked,
    Measured,
    Piece,
    PutIntoService,
    Recorded,
    RecordedAsFound,
    Returned,
    SetAside,
    Stocktaken,
    TakenOut,
    Used,
    Washed,
    encode_recorded,
    rows_to_events,
)

DEMO = Path(__file__).parents[1] / "src" / "tethera" / "cli" / "demo_data"
SPREADSHEET = DEMO / "ropes.csv"
HISTORY = DEMO / "history.jsonl"
BEGIN, END = date(2022, 11, 5), date(2026, 11, 22)
KEEPER, INSPECTOR = "p1", "p2"
MEMBERS = ("p3", "p4", "p5", "p6", "p7")
#: What is left of each length on the spreadsheet at the first count, and what each later year takes.
FIRST_COUNT, EACH_YEAR = (0.93, 0.985), (0.985, 0.998)
CAVES = {"Pewter Hole": 4, "Great Marrowgill": 6, "Sallowthwaite Pot": 5, "the practice wall": 3}


class Chronicle:
    """Events in the order they were recorded, and the lengths as they really are."""

    def __init__(self) -> None:
        self.lines: list[Recorded] = []
        self.random = random.Random(31)
        self.length_cm: dict[str, float] = {}
        self.last_seen: dict[str, date] = {}

    def record(self, event: Event, on: date, by: str = KEEPER) -> None:
        """Write one event down in the evening of a day."""
        moment = datetime(on.year, on.month, on.day, 19, 0, tzinfo=UTC) + timedelta(seconds=len(self.lines) % 3000)
        self.lines.append(Recorded(event, moment, by))

    def label_m(self, rope: str) -> int:
        """Whole metres that both ends may say."""
        return int(self.length_cm[rope] // 100)

    def outing(self, day: date, cave: str, ropes: list[str], person: str) -> None:
        """Out on Saturday, back on Sunday, washed, dried, checked and chained in the week."""
        for rope in ropes:
            self.record(
                TakenOut(happened=_on(day), rope=rope, person=person, until=_on(day + timedelta(1)), trip=cave),
                day,
                person,
            )
        for number, rope in enumerate(ropes, start=1):
            back = day + timedelta(1)
            self.record(Used(happened=_on(day), rope=rope, route=cave, pitch=str(number)), back, person)
            self.record(Returned(happened=_on(back), rope=rope, person=person), back, person)
            self.record(
                Washed(happened=_on(back + timedelta(1)), rope=rope, how="hand", temperature_c=15), back + timedelta(1)
            )
            self.record(Dried(happened=_on(back + timedelta(3)), rope=rope), back + timedelta(3))
            self.examine(rope, back + timedelta(4), "after a trip")
            self.last_seen[rope] = back + timedelta(5)

    def examine(self, rope: str, day: date, reason: str) -> None:
        """Looked over from end to end and found fit."""
        due = PartialDate(day.year + 1, day.month)
        self.record(
            Inspected(
                happened=_on(day),
                rope=rope,
                reason=reason,
                findings="nothing found",
                outcome="fit",
                person=INSPECTOR,
                next_due=due,
            ),
            day,
            INSPECTOR,
        )

    def measure(self, rope: str, day: date) -> None:
        """Counted off twice on the bench, then marked at both ends."""
        count_cm = int(self.length_cm[rope])
        other_cm = count_cm + self.random.randint(-4, 4)
        low_cm = min(count_cm, other_cm)
        self.record(Measured(happened=_on(day), rope=rope, length_cm=low_cm, counts_cm=(count_cm, other_cm)), day)
        self.length_cm[rope] = low_cm
        self.record(Marked(happened=_on(day), rope=rope, length_m=self.label_m(rope)), day)

    def stocktake(self, day: date, present: list[str]) -> None:
        """Walk the racks, then measure and examine every rope."""
        self.record(Stocktaken(happened=_on(day), seen=tuple(present), place="hut"), day)
        first = day.year == BEGIN.year + 1
        for rope in present:
            self.length_cm[rope] *= self.random.uniform(*(FIRST_COUNT if first and int(rope[2:]) < 32 else EACH_YEAR))
            self.measure(rope, day)
            self.examine(rope, day, "yearly examination")

    def new_reel(self, rope: str, day: date, length_cm: int, left_cm: int, pieces_cm: list[int], batch: str) -> None:
        """Bought, soaked whole, measured, cut, marked, into service."""
        self.record(
            Bought(
                happened=_on(day),
                rope=rope,
                length_cm=length_cm,
                diameter_mm=9.5,
                rope_type="A",
                material="polyamide",
                product="Maker A 9.5",
                maker="Maker A",
                batch=batch,
                year_made=day.year,
                mass_g_per_m=58.0,
                owner=OWNER,
            ),
            day,
        )
        bath = day + timedelta(2)
        self.record(Washed(happened=_on(bath), rope=rope, how="bath", temperature_c=15), bath)
        self.record(Dried(happened=_on(bath + timedelta(6)), rope=rope), bath + timedelta(6))
        self.record(
            Measured(happened=_on(bath + timedelta(7)), rope=rope, length_cm=left_cm, counts_cm=(left_cm, left_cm + 3)),
            bath + timedelta(7),
        )
        first = int(rope[2:]) + 1
        pieces = tuple(Piece(rope=f"{CODE}{first + i}", length_cm=piece_cm) for i, piece_cm in enumerate(pieces_cm))
        done = bath + timedelta(8)
        self.record(Cut(happened=_on(done), rope=rope, into=pieces), done)
        for piece in pieces:
            self.length_cm[piece.rope] = piece.length_cm
            self.measure(piece.rope, done)
            self.examine(piece.rope, done, "before first use")
            self.record(PutIntoService(happened=_on(done), rope=piece.rope), done)


def _on(day: date) -> PartialDate:
    return PartialDate.of(day)


CODE, OWNER = "UG", "Ulvergarth Caving Club"
#: Ropes that stay at home in the chronicle: retired, missing, unreadable, or about to be the story.
NOT_TAKEN = {"UG4", "UG14", "UG16", "UG29", "UG8"}


def chronicle(length_cm: dict[str, float]) -> list[Recorded]:
    """Four years of a club's ropes, from the lengths its spreadsheet says."""
    book = Chronicle()
    book.length_cm = dict(length_cm)
    day = BEGIN + timedelta(7)
    last_stocktake = BEGIN.year
    while day < END - timedelta(14):
        if day.month == 9 and day.year > last_stocktake:
            last_stocktake = day.year
            book.stocktake(
                day, sorted((r for r in book.length_cm if r not in NOT_TAKEN - {"UG8"}), key=lambda r: int(r[2:]))
            )
            if day.year == 2023:
                book.record(Measured(happened=_on(day), rope="UG26", length_cm=2212, counts_cm=(2212, 2215)), day)
                book.record(Marked(happened=_on(day), rope="UG26", length_m=22), day)
                book.length_cm["UG26"] = 2212
        elif day.year == 2024 and day.month == 3 and "UG33" not in book.length_cm:
            book.new_reel("UG32", day, 20000, 18460, [6200, 4400, 3600, 2300, 1900], "A24-055")
        elif day.year == 2026 and day.month == 3 and "UG39" not in book.length_cm:
            book.new_reel("UG38", day, 20000, 18230, [5300, 4700, 3100, 2700, 1400, 950], "A26-012")
        else:
            at_home = [r for r in book.length_cm if r not in NOT_TAKEN and book.last_seen.get(r, BEGIN) < day]
            cave = book.random.choice(sorted(CAVES))
            ropes = book.random.sample(sorted(at_home), min(CAVES[cave], len(at_home)))
            book.outing(day, cave, ropes, book.random.choice(MEMBERS))
        day += timedelta(book.random.choice((14, 21, 21)))
    _the_story(book)
    return book.lines


def _the_story(book: Chronicle) -> None:
    """The last weeks: what the demo is about."""
    summer = date(2026, 8, 15)
    book.record(LeftRigged(happened=_on(summer), rope="UG8", route="Great Marrowgill", pitch="Entrance"), summer, "p4")
    stock = date(2026, 11, 7)
    shorter_cm = int(book.length_cm["UG21"]) - 900
    book.record(
        Measured(happened=_on(stock), rope="UG21", length_cm=shorter_cm, counts_cm=(shorter_cm, shorter_cm + 2)), stock
    )
    fall = date(2026, 11, 8)
    book.record(
        SetAside(happened=_on(fall), rope="UG23", reason="a stone fell on it at the foot of the second pitch"), fall
    )
    out = date(2026, 11, 14)
    book.record(
        TakenOut(happened=_on(out), rope="UG30", person="p6", until=_on(out + timedelta(2)), trip="the practice wall"),
        out,
        "p6",
    )
    wet = date(2026, 11, 21)
    for rope in ("UG12", "UG18"):
        book.record(
            TakenOut(happened=_on(wet), rope=rope, person="p5", until=_on(wet + timedelta(1)), trip="Pewter Hole"),
            wet,
            "p5",
        )
        book.record(Returned(happened=_on(wet + timedelta(1)), rope=rope, person="p5"), wet + timedelta(1), "p5")
    book.record(Washed(happened=_on(END), rope="UG12", how="hand", temperature_c=15), END)


def lengths_of_the_spreadsheet() -> dict[str, float]:
    """Lengths [cm] as the spreadsheet has them, read by the importer itself."""
    sheets = read_workbook(SPREADSHEET.read_bytes(), SPREADSHEET.name)
    reading = rows_to_events(sheets[0].rows, happened=PartialDate.of(BEGIN), code=CODE)
    return {e.rope: float(e.length_cm) for e in reading.events if isinstance(e, RecordedAsFound) and e.length_cm}


def main() -> None:
    """Write the file."""
    lines = [json.dumps(encode_recorded(each), ensure_ascii=False) for each in chronicle(lengths_of_the_spreadsheet())]
    HISTORY.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
