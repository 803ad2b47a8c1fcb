"""What changed from one version of a route to the next, pitch by pitch, in words."""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher

from tethera.rigging.route import Anchor, Edition, Measure, Pitch, Route
from tethera.rigging.route_text import plain_number
from tethera.rigging.words import depth_words, metres_words, rope_words

_FLAGS = {
    "pull_through": "pulled through",
    "left_in_place": "a rope left in place",
    "type_a_only": "type A only",
    "rope_goes_on": "the rope may go on",
    "rub": "the rope may rub",
}
#: Facts that are one number or one word: what they are called, and the unit after the number.
PITCH_FACTS = {
    "depth_known_by": ("depth known by", ""),
    "depth_spread_m": ("depth may be out by", "m"),
    "direction": ("direction", ""),
    "traverse_m": ("traverse", "m"),
    "anchor_count": ("anchors", ""),
    "rebelays": ("rebelays", ""),
    "deviations": ("deviations", ""),
    "naturals": ("naturals", ""),
    "to_next_m": ("to the next", "m"),
    "second_line": ("second line", ""),
    "rope_above_floor_m": ("rope ends above the floor by", "m"),
    "min_diameter_mm": ("thinnest rope", "mm"),
    "max_g_per_m": ("heaviest rope", "g/m"),
}
_ANCHOR_FACTS = {
    "role": ("does", ""),
    "kind": ("is", ""),
    "along_m": ("along", "m"),
    "down_m": ("down", "m"),
    "bolts": ("bolts", ""),
    "loop_m": ("loop", "m"),
    "leg_m": ("leg", "m"),
    "apart_m": ("bolts apart", "m"),
    "sling_m": ("sling", "m"),
    "min_diameter_mm": ("thinnest rope", "mm"),
    "knot": ("knot", ""),
    "note": ("note", ""),
}
#: By these a pitch is known again under another name.
_KNOWN_AGAIN_BY = ("depth", "guide_rope", "anchors", "anchor_count", "to_next_m", "traverse_m", "notes", "second_line")


@dataclass(frozen=True, slots=True)
class PitchChange:
    """One pitch, or the route as a whole where `pitch` is empty, and what of it changed."""

    pitch: str
    what: tuple[str, ...]


def changed_pitches(old: Route | None, new: Route) -> tuple[PitchChange, ...]:
    """What changed, in the order of the new route; a first version is told as a whole.

    Nothing is told of two routes only if they say the same; what trips taught is no part of what they say.
    """
    if old is None:
        return (PitchChange("", (f"written down with {_counted(len(new.pitches), 'pitch', 'pitches')}",)),)
    renamed = _renamed(old, new)
    whole = tuple(_whole(old, new, renamed))
    found = [PitchChange("", whole)] if whole else []
    before = {pitch.name: pitch for pitch in old.pitches}
    moved = _moved(old, new, renamed)
    for pitch in new.pitches:
        was = before.get(renamed.get(pitch.name, pitch.name))
        if was is None:
            found.append(PitchChange(pitch.name, (f"new, {depth_words(pitch.depth)} deep",)))
        elif what := (*_of_pitch(was, pitch, renamed), *moved.get(pitch.name, ())):
            found.append(PitchChange(pitch.name, what))
    kept = {renamed.get(pitch.name, pitch.name) for pitch in new.pitches}
    found += [PitchChange(pitch.name, ("taken out",)) for pitch in old.pitches if pitch.name not in kept]
    return tuple(found)


