"""Rope numbers as they are typed or scanned, one after the other, known and unknown."""

import re
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import Register, UnknownRope

#: Of so many unknown numbers it is said which are nearest; to look for more takes longer than anybody waits.
_MOST_NEAREST = 20


@dataclass(frozen=True)
class Numbers:
    """What was typed: ropes the store has, each once and in the order typed, and words that are no number of it."""

    ropes: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    told: tuple[str, ...] = ()


def read_numbers(register: Register, text: str) -> Numbers:
    """Read numbers with blanks, commas or line ends between them. `told` says of each unknown which are nearest.

    A scanned mark may be the address of the rope's page; a code apart from its number (UG 41) belongs to it.
    """
    text = re.sub(r"(?<!\S)\S*/ropes/([A-Za-z0-9]{1,10})\S*", r" \1 ", text)
    text = re.sub(r"(?<![A-Za-z0-9])([A-Za-z]{1,5})[ -]+(\d{1,5})(?![A-Za-z0-9])", r"\1\2", text)
    ropes, unknown, told = list[str](), list[str](), list[str]()
    for word in dict.fromkeys(re.split(r"[\s,;]+", text.strip())):
        if not word:
            continue
        known = register.known(word)
        if known is not None:
            ropes.append(known)
            continue
        told.append(_told(register, word, near=len(unknown) < _MOST_NEAREST))
        unknown.append(word)
    return Numbers(tuple(dict.fromkeys(ropes)), tuple(unknown), tuple(told))


def _told(register: Register, word: str, *, near: bool) -> str:
    try:
        return register.find(word) if near else _("No rope has the number {word}.").format(word=word[:40])
    except UnknownRope as error:
        return str(error)


class RopesField(forms.CharField):
    """Several rope numbers, typed or scanned; each must be one of the store's, whose `register` the form gives."""

    def __init__(self, *, register: Register | None = None, **kwargs: Any) -> None:
        self.register = register
        kwargs.setdefault("label", gettext_lazy("Rope numbers"))
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}))
        super().__init__(max_length=20_000, **kwargs)

    def clean(self, value: Any) -> tuple[str, ...]:
        """The numbers as the store has them, each once."""
        text = str(super().clean(value) or "")
        if self.register is None:
            raise TypeError("give the field the register of the store")
        numbers = read_numbers(self.register, text)
        if numbers.told:
            raise forms.ValidationError([_("{told} Correct it, or leave it out.").format(told=t) for t in numbers.told])
        return numbers.ropes
