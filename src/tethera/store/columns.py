"""Which column of a store's old spreadsheet holds what: by its heading, or by its cells where there is none."""

import datetime
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from tethera.basics import Cell, cell_address
from tethera.store.events import Condition
from tethera.store.length_columns import NOT_OF_A_ROPE, LengthColumn, length_columns, length_places, words

Row = Sequence[Cell]
_HEADING_ROWS = 15

_HEADINGS: dict[str, str] = {
    "number": r"no|num|number|nr|id|ref|reference|tag|label|rope (no|number|id|ref)|rope name|#|code|mark",
    "length": r"(\w+ ){0,2}(length|len|lgth|lngth|lgt|metres|meters|feet|yards|centimetres)"
    r"( (left|now|remaining|today))?"
    r"( (in )?(m|cm|ft|feet|metres|meters|yards|yds|centimetres)( (or|and) (m|ft|feet|metres|yards))?)?|m|cm|ft|size"
    rf"|(?!.*{NOT_OF_A_ROPE}).*\blength\b.*",
    "diameter": r"diameter|dia|diam|thickness|mm|ø",
    "type": r"type|kind|class|en ?1891|construction|static or dynamic",
    "specification": r"dia(m|meter)?( and| or)? (type|kind)|rope|spec|specification|description|rope type|details|what",
    "bought": r"bought|bt|bght|purchased?|date (bought|of purchase|purchased)|(purchase|bought) (date|year)|date|year"
    r"|acquired",
    "first_used": r"first used?|(date )?(put )?(in|into) (service|use)( since)?|since|date of first use|service date",
    "year_made": r"made|year made|manufactured|year of manufacture|date of manufacture|yom",
    "maker": r"maker|make|manufacturer|brand|supplier",
    "product": r"product|model",
    "batch": r"batch|serial|batch no|serial no|serial number|batch number|lot",
    "state": r"state|status|condition|where|location|availability|available|ok|usable|fit|outcome|result",
    "owner": r"owner|whose|belongs to|owned by",
    "remarks": r"remarks?|notes?|comments?|history|other",
}
#: Headings of columns in which a tick or a date means something bad.
_TICKS: tuple[tuple[str, Condition], ...] = (
    (r"retired|retirement|scrapped|disposed( of)?|discarded|withdrawn|binned|destroyed|out of service", "retired"),
    (r"lost|missing|stolen", "missing"),
    (r"damaged?|failed|unfit|quarantined?|set aside|suspect|do not use", "set aside"),
    (r"out|on loan|lent|loaned|borrowed|lent to|on loan to|loaned to|borrowed by|signed out", "out"),
)


@dataclass(frozen=True, slots=True)
class Columns:
    """Columns by what they hold, the row of headings (None without) and the columns of lengths with their units."""

    places: Mapping[str, int]
    heading_row: int | None
    lengths: tuple[LengthColumn, ...] = ()
    length_places: tuple[int, ...] = ()
    unknown: tuple[str, ...] = field(default=())
    #: Every column about the state of a rope, with the state its heading names when a tick in it means that.
    states: Mapping[int, Condition | None] = field(default_factory=dict)

    def described(self, rows: Sequence[Row]) -> dict[str, str]:
        """What each column was taken for, as "B “Length”"."""
        told = {}
        for name, place in self.places.items():
            letter = cell_address(0, place)[:-1]
            heading = self._heading(place, rows)
            told[name] = f"{letter} “{heading}”" if heading is not None else letter
        for more in self.lengths[1:] if self.heading_row is not None else ():
            told["length"] += f", {cell_address(0, more.place)[:-1]} “{self._heading(more.place, rows)}”"
        if self.heading_row is not None and len(self.states) + ("state" in told) > 1:
            headings = ((p, self._heading(p, rows)) for p in sorted(self.states))
            told["state"] = ", ".join(f"{cell_address(0, p)[:-1]} “{heading}”" for p, heading in headings)
        return told

    def _heading(self, place: int, rows: Sequence[Row]) -> Cell:
        headings = rows[self.heading_row] if self.heading_row is not None else ()
        return headings[place] if place < len(headings) else None

    def is_place(self, column: int, rows: Sequence[Row]) -> bool:
        """Whether the heading of a column asks where a rope is."""
        heading = words(self._heading(column, rows))
        return bool(re.fullmatch(r"(where|location|place|kept|kept at|stored|stored at).*", heading.lower()))

    def remarks(self, width: int) -> tuple[int, ...]:
        """Columns in which anything may be remarked: those not taken for something plain."""
        plain = {place for name, place in self.places.items() if name not in ("remarks", "specification")}
        plain.update(self.length_places)
        return tuple(place for place in range(width) if place not in plain and place not in self.states)


