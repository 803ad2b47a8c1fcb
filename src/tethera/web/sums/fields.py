"""The fields of a sum: what stands above each, what is in it, what it means."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tethera.rigging import usual_mass_kg
from tethera.rope import RopeType, figure, typical_mass_g_per_m
from tethera.store import RopeState
from tethera.web.accounts.visit import Visit
from tethera.web.sums.asked import Asked


@dataclass(frozen=True)
class Field:
    """One field: a line to write in, or with `options` a choice of (value, words), or a box to tick."""

    name: str
    label: str
    value: str = ""
    hint: str = ""
    options: Sequence[tuple[str, str]] = ()
    tick: bool = False
    #: Room for several lengths in one line.
    long: bool = False


def caver(asked: Asked, *, bag: bool) -> tuple[float, Field]:
    """How heavy the caver is [kg], and the field that asks; usually with one full `bag`, or without."""
    alone = figure("rope", "falls", "person", "mass").value
    usual = usual_mass_kg() if bag else alone
    full = _("{alone} kg with what hangs on the harness, and a full bag of {bag} kg.")
    none = _("{alone} kg with what hangs on the harness. Add a bag that hangs there too: {bag} kg when full.")
    hint = (full if bag else none).format(alone=f"{alone:g}", bag=f"{usual_mass_kg() - alone:g}")
    mass = asked.number("mass", _("Caver with kit and bags"), 30, 300, "kg", usual)
    return mass, Field("mass", _("Caver with kit and bags, kg"), asked.words("mass", f"{usual:g}"), hint)


def told_by_label(error: ValueError, labels: Mapping[str, str]) -> str:
    """What a formula refuses, by the words above the field: not link_m but the link."""
    return re.sub(r"\b[a-z_]+_(?:m|kg|kn|deg)\b", lambda found: labels.get(found[0], found[0]), str(error))


@dataclass(frozen=True)
class RopeOfSum:
    """The rope a sum is about: of the store, or by what is declared; `told` is what had to be assumed,
    `known` what the store declares of it."""

    rope_type: RopeType
    kg_per_m: float
    elongation: float | None
    impact_force_kn: float | None
    state: RopeState | None
    told: tuple[str, ...]
    known: tuple[str, ...]
    fields: tuple[Field, ...]


def rope_of_sum(visit: Visit, asked: Asked, *, mass: bool = False, force: bool = False) -> RopeOfSum:
    """The rope of the form; what is typed goes before what the store says.

    With `mass` its grams a metre are asked, with `force` its impact force.
    """
    ropes = [each for each in visit.ropes if each.state != "retired" and each.rope_type != "cord"]
    state = {each.id: each for each in ropes}.get(asked.words("rope"))
    typed = asked.choice("type", ("", "A", "B", "dynamic"), "")
    rope_type = typed or (state.rope_type if state else None)
    percent = asked.maybe("elongation", _("Elongation"), 0.1, 20, "%")
    typed_kn = asked.maybe("force", _("Impact force"), 2, 20, "kN") if force else None
    declared = state if percent is None else None
    kind: RopeType | None = rope_type if rope_type in ("A", "B", "dynamic") else None  # type: ignore[assignment]
    declared_kn = state.fall_force_kn(kind) if state and force and typed_kn is None else None
    told = [] if rope_type or mass else [_("Type not declared: counted as type B, the stiffer one in a fall.")]
    percent_known = declared.elongation_percent if declared and declared.elongation else None
    grams, said = _grams(asked, state) if mass else (None, [])
    return RopeOfSum(
        kind or "B",
        (grams or 0.0) / 1000,
        (declared.elongation if declared else None) if percent is None else percent / 100,
        typed_kn or declared_kn,
        state,
        (*told, *said),
        _by_leaflet(state, percent_known, declared_kn),
        _fields(asked, ropes, state, typed, mass=mass, force=force),
    )


def _grams(asked: Asked, state: RopeState | None) -> tuple[float, list[str]]:
    """Mass of a metre: typed, of the store, or as is common for the diameter, which is then said."""
    grams = asked.maybe("grams", _("Mass of a metre"), 10, 200, "g") or (state.mass_g_per_m if state else None)
    if grams is not None:
        return grams, []
    diameter = (state.diameter_mm if state else None) or 10.0
    usual = typical_mass_g_per_m(diameter)
    words = _("Mass not declared: {g} g a metre, as is common for {mm} mm.")
    return usual, [words.format(g=f"{usual:g}", mm=f"{diameter:g}")]


def _by_leaflet(state: RopeState | None, percent: float | None, kn: float | None) -> tuple[str, ...]:
    """What is taken from what the store knows of the rope, so that nobody wonders where it came from."""
    figures = [_("elongation {percent} %").format(percent=f"{percent:g}")] if percent is not None else []
    figures += [_("impact force {kn} kN").format(kn=f"{kn:g}")] if kn is not None else []
    if state is None or not figures:
        return ()
    return (_("Declared of {rope}: {figures}.").format(rope=state.id, figures=", ".join(figures)),)


def _fields(
    asked: Asked, ropes: Sequence[RopeState], state: RopeState | None, typed: str, *, mass: bool, force: bool
) -> tuple[Field, ...]:
    options = [("", _("none of the store's")), *((each.id, _named(each)) for each in ropes)]
    types = [("", _("as declared")), ("A", _("low-stretch, type A")), ("B", _("low-stretch, type B"))]
    types.append(("dynamic", _("dynamic")))
    empty = _("Empty: as the store knows it of the rope, or not declared.")
    hint = _("From 50 to 150 kg, as the maker's leaflet says.")
    fields = [Field("rope", _("Rope"), state.id if state else "", options=options)]
    fields.append(Field("type", _("Type"), typed, options=types))
    fields.append(Field("elongation", _("Elongation, per cent"), asked.words("elongation"), f"{hint} {empty}"))
    if mass:
        fields.append(Field("grams", _("Mass of a metre, grams"), asked.words("grams")))
    if force:
        drop = _("Of the drop test of its standard, as the maker's leaflet says. It tells more than the elongation.")
        fields.append(Field("force", _("Impact force, kN"), asked.words("force"), f"{drop} {empty}"))
    return tuple(fields)


def _named(rope: RopeState) -> str:
    what = f"{rope.diameter_mm:g} mm" if rope.diameter_mm else ""
    kind = {"A": "A", "B": "B", "dynamic": _("dynamic")}.get(rope.rope_type or "", "")
    long = f"({rope.length_cm // 100} m)" if rope.length_cm else ""
    return " ".join(each for each in (rope.id, what, kind, long) if each)
