"""Trips still to come, from what is booked for them."""

from collections.abc import Iterable
from datetime import date

from tethera.store.rope_state import Booking, RopeState


def trip_key(name: str) -> str:
    """What a trip's name is compared by: capitals and blanks are typed differently at the rack than on the paper.

    >>> trip_key(" Great  marrowgill ")
    'great marrowgill'
    """
    return " ".join(name.split()).casefold()


def same_trip(one: str, other: str) -> bool:
    """Whether two names are of one trip; a name nobody wrote is none.

    >>> same_trip("GREAT MARROWGILL", "Great Marrowgill"), same_trip("", "")
    (True, False)
    """
    return bool(one.strip()) and trip_key(one) == trip_key(other)


def trips_ahead(ropes: Iterable[RopeState], on: date) -> list[tuple[Booking, list[RopeState]]]:
    """Bookings not over on a day, the ropes of one trip together, by their first day.

    >>> first = Booking(7, date(2026, 11, 28), date(2026, 11, 29), "p3", "Great Marrowgill")
    >>> ropes = [RopeState("UG1", bookings=(first,)), RopeState("UG2", bookings=(first,))]
    >>> [(booking.trip, [each.id for each in ropes]) for booking, ropes in trips_ahead(ropes, date(2026, 11, 25))]
    [('Great Marrowgill', ['UG1', 'UG2'])]
    """
    trips: dict[tuple[date, date, str, str | None], tuple[Booking, list[RopeState]]] = {}
    for rope in ropes:
        for booking in rope.bookings:
            if booking.last_day >= on:
                key = (booking.first_day, booking.last_day, trip_key(booking.trip), booking.person)
                trips.setdefault(key, (booking, []))[1].append(rope)
    return [trips[key] for key in sorted(trips, key=lambda each: (each[0], each[1], each[2]))]
