"""The fields of a sum: what stands above each, what is in it, what it means."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from tethera.rope import RopeType, typical_mass_g_per_m
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


def told_by_label(error: ValueError, labels: Mapping[str, str]) -> str:
    """What a formula refuses, by the words above the field: not link_m but the link."""
    return re.sub(r"\b[a-z_]+_(?:m|kg|kn|deg)\b", lambda found: labels.get(found[0], found[0]), str(error))


@dataclass(frozen=True)
class RopeOfSum:
    """The rope a sum is about: of the store, or by what is declared; `told` is what had to be assumed."""

    rope_type: RopeType
    kg_per_m: float
    elongation: float | None
    state: RopeState | None
    told: tuple[str, ...]
    fields: tuple[Field, ...]


def rope_of_sum(visit: Visit, asked: Asked, *, mass: bool) -> RopeOfSum:
    """The rope of the form; what is typed goes before what the store says. With `mass` its grams a metre are asked."""
    ropes = [each for each in visit.ropes if each.state != "retired" and each.rope_type != "cord"]
    known = {each.id: each for each in ropes}
    state = known.get(asked.words("rope"))
    typed = asked.choice("type", ("", "A", "B", "dynamic"), "")
    rope_type = typed or (state.rope_type if state else None)
    told = [] if rope_type else [_("Type not declared: counted as type B, the stiffer one in a fall.")]
    percent = asked.maybe("elongation", _("Elongation"), 0.1, 20, "%")
    grams = asked.maybe("grams", _("Mass of a metre"), 10, 200, "g") if mass else None
    grams = grams or (state.mass_g_per_m if state else None)
    if grams is None:
        diameter = (state.diameter_mm if state else None) or 10.0
        grams = typical_mass_g_per_m(diameter)
        if mass:
            words = _("Mass not declared: {g} g a metre, as is common for {mm} mm.")
            told.append(words.format(g=f"{grams:g}", mm=f"{diameter:g}"))
    options = [("", _("none of the store's")), *((each.id, _named(each)) for each in ropes)]
    types = [("", _("as declared")), ("A", _("low-stretch, type A")), ("B", _("low-stretch, type B"))]
    types.append(("dynamic", _("dynamic")))
    fields = [Field("rope", _("Rope"), state.id if state else "", options=options)]
    fields.append(Field("type", _("Type"), typed, options=types))
    hint = _("From 50 to 150 kg, as the maker's leaflet says. Leave it empty if you do not know.")
    fields.append(Field("elongation", _("Elongation, per cent"), asked.words("elongation"), hint))
    if mass:
        fields.append(Field("grams", _("Mass of a metre, grams"), asked.words("grams")))
    kind: RopeType = rope_type if rope_type in ("A", "B", "dynamic") else "B"  # type: ignore[assignment]
    share = None if percent is None else percent / 100
    return RopeOfSum(kind, grams / 1000, share, state, tuple(told), tuple(fields))


def _named(rope: RopeState) -> str:
    what = f"{rope.diameter_mm:g} mm" if rope.diameter_mm else ""
    kind = {"A": "A", "B": "B", "dynamic": _("dynamic")}.get(rope.rope_type or "", "")
    long = f"({rope.length_cm // 100} m)" if rope.length_cm else ""
    return " ".join(each for each in (rope.id, what, kind, long) if each)
