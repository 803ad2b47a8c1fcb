"""A store's old spreadsheet, as it is, into events: what each rope was found to be, and every doubtful cell."""

import re
import zlib
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tethera.basics import Cell, Finding, PartialDate, Unit, cell_address, show_metres
from tethera.store import cells
from tethera.store.already import Already
from tethera.store.columns import Columns, Row, guess_columns
from tethera.store.conditions import Told, condition
from tethera.store.events import Condition, Event, RecordedAsFound
from tethera.store.import_by_hand import ByHand, chosen_columns, read_as
from tethera.store.length_columns import words
from tethera.store.register import DEFAULT_CODE
from tethera.store.rope_state import RopeState


@dataclass(frozen=True, slots=True)
class Doubt:
    """A doubtful cell: its address, its text, what it will become, and why it is doubted."""

    address: str
    text: str
    becomes: str
    finding: Finding

    @property
    def key(self) -> str:
        """What it is known by when somebody says that it is right: another text or another meaning is another doubt."""
        seen = "\n".join((self.text, self.becomes, self.finding.message))
        return f"{self.address} {self.finding.code} {zlib.crc32(seen.encode()):08x}"


@dataclass(frozen=True, slots=True)
class BareNumbers:
    """A column of lengths that names no unit: its place from 0, how many of its cells are numbers without one, and the
    unit they are read in, None where they are doubted."""

    place: int
    count: int
    unit: Unit | None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row (counted from 1) that gives no rope, and why."""

    row: int
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class ImportReading:
    """What a spreadsheet becomes. `columns` says which column was taken for what, `unknown` which for nothing.

    `again` counts the rows left out because an earlier import brought them in. For who shows the sheet: `made` are
    the ropes of each row, `read_as` what each column was taken for, `rows` the sheet as it was read; all count from 0.
    `looked_at` are the doubts that the keeper said are right; `numbered` the ropes that got a number the sheet had not.
    """

    events: tuple[Event, ...]
    doubts: tuple[Doubt, ...]
    left_out: tuple[LeftOut, ...]
    columns: Mapping[str, str]
    unknown: tuple[str, ...] = ()
    again: int = 0
    made: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    read_as: Mapping[int, str] = field(default_factory=dict)
    heading_row: int | None = None
    rows: tuple[Row, ...] = ()
    looked_at: tuple[Doubt, ...] = ()
    numbered: tuple[str, ...] = ()
    bare: tuple[BareNumbers, ...] = ()


def rows_to_events(
    rows: Sequence[Row],
    *,
    happened: PartialDate,
    code: str = DEFAULT_CODE,
    taken: Collection[str] = (),
    owner: str | None = None,
    source: str = "spreadsheet",
    brought: Iterable[RecordedAsFound] = (),
    known: Iterable[RopeState] = (),
    by_hand: ByHand | None = None,
) -> ImportReading:
    """Read the rows of a sheet, the first being its row 1.

    `happened` is the day of taking over, `code` the letters before each number, `taken` numbers already in the store.
    `brought` is what was brought in before: a row of the same file with the very same cells is left out. `known` are
    the ropes of the store: a row that looks like one of them is doubted. `by_hand` is what the keeper changed before;
    the record keeps what the sheet said as well.
    """
    by_hand = by_hand or ByHand()
    written = by_hand.longer(rows)
    shown = by_hand.applied(written)
    columns = chosen_columns(guess_columns(shown), shown, by_hand.columns)
    reader = _Reader(
        *(shown, columns, code, set(taken), owner, source, happened, Already(brought, known)),
        *(written, by_hand, len(rows)),
    )
    if "length" in columns.places:
        reader.read()
    else:
        reader.left_out.append(LeftOut(1, "", "no column of lengths was found in this sheet"))
    return reader.reading()


#: Columns any of which tells how old a rope is.
_DATES = ("bought", "first_used", "year_made")


@dataclass
class _Reader:
    rows: Sequence[Row]
    columns: Columns
    code: str
    taken: set[str]
    owner: str | None
    source: str
    happened: PartialDate
    already: Already
    written: Sequence[Row]
    by_hand: ByHand
    length: int
    again: int = 0
    made: dict[int, tuple[str, ...]] = field(default_factory=dict)
    events: list[Event] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    numbered: list[str] = field(default_factory=list)
    bare: list[BareNumbers] = field(default_factory=list)
    _next: int = 1
    _doubted: set[int] = field(default_factory=set)

    def reading(self) -> ImportReading:
        """All that was read."""
        columns, right, found = self.columns, self.by_hand.right, "length" in self.columns.places
        return ImportReading(
            events=tuple(self.events),
            doubts=tuple(each for each in self.doubts if each.key not in right),
            left_out=tuple(self.left_out),
            columns=columns.described(self.rows) if found else {},
            unknown=columns.unknown if found else (),
            again=self.again,
            made=self.made,
            read_as=read_as(columns),
            heading_row=columns.heading_row,
            rows=tuple(self.rows),
            looked_at=tuple(each for each in self.doubts if each.key in right),
            numbered=tuple(self.numbered),
            bare=tuple(self.bare),
        )

    def read(self) -> None:
        first = 0 if self.columns.heading_row is None else self.columns.heading_row + 1
        for number in range(first):
            if (text := self._text(number)) and number != self.columns.heading_row:
                self.left_out.append(LeftOut(number + 1, text, "above the headings"))
        ropes = [number for number in range(first, len(self.rows)) if self._is_rope(number)]
        new = [number for number in ropes if not self._brought_before(number)]
        self._number_from(new)
        for column in self.columns.lengths:
            texts = [words(self._at(number, column.place)).lower() for number in ropes]
            mixed = any(re.search(r"\d\s*(ft|feet|foot|['’′]|yd|yard|cm)", each) for each in texts)
            if column.unit_doubted or (mixed and not column.unit_named):
                self._doubted.add(column.place)
            bare = sum(cells.is_bare(self._at(number, column.place)) for number in new)
            if bare and not column.unit_named:
                self.bare.append(
                    BareNumbers(column.place, bare, None if column.place in self._doubted else column.unit)
                )
        for number in new:
            self._rope(number)

    def _brought_before(self, number: int) -> bool:
        row = self.already.row(self._source(number), tuple(self._written(number)))
        if row is None:
            return False
        self.again += 1
        self.left_out.append(LeftOut(number + 1, self._text(number), row.in_words()))
        return True

    def _source(self, number: int) -> str:
        return f"{self.source}, row {self.by_hand.row_of_the_sheet(number, self.length) + 1}"

    def _text(self, number: int) -> str:
        return " ".join(text for cell in self.rows[number] if (text := words(cell)))

    def _cell(self, number: int, name: str) -> Cell:
        place = self.columns.places.get(name)
        return None if place is None else self._at(number, place)

    def _at(self, number: int, place: int) -> Cell:
        row = self.rows[number]
        return row[place] if place < len(row) else None

    def _address(self, number: int, name: str) -> str:
        return cell_address(number, self.columns.places.get(name, self.columns.places["length"]))

    def _is_rope(self, number: int) -> bool:
        text = self._text(number)
        if not text:
            return False
        why = None
        heading = self.columns.heading_row
        if number in self.by_hand.without:
            why = "left out by hand"
        elif heading is not None and text == self._text(heading):
            why = "the headings again"
        elif re.match(r"(sub)?-?\s*totals?\b|sum\b", text.lower()):
            why = "a total"
        elif not self._says_rope(number):
            why = "neither a length nor a number with something about the rope"
        if why is not None:
            self.left_out.append(LeftOut(number + 1, text, why))
        return why is None

    def _says_rope(self, number: int) -> bool:
        text = words(self._cell(number, "length"))
        if any(re.search(r"\d", words(self._at(number, place))) for place in self.columns.length_places):
            return True
        told = [
            name
            for name in ("specification", "diameter", "type", "bought", "maker", "batch", "state")
            if words(self._cell(number, name))
        ]
        return bool(words(self._cell(number, "number"))) and bool(told or text)

    def _number_from(self, ropes: Sequence[int]) -> None:
        claimed = {rope for number in ropes if (rope := self._claimed(number))}
        running = [
            int(match[1]) for each in claimed | self.taken if (match := re.fullmatch(rf"{self.code}(\d+)", each))
        ]
        self._next = max(running, default=0) + 1

    def _claimed(self, number: int) -> str | None:
        text = re.sub(r"^(no|nr|rope|#)[.\s#]*(?=\w)", "", words(self._cell(number, "number")).strip(), flags=re.I)
        plain = re.sub(r"[\s._-]", "", text).upper()
        plain = (plain.lstrip("0") or "0") if plain.isdigit() else plain
        rope = f"{self.code}{plain}" if re.fullmatch(r"[0-9]+[A-Z]?", plain) else plain
        return rope if re.fullmatch(r"[A-Z0-9]{1,10}", rope) and re.search(r"\d", rope) else None

    def _new_number(self) -> str:
        self._next += 1
        self.numbered.append(f"{self.code}{self._next - 1}")
        return self.numbered[-1]

    def _doubt(self, number: int, name: str, becomes: str, findings: Sequence[Finding]) -> None:
        address = self._address(number, name)
        self.doubts += [Doubt(address, words(self._cell(number, name)), becomes, each) for each in findings]

    def _rope_id(self, number: int) -> str:
        rope = self._claimed(number)
        address, text = self._address(number, "number"), words(self._cell(number, "number"))
        if rope is not None and rope not in self.taken:
            self.taken.add(rope)
            return rope
        fresh = self._new_number()
        self.taken.add(fresh)
        if rope is not None:
            found = Finding("number-twice", address, f"{rope} is taken already.", "Mark the rope with its new number.")
        elif re.search(r"\d\s*(?:&|\+|,|;|/|\band\b)\s*\w*\d", text):
            told = f"“{text}” could be two ropes: split the row."
            found = Finding("number-unreadable", address, told, "Give each rope a row of its own.")
        elif text:
            told = f"“{text}” cannot be a rope's number."
            found = Finding("number-unreadable", address, told, "Mark the rope with its new number.")
        else:
            found = Finding("number-missing", address, "This rope has no number.", "Mark it with its new number.")
        self._doubt(number, "number", fresh, [found])
        return fresh

    def _rope(self, number: int) -> None:
        count, cell = cells.several(self._cell(number, "length"))
        ids = [self._rope_id(number)]
        for _ in range(count - 1):
            ids.append(self._new_number())
            self.taken.add(ids[-1])
        where = self._address(number, "length")
        length = self._length(number, cell)
        shown = f"{show_metres(length.value)} m" if length.value is not None else "length not known"
        if count > 1:
            told = f"“{words(self._cell(number, 'length'))}” is {count} ropes."
            found = Finding("several-ropes", where, told, "See that each is there, and mark each.")
            self._doubt(number, "length", f"{', '.join(ids)}, each {shown}", [found])
        self._doubt(number, "length", shown, length.findings)
        values = self._values(number)
        self.made[number] = tuple(ids)
        for rope in ids:
            event = RecordedAsFound(rope=rope, happened=self.happened, length_cm=length.value, **values)
            self.events.append(event)
            if (alike := self.already.rope(event)) is not None:
                told = f"It looks like {alike}, already in the store: same length, kind and date."
                found = Finding("perhaps-there-already", where, told, "Take the row out if it is the same rope.")
                self._doubt(number, "length", f"{rope}, a new rope", [found])

    def _length(self, number: int, cell: Cell) -> cells.Reading[int]:
        """What the columns of lengths agree on, unless a remark speaks of less; `cell` is one rope's of the first."""
        readings, where = [], self._address(number, "length")
        for column in self.columns.lengths:
            here = cell if column is self.columns.lengths[0] else self._at(number, column.place)
            at = cell_address(number, column.place)
            readings.append(cells.length(here, column.unit, column.place in self._doubted, at))
        length, row = cells.agreed(readings, where), self.rows[number]
        for place in self.columns.remarks(len(row)) if length.value is not None else ():
            told = cells.shortened(length.value or 0, words(row[place]), self.columns.lengths[0].unit, where)
            if told is not None:
                return cells.Reading(None, (*length.findings, told))
        return length

    def _values(self, number: int) -> dict[str, Any]:
        values: dict[str, Any] = dict(self._specification(number))
        values.update(self._dates(number))
        for name in ("maker", "product", "batch", "owner"):
            values[name] = words(self._cell(number, name)) or None
        values["owner"] = values["owner"] or self.owner
        values["condition"] = self._condition(number)
        if values["condition"] != "retired":
            self._doubt_age(number, values)
        values["written"] = tuple(self._written(number))
        values["source"] = self._source(number)
        remarks = cells.lines(self._cell(number, "remarks"))
        values["note"] = cells.apart((*remarks, *self._said_of_state(number), self.by_hand.told(self.written, number)))
        return values

    def _condition(self, number: int) -> Condition:
        row = self.rows[number]
        told = {place: Told(cell_address(number, place), words(cell)) for place, cell in enumerate(row)}
        states = [
            replace(told[place], tick_means=tick, is_place=self.columns.is_place(place, self.rows))
            for place, tick in self.columns.states.items()
            if place in told
        ]
        becomes, findings = condition(states, [told[place] for place in self.columns.remarks(len(row))])
        text = {each.where: each.text for each in told.values()}
        self.doubts += [Doubt(each.where, text[each.where], becomes, each) for each in findings]
        return becomes

    def _said_of_state(self, number: int) -> Iterator[str]:
        """What the cells about its state say beyond a state, as with whom it is out: no name is lost."""
        heading = self.columns.heading_row
        for place in self.columns.states:
            text = words(self._at(number, place))
            if cells.says_more(text):
                head = words(self._at(heading, place)) if heading is not None else ""
                yield f"{head.rstrip('?: ')}: {text}" if head else text

    def _dates(self, number: int) -> Iterator[tuple[str, Any]]:
        for name in _DATES:
            if not words(self._cell(number, name)):
                continue
            reading = cells.day(self._cell(number, name), self._address(number, name))
            becomes, findings = reading.value.spoken() if reading.value else "date not known", list(reading.findings)
            if reading.value and reading.value.earliest > self.happened.latest:
                told = f"{reading.value.spoken()} has not come yet."
                findings.append(Finding("not-yet", self._address(number, name), told, "Check the date."))
            self._doubt(number, name, becomes, findings)
            yield name, reading.value.year if reading.value and name == "year_made" else reading.value

    def _doubt_age(self, number: int, values: Mapping[str, Any]) -> None:
        """Say where a sheet with dates has none for this rope; a sheet without dates is doubted rope by rope later."""
        dated = [name for name in _DATES if name in self.columns.places]
        if dated and not any(values.get(name) for name in _DATES):
            way_out = "Read its inner tape or its papers, and write the year."
            found = Finding("age-unknown", self._address(number, dated[0]), "Its age is not known.", way_out)
            self._doubt(number, dated[0], "age not known", [found])

    def _written(self, number: int) -> Iterator[str]:
        """What the sheet said, whatever was corrected since."""
        for cell in self.written[number]:
            if text := words(cell):
                yield text

    def _specification(self, number: int) -> Iterator[tuple[str, Any]]:
        told: dict[str, Any] = {}
        for name in ("specification", "diameter", "type"):
            reading = cells.specification(self._cell(number, name), self._address(number, name))
            if reading.value is None:
                continue
            parts = [f"{reading.value.diameter_mm:g} mm" if reading.value.diameter_mm else ""]
            parts.append(f"type {reading.value.rope_type}" if reading.value.rope_type else "type not known")
            self._doubt(number, name, " ".join(parts).strip(), reading.findings)
            for key in ("diameter_mm", "rope_type"):
                value = getattr(reading.value, key)
                if value is not None:
                    told[key] = value
        yield from told.items()