def _whole(old: Route, new: Route, renamed: Mapping[str, str]) -> Iterator[str]:
    if old.name != new.name:
        yield f"called {new.name}, was {old.name}"
    if old.team_size != new.team_size:
        yield f"cavers {new.team_size or 'not said'}, was {old.team_size or 'not said'}"
    yield from _notes(old.notes, new.notes)
    was = [(each.pitches, each.guide_rope) for each in old.together]
    now = [(tuple(renamed.get(name, name) for name in each.pitches), each.guide_rope) for each in new.together]
    if was != now:
        lengths = (f"{rope_words(each.guide_rope)} for {' and '.join(each.pitches)}" for each in new.together)
        yield f"rope for several pitches together: {'; '.join(lengths) or 'none'}"
    for what, then, here in (
        ("rope", old.stated_totals.rope, new.stated_totals.rope),
        ("depth", old.stated_totals.depth, new.stated_totals.depth),
    ):
        if then != here:
            words = rope_words if what == "rope" else depth_words
            yield f"stated total of {what} {_or_not(words, here)}, was {_or_not(words, then)}"
    if old.stated_totals.anchors != new.stated_totals.anchors:
        yield _one("stated total of anchors", "", old.stated_totals.anchors, new.stated_totals.anchors)


def _renamed(old: Route, new: Route) -> dict[str, str]:
    """New names of pitches, each with the old one: at the same place, or alone in its depth, mostly the same facts."""
    gone = [pitch for pitch in old.pitches if all(pitch.name != each.name for each in new.pitches)]
    fresh = [pitch for pitch in new.pitches if all(pitch.name != each.name for each in old.pitches)]
    found: dict[str, str] = {}
    for pitch in fresh:
        left = [each for each in gone if each.name not in found.values() and _alike(each, pitch)]
        here = [each for each in left if _stands_at(old, each) == _stands_at(new, pitch)]
        if here or len(left) == 1:
            found[pitch.name] = (here or left)[0].name
    return found


def _stands_at(route: Route, pitch: Pitch) -> int:
    return next(place for place, each in enumerate(route.pitches) if each.name == pitch.name)


def _alike(old: Pitch, new: Pitch) -> bool:
    """Whether most facts that either of them tells are the same, of which the depth counts most."""
    told = [name for name in _KNOWN_AGAIN_BY if getattr(old, name) or getattr(new, name)]
    weights = {"depth": 2}
    same = sum(weights.get(name, 1) for name in told if getattr(old, name) == getattr(new, name))
    return 2 * same > sum(weights.get(name, 1) for name in told)


