"""A store's own bands of coloured tape by length: none is built in, for every club has others."""

import re
from dataclasses import dataclass

_LINE = re.compile(r"(\d{1,3})\s*(?:m\s*)?(?:(?:to|-|–|bis)\s*(\d{1,3})\s*)?m?\s*[:=]\s*(\S.*)", re.IGNORECASE)
_MOST = 60


@dataclass(frozen=True, slots=True)
class Band:
    """From one length to another, both included [whole m], and the band's colours in words."""

    from_m: int
    to_m: int
    words: str


def read_bands(text: str) -> tuple[Band, ...]:
    """The bands of a store, one on each line, shortest first; ValueError names the line and what was expected.

    >>> read_bands("30 to 39 m: yellow\\n10-19: red and white")
    (Band(from_m=10, to_m=19, words='red and white'), Band(from_m=30, to_m=39, words='yellow'))
    """
    found: list[Band] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        match = _LINE.fullmatch(line.strip())
        if match is None:
            said = line.strip()[:60]
            raise ValueError(f"Line {number}, “{said}”: write lengths, a colon, the colours, as 30 to 39 m: yellow")
        low, high = int(match[1]), int(match[2] or match[1])
        if high < low:
            raise ValueError(f"Line {number}: {low} to {high} m runs backwards.")
        other = next((each for each in found if low <= each.to_m and each.from_m <= high), None)
        if other is not None:
            raise ValueError(f"Line {number}: {max(low, other.from_m)} m has a band already, {other.words}.")
        found.append(Band(low, high, " ".join(match[3].split())[:100]))
        if len(found) > _MOST:
            raise ValueError(f"A store has at most {_MOST} bands.")
    return tuple(sorted(found, key=lambda each: each.from_m))


def band_of(length_m: int, text: str) -> str | None:
    """The colours that a rope of so many metres wears by the store's rule, or None; a rule nobody can read is none.

    >>> band_of(34, "30 to 39 m: yellow"), band_of(40, "30 to 39 m: yellow"), band_of(34, "no idea")
    ('yellow', None, None)
    """
    try:
        bands = read_bands(text)
    except ValueError:
        return None
    return next((each.words for each in bands if each.from_m <= length_m <= each.to_m), None)
