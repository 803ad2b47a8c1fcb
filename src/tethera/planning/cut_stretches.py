"""Which pieces from which stretch: fewest metres missing, then least waste, then fewest stretches begun."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from tethera.planning import highs
from tethera.planning.highs import NoAnswer
from tethera.planning.plan import Budget

Whole = NDArray[np.int64]
#: Beginning one more stretch counts as so much waste, so that whole reels stay whole [cm].
_BEGUN_CM = 50


@dataclass(frozen=True)
class Laid:
    """Of each stretch the lengths cut from it, those that found no place, and whether that is proven best."""

    cuts: tuple[tuple[int, ...], ...]
    missing: tuple[int, ...]
    proven: bool


def lay_out(stretches_cm: Sequence[int], pieces_cm: Sequence[int], keep_from_cm: int, seconds: Budget) -> Laid:
    """Lay pieces into stretches. What is left of a stretch is waste where it is shorter than `keep_from_cm`.

    Columns: copies of each length in each stretch, missing copies, and of each stretch its waste, whether its rest is
    kept, and whether it is begun.
    """
    wanted = Counter(pieces_cm)
    lengths, many = sorted(wanted, reverse=True), len(stretches_cm)
    kinds = len(lengths)
    copies, missing = 0, many * kinds
    waste, kept, begun = missing + kinds, missing + kinds + many, missing + kinds + 2 * many
    columns = begun + many
    # A missing centimetre is worse than all waste and all beginnings there could be.
    dear = float(sum(stretches_cm) + _BEGUN_CM * many + 1)
    cost, most = np.zeros(columns), np.zeros(columns)
    for k, length in enumerate(lengths):
        cost[missing + k], most[missing + k] = dear * length, wanted[length]
    equal = sparse.lil_array((kinds, columns))
    limit = sparse.lil_array((3 * many, columns))
    right = np.zeros(3 * many)
    for s, room in enumerate(stretches_cm):
        row = 3 * s
        cost[waste + s], cost[begun + s] = 1.0, float(_BEGUN_CM)
        most[[waste + s, kept + s, begun + s]] = (room, 1.0, 1.0)
        for k, length in enumerate(lengths):
            column = copies + s * kinds + k
            most[column] = min(wanted[length], room // length)
            equal[k, column] = 1.0
            limit[row, column] = length  # what is cut is there, and nothing is where it is not begun
            limit[row + 1, column] = -length  # rest - waste <= room when kept, else 0
            limit[row + 2, column] = length  # what is kept is long enough
        limit[row, begun + s], right[row] = -room, 0.0
        limit[row + 1, waste + s], limit[row + 1, kept + s], right[row + 1] = -1.0, -room, -room
        limit[row + 2, kept + s], right[row + 2] = keep_from_cm, room
    for k in range(kinds):
        equal[k, missing + k] = 1.0
    whole = np.ones(columns, dtype=bool)
    whole[waste:kept] = False
    demand = np.array([wanted[length] for length in lengths], float)
    rows = (sparse.csr_array(equal), demand), (sparse.csr_array(limit), right)
    try:
        found, _, proven = highs.integers(cost, *rows, np.arange(columns), whole, most, seconds=min(seconds(), 30.0))
    except NoAnswer:
        found, proven = _by_hand(stretches_cm, lengths, wanted, columns, missing), False
    return _laid(found, lengths, many, proven)


def _laid(found: Whole, lengths: Sequence[int], many: int, proven: bool) -> Laid:
    """The columns read: copies of each length in each stretch come first, then those missing."""
    kinds = len(lengths)
    missing = many * kinds
    cuts = tuple(
        tuple(length for k, length in enumerate(lengths) for _ in range(int(found[s * kinds + k]))) for s in range(many)
    )
    lost = tuple(length for k, length in enumerate(lengths) for _ in range(int(found[missing + k])))
    return Laid(cuts, lost, proven)


def _by_hand(
    stretches_cm: Sequence[int], lengths: Sequence[int], wanted: Counter[int], columns: int, missing: int
) -> Whole:
    """Longest piece first, into the shortest stretch that still has room."""
    found = np.zeros(columns, dtype=np.int64)
    room = list(stretches_cm)
    for k, length in enumerate(lengths):
        for _ in range(wanted[length]):
            fitting = [s for s, left in enumerate(room) if left >= length]
            if fitting:
                s = min(fitting, key=lambda s: room[s])
                room[s] -= length
                found[s * len(lengths) + k] += 1
            else:
                found[missing + k] += 1
    return found
