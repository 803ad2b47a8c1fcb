"""What changed from one version of a route to the next, pitch by pitch, in words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from tethera.rigging.route import Anchor, Measure, Pitch, Route

_WORDS = {
    "pull_through": "pulled through",
    "left_in_place": "a rope left in place",
    "type_a_only": "type A only",
    "rope_goes_on": "the rope may go on",
    "rub": "the rope may rub",
}
_CALLED = {
    "depth_known_by": "depth known by",
    "direction": "direction",
    "traverse_m": "traverse",
    "anchor_count": "anchors",
    "to_next_m": "to the next",
    "second_line": "second line",
    "rope_above_floor_m": "ends above the floor",
    "min_diameter_mm": "thinnest rope, mm",
    "max_g_per_m": "heaviest rope, g/m",
    "depth_spread_m": "spread of the depth",
}
_PLAIN = (
    *("depth_known_by", "direction", "traverse_m", "anchor_count", "rebelays", "deviations", "naturals", "to_next_m"),
    *("second_line", "rope_above_floor_m", "min_diameter_mm", "max_g_per_m", "depth_spread_m"),
)


@dataclass(frozen=True, slots=True)
class PitchChange:
    """One pitch, or the route as a whole where `pitch` is empty, and what of it changed."""

    pitch: str
    what: tuple[str, ...]


def changed_pitches(old: Route | None, new: Route) -> tuple[PitchChange, ...]:
    """What changed, in the order of the new route; a first version is told as a whole."""
    if old is None:
        return (PitchChange("", (f"written down with {_counted(len(new.pitches), 'pitch', 'pitches')}",)),)
    whole = tuple(_whole(old, new))
    found = [PitchChange("", whole)] if whole else []
    renamed = _renamed(old, new)
    before = {pitch.name: pitch for pitch in old.pitches}
    for pitch in new.pitches:
        was = before.get(renamed.get(pitch.name, pitch.name))
        if was is None:
            found.append(PitchChange(pitch.name, (f"new, {_depth(pitch.depth)} deep",)))
        elif what := tuple(_of_pitch(was, pitch)):
            found.append(PitchChange(pitch.name, what))
    kept = {renamed.get(pitch.name, pitch.name) for pitch in new.pitches}
    found += [PitchChange(pitch.name, ("taken out",)) for pitch in old.pitches if pitch.name not in kept]
    return tuple(found)


def _whole(old: Route, new: Route) -> Iterator[str]:
    if old.name != new.name:
        yield f"called {new.name}, was {old.name}"
    if old.team_size != new.team_size:
        yield f"cavers {new.team_size or 'not said'}, was {old.team_size or 'not said'}"
    if old.notes != new.notes:
        yield "notes changed"
    names = [pitch.name for pitch in old.pitches], [pitch.name for pitch in new.pitches]
    common = [[name for name in each if name in names[1 - at]] for at, each in enumerate(names)]
    if common[0] != common[1]:
        yield "pitches in another order"


def _renamed(old: Route, new: Route) -> dict[str, str]:
    """New names of pitches that stand where another stood with the same facts, each with its old name."""
    gone = [pitch for pitch in old.pitches if all(pitch.name != each.name for each in new.pitches)]
    found: dict[str, str] = {}
    for place, pitch in enumerate(new.pitches):
        if all(pitch.name != each.name for each in old.pitches):
            here = old.pitches[place] if place < len(old.pitches) else None
            same = next((each for each in gone if each is here or each.depth == pitch.depth), None)
            if same is not None and same.name not in found.values():
                found[pitch.name] = same.name
    return found


def _of_pitch(old: Pitch, new: Pitch) -> Iterator[str]:
    if old.name != new.name:
        yield f"was called {old.name}"
    if old.depth != new.depth:
        yield f"{_depth(new.depth)}, was {_depth(old.depth)}"
    if old.guide_rope != new.guide_rope:
        yield f"guide's rope {_rope(new.guide_rope)}, was {_rope(old.guide_rope)}"
    for name in _PLAIN:
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield f"{_CALLED.get(name, name)} {_said(name, now)}, was {_said(name, was)}"
    for name in ("pull_through", "left_in_place", "type_a_only", "rope_goes_on"):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield f"{_WORDS[name]}: {'yes' if now else 'no'}"
    if old.instead_of != new.instead_of:
        yield f"instead of {', '.join(new.instead_of) or 'none'}"
    yield from _anchors(old.anchors, new.anchors)
    if old.editions != new.editions:
        yield "what other guides say"
    if old.notes != new.notes:
        yield "notes changed"


def _anchors(old: Sequence[Anchor], new: Sequence[Anchor]) -> Iterator[str]:
    if not old and new:
        yield f"now known anchor by anchor: {', '.join(each.role for each in new)}"
        return
    for tag, a0, a1, b0, b1 in SequenceMatcher(a=old, b=new, autojunk=False).get_opcodes():
        pairs = zip(range(a0, a1), range(b0, b1), strict=False) if tag == "replace" else ()
        for was, now in pairs:
            yield f"{new[now].role} {now + 1}: {', '.join(_of_anchor(old[was], new[now]))}"
        same = min(a1 - a0, b1 - b0) if tag == "replace" else 0
        if tag != "equal":
            yield from (f"{new[place].role} {place + 1}: new" for place in range(b0 + same, b1))
            yield from (f"{old[place].role} {place + 1}: taken out" for place in range(a0 + same, a1))


def _of_anchor(old: Anchor, new: Anchor) -> Iterator[str]:
    for name in ("role", "kind", "along_m", "down_m", "bolts", "loop_m", "leg_m", "sling_m", "knot", "note"):
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield f"{name.removesuffix('_m')} {_said(name, now)}, was {_said(name, was)}"
    if old.min_diameter_mm != new.min_diameter_mm:
        yield f"thinnest rope {_said('', new.min_diameter_mm)} mm, was {_said('', old.min_diameter_mm)} mm"
    if old.rub != new.rub:
        yield f"{_WORDS['rub']}: {'yes' if new.rub else 'no'}"


def _depth(measure: Measure) -> str:
    about = "about " if measure.about else ""
    if measure.high_m != measure.low_m:
        return f"{about}↓{measure.low_m:g} to {measure.high_m:g} m"
    return f"{about}↓{measure.low_m:g} m"


def _rope(measure: Measure | None) -> str:
    return "not said" if measure is None else f"({measure.high_m:g} m)"


def _said(name: str, value: object) -> str:
    if value is None or value == "":
        return "not said"
    if isinstance(value, float | int) and not isinstance(value, bool):
        return f"{value:g} m" if name.endswith("_m") and not name.startswith("max_g") else f"{value:g}"
    return str(value)


def _counted(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"
