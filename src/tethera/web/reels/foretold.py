"""What the first washes will take off rope that is being written down, as far as its kind is told."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from tethera.rope import Loss, fibre_of
from tethera.store import KindOfRope, RopeState
from tethera.web.accounts.visit import Visit

_TELLS = ("maker", "product", "material", "diameter_mm", "rope_type")


@dataclass(frozen=True)
class Foretold:
    """Shares lost: likely, and between which nine ropes in ten lie; on how many measured ropes of its kind it rests.

    `fibre` is empty where none was declared; rope is then counted as nylon, which shrinks more than polyester.
    """

    likely: float
    loss: Loss
    ropes: int
    fibre: str


def foretold(visit: Visit, told: Mapping[str, Any]) -> Foretold:
    """From what is typed so far."""
    known: dict[str, Any] = {name: told.get(name) or None for name in _TELLS}
    kind = KindOfRope.of(RopeState("NEW", **known))
    prediction = visit.register.shrinkages().prediction(kind)
    most, least = (max(0.0, 1 - float(each)) for each in prediction.quantile([0.05, 0.95]))
    # Whole per cents, outwards: nobody cuts by a tenth of one.
    band = Loss(math.floor(100 * least) / 100, math.ceil(100 * most) / 100)
    fibre = fibre_of(kind.material)
    return Foretold(1 - prediction.typical, band, prediction.ropes, "" if fibre == "not known" else fibre)
