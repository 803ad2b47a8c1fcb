"""The packing list: ropes and metal in order of use, shared out among cavers and packed from the bottom up.

A rope travels with the metal of the pitches it begins. What is needed first lies on top. By size the longest rope would
go to the bottom; where the two rules conflict the list says so, and splits the load into two bags.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from tethera.basics import show_metres
from tethera.planning.bags import Caver, Load, bags_of, share_out

if TYPE_CHECKING:
    from tethera.planning.trip import RopeUse
    from tethera.rigging import Kit

PIECES = ("hangers", "maillons", "karabiners", "slings")
#: Most bags one caver is asked to carry before the list says that the party is too small.
_MOST_BAGS = 3


@cache
def _figure(section: str, name: str) -> Any:
    text = resources.files("tethera.planning").joinpath("tables/bags.toml").read_text("utf-8")
    return tomllib.loads(text)[section][name]["value"]


def rope_litres(length_cm: int, diameter_mm: float | None) -> float:
    """Room a dry rope takes in a bag stuffed by hand [litres]: 12.5 litres per 100 m of 9 mm, by diameter squared.

    >>> round(rope_litres(20000, 9.0), 1)
    25.0
    """
    diameter = _figure("rope", "diameter_when_unknown") if diameter_mm is None else diameter_mm
    return float(_figure("rope", "litres_per_100_m_of_9_mm") * (diameter / 9.0) ** 2 * length_cm / 10_000)


@dataclass(frozen=True)
class Packed:
    """One rope with the metal of its pitches."""

    use: "RopeUse"
    diameter_mm: float | None
    pieces: Mapping[str, int]

    @property
    def load(self) -> Load:
        """Mass and room, metal included."""
        mass_g, millilitres = float(self.use.mass_g), 1000 * rope_litres(self.use.length_cm, self.diameter_mm)
        for what, count in self.pieces.items():
            each_g, each_litres = _figure("kit", what)
            mass_g += count * each_g
            millilitres += 1000 * count * each_litres
        return Load(round(mass_g), round(millilitres))


@dataclass(frozen=True)
class Bag:
    """One bag: who carries it, and its contents in order of use."""

    number: int
    caver: str
    contents: tuple[Packed, ...]
    capacity_litres: float


@dataclass(frozen=True)
class PackingList:
    """All bags of a trip in order of use."""

    title: str
    date: str | None
    store: str | None
    bags: tuple[Bag, ...]
    kit: Mapping[str, Any]
    notes: tuple[str, ...]

    def to_mapping(self) -> dict[str, Any]:
        """Plain values: per caver and bag what goes in first comes first, with the order of use beside it."""
        order = {id(packed): n for n, packed in enumerate((p for bag in self.bags for p in bag.contents), start=1)}
        cavers = []
        for name in dict.fromkeys(bag.caver for bag in self.bags):
            bags = [_bag_mapping(bag, order) for bag in self.bags if bag.caver == name]
            litres, kg = sum(bag["litres"] for bag in bags), sum(bag["kg"] for bag in bags)
            cavers.append({"caver": name, "bags": bags, "litres": round(litres, 1), "kg": round(kg, 1)})
        return {
            "title": self.title,
            "date": self.date,
            "store": self.store,
            "cavers": cavers,
            "kit": dict(self.kit),
            "notes": list(self.notes),
            "cautions": ["A stopper in the bottom end of each rope first, left in sight at the bottom of the bag."],
        }


def _bag_mapping(bag: Bag, order: Mapping[int, int]) -> dict[str, Any]:
    loads = [packed.load for packed in bag.contents]
    contents: list[dict[str, Any]] = [
        {
            "rope": packed.use.rope,
            "length_cm": packed.use.length_cm,
            "diameter_mm": packed.diameter_mm,
            "for": ", ".join(packed.use.pitches),
            "note": "stopper in the bottom end first",
            "use_order": order[id(packed)],
        }
        for packed in reversed(bag.contents)
    ]
    pieces = {what: sum(packed.pieces.get(what, 0) for packed in bag.contents) for what in PIECES}
    words = ", ".join(_counted(count, what) for what, count in pieces.items() if count)
    if words:
        contents.append({"kit": words, "note": ""})
    return {
        "bag": str(bag.number),
        "litres": round(sum(load.volume_ml for load in loads) / 1000, 1),
        "kg": round(sum(load.mass_g for load in loads) / 1000, 1),
        "capacity_litres": bag.capacity_litres,
        "contents": contents,
        "first_needed": bag.contents[0].use.pitches[0],
    }


def _counted(count: int, what: str) -> str:
    return f"{count} {what.removesuffix('s') if count == 1 else what}"


def pack(
    uses: Sequence["RopeUse"],
    diameter_mm: Mapping[str, float | None],
    *,
    cavers: int,
    kit: "Kit",
    title: str,
    store: str | None = None,
    date: str | None = None,
) -> PackingList:
    """Share the ropes of one trip out among its cavers and pack each bag.

    Parameters
    ----------
    uses : ropes of the trip in order of use
    diameter_mm : of each rope by number, None where not known
    cavers : people who carry, at least 1; ValueError otherwise
    kit : metal of each pitch; that of a pitch travels with the first rope that serves it
    """
    if cavers < 1:
        raise ValueError(f"a party has at least one caver, not {cavers}")
    packed = _with_metal(uses, diameter_mm, kit)
    bag_litres = float(_figure("bag", "rigging_bag"))
    bags: list[Bag] = []
    notes: list[str] = []
    for caver, contents in _shared_out(packed, cavers, bag_litres, notes):
        for part in _in_bags(contents, bag_litres, notes):
            bags.append(Bag(len(bags) + 1, caver, tuple(part), bag_litres))
    notes += _burdens(bags)
    return PackingList(title, date, store, tuple(bags), kit.to_mapping(), tuple(notes))


def _with_metal(uses: Sequence["RopeUse"], diameter_mm: Mapping[str, float | None], kit: "Kit") -> list[Packed]:
    waiting = {pitch.pitch: {what: getattr(pitch, what) for what in PIECES} for pitch in kit.pitches}
    packed = []
    for use in uses:
        pieces = dict.fromkeys(PIECES, 0)
        for pitch in use.pitches:
            for what, count in waiting.pop(pitch, {}).items():
                pieces[what] += count
        packed.append(Packed(use, diameter_mm.get(use.rope), pieces))
    return packed


def _shared_out(
    packed: Sequence[Packed], cavers: int, bag_litres: float, notes: list[str]
) -> list[tuple[str, list[Packed]]]:
    """Each caver's stretch: within the comfortable mass if it can be, else as even as it can be."""
    loads = [each.load for each in packed]
    comfortable_g, most_g = (round(1000 * _figure("caver", name)) for name in ("comfortable", "most"))
    roomiest_ml = max((load.volume_ml for load in loads), default=0)
    bag_ml = max(round(1000 * bag_litres), roomiest_ml)
    if roomiest_ml > 1000 * bag_litres:
        notes.append(
            f"One load takes {roomiest_ml / 1000:.1f} litres: it needs a larger bag than {bag_litres:g} litres."
        )
    total_g = sum(load.mass_g for load in loads)
    for limit_g in (most_g, max(total_g, 1)):
        for bags in range(1, _MOST_BAGS + 1):
            party = [Caver(str(n), comfortable_g, limit_g, bag_ml, bags) for n in range(1, cavers + 1)]
            sharing = share_out(loads, party)
            if sharing.unmet is None:
                return [
                    (str(number), list(packed[first:past]))
                    for number, (_, first, past) in enumerate(sharing.stretches, start=1)
                    if past > first
                ]
    notes.append(f"This is more than {cavers} cavers with {_MOST_BAGS} bags each: take more people or go twice.")
    return [("1", list(packed))]


