"""What the counts of one rope come to: two must agree, or a third decides."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from tethera.basics import show_metres
from tethera.store.limits import limit


@dataclass(frozen=True, slots=True)
class Settled:
    """The length that counts come to [cm].

    `rests_on` are the counts the length rests on, as `Measured.counts_cm` keeps them; `agreed` says whether two of
    them agree; `said` is a sentence about the counts that were not followed, or empty.
    """

    length_cm: int
    rests_on: tuple[int, ...]
    agreed: bool
    said: str = ""


_ORDINALS = ("first", "second", "third", "fourth", "fifth")


def settle(counts_cm: Sequence[int]) -> Settled:
    """The length that one to five counts come to: the lower of the two nearest, if they agree, else the lowest of all.

    A single count stands by itself. The lower one is taken because a rope said to be longer than it is hurts somebody.

    Parameters
    ----------
    counts_cm : counts in the order they were made [cm], each more than 0

    >>> settle([2942, 2940]).length_cm
    2940
    >>> settle([2940, 3040, 2941]).said
    'Counted 29.4 m, 30.4 m and 29.41 m; the first and the third agree.'
    """
    counts = tuple(counts_cm)
    if not 1 <= len(counts) <= len(_ORDINALS) or min(counts) <= 0:
        raise ValueError(f"one to {len(_ORDINALS)} counts of more than 0 cm are settled, not {list(counts)}")
    if len(counts) == 1:
        return Settled(counts[0], counts, agreed=False)
    pairs = itertools.combinations(range(len(counts)), 2)
    one, other = min(pairs, key=lambda pair: (abs(counts[pair[0]] - counts[pair[1]]), min(counts[i] for i in pair)))
    agreed = abs(counts[one] - counts[other]) <= agree_cm()
    if agreed and len(counts) == 2:
        return Settled(min(counts), counts, agreed=True)
    shown = [f"{show_metres(each)} m" for each in counts]
    told = f"Counted {', '.join(shown[:-1])} and {shown[-1]};"
    if not agreed:
        return Settled(min(counts), counts, agreed=False, said=f"{told} no two agree, the lowest is kept.")
    said = f"{told} the {_ORDINALS[one]} and the {_ORDINALS[other]} agree."
    return Settled(min(counts[one], counts[other]), (counts[one], counts[other]), agreed=True, said=said)


def agree_cm() -> int:
    """How far two counts of one rope may lie apart and still agree [cm].

    >>> agree_cm()
    10
    """
    return round(limit("counts_agree") * 100)
