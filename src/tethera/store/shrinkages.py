"""What a store's ropes foretell of each kind's shrinkage, and which rope does not fit.

The statistics load NumPy and SciPy: they are imported where they are used, so that a list of ropes need not wait.
"""

import functools
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tethera.basics import Finding, show_metres
from tethera.store.first_washes import BeforeAfter, InUse, KindOfRope, Life, kind_in_words, life_of
from tethera.store.limits import limit
from tethera.store.naming import by_number
from tethera.store.rope_state import RopeState
from tethera.store.state import Fold

if TYPE_CHECKING:
    from tethera.rope import Predictions, Shrinkage


@dataclass(frozen=True)
class KindTold:
    """One kind of rope: what it is called, what was measured of it, what to expect before that and now.

    `kinds` is how many kinds of its fibre lean on each other, 0 where each stands alone.
    """

    kind: KindOfRope
    name: str
    measured: tuple[BeforeAfter, ...]
    prior: "Shrinkage"
    prediction: "Shrinkage"
    kinds: int = 0


@dataclass(frozen=True)
class Known:
    """All that a store has measured.

    Parameters
    ----------
    measured : by kind, ropes by number
    named : a rope of each kind, any rope of which is in the store, to name it by
    left_out : ropes that were washed and counted, but tell nothing of their first washes, and why
    in_use : what ropes lost afterwards
    """

    measured: Mapping[KindOfRope, tuple[BeforeAfter, ...]]
    named: Mapping[KindOfRope, RopeState]
    left_out: tuple[tuple[str, str], ...]
    in_use: tuple[InUse, ...]

    @functools.cached_property
    def _told(self) -> "dict[str, Predictions]":
        from tethera.rope import MeasuredShare, fibre_of, predictions, prior_for

        by_fibre: dict[str, dict[KindOfRope, list[MeasuredShare]]] = defaultdict(dict)
        for kind, ropes in self.measured.items():
            by_fibre[fibre_of(kind.material)][kind] = [MeasuredShare(each.share_left, each.sd) for each in ropes]
        # Kinds are told apart by what they are; the pooling only needs to tell them apart.
        return {
            fibre: predictions(prior_for(fibre), {repr(kind): ropes for kind, ropes in kinds.items()})
            for fibre, kinds in by_fibre.items()
        }

    def predictions(self, material: str | None) -> "Predictions":
        """What the store's kinds of this fibre foretell, all together."""
        from tethera.rope import fibre_of, predictions, prior_for

        return self._told.get(fibre_of(material)) or predictions(prior_for(material), {})

    def prediction(self, kind: KindOfRope) -> "Shrinkage":
        """What one more rope of this kind will have left after its first washes."""
        told = self.predictions(kind.material)
        return told.kinds.get(repr(kind), told.other)

    def told(self, kind: KindOfRope) -> KindTold:
        """All there is to say of one kind."""
        from tethera.rope import prior_for

        told = self.predictions(kind.material)
        name = kind_in_words(self.named[kind]) if kind in self.named else kind.material or "not declared"
        return KindTold(
            kind,
            name,
            self.measured.get(kind, ()),
            prior_for(kind.material),
            self.prediction(kind),
            len(told.kinds) if told.pooled else 0,
        )

    def all_told(self) -> tuple[KindTold, ...]:
        """Every kind of which the store has or measured a rope, those measured most often first."""
        kinds = [kind for kind, state in self.named.items() if state.retired is None or kind in self.measured]
        return tuple(self.told(each) for each in sorted(kinds, key=lambda k: (-len(self.measured.get(k, ())), k)))

    @functools.cached_property
    def doubts(self) -> Mapping[str, Finding]:
        """Ropes whose first washes took far more or far less than other ropes of their kind foretell."""
        found = ((each, _foretold(each, ropes)) for ropes in self.measured.values() for each in ropes)
        return {each.rope: _doubt(each, told) for each, told in found if _astray(each, told)}


#: What a rope's own lengths have already brought up.
_ALREADY = ("much-shorter", "longer-than-before")


def doubt_of(state: RopeState, known: Known) -> Finding | None:
    """The doubt about a rope by how much it shrank, unless its lengths are doubted already, or it is not washed."""
    if not state.washed or state.known_by != "measured" or any(each.code in _ALREADY for each in state.findings):
        return None
    return known.doubts.get(state.id)


class Shrinkages:
    """Reads what a store has measured off a fold, again only for ropes to which something happened."""

    def __init__(self) -> None:
        self._lives: dict[str, tuple[RopeState, Life]] = {}
        self._known: Known | None = None

    def known(self, fold: Fold) -> Known:
        """All that was measured, as it stands now."""
        lives: dict[str, tuple[RopeState, Life]] = {}
        same = self._known is not None
        for rope in fold.ids():
            state = fold.rope(rope)
            kept = self._lives.get(rope)
            # The fold gives out the same state until something happens to the rope, or to what it was cut from.
            if kept is None or kept[0] is not state:
                now = (state, life_of(rope, state, fold.entries(rope)) if state.washed else Life())
                same = (
                    same and kept is not None and kept[1] == now[1] and KindOfRope.of(kept[0]) == KindOfRope.of(state)
                )
                kept = now
            lives[rope] = kept
        if self._known is None or not same or lives.keys() != self._lives.keys():
            self._known = _gathered(lives)
        self._lives = lives
        return self._known


def _same(was: tuple[RopeState, Life], now: tuple[RopeState, Life]) -> bool:
    return was[1] == now[1] and KindOfRope.of(was[0]) == KindOfRope.of(now[0])


def _gathered(lives: Mapping[str, tuple[RopeState, Life]]) -> Known:
    measured: dict[KindOfRope, list[BeforeAfter]] = defaultdict(list)
    named: dict[KindOfRope, RopeState] = {}
    for state, told in lives.values():
        kind = KindOfRope.of(state)
        # A rope that is still there stands for its kind before one that is not.
        if kind not in named or named[kind].retired is not None:
            named[kind] = state
        if told.first is not None:
            measured[told.first.kind].append(told.first)
    return Known(
        {kind: tuple(sorted(found, key=lambda each: by_number(each.rope))) for kind, found in sorted(measured.items())},
        named,
        tuple((rope, told.why_not) for rope, (_, told) in lives.items() if told.why_not),
        tuple(told.in_use for _, told in lives.values() if told.in_use is not None),
    )


def _foretold(one: BeforeAfter, ropes: Iterable[BeforeAfter]) -> "Shrinkage":
    """What the other ropes of its kind say of one rope."""
    from tethera.rope import prior_for

    others = [each for each in ropes if each is not one]
    return prior_for(one.kind.material).after([each.share_left for each in others], [each.sd for each in others])


def _astray(one: BeforeAfter, told: "Shrinkage") -> bool:
    return abs(math.log(one.share_left) - told.centre) > limit("shrinkage_astray") * math.hypot(told.scale, one.sd)


def _doubt(one: BeforeAfter, told: "Shrinkage") -> Finding:
    by = f"{told.ropes} other{'s' if told.ropes > 1 else ''} of its kind" if told.ropes else "what is usual"
    lost = 100 * (1 - one.share_left)
    took = f"took {lost:.0f} % of its length" if lost >= 0 else f"made it {-lost:.0f} % longer"
    return Finding(
        "shrinkage-astray",
        f"rope {one.rope}",
        f"Its first washes {took} ({show_metres(one.before_cm)} m to {show_metres(one.after_cm)} m); by {by} "
        f"{100 * (1 - told.typical):.0f} % is likely.",
        "Count it again. Was it this rope, and was a piece cut off?",
    )
