"""Several lengths in one line, as people write a cut: "50, 50, 60, 40", "3 x 50", "2 of 60 m and a 40"."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from tethera.basics import read_length
from tethera.web.paper.fields import LengthField

#: More in one line is a slip of the finger.
_MOST = 100
_UNIT = r"(?:metres?|meters?|mtrs?|m|cms?|feet|foot|ft|yards?|yds?|')"
_PIECE = re.compile(
    rf"(?:(?P<before>\d{{1,3}})\s*(?:x|of|times)\s*)?(?P<length>\d+(?:\.\d+)?)\s*(?P<unit>{_UNIT})?(?![a-z0-9.'])"
    rf"(?:\s*(?:x|times)\s*(?P<after>\d{{1,3}})\b)?"
)
_BETWEEN = re.compile(r"\s*(?:[,;+&]|\band\b)\s*(?:a\s+)?|\s+")
_COMMA = re.compile(r"(?<![\d.])(?P<before>\d+),(?P<after>\d|\d{3})(?!\d)")
_CHOICE = re.compile(rf"(?P<one>[\d.]+\s*{_UNIT}?)\s*(?:[/–-]|\bor\b|\bto\b)\s*(?P<other>[\d.]+)")


def read_pieces(text: str, unit: str = "m") -> tuple[int, ...]:
    """Lengths in whole cm, in the order written; a bare number is in `unit`. ValueError says what cannot be read.

    >>> read_pieces("50, 50, 60"), read_pieces("2x50 + 12.5m"), read_pieces("60 m x 2")
    ((5000, 5000, 6000), (5000, 5000, 1250), (6000, 6000))
    """
    words = re.sub(r"\s*(?:[×*]|(?<=[\dm't\s])x(?=[\s\d]))\s*", " x ", text.strip().lower().rstrip("."))
    if match := _COMMA.search(words):
        before, after = match["before"], match["after"]
        told = _("“{text}” could be one length or two. Write {before}.{after} for one, {two} with a space for two.")
        if len(after) == 3:
            told = _("“{text}” could be one length or two. Write {before}{after} without a comma for one.")
        raise ValueError(told.format(text=_short(text), before=before, after=after, two=f"{before}, {after}"))
    if match := _CHOICE.search(words):
        told = _("“{text}” could be two lengths or a choice. Write {one}, {other} for two, or the one it is.")
        raise ValueError(told.format(text=_short(text), one=match["one"].strip(), other=match["other"]))
    found: list[int] = []
    at = 0
    while at < len(words):
        if found:
            gap = _BETWEEN.match(words, at)
            at = gap.end() if gap else at
            if gap is None or at == len(words):
                raise ValueError(_unread(words[at:] or words[-1:], text))
        match = _PIECE.match(words, at)
        if match is None or (match["before"] and match["after"]):
            raise ValueError(_unread(words[at:], text))
        reading = read_length(f"{match['length']} {match['unit'] or unit}")
        if reading.length_cm is None:
            raise ValueError(f"{reading.findings[0].message} {reading.findings[0].way_out}".strip())
        times = int(match["before"] or match["after"] or 1)
        if times < 1 or len(found) + times > _MOST:
            raise ValueError(_("At most {most} pieces at once. Write the rest afterwards.").format(most=_MOST))
        found += [reading.length_cm] * times
        at = match.end()
    return tuple(found)


def _short(text: str) -> str:
    """What was typed, as a message quotes it."""
    return " ".join(text.split())[:40]


def _unread(rest: str, text: str) -> str:
    """What is not understood, in all that was typed."""
    part, whole = rest.strip()[:40], _short(text)
    if part == whole.lower():
        return _("“{whole}” cannot be read as lengths. Write them as 50, 50, 60 or 3 x 50.").format(whole=whole)
    told = _("In “{whole}” the part “{part}” cannot be read as lengths. Write them as 50, 50, 60 or 3 x 50.")
    return told.format(whole=whole, part=part)


class PiecesField(LengthField):
    """Several lengths in one line, in whole cm and in the order written."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "size": 24}))
        super().__init__(**kwargs)
        self.max_length = 500

    def clean(self, value: Any) -> tuple[int, ...]:  # type: ignore[override]
        """Centimetres, piece by piece."""
        text = str(forms.CharField.clean(self, value) or "")
        try:
            return read_pieces(text, self.units)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
