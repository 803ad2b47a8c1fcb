"""A route as the store knows it: what its ropes told after each trip, brought into what its pitches take."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths, PitchLearnt, Route, Seen
    from tethera.store import RopeSeen


def taught_route(
    route: "Route", told: "Sequence[RopeSeen]", knots: "KnotLengths | None" = None
) -> "tuple[Route, tuple[PitchLearnt, ...]]":
    """The route with what ropes told of it (store.seen_on), and how each source weighs in each pitch."""
    from tethera.rigging import learn, with_learnt

    learnt = learn(route, [as_seen(each, route) for each in told], knots)
    return with_learnt(route, learnt), learnt


def as_seen(told: "RopeSeen", route: "Route") -> "Seen":
    """What a rope told, in the words of the route: a pitch may have been written down by its number."""
    from tethera.rigging import seen_of
    from tethera.store import length_sd_cm

    use = told.use
    pitches = tuple(_pitch(each, route) for each in use.pitches or ((use.pitch,) if use.pitch else ()))
    sd_cm = length_sd_cm(told.length_cm, told.known_by)
    when = use.happened.spoken()
    return seen_of(
        told.rope, when, told.length_cm, sd_cm, use.left_over_cm or 0, pitches, use.begins, use.ends, use.line
    )


def _pitch(said: str, route: "Route") -> str:
    if said.isdecimal() and 0 < int(said) <= len(route.pitches) and all(p.name != said for p in route.pitches):
        return route.pitches[int(said) - 1].name
    folded = said.casefold()
    return next((each.name for each in route.pitches if each.name.casefold() == folded), said)
