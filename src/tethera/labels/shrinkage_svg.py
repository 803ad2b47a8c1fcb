"""What the first washes take off: what a source says, what was measured, and what to expect of the next rope."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import BOLD, FINE, PLAIN, TEXT_PT, Part, figure, words
from tethera.labels.page import Primitive, Ring, Stroke

Facts = Mapping[str, Any]
_TOP, _PLOT, _DOTS = 26.0, 190.0, 46.0


def shrinkage_svg(facts: Facts, *, wide: int = 640, name: str = "shrinkage") -> str:
    """Densities over the share lost, `wide` px wide at its own size (340 for a telephone).

    facts : losses (shares, rising), prior and prediction (a density for each), band (least, likely, most share lost),
    count_on (the share lost that is counted on when buying), measured (shares lost, one a rope)
    """
    losses, prior, told = facts["losses"], facts["prior"], facts["prediction"]
    left, right, foot = 16.0, wide - 16.0, _TOP + _PLOT
    first, last = float(losses[0]), float(losses[-1])
    most: float = max(*prior, *told, 1e-9)

    def x(loss: float) -> float:
        return left + (min(max(loss, first), last) - first) / (last - first) * (right - left)

    def y(density: float) -> float:
        return foot - density / most * (_PLOT - 14)

    measured: Sequence[float] = facts["measured"]
    below = foot + (_DOTS if measured else 20.0)
    axis: list[Primitive] = [Stroke(((left, foot), (right, foot)), FINE), Stroke(((left, below), (right, below)), FINE)]
    step = 5 if wide > 400 else 10
    for percent in range(-(-round(first * 100) // step) * step, round(last * 100) + 1, step):
        at = x(percent / 100)
        axis += [Stroke(((at, below), (at, below + 6)), FINE), words(at, below + 22, f"{percent}", at="middle")]
    axis.append(words(right, below + 42, "lost in the first washes, %", at="end"))
    curves: list[Primitive] = [
        Stroke(tuple((x(a), y(b)) for a, b in zip(losses, prior, strict=True)), PLAIN, dashed=True),
        Stroke(tuple((x(a), y(b)) for a, b in zip(losses, told, strict=True)), BOLD),
    ]
    dots: list[Primitive] = [Ring(x(loss), foot + 24, 5.0, PLAIN, fill=True) for loss in measured]
    counted = x(float(facts["count_on"]))
    buy: list[Primitive] = [Stroke(((counted, _TOP), (counted, below)), PLAIN)]
    beside = counted > (left + right) / 2
    buy.append(words(counted + (-7 if beside else 7), _TOP + 8, "counted on", TEXT_PT, at="end" if beside else "start"))
    low, likely, high = (100 * float(each) for each in facts["band"])
    sentence = (
        f"Next rope: {likely:.1f} % likely, {low:.1f} to {high:.1f} in nine of ten. {len(measured)} ropes measured. "
        f"When buying {100 * float(facts['count_on']):.1f} % is counted on."
    )
    parts = [Part("axis", axis), Part("curves", curves), Part("measured", dots), Part("buy", buy)]
    return figure("shrinkage-chart", name, "What the first washes take off", sentence, (wide, below + 50), parts)
