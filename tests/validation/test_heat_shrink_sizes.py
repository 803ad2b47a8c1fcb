"""Which heat-shrink tube is chosen, against the published sizes.

Sources: CABAC XLP datasheet (2:1, millimetres, read); AMS-DTL-23053/5 class 1 (2:1, inches, from memory, the same as
in the specification drawing MT5000 rev. B1 of 15 April 2011, read); Ford ESF-M3L65 of 2003 (3:1, lined with adhesive,
read). They are typed in authorities/heat_shrink_sizes.csv, the inches as inches, and judged here in decimal fractions:
common practice says that a tube slides on which is 1 mm wider than what it goes over, and geometry that it is tight
when it would shrink to less.
"""

import csv
import io
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pytest

from tethera.rope import load_table, tubes

FILE = Path(__file__).resolve().parents[2] / "authorities" / "heat_shrink_sizes.csv"
#: A word by which each table of the package is known.
TABLES = {"xlp": "XLP", "ams": "AMS-DTL-23053/5", "m3l65": "ESF-M3L65"}
HALVES = [Decimal(5 * tenths) / 10 for tenths in range(16, 27)]
TENTHS = [Decimal(tenths) / 10 for tenths in range(80, 131)]
#: A millimetre is printed to two places, an inch to three: 0.0005 in is 0.0127 mm.
PRINTED = Decimal("0.013")


@dataclass(frozen=True)
class Published:
    """A size as printed, in millimetres."""

    table: str
    size: str
    expanded: Decimal
    recovered: Decimal
    wall: Decimal | None

    def fits(self, over_the_tape: Decimal) -> bool:
        """Whether it slides on and shrinks tight."""
        return self.expanded - over_the_tape >= 1 and self.recovered < over_the_tape


def published() -> list[Published]:
    """Every size of every publication."""
    lines = [line for line in FILE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = []
    for row in csv.DictReader(io.StringIO("\n".join(lines))):
        times = Decimal("25.4") if row["unit"] == "in" else Decimal(1)
        wall = Decimal(row["wall"]) * times if row["wall"] else None
        sizes = (Decimal(row["expanded"]) * times, Decimal(row["recovered"]) * times)
        rows.append(Published(row["table"], row["size"], *sizes, wall))
    return rows


def chosen(over_the_tape: Decimal) -> set[tuple[str, str]]:
    """Table and size of each tube that the package says fits."""
    found = {
        (name, tube.size) for tube in tubes(float(over_the_tape)) for name in TABLES if TABLES[name] in tube.source
    }
    assert len(found) == len(tubes(float(over_the_tape)))
    return found


@pytest.mark.parametrize("over_the_tape", sorted({*HALVES, *TENTHS}), ids=str)
def test_every_size_is_judged_as_the_published_numbers_say(over_the_tape: Decimal) -> None:
    """From 8 to 13 mm over the tape, each size of each table."""
    fitting = {(size.table, size.size) for size in published() if size.fits(over_the_tape)}
    assert chosen(over_the_tape) == fitting
    assert fitting


@pytest.mark.parametrize("over_the_tape", TENTHS, ids=str)
def test_the_first_is_the_narrowest_that_slides_on(over_the_tape: Decimal) -> None:
    narrowest = min(size.expanded for size in published() if size.fits(over_the_tape))
    first = tubes(float(over_the_tape))[0]
    # The two tables print what is one size as 19.1 and 19.05 mm.
    assert Decimal(str(first.expanded_mm)) - narrowest <= Decimal("0.06")
    assert not first.lined


def test_the_package_has_every_number_as_it_was_published() -> None:
    shipped = {
        (name, row["size"]): (row["expanded_mm"], row["recovered_mm"], row.get("wall_mm"))
        for family in load_table("rope", "tubes")["families"]
        for name in TABLES
        if TABLES[name] in family["source"]
        for row in family["sizes"]
    }
    assert shipped.keys() == {(size.table, size.size) for size in published()}
    for size in published():
        printed = (size.expanded, size.recovered, size.wall)
        for ours, theirs in zip(shipped[size.table, size.size], printed, strict=True):
            assert (ours is None) == (theirs is None)
            if ours is not None and theirs is not None:
                assert abs(Decimal(str(ours)) - theirs) <= PRINTED, size


@pytest.mark.parametrize(
    ("over_the_tape", "size"),
    [(8.0, "9.5 mm"), (8.5, "9.5 mm"), (8.6, "12.7 mm"), (11.0, "12.7 mm"), (11.7, "12.7 mm"), (11.8, "19.1 mm")],
)
def test_the_sizes_that_stores_use_come_out(over_the_tape: float, size: str) -> None:
    """12.7 mm for most ropes, 19.1 mm for a swollen one of 12 mm; 9.5 mm goes over no rope of 9 mm."""
    assert tubes(over_the_tape)[0].size == size
