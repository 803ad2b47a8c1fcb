"""What a keeper changed on an old spreadsheet before bringing it in; the sheet itself stays as it was written."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import get_args

from tethera.basics import Cell, Unit, cell_address
from tethera.store.columns import Columns, Row
from tethera.store.length_columns import LengthColumn, length_columns, words

#: What several columns of one sheet may be.
_SEVERAL = ("length", "state")
_UNITS: dict[str, Unit] = {unit: unit for unit in get_args(Unit)}
#: What a column can be taken for: the length also with the unit of its bare numbers.
MEANINGS = (
    *("number", "length", *(f"length in {unit}" for unit in _UNITS), "diameter", "type", "specification", "bought"),
    *("first_used", "year_made", "maker", "product", "batch", "state", "owner", "remarks"),
)


@dataclass(frozen=True)
class ByHand:
    """Rows and columns count from 0.

    Parameters
    ----------
    columns : what a column is, one of MEANINGS, or empty for nothing; columns not named are guessed
    corrected : other words for a cell, by row and column
    without : rows that are left out
    again : rows that stand for one more rope each; they are read once more, as further rows at the end of the sheet
    right : keys of the doubts that were looked at and are right as they are read
    """

    columns: Mapping[int, str] = field(default_factory=dict)
    corrected: Mapping[tuple[int, int], str] = field(default_factory=dict)
    without: frozenset[int] = frozenset()
    again: tuple[int, ...] = ()
    right: frozenset[str] = frozenset()

    def longer(self, rows: Sequence[Row]) -> list[Row]:
        """The sheet with the rows that are read once more at its end."""
        return [*rows, *(rows[number] for number in self.again if 0 <= number < len(rows))]

    def row_of_the_sheet(self, number: int, length: int) -> int:
        """Which row of a sheet of this many rows a row is, or is once more."""
        return number if number < length else self.again[number - length]

    def applied(self, rows: Sequence[Row]) -> list[Row]:
        """The rows with the corrected cells."""
        changed = [list(row) for row in rows]
        for (number, place), text in self.corrected.items():
            if 0 <= number < len(changed) and place >= 0:
                changed[number] += [None] * (place + 1 - len(changed[number]))
                changed[number][place] = text.strip() or None
        return [tuple(row) for row in changed]

    def told(self, rows: Sequence[Row], number: int) -> str:
        """What was corrected in a row, in words, for the record of its rope."""
        told = []
        for (row, place), text in sorted(self.corrected.items()):
            if row == number:
                was: Cell = rows[number][place] if place < len(rows[number]) else None
                told.append(f"{cell_address(number, place)} “{words(was)}” to “{text.strip()}”")
        return f"Corrected when brought in: {', '.join(told)}." if told else ""


def read_as(columns: Columns) -> dict[int, str]:
    """What each column is taken for, by its place; columns taken for nothing are not in it."""
    told = {place: name for name, place in columns.places.items()}
    told |= dict.fromkeys(columns.states, "state") | {each.place: "length" for each in columns.lengths}
    return dict(sorted(told.items()))


def chosen_columns(guessed: Columns, rows: Sequence[Row], chosen: Mapping[int, str]) -> Columns:
    """The columns as guessed, save where somebody chose; ValueError for a word that is no meaning of a column."""
    if not chosen:
        return guessed
    unknown = next((each for each in chosen.values() if each and each not in MEANINGS), None)
    if unknown is not None:
        raise ValueError(f"“{unknown}” is nothing a column can be. Choose one of: {', '.join(MEANINGS)}.")
    plain = {place: meaning.partition(" in ")[0] for place, meaning in chosen.items()}
    told = {
        place: name
        for place, name in read_as(guessed).items()
        if place not in plain and (name in _SEVERAL or name not in plain.values())
    }
    told = dict(sorted((told | {place: name for place, name in plain.items() if name}).items()))
    places: dict[str, int] = {}
    for place, name in told.items():
        places.setdefault(name, place)
    lengths = {each.place: each for each in guessed.lengths if each.place in told and each.place not in chosen}
    for place, meaning in chosen.items():
        if plain[place] == "length":
            lengths[place] = _length(rows, guessed.heading_row, place, meaning)
    of_length = {place for place in guessed.length_places if place not in chosen} | set(lengths)
    headings = rows[guessed.heading_row] if guessed.heading_row is not None else ()
    return replace(
        guessed,
        places=places,
        lengths=tuple(lengths[place] for place in sorted(lengths)),
        length_places=tuple(sorted(of_length)),
        states={place: guessed.states.get(place) for place, name in told.items() if name == "state"},
        unknown=tuple(words(each) for place, each in enumerate(headings) if words(each) and place not in told),
    )


def _length(rows: Sequence[Row], heading_row: int | None, place: int, meaning: str) -> LengthColumn:
    unit = meaning.partition(" in ")[2]
    if unit:
        return LengthColumn(place, _UNITS[unit], unit_named=True)
    if heading_row is not None and place >= len(rows[heading_row]):
        return LengthColumn(place)
    return length_columns(rows, heading_row, (place,))[0]
