"""Rope numbers as they are typed or scanned, one after the other, known and unknown."""

import re
from dataclasses import dataclass

from tethera.store import Register, UnknownRope


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
    text = re.sub(r"\S*/ropes/([A-Za-z0-9]{1,10})\S*", r" \1 ", text)
    text = re.sub(r"(?<![A-Za-z0-9])([A-Za-z]{1,5})[ -]+(\d{1,5})(?![A-Za-z0-9])", r"\1\2", text)
    ropes, unknown, told = [], [], []
    for word in dict.fromkeys(re.split(r"[\s,;]+", text.strip())):
        if not word:
            continue
        try:
            ropes.append(register.find(word))
        except UnknownRope as error:
            unknown.append(word)
            told.append(str(error))
    return Numbers(tuple(dict.fromkeys(ropes)), tuple(unknown), tuple(told))
