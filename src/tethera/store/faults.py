"""Faults of a rope in the trade's words, and whether what an examiner wrote names one."""

import re

#: As the pages offer them, and as they stand in the record.
FAULTS = (
    "flat spot",
    "soft",
    "stiff",
    "glazed",
    "cut in the sheath",
    "worn sheath",
    "core shows",
    "discoloured",
)
#: Before one of these words a record says that it was not there.
_DENIED = r"\b(?:no|not|without|never|nor|nil)\s+(?:\w+\s+){0,2}"
_WORDS = "|".join(re.escape(each) for each in FAULTS)
#: Whoever writes down a place found something there.
_PLACE = r"\s+at\s+\d+(?:[.,]\d+)?\s*m\b"


def names_a_fault(findings: str) -> bool:
    """Whether what was written down names a fault, or a place along the rope at which something is.

    >>> names_a_fault("Flat spot at 12.4 m. Else fine."), names_a_fault("No flat spot, nothing stiff")
    (True, False)
    >>> names_a_fault("burnt at 3 m"), names_a_fault("No flat spot at 12.4 m any more")
    (True, False)
    """
    said = re.sub(rf"(?:{_DENIED}|\bnothing\s+)(?:{_WORDS})\b(?:{_PLACE})?", "", findings.lower())
    return re.search(rf"\b(?:{_WORDS})\b|{_PLACE}", said) is not None
