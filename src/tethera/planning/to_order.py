"""How much new rope to order for what a trip lacks: a need is of washed rope, and the first washes take their share."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tethera.basics import need_cm
from tethera.planning.choices import Choices
from tethera.planning.trip import Unmet

if TYPE_CHECKING:
    from tethera.store import Known

#: The surest that a share left is foretold [-].
_SUREST = 0.999
#: What is bought may be of any kind: as for `tethera buy-length`, rope of nylon that this store has not measured.
_MATERIAL = "nylon"


@dataclass(frozen=True)
class ToOrder:
    """How sure each rope must be to have enough left, and what the store measured, asked for only when needed.

    Without a store the published loss holds.
    """

    confidence: float | None
    shrinkages: "Callable[[], Known] | None" = None

    def order_cm(self, left_m: Sequence[int]) -> tuple[int, ...]:
        """What to order so that so much is left of each, rounded up to whole decimetres [cm]."""
        from tethera.rope import length_to_buy_m, prior_for

        told = prior_for(_MATERIAL) if self.shrinkages is None else self.shrinkages().predictions(_MATERIAL).other
        return tuple(-(-need_cm(float(length_to_buy_m(float(m), self.sure, told))) // 10) * 10 for m in left_m)

    @property
    def sure(self) -> float:
        """As sure as the plan was asked to be; as usual where it was asked for no margin."""
        return min(self.confidence or Choices.confidence or _SUREST, _SUREST)

    def told(self, left_m: tuple[int, ...], proof: str) -> Unmet:
        """What to buy in a sentence: what must be left, and what to order for it."""
        order_cm = self.order_cm(left_m)
        left = _listed([f"{m} m" for m in left_m])
        order = _listed([f"{cm / 100:g} m" for cm in order_cm])
        sure = f"{100 * self.sure:g} % sure{' of each' if len(left_m) > 1 else ''}"
        words = (
            f"Cheapest to buy, cut to length: {left} must be left after the first washes{proof}, "
            f"so order about {order} ({sure})."
        )
        return Unmet("buy", words, buy_m=left_m, order_cm=order_cm)


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