def guess_columns(rows: Sequence[Row]) -> Columns:
    """Guess by the first row that reads like headings, else by what the cells hold."""
    best: dict[str, int] = {}
    best_row: int | None = None
    for number, row in enumerate(rows[:_HEADING_ROWS]):
        places = _by_headings(row)
        if len(places) >= 2 and len(places) > len(best):
            best, best_row = places, number
    if best_row is None:
        # A row of one cell is a note about the sheet.
        places = _by_content([row for row in rows if sum(1 for cell in row if words(cell)) > 1] or rows)
        states: dict[int, Condition | None] = {places["state"]: None} if "state" in places else {}
        of_length = length_places(rows, None, places.get("length"))
        return Columns(places, None, length_columns(rows, None, of_length), of_length, states=states)
    places = dict(best)
    _settle_rope_column(places, rows[best_row], rows[best_row + 1 :])
    if "length" not in places or "number" not in places:
        for name, place in _by_content(rows[best_row + 1 :]).items():
            if name in ("length", "number") and name not in places and place not in places.values():
                places[name] = place
    of_length = length_places(rows, best_row, places.get("length"))
    lengths = length_columns(rows, best_row, of_length)
    if lengths:
        places = {**{name: at for name, at in places.items() if at != lengths[0].place}, "length": lengths[0].place}
    states = _state_columns(rows[best_row])
    used = {*places.values(), *states, *(each.place for each in lengths)}
    unknown = tuple(words(each) for place, each in enumerate(rows[best_row]) if words(each) and place not in used)
    return Columns(places, best_row, lengths, of_length, unknown, states)


def _by_headings(row: Row) -> dict[str, int]:
    places: dict[str, int] = {}
    for place, heading in _plain_headings(row):
        for name, pattern in _HEADINGS.items():
            if name not in places and re.fullmatch(pattern, heading):
                places[name] = place
                break
    return places


def _plain_headings(row: Row) -> Iterator[tuple[int, str]]:
    for place, cell in enumerate(row):
        if isinstance(cell, str):
            yield place, " ".join(re.sub(r"\(.*?\)|\[.*?\]|[.:/?_-]", " ", cell.lower()).split())


def _state_columns(row: Row) -> dict[int, Condition | None]:
    columns: dict[int, Condition | None] = {}
    for place, heading in _plain_headings(row):
        tick = next(
            (name for pattern, name in _TICKS if re.fullmatch(rf"(date |is )?({pattern})( date| on)?", heading)), None
        )
        if tick is not None or re.fullmatch(
            rf"((current|rope|present|latest|last) )?({_HEADINGS['state']})( now)?", heading
        ):
            columns[place] = tick
    return columns


def _settle_rope_column(places: dict[str, int], headings: Row, rows: Sequence[Row]) -> None:
    """A column headed "Rope" holds numbers in one store and what the rope is in another."""
    place = places.get("specification")
    if place is None or "number" in places:
        return
    cells = [text for row in rows if place < len(row) and (text := words(row[place]))]
    if cells and sum(_is_number(each) for each in cells) > len(cells) / 2:
        places["number"] = places.pop("specification")
        pattern = _HEADINGS["specification"]
        also = [
            at for at, text in _plain_headings(headings) if at not in places.values() and re.fullmatch(pattern, text)
        ]
        if also:
            places["specification"] = also[0]


