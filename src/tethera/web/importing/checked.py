"""The sheet as it is shown to be checked: doubtful rows first of all, each cell with what it becomes."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tethera.basics import cell_address
from tethera.store import ByHand, Doubt, ImportReading, RecordedAsFound
from tethera.store.columns import Row
from tethera.store.length_columns import words
from tethera.web.importing.forms import shown_columns
from tethera.web.importing.reading import ropes_of

ROWS_A_PAGE = 40
_PERHAPS_TWO = ("number-unreadable", "length-ambiguous")
_TYPES = {"A": "type A", "B": "type B", "dynamic": "dynamic", "cord": "accessory cord"}


@dataclass(frozen=True)
class CheckedCell:
    """A cell: its place, its words, its heading, whether it may be typed in, how many others say the same, and what
    the sheet said before it was corrected."""

    name: str
    text: str
    heading: str
    address: str
    open: bool
    doubted: bool
    alike: int
    was: str = ""

    @property
    def width(self) -> int:
        """How wide its field is [letters]."""
        return min(max(len(self.text) + 2, 6), 24)


@dataclass(frozen=True)
class Becomes:
    """A rope as it would be recorded: its number, its length [cm] and the rest in words."""

    rope: str
    length_cm: int | None
    rest: str


@dataclass(frozen=True)
class CheckedRow:
    """A row: what it is called, its cells, the ropes it becomes, its doubts, and why it gives none."""

    number: int
    shown: str
    cells: tuple[CheckedCell, ...]
    becomes: tuple[Becomes, ...]
    doubts: tuple[Doubt, ...]
    looked_at: tuple[Doubt, ...]
    why_not: str
    left_out: bool
    may_be_two: bool


@dataclass(frozen=True)
class Checked:
    """What the page shows of a sheet: headings, rows of this page, kinds of doubt, and how many pages there are."""

    headings: tuple[str, ...]
    rows: tuple[CheckedRow, ...]
    kinds: tuple[tuple[str, str, int], ...]
    page: int
    pages: int
    doubted_rows: int
    total_cm: int
    unknown: int
    wanted: str = ""

    @property
    def page_numbers(self) -> range:
        """For the links to the other pages."""
        return range(1, self.pages + 1)


def checked(reading: ImportReading, by_hand: ByHand, sheet: list[Row], wanted: str, page: int) -> Checked:
    """The rows that are wanted, a page of them at a time: "" the doubtful ones, "all", "right" those that somebody
    said are right, or a kind of doubt.

    `sheet` is what was written, before anything was corrected.
    """
    length = len(sheet)
    doubts, looked_at = _by_row(reading.doubts), _by_row(reading.looked_at)
    numbers = [number for number in _order(by_hand, length, len(reading.rows)) if number != reading.heading_row]
    touched = {number for number, _place in by_hand.corrected} | by_hand.without | set(range(length, len(reading.rows)))
    if wanted == "all":
        chosen = [n for n in numbers if n in reading.made or n in touched or any(map(words, reading.rows[n]))]
    elif wanted == "right":
        chosen = [n for n in numbers if n in looked_at]
    elif wanted:
        chosen = [n for n in numbers if any(each.finding.code == wanted for each in doubts.get(n, ()))]
    else:
        chosen = [n for n in numbers if n in doubts or n in touched]
    pages = max(1, -(-len(chosen) // ROWS_A_PAGE))
    page = min(max(1, page), pages)
    columns = shown_columns(reading)
    show = _Rows(reading, by_hand, by_hand.longer(sheet), length, doubts, looked_at, columns, wanted == "all")
    ropes = ropes_of(reading).values()
    return Checked(
        headings=tuple(_heading(reading, place) for place in columns),
        rows=tuple(show.row(number) for number in chosen[(page - 1) * ROWS_A_PAGE : page * ROWS_A_PAGE]),
        kinds=tuple(_kinds(reading)),
        page=page,
        pages=pages,
        doubted_rows=len(doubts),
        total_cm=sum(each.length_cm or 0 for each in ropes),
        unknown=sum(each.length_cm is None for each in ropes),
        wanted=wanted,
    )


def _order(by_hand: ByHand, length: int, total: int) -> Iterator[int]:
    """Rows of the sheet, each followed by those that read it once more."""
    again: dict[int, list[int]] = {}
    for number in range(length, total):
        again.setdefault(by_hand.row_of_the_sheet(number, length), []).append(number)
    for number in range(length):
        yield number
        yield from again.get(number, ())


def _by_row(doubts: Iterable[Doubt]) -> dict[int, list[Doubt]]:
    rows: dict[int, list[Doubt]] = {}
    for each in doubts:
        rows.setdefault(int(each.address.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) - 1, []).append(each)
    return rows


def _kinds(reading: ImportReading) -> Iterator[tuple[str, str, int]]:
    """Each kind of doubt, a sentence for it, and how many cells have it, the most frequent first."""
    counted = Counter(each.finding.code for each in reading.doubts)
    first: dict[str, Doubt] = {}
    for each in reading.doubts:
        first.setdefault(each.finding.code, each)
    for code, count in counted.most_common():
        alike = len({each.finding.message for each in reading.doubts if each.finding.code == code}) == 1
        address, example = first[code].address, first[code].finding.message
        one_of_them = _("such as {address}: {example}").format(address=address, example=example)
        yield code, example if alike or count == 1 else one_of_them, count


def _heading(reading: ImportReading, place: int) -> str:
    headings = reading.rows[reading.heading_row] if reading.heading_row is not None else ()
    return (words(headings[place]) if place < len(headings) else "") or cell_address(0, place)[:-1]


@dataclass
class _Rows:
    reading: ImportReading
    by_hand: ByHand
    written: list[Row]
    length: int
    doubts: dict[int, list[Doubt]]
    looked_at: dict[int, list[Doubt]]
    columns: list[int]
    every_cell: bool

    def __post_init__(self) -> None:
        self.ropes = ropes_of(self.reading)
        self.left_out = {each.row - 1: each.why for each in self.reading.left_out}
        self.alike = {
            place: Counter(words(row[place]) for row in self.reading.rows if place < len(row)) for place in self.columns
        }

    def row(self, number: int) -> CheckedRow:
        origin = self.by_hand.row_of_the_sheet(number, self.length)
        doubts = tuple(self.doubts.get(number, ()))
        looked_at = tuple(self.looked_at.get(number, ()))
        made = self.reading.made.get(number, ())
        return CheckedRow(
            number=number,
            shown=str(origin + 1) if number < self.length else _("{row}, once more").format(row=origin + 1),
            cells=tuple(self._cell(number, place, doubts, looked_at) for place in self.columns),
            becomes=tuple(becomes(self.ropes[rope]) for rope in made),
            doubts=doubts,
            looked_at=looked_at,
            why_not="" if made else self.left_out.get(number, ""),
            left_out=number in self.by_hand.without,
            may_be_two=number < self.length and any(each.finding.code in _PERHAPS_TWO for each in doubts),
        )

    def _cell(self, number: int, place: int, doubts: tuple[Doubt, ...], looked_at: tuple[Doubt, ...]) -> CheckedCell:
        row = self.reading.rows[number]
        text = words(row[place]) if place < len(row) else ""
        address = cell_address(number, place)
        doubted = any(each.address == address for each in doubts)
        # Where somebody looked, the cell stays open: the tick can be taken away and another word be written.
        was_doubted = any(each.address == address for each in looked_at)
        corrected = (number, place) in self.by_hand.corrected
        said = self.written[number]
        return CheckedCell(
            name=f"{number}-{place}",
            text=text,
            heading=_heading(self.reading, place),
            address=address,
            open=doubted or was_doubted or corrected or number >= self.length or self.every_cell,
            doubted=doubted,
            # Two ropes never have the same number.
            alike=self.alike[place][text] if doubted and text and self.reading.read_as.get(place) != "number" else 0,
            was=(words(said[place]) if place < len(said) else "") if corrected else "",
        )


def becomes(rope: RecordedAsFound) -> Becomes:
    """What is recorded of a rope, shortly.

    >>> from tethera.basics import PartialDate
    >>> becomes(RecordedAsFound(rope="UG1", happened=PartialDate(2026), length_cm=3000, rope_type="A")).rest
    'type A, ready'
    """
    diameter = f"{rope.diameter_mm:g}\u202fmm" if rope.diameter_mm else ""
    parts = (
        f"{diameter} {_TYPES.get(rope.rope_type or '', '')}".strip(),
        _("bought {day}").format(day=rope.bought.spoken()) if rope.bought else "",
        _("first used {day}").format(day=rope.first_used.spoken()) if rope.first_used else "",
        _(rope.condition),
    )
    return Becomes(rope.rope, rope.length_cm, ", ".join(part for part in parts if part))
