"""What is typed over an old sheet, cleaned: which column is what, corrected cells, rows left out."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from django import forms
from django.conf import settings
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate, cell_address
from tethera.store import MEANINGS, ByHand, ImportReading
from tethera.store.columns import Row
from tethera.store.length_columns import words
from tethera.web.paper.fields import WhenField

ENDINGS = (".xlsx", ".xlsm", ".xls", ".ods", ".csv", ".tsv", ".txt", ".jsonl")
_MEANINGS: dict[str, str | Promise] = {
    "number": gettext_lazy("rope's number"),
    "length": gettext_lazy("length"),
    "length in m": gettext_lazy("length, in metres"),
    "length in cm": gettext_lazy("length, in centimetres"),
    "length in ft": gettext_lazy("length, in feet"),
    "length in yd": gettext_lazy("length, in yards"),
    "diameter": gettext_lazy("diameter"),
    "type": gettext_lazy("type"),
    "specification": gettext_lazy("what the rope is"),
    "bought": gettext_lazy("when bought"),
    "first_used": gettext_lazy("when first used"),
    "year_made": gettext_lazy("year made"),
    "maker": gettext_lazy("maker"),
    "product": gettext_lazy("product"),
    "batch": gettext_lazy("batch or serial"),
    "state": gettext_lazy("state, or where it is"),
    "owner": gettext_lazy("whose it is"),
    "remarks": gettext_lazy("remarks"),
}


def meaning(name: str) -> str:
    """What a column is, in words."""
    return str(_MEANINGS.get(name, name))


class BringForm(forms.Form):
    """A file."""

    file = forms.FileField(
        label=gettext_lazy("The file"),
        help_text=gettext_lazy("A spreadsheet as it is (.xlsx, .xls, .ods or .csv), at most 20 MB."),
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(ENDINGS)}),
        error_messages={
            "required": gettext_lazy("Choose the file first."),
            "empty": gettext_lazy("This file is empty. Save the spreadsheet again."),
        },
    )

    def clean_file(self) -> Any:
        """Of a kind that can be read, and not too large."""
        file = self.cleaned_data["file"]
        name = str(file.name)
        if not name.lower().endswith(ENDINGS):
            told = _("{name} is not a kind of spreadsheet known here. Save it as .xlsx, .ods or .csv.")
            raise forms.ValidationError(told.format(name=name))
        if (file.size or 0) > settings.LARGEST_UPLOAD_BYTES:
            told = _("{name} is larger than 20 MB. Save only the sheet with the ropes.")
            raise forms.ValidationError(told.format(name=name))
        return file


class SheetForm(forms.Form):
    """Which sheet, on which day it was right, and what each column is."""

    as_of = WhenField(
        label=gettext_lazy("The sheet was right on"),
        help_text=gettext_lazy("Empty is today. A month or a year will do: Nov 2025, 2025."),
    )

    def __init__(self, data: Mapping[str, Any] | None, *, sheets: list[str], sheet: int, as_of: str,
                 reading: ImportReading, by_hand: ByHand) -> None:  # fmt: skip
        super().__init__(data, initial={"as_of": PartialDate.fromisoformat(as_of).spoken() if as_of else ""})
        if len(sheets) > 1:
            self.fields["sheet"] = forms.TypedChoiceField(
                label=_("Sheet"),
                choices=list(enumerate(sheets)),
                initial=sheet,
                coerce=int,
                required=False,
                empty_value="",
            )
        choices = [("", _("not used")), *((each, meaning(each)) for each in MEANINGS)]
        for place in shown_columns(reading):
            chosen = by_hand.columns.get(place, reading.read_as.get(place, ""))
            self.fields[f"column-{place}"] = forms.ChoiceField(
                label=column_name(reading, place), choices=choices, initial=chosen, required=False
            )

    def columns(self) -> Iterator[tuple[forms.BoundField, str]]:
        """Each column's field, and what stands in its first cells."""
        for name in self.fields:
            if name.startswith("column-"):
                yield self[name], name.removeprefix("column-")

    def chosen(self) -> dict[int, str]:
        """What each column is from now on, where that is not what it was."""
        told = {}
        for name, value in self.cleaned_data.items():
            if name.startswith("column-") and name in self.data and value != self.fields[name].initial:
                told[int(name.removeprefix("column-"))] = value
        return told


def shown_columns(reading: ImportReading) -> list[int]:
    """Columns in which anything stands."""
    width = max(map(len, reading.rows), default=0)
    below = (reading.heading_row if reading.heading_row is not None else -1) + 1
    return [
        place
        for place in range(width)
        if any(place < len(row) and words(row[place]) for row in reading.rows[max(0, below - 1) :])
    ]


def column_name(reading: ImportReading, place: int) -> str:
    """A column's letter and its heading."""
    letter = cell_address(0, place)[:-1]
    headings = reading.rows[reading.heading_row] if reading.heading_row is not None else ()
    heading = words(headings[place]) if place < len(headings) else ""
    return f"{letter}  {heading}" if heading else letter


def typed(data: Mapping[str, Any], before: ByHand, written: list[Row], shown: tuple[Row, ...]) -> ByHand:
    """What was changed before, with what this form says of the rows it showed."""
    corrected, without, again = dict(before.corrected), set(before.without), list(before.again)
    numbers = [int(each) for each in _list(data, "row") if re.fullmatch(r"\d{1,6}", each)]
    for number in (each for each in numbers if each < len(shown)):
        without.discard(number)
        if f"without-{number}" in data:
            without.add(number)
        if f"again-{number}" in data and number < len(written) - len(before.again) and len(again) < 200:
            again.append(number)
    for name in data:
        match = re.fullmatch(r"cell-(\d{1,6})-(\d{1,3})", name)
        if match is None or int(match[1]) >= len(shown) or int(match[2]) >= 100:
            continue
        number, place = int(match[1]), int(match[2])
        # No keyboard types a NUL, and not every database keeps one.
        text, was = " ".join(str(data[name])[:500].replace("\0", " ").split()), _at(shown, number, place)
        if text == was:
            continue
        everywhere = f"same-{number}-{place}" in data
        for row in range(len(shown)) if everywhere else (number,):
            if row == number or _at(shown, row, place) == was:
                corrected[row, place] = text
                if text == _at(written, row, place):
                    del corrected[row, place]
    # A doubt that was shown without its tick is a doubt again.
    right = (before.right - set(_list(data, "doubt"))) | {
        each for each in _list(data, "right") if re.fullmatch(r"[A-Z]{1,3}\d{1,6} [a-z-]{1,40} [0-9a-f]{8}", each)
    }
    return replace(before, corrected=corrected, without=frozenset(without), again=tuple(again), right=right)


def unit_of_bare(data: Mapping[str, Any], reading: ImportReading) -> dict[int, str]:
    """What a column of bare numbers is, where a button said in which unit they are."""
    place, _comma, unit = str(data.get("bare", "")).partition(" ")
    asked = {str(each.place): each.place for each in reading.bare}
    told = f"length in {unit}"
    return {asked[place]: told} if place in asked and told in MEANINGS else {}


def unused_columns(reading: ImportReading) -> list[str]:
    """Letter and heading of each column that is taken for nothing."""
    return [column_name(reading, place) for place in shown_columns(reading) if place not in reading.read_as]


def _list(data: Mapping[str, Any], name: str) -> list[str]:
    getlist = getattr(data, "getlist", None)
    return list(getlist(name)) if getlist else [str(data[name])] if name in data else []


def _at(rows: tuple[Row, ...] | list[Row], number: int, place: int) -> str:
    row = rows[number]
    return words(row[place]) if place < len(row) else ""