def _in_bags(contents: Sequence[Packed], bag_litres: float, notes: list[str]) -> list[Sequence[Packed]]:
    """A stretch as bags; split in two where a long rope would lie on a much shorter one that is needed later."""
    loads = [each.load for each in contents]
    bag_ml = max([round(1000 * bag_litres), *(load.volume_ml for load in loads)])
    parts = bags_of(loads, 0, len(loads), Caver("", 1, 1, bag_ml, len(loads) or 1))
    split: list[Sequence[Packed]] = []
    for first, past in parts:
        part = contents[first:past]
        at = _worst_conflict(part)
        if at is None:
            split.append(part)
            continue
        upper, lower = part[at - 1].use, part[at].use
        notes.append(
            f"{upper.rope} ({show_metres(upper.length_cm)} m) is needed before {lower.rope} "
            f"({show_metres(lower.length_cm)} m) but by size belongs under it: two bags."
        )
        split += [part[:at], part[at:]]
    return split


def _worst_conflict(part: Sequence[Packed]) -> int | None:
    """Where order and size conflict most: a long rope needed just before a much shorter one."""
    much, long_cm = _figure("order", "much_longer"), 100 * _figure("order", "long_rope")
    ratios = [
        (above.use.length_cm / below.use.length_cm, at)
        for at, (above, below) in enumerate(pairwise(part), start=1)
        if above.use.length_cm >= long_cm and above.use.length_cm >= much * below.use.length_cm
    ]
    return max(ratios)[1] if ratios else None


def _burdens(bags: Sequence[Bag]) -> list[str]:
    most_kg, wet = _figure("caver", "most"), _figure("rope", "wet_mass_factor")
    fill = _figure("rope", "fill_fraction_dry") / _figure("rope", "fill_fraction_wet_or_old")
    notes = []
    for caver in dict.fromkeys(bag.caver for bag in bags):
        kg = sum(p.load.mass_g for bag in bags if bag.caver == caver for p in bag.contents) / 1000
        if kg > most_kg:
            notes.append(f"Caver {caver} carries {kg:.1f} kg, over {most_kg:g} kg: share it with more people.")
    if bags:
        notes.append(
            f"Masses are of dry rope: on the way out it may weigh {wet:g} times as much "
            f"and take {fill:.1f} times the room."
        )
    return notes