def _is_number(text: str) -> bool:
    return re.fullmatch(r"#?\s*[A-Za-z]{0,5}[ -]?\d{1,5}[A-Za-z]?", text) is not None and not is_length(text)


def is_length(text: str) -> bool:
    """Whether a cell names a length with its unit.

    >>> is_length("45 m"), is_length("150ft"), is_length("45"), is_length("11mm A")
    (True, True, False, False)
    """
    return re.match(r"[\d.,]+\s*(m|ft|feet|metres?|meters?|mtrs?|yds?|yards?|')(\W|$)", text.lower()) is not None


def _is_specification(text: str) -> bool:
    return re.search(r"\d\s*mm\b", text.lower()) is not None


def _is_date(cell: Cell) -> bool:
    if isinstance(cell, datetime.date):
        return True
    return re.fullmatch(_DATE, words(cell).lower()) is not None


_DATE = r"(19[5-9]\d|20\d\d)|[a-z]{3,9}\.? '?\d{2,4}|\d{1,2}[/.-]\d{1,2}[/.-]\d{2,4}|\d\d?/\d{4}"
_STATES = r"(retired|scrapped|missing|lost|out|on loan|ok|good|ready|in store|rigged|quarantined?)"


def _by_content(rows: Sequence[Row]) -> dict[str, int]:
    width = max((len(row) for row in rows), default=0)
    columns = [[row[place] for row in rows if place < len(row) and row[place] is not None] for place in range(width)]
    shares: dict[str, list[float]] = {
        "specification": [_share(column, lambda c: _is_specification(words(c))) for column in columns],
        "length": [_share(column, lambda c: is_length(words(c))) for column in columns],
        "bought": [_share(column, _is_date) for column in columns],
        "state": [_share(column, lambda c: re.fullmatch(_STATES, words(c).lower()) is not None) for column in columns],
        "number": [_unique_numbers(column) for column in columns],
    }
    places: dict[str, int] = {}
    for name, share in shares.items():
        free = [place for place in range(width) if place not in places.values()]
        if free and max(share[place] for place in free) > 0.5:
            places[name] = max(free, key=lambda place: share[place])
    if "length" not in places:
        free = [place for place in range(width) if place not in places.values()]
        bare = [place for place in free if _share(columns[place], lambda c: _is_bare_length(words(c))) > 0.5]
        # "45m" in one cell, "30/40" and "ca 60" in others: numbers, and here and there the unit of a length.
        mixed = [place for place in free if _share(columns[place], _begins_with_number) > 0.5]
        named = [place for place in mixed if _share(columns[place], lambda c: is_length(words(c))) > 0]
        if bare or named:
            places["length"] = (bare or named)[0]
    texts = [place for place in range(width) if place not in places.values() and columns[place]]
    if texts:
        places["remarks"] = texts[-1]
    return places


def _share(column: Sequence[Cell], test: Callable[[Cell], bool]) -> float:
    return sum(test(each) for each in column) / len(column) if column else 0.0


def _unique_numbers(column: Sequence[Cell]) -> float:
    texts = [words(each) for each in column]
    if len(set(texts)) < 0.9 * len(texts):
        return 0.0
    return sum(_is_number(each) for each in texts) / len(texts) if texts else 0.0


def _begins_with_number(cell: Cell) -> bool:
    return re.match(r"(c\.?|ca\.?|about|approx\.?|~)?\s*\d", words(cell).lower()) is not None and not _is_date(cell)


def _is_bare_length(text: str) -> bool:
    return re.fullmatch(r"\d{1,3}([.,]\d{1,2})?", text) is not None
