"""What fields offer while somebody types: what the store knows already."""

from collections.abc import Iterable, Sequence

from tethera.store import RopeState


def said_of(ropes: Sequence[RopeState], details: Iterable[str]) -> dict[str, list[str]]:
    """What the ropes of a store are said to be, each once and in order, by the name of the detail.

    >>> said_of([RopeState("UG1", maker="Maker B"), RopeState("UG2", maker="Maker A"), RopeState("UG3")], ["maker"])
    {'maker': ['Maker A', 'Maker B']}
    """
    return {name: sorted({str(said) for rope in ropes if (said := getattr(rope, name))}) for name in details}


def trips_of(ropes: Iterable[RopeState]) -> list[str]:
    """Names of the trips for which ropes are booked.

    >>> trips_of([RopeState("UG1")])
    []
    """
    return sorted({each.trip for rope in ropes for each in rope.bookings if each.trip})
