"""Forces of a fall: the band against 4 and 6 kN, how it grows with slack, and what matters most."""

import math
from collections.abc import Sequence

from tethera.labels.figure import BOLD, FINE, PLAIN, SMALL_PT, TEXT_PT, Part, figure, words
from tethera.labels.page import THIN_SPACE, Box, Primitive, Stroke, Text

#: Low, likely and high [kN].
Forces = tuple[float, float, float]
_LEFT, _PLOT = 44.0, 230.0


def force_band_svg(band: Forces, limits: tuple[float, float], *, wide: int = 640, name: str = "force") -> str:
    """One band on a line of kilonewtons; `limits` are where we warn and the ceiling of the standards."""
    most = _round_up(max(band[2] * 1.08, limits[1] * 1.25))
    start, end, line = 12.0, wide - 14.0, 92.0

    def x(kn: float) -> float:
        return start + kn / most * (end - start)

    low, likely, high = (x(each) for each in band)
    axis: list[Primitive] = [Stroke(((start, line), (end, line)), FINE)]
    for kn in _ticks(most, 6 if wide > 400 else 4):
        axis += [Stroke(((x(kn), line), (x(kn), line + 6)), FINE), words(x(kn), line + 22, f"{kn:g}", at="middle")]
    axis.append(words(end, line + 40, "kilonewtons", at="end"))
    marks: list[Primitive] = []
    for kn, dashed in zip(limits, (True, False), strict=True):
        marks += [
            Stroke(((x(kn), 26), (x(kn), line)), PLAIN, dashed),
            words(x(kn), 20, f"{kn:g}{THIN_SPACE}kN", at="middle"),
        ]
    box: list[Primitive] = [
        Box(low, line - 40, max(high - low, 2.0), 24, 0.0, PLAIN),
        Stroke(((likely, line - 46), (likely, line - 10)), BOLD),
    ]
    told = (
        f"{band[1]:.1f} kN likely, {band[0]:.1f} to {band[2]:.1f}. "
        f"We warn from {limits[0]:g} kN; {limits[1]:g} kN is the ceiling of the European standards."
    )
    parts = [Part("axis", axis), Part("limits", marks), Part("band", box)]
    return figure("force-band", name, "Most force on the caver", told, (wide, line + 46), parts)


def force_chart_svg(
    slacks_m: Sequence[float],
    forces: tuple[Sequence[float], Sequence[float], Sequence[float]],
    asked_m: float,
    limits: tuple[float, float],
    *,
    said: str = "slack",
    wide: int = 640,
    name: str = "against-slack",
) -> str:
    """Force against slack: the likely line bold, the ends of the band fine, the slack asked about dotted down."""
    most = _round_up(max(max(forces[2]), limits[1] * 1.1))
    last = max(slacks_m[-1], 1e-6)
    right, top, bottom = wide - 16.0, 14.0, 14.0 + _PLOT

    def x(slack: float) -> float:
        return _LEFT + slack / last * (right - _LEFT)

    def y(kn: float) -> float:
        return bottom - kn / most * _PLOT

    axes: list[Primitive] = [Stroke(((_LEFT, top), (_LEFT, bottom), (right, bottom)), FINE)]
    for kn in _ticks(most, 5):
        axes += [Stroke(((_LEFT - 5, y(kn)), (_LEFT, y(kn))), FINE), words(_LEFT - 9, y(kn) + 5, f"{kn:g}", at="end")]
    for metres in _ticks(last, 5 if wide > 400 else 4):
        axes += [
            Stroke(((x(metres), bottom), (x(metres), bottom + 5)), FINE),
            words(x(metres), bottom + 21, f"{metres:g}", at="middle"),
        ]
    axes += [words(right, bottom + 41, f"{said}, metres", at="end"), words(_LEFT + 8, top + 5, "kN")]
    marks: list[Primitive] = [
        Stroke(((_LEFT, y(kn)), (right, y(kn))), FINE, dashed) for kn, dashed in zip(limits, (True, False), strict=True)
    ]
    lines: list[Primitive] = [
        Stroke(tuple((x(s), y(f)) for s, f in zip(slacks_m, row, strict=True)), weight)
        for row, weight in zip(forces, (FINE, PLAIN * 1.5, FINE), strict=True)
    ]
    here: list[Primitive] = [Stroke(((x(asked_m), top), (x(asked_m), bottom)), FINE, True)]
    here.append(words(min(x(asked_m) + 6, right - 60), bottom - 8, "asked"))
    told = f"From {forces[1][0]:.1f} kN without {said} to {forces[1][-1]:.1f} kN with {last:g} m of it."
    parts = [Part("axes", axes), Part("limits", marks), Part("forces", lines), Part("asked", here)]
    return figure("force-chart", name, f"Force against {said}", told, (wide, bottom + 46), parts)


def ranking_svg(rows: Sequence[tuple[str, float]], *, wide: int = 640, name: str = "ranking") -> str:
    """What matters most: a bar for each rank correlation, to the right where more of it means more force."""
    beside = max(Text(0, 0, each, TEXT_PT).width for each, _ in rows) + 18
    middle = beside + (wide - beside - 54) * (0.25 if any(rho < 0 for _, rho in rows) else 0.0)
    reach = wide - 54 - middle
    drawn: list[Primitive] = []
    for row, (what, rho) in enumerate(rows):
        y = 24.0 + 34 * row
        end = middle + rho * reach
        drawn += [
            words(2, y + 5.5, what, TEXT_PT),
            Stroke(((middle, y), (end if abs(end - middle) > 1 else middle + 1, y)), 2 * BOLD),
            words(max(end, middle) + 10, y + 5.5, f"{rho:+.2f}".replace("-", "−"), SMALL_PT),
        ]
    height = 24.0 + 34 * len(rows)
    drawn.append(Stroke(((middle, 6), (middle, height - 14)), FINE))
    told = ", ".join(f"{what} {rho:+.2f}" for what, rho in rows) + "."
    return figure("ranking", name, "What matters most for the force", told, (wide, height), [Part("bars", drawn)])


def _ticks(most: float, about: int) -> list[float]:
    step = next(s for s in (0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100) if most / s <= about)
    return [round(i * step, 3) for i in range(int(most / step + 1e-9) + 1)]


def _round_up(kn: float) -> float:
    return float(math.ceil(kn))
