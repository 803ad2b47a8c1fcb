"""Hangers, maillons, karabiners and slings, counted from the anchors."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from tethera.rigging.route import Anchor, Pitch, Route, in_a_choice
from tethera.rope import load_table

WHAT = ("hangers", "maillons", "karabiners", "slings")


@dataclass(frozen=True, slots=True)
class PitchKit:
    """Pieces one pitch takes; `certain` says whether its anchors were known one by one."""

    pitch: str
    hangers: int
    maillons: int
    karabiners: int
    slings: int
    certain: bool


@dataclass(frozen=True, slots=True)
class Kit:
    """Pieces a route takes, pitch by pitch and in all, spares not included.

    Where there is a choice of pitches and nobody said which are rigged, every way is counted, and the note says so.
    """

    hangers: int
    maillons: int
    karabiners: int
    slings: int
    pitches: tuple[PitchKit, ...]
    spare_note: str

    def to_mapping(self) -> dict[str, int | str]:
        """The totals as plain values."""
        counts: dict[str, int | str] = {what: getattr(self, what) for what in WHAT}
        return {**counts, "spare_note": self.spare_note}


def kit(route: Route, rigged: Collection[str] | None = None) -> Kit:
    """Count the pieces of a route; anchors of a coarse pitch count as bolts, its naturals and deviations apart.

    Parameters
    ----------
    rigged : names of the pitches that are rigged (`rigged_pitches`), the others take no pieces; None counts every way
    """
    pitches = tuple(
        _pitch_kit(pitch) if rigged is None or pitch.name in rigged else PitchKit(pitch.name, 0, 0, 0, 0, certain=True)
        for pitch in route.pitches
    )
    totals = {what: sum(getattr(pitch, what) for pitch in pitches) for what in WHAT}
    return Kit(**totals, pitches=pitches, spare_note=_note(route, pitches, rigged))


def _note(route: Route, pitches: tuple[PitchKit, ...], rigged: Collection[str] | None) -> str:
    one_in = load_table("rigging", "kit")["spare"]["one_in"]
    words = f"Spares are not counted: take one more of each for every {one_in}."
    either = in_a_choice(route.pitches)
    if rigged is None and either:
        ways = ", ".join(pitch.name for pitch in route.pitches if pitch.name in either)
        words += f" All ways of a choice are counted: {ways}."
    rough = [pitch.pitch for pitch in pitches if not pitch.certain]
    if rough:
        words += f" Counted as bolts, as far as known: {', '.join(rough)}."
    return words


def _pitch_kit(pitch: Pitch) -> PitchKit:
    if pitch.left_in_place:
        return PitchKit(pitch.name, 0, 0, 0, 0, certain=True)
    table = load_table("rigging", "kit")
    if pitch.by_anchors:
        rules = [rule for anchor in pitch.anchors for rule in _rules(anchor, table)]
    else:
        count = pitch.anchor_count or 0
        deviations = min(pitch.deviations or 0, count)
        naturals = min(pitch.naturals or 0, count - deviations)
        bolts = count - deviations - naturals
        rules = [table["bolt"]] * bolts + [table["natural"]] * naturals + [table["deviation"]] * deviations
    counts = {what: sum(int(rule[what]) for rule in rules) for what in WHAT}
    return PitchKit(pitch.name, **counts, certain=pitch.by_anchors)


def _rules(anchor: Anchor, table: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    if anchor.role == "deviation":
        bolt = [{**table["bolt"], "maillons": 0}] if anchor.kind == "bolt" else []
        return [table["deviation"], *bolt]
    rules = [table[anchor.kind]] * anchor.bolts
    if anchor.kind == "bolt" and anchor.sling_m:
        rules = [*rules, table["sling"]]
    return rules
