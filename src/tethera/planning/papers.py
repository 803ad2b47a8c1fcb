"""The papers of a trip, from its plan to the mappings that are printed: rigging sheet and packing list."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from tethera.basics import Finding
from tethera.planning.holds import Broken, as_it_is, no_longer_holds
from tethera.planning.packing import pack
from tethera.planning.trip import RopeUse, Trip

if TYPE_CHECKING:
    from tethera.rigging import Holding, KnotLengths
    from tethera.store import RopeState

#: Cavers on a trip where neither the words nor the route say.
USUAL_PARTY = 4
#: From here on a rope's chance of being short stands beside it on the sheet.
_WARNED = 0.05


@dataclass(frozen=True)
class Papers:
    """What the papers of one route of a plan are made from.

    `uses` are its ropes in order of use, `ropes` what is known of each on the day, `findings` the doubts of the route.
    Only ropes in `judged` are asked whether they still hold, all where it is None: of a trip that is over, none is.
    """

    trip: Trip
    uses: tuple[RopeUse, ...]
    ropes: "Mapping[str, RopeState]"
    store: str | None = None
    party: int | None = None
    confidence_percent: int | None = None
    knots: "KnotLengths | None" = None
    findings: tuple[Finding, ...] = ()
    judged: Collection[str] | None = None

    @cached_property
    def broken(self) -> tuple[Broken, ...]:
        """The ropes of the plan that do not hold any more, each with its pitch and why."""
        return no_longer_holds(self.trip, self.uses, self.ropes, self.knots, self.judged)

    @cached_property
    def _now(self) -> tuple[RopeUse, ...]:
        """The ropes with the lengths they have now; one on a pitch that the route has not any more is left out."""
        pitches = {pitch.name for pitch in self.trip.route.pitches}
        here = [use for use in self.uses if set(use.pitches) <= pitches]
        return as_it_is(self.trip, here, self.ropes, self.knots, self.judged)

    @property
    def cavers(self) -> int:
        """How many go."""
        return self.party or self.trip.route.team_size or USUAL_PARTY

    @property
    def _date(self) -> str | None:
        return self.trip.begins.isoformat() if self.trip.begins else None

    def packing(self) -> dict[str, Any]:
        """The packing list as a plain mapping."""
        from tethera.rigging import kit, rigged_pitches

        served = {name for use in self._now for name in use.pitches}
        packing = pack(
            self._now,
            {name: rope.diameter_mm for name, rope in self.ropes.items()},
            cavers=self.cavers,
            kit=kit(self.trip.route, rigged_pitches(self.trip.route, served)),
            title=self.trip.route.name,
            store=self.store,
            date=self._date,
        ).to_mapping()
        for item in (item for caver in packing["cavers"] for bag in caver["bags"] for item in bag["contents"]):
            if "rope" in item:
                item |= self._said_of(item["rope"])
        return packing | {"broken": [each.to_mapping() for each in self.broken]}

    def _said_of(self, rope: str) -> dict[str, Any]:
        """What speaks against a rope in its bag: that it does not hold any more, and what is doubted of it."""
        broken = [each for each in self.broken if each.rope == rope]
        state = self.ropes.get(rope)
        gone = next((each.why for each in broken if each.gone), None)
        return {
            "gone": gone,
            "broken": next((each.why for each in broken if not each.gone), None),
            "doubts": [finding.message for finding in state.findings] if state is not None and not gone else [],
        }

    def sheet(self) -> dict[str, Any]:
        """The rigging sheet as a plain mapping."""
        from tethera.rigging import rigging_sheet

        bags = _bag_of(self.packing())
        sheet = rigging_sheet(
            self.trip.route,
            [self._row(use, bags.get(use.rope)) for use in self._now],
            store=self.store,
            date=self._date,
            # Nothing is as sure as it was chosen to be once a rope of it does not hold.
            confidence_percent=None if self.broken else self.confidence_percent,
            knots=self.knots,
            findings=self.findings,
        )
        broken = [each.to_mapping() for each in self.broken]
        return sheet | {"party": self.cavers, "loads": self.loads(), "broken": broken}

    def loads(self) -> dict[str, Any]:
        """What each anchor that is rigged is asked to hold, by the rope that hangs there, as a plain mapping."""
        from tethera.rigging import loads_mapping, rigged_pitches, route_loads

        route = self.trip.route
        rigged = rigged_pitches(route, {name for use in self._now for name in use.pitches})
        gone = {each.rope for each in self.broken if each.gone}
        there = [use for use in self._now if use.rope in self.ropes and use.rope not in gone]
        held = {name: _holding(self.ropes[use.rope]) for use in there for name in use.pitches}
        loads = (each for each in route_loads(route, ropes=held) if each.pitch in rigged)
        return loads_mapping(loads)

    def _row(self, use: RopeUse, bag: str | None) -> dict[str, Any]:
        rope = self.ropes.get(use.rope)
        broken = next((each for each in self.broken if each.rope == use.rope), None)
        gone = broken.why if broken is not None and broken.gone else None
        warnings = [f"{broken.why[:1].upper()}{broken.why[1:].rstrip('.')}."] if broken and not gone else []
        if use.chance_short >= _WARNED and not gone:
            warnings.append(f"{100 * use.chance_short:.0f} % that it is short.")
        warnings += [finding.message for finding in rope.findings] if rope is not None and not gone else []
        other = second_line(self.trip, use)
        return {
            "rope": use.rope,
            "length_cm": use.length_cm,
            "diameter_mm": rope.diameter_mm if rope is not None else None,
            "type": rope.rope_type if rope is not None else None,
            "bag": bag,
            "begins": begins(use),
            "ends": ends(use) + (" (second line)" if other else ""),
            "need_cm": use.need_cm,
            "left_cm": use.left_cm,
            "joined_to": use.joined_to,
            "warning": " ".join(warnings) or None,
            "gone": gone,
            "pitches": list(use.pitches),
            "mass_g": use.mass_g,
            "second_line": other is not None,
            "begins_at_anchor": {use.begin_pitch: use.begin_anchor} if use.begin_anchor else {},
        }


def _holding(rope: "RopeState") -> "Holding":
    """What the leaflet of a rope declares of how it holds a fall."""
    from tethera.rigging import Holding

    return Holding(rope_type=rope.fall_type, elongation=rope.elongation, impact_force_kn=rope.fall_force_kn())


def uses_of_trip(uses: Iterable[RopeUse], number: int) -> tuple[RopeUse, ...]:
    """The ropes of one of the trips planned together, in order of use."""
    return tuple(use for use in uses if use.trip_index == number)


def _bag_of(packing: Mapping[str, Any]) -> dict[str, str]:
    bags: Sequence[Mapping[str, Any]] = [bag for caver in packing["cavers"] for bag in caver["bags"]]
    return {item["rope"]: bag["bag"] for bag in bags for item in bag["contents"] if "rope" in item}


def booked_where(trip: Trip, use: RopeUse) -> dict[str, Any]:
    """Where a rope is to hang, as a booking says it: the places only where it is not the whole of its pitches."""
    whole = use.begin_anchor is None and use.ends.startswith("foot of") and use.joined_to is None
    return {
        "pitches": use.pitches,
        "begins": "" if whole else use.begins,
        "ends": "" if whole else use.ends,
        "line": second_line(trip, use) or "",
    }


def begins(use: RopeUse) -> str:
    """Where a rope begins: the head of its first pitch, or the anchor where it takes over."""
    at_head = use.begin_anchor is None and use.begins.startswith(("head of", "foot of"))
    return f"head of {use.pitches[0]}" if at_head and use.pitches else use.begins


def ends(use: RopeUse) -> str:
    """Where a rope ends: the foot of its last pitch, or the anchor where the next one takes over."""
    return f"foot of {use.pitches[-1]}" if use.ends.startswith("foot of") and use.pitches else use.ends


def second_line(trip: Trip, use: RopeUse) -> str | None:
    """What the second line is for, if the rope hangs on one."""
    words = trip.route.pitch(use.pitches[0]).second_line if use.pitches else None
    return words if words is not None and use.line.startswith(f"{words} on ") else None
