"""What rope, knots and cord held in published tests: a figure with its source, or none known. Never a verdict.

Shares multiply: rope with its knot, by what water leaves, by what use leaves. Each is the end that hurts for `low`.
"""

from dataclasses import dataclass

from tethera.rope.specification import RopeType, between
from tethera.rope.tables import Figure, figure, load_table, read_figure

#: Knots that the standard's terminated test speaks for.
_AS_TERMINATED = ("figure_eight_on_the_bight", "figure_nine_on_the_bight")


@dataclass(frozen=True, slots=True)
class Held:
    """What new rope of a kind held, after knot, water and use [kN]; both None where no figure is known.

    low_kn, likely_kn : the hurting end, and what the figures say in the middle
    reasons : what each number rests on, one sentence each
    unknown : what no figure was found for, one sentence each; such things are not counted
    """

    low_kn: float | None
    likely_kn: float | None
    reasons: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        """Whether there is any figure."""
        return self.low_kn is not None

    def share(self, load_kn: float) -> float | None:
        """A load as a share of the hurting end [-]; None where none is known.

        >>> round(Held(12.0, 15.0).share(3.0), 2), Held(None, None).share(3.0)
        (0.25, None)
        """
        return None if self.low_kn is None else load_kn / self.low_kn


def rope_held(
    rope_type: RopeType | None,
    knot: str | None = "figure_eight_on_the_bight",
    *,
    wet: bool = True,
    used_years: float | None = None,
) -> Held:
    """What knotted low-stretch rope held in published tests.

    Parameters
    ----------
    rope_type : "A" or "B"; dynamic rope has no static strength in its standard, and an undeclared type none at all
    knot : its name in rigging/tables/knots.toml, or None for the rope without one
    wet : in a cave it is
    used_years : in use so long [years], 0 to 60; None is not known. Beyond two years there is no figure.

    >>> held = rope_held("A", wet=False, used_years=0.0)
    >>> held.low_kn, held.likely_kn
    (15.0, 15.0)
    >>> round(rope_held("A", used_years=1.0).low_kn, 2)
    8.4
    >>> rope_held("dynamic").known
    False
    """
    if used_years is not None:
        between("used_years", used_years, 0.0, 60.0, "years")
    if rope_type not in ("A", "B"):
        dynamic = rope_type == "dynamic"
        why = "EN 892 asks no static strength of dynamic rope." if dynamic else "The type is not declared."
        return Held(None, None, (), (f"What the rope held: none known. {why}",))
    base, reasons, unknown = _knotted(rope_type, knot)
    low = likely = base
    if wet:
        low *= _of("wet", "low").value
        likely *= _of("wet", "likely").value
        at_worst = f"{_of('wet', 'low').value:.0%} at worst, {_of('wet', 'likely').value:.0%} likely"
        reasons.append(f"Wet: {at_worst} ({_of('wet', 'low').source}).")
    until = _of("used", "until").value
    if used_years is None or used_years > until:
        unknown.append(f"What use of more than {until:g} years leaves: none known; counted as at {until:g} years.")
    if used_years != 0.0:
        low *= _of("used", "low").value
        reasons.append(f"Used: more than {_of('used', 'low').value:.0%} left ({_of('used', 'low').source}).")
    return Held(low, likely, tuple(reasons), tuple(unknown))


def _knotted(rope_type: str, knot: str | None) -> tuple[float, list[str], list[str]]:
    bare = _of("en1891", rope_type, "unknotted")
    if knot is None:
        return bare.value, [_told(bare)], []
    tied = _of("en1891", rope_type, "terminated")
    name = knot.replace("_", " ")
    shares = load_table("rope", "strength")["knot"]
    if knot in shares:
        share = read_figure(shares[knot])
        held = min(bare.value * share.value, tied.value)
        words = f"{name.capitalize()}: {share.value:.0%} of {bare.value:g} kN ({share.source}), "
        return held, [words + f"no more than {tied.value:g} kN ({tied.source})."], []
    unknown = [] if knot in _AS_TERMINATED else [f"What a {name} leaves: none known; counted as a figure-eight."]
    return tied.value, [_told(tied)], unknown


def cord_held(diameter_mm: float, *, wet: bool = True) -> Held:
    """What a sling of accessory cord (EN 564) held, one strand with a knot [kN].

    Parameters
    ----------
    diameter_mm : 4 to 8 mm, the standard's range

    >>> held = cord_held(7.0, wet=False)
    >>> round(held.low_kn, 2), round(held.likely_kn, 2)
    (4.9, 7.84)
    """
    between("diameter_mm", diameter_mm, 4.0, 8.0, "mm")
    bare = diameter_mm**2 / _of("cord", "divisor").value
    low, likely = (_of("cord", key) for key in ("knot_low", "knot_likely"))
    water = [_of("wet", key).value if wet else 1.0 for key in ("low", "likely")]
    reasons = [f"{bare:.3g} kN new and without a knot ({_of('cord', 'divisor').source}).", _share_told("Knot", low)]
    if wet:
        reasons.append(_share_told("Wet", _of("wet", "low")))
    return Held(bare * low.value * water[0], bare * likely.value * water[1], tuple(reasons))


def _share_told(what: str, found: Figure) -> str:
    return f"{what}: {found.value:.0%} at worst ({found.source})."


def _told(found: Figure) -> str:
    return f"{found.value:g} kN: {found.source}."


def _of(*path: str) -> Figure:
    return figure("rope", "strength", *path)
