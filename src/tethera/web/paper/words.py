"""Choices in the trade's words, for every form that offers them; the record keeps the key."""

from collections.abc import Iterable

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: A word that is not here stands for itself.
CHOICES: dict[str, Promise] = {
    "A": _("low-stretch, type A (EN 1891)"),
    "B": _("low-stretch, type B (EN 1891)"),
    "dynamic": _("dynamic (EN 892)"),
    "cord": _("accessory cord (EN 564)"),
    "machine": _("in the machine"),
    "hand": _("by hand"),
    "bath": _("in a bath"),
    "sheet": _("the old sheet"),
    "label": _("its label"),
    "measured": _("measuring"),
    "fit": _("fit to go back"),
    "not fit": _("not fit"),
    "undecided": _("undecided"),
}
ROPE_TYPES = ("A", "B", "dynamic", "cord")
#: What an examination ends with, where it is chosen: the word of the record, and what it means.
OUTCOMES: list[tuple[str, str | Promise]] = [
    ("fit", _("fit to go back: nothing found that speaks against use")),
    ("not fit", _("not fit: set aside until a competent person clears it")),
    ("undecided", _("undecided: it waits to be looked at again")),
]
WAYS_TO_WASH = ("machine", "hand", "bath")


def chosen_from(words: Iterable[str]) -> list[tuple[str, str | Promise]]:
    """Choices of a form field: each word of the record, and what it is called."""
    return [(word, CHOICES.get(word, word)) for word in words]