def _moved(old: Route, new: Route, renamed: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """Pitches that stand elsewhere among those kept: the fewest that had to move, and after which they come now."""
    places = {pitch.name: place for place, pitch in enumerate(old.pitches)}
    kept = [pitch.name for pitch in new.pitches if renamed.get(pitch.name, pitch.name) in places]
    stayed = longest_rising([places[renamed.get(name, name)] for name in kept])
    told: dict[str, tuple[str, ...]] = {}
    for at, name in enumerate(kept):
        if at not in stayed:
            told[name] = (f"moved, now after {kept[at - 1]}" if at else "moved, now first",)
    return told


def longest_rising(numbers: Sequence[int]) -> frozenset[int]:
    """Places of a longest subsequence that rises; the rest are the fewest that stand out of order."""
    ends: list[int] = []  # least last number of a rising run of each length
    last: list[int] = []  # its place
    before: list[int] = []
    for place, number in enumerate(numbers):
        size = bisect_left(ends, number)
        before.append(last[size - 1] if size else -1)
        ends[size : size + 1], last[size : size + 1] = [number], [place]
    found, place = set(), last[-1] if last else -1
    while place >= 0:
        found.add(place)
        place = before[place]
    return frozenset(found)


def _of_pitch(old: Pitch, new: Pitch, renamed: Mapping[str, str]) -> Iterator[str]:
    if old.name != new.name:
        yield f"was called {old.name}"
    if old.depth != new.depth:
        yield f"{depth_words(new.depth)}, was {depth_words(old.depth)}"
    if old.guide_rope != new.guide_rope:
        yield f"guide's rope {_or_not(rope_words, new.guide_rope)}, was {_or_not(rope_words, old.guide_rope)}"
    yield from _facts(PITCH_FACTS, old, new)
    yield from _flags(("pull_through", "left_in_place", "type_a_only", "rope_goes_on"), old, new)
    if old.instead_of != tuple(renamed.get(name, name) for name in new.instead_of):
        was, now = (", ".join(each.instead_of) or "none" for each in (old, new))
        yield f"instead of {now}, was of {was}"
    yield from _anchors(old.anchors, new.anchors)
    yield from _editions(old.editions, new.editions)
    yield from _notes(old.notes, new.notes)


def _facts(facts: Mapping[str, tuple[str, str]], old: Pitch | Anchor, new: Pitch | Anchor) -> Iterator[str]:
    for name, (called, unit) in facts.items():
        was, now = getattr(old, name), getattr(new, name)
        if was != now:
            yield _one(called, unit, was, now)


def _one(called: str, unit: str, was: object, now: object) -> str:
    return f"{called} {_said(now, unit)}, was {_said(was, unit)}"


def _flags(names: Sequence[str], old: Pitch | Anchor, new: Pitch | Anchor) -> Iterator[str]:
    for name in names:
        now = getattr(new, name)
        if getattr(old, name) != now:
            yield f"{_FLAGS[name]}: {'yes' if now else 'no'}"


def _anchors(old: Sequence[Anchor], new: Sequence[Anchor]) -> Iterator[str]:
    if not old and new:
        yield f"now known anchor by anchor: {', '.join(each.role for each in new)}"
        return
    for tag, a0, a1, b0, b1 in SequenceMatcher(a=old, b=new, autojunk=False).get_opcodes():
        same = min(a1 - a0, b1 - b0) if tag == "replace" else 0
        for was, now in zip(range(a0, a0 + same), range(b0, b0 + same), strict=True):
            facts = (*_facts(_ANCHOR_FACTS, old[was], new[now]), *_flags(("rub",), old[was], new[now]))
            yield f"{new[now].role} {now + 1}: {', '.join(facts)}"
        if tag != "equal":
            yield from (f"{new[place].role} {place + 1}: new" for place in range(b0 + same, b1))
            yield from (f"{old[place].role} {place + 1}: taken out" for place in range(a0 + same, a1))


def _editions(old: Sequence[Edition], new: Sequence[Edition]) -> Iterator[str]:
    """Other guides by what they are called; of two of one name nobody knows which is which."""
    was, now = Counter(old), Counter(new)
    yield from (f"{_guide(each)}, taken out" for each in (was - now).elements())
    yield from (f"{_guide(each)}, new" for each in (now - was).elements())
    if was == now and tuple(old) != tuple(new):
        yield "other guides in another order"


def _guide(edition: Edition) -> str:
    facts = [depth_words(edition.depth)] if edition.depth else []
    facts += [f"{rope_words(edition.guide_rope)} of rope"] if edition.guide_rope else []
    facts += [_counted(edition.anchors, "anchor", "anchors")] if edition.anchors is not None else []
    facts += [f"“{edition.note}”"] if edition.note else []
    return f"{edition.source} says {', '.join(facts) or 'nothing of it'}"


def _notes(old: Sequence[str], new: Sequence[str]) -> Iterator[str]:
    was, now = Counter(old), Counter(new)
    yield from (f"note taken out: “{each}”" for each in (was - now).elements())
    yield from (f"note: “{each}”" for each in (now - was).elements())
    if was == now and tuple(old) != tuple(new):
        yield "notes in another order"


def _or_not(words: Callable[[Measure], str], measure: Measure | None) -> str:
    return "not said" if measure is None else words(measure)


def _said(value: object, unit: str) -> str:
    if value is None or value == "":
        return "not said"
    if isinstance(value, float | int) and not isinstance(value, bool):
        if unit == "m":
            return metres_words(value)
        return f"{plain_number(value)}\u00a0{unit}" if unit else plain_number(value)
    return str(value)


def _counted(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"
