"""How old a rope is, from what is known of when it was made, bought or first used."""

from datetime import date

from tethera.basics import PartialDate
from tethera.store.rope_state import RopeState


def age_counts_from(state: RopeState) -> PartialDate | None:
    """When it was made; where nobody knows, when it was bought, else first used; None where nothing is known."""
    return PartialDate(state.year_made) if state.year_made else state.bought or state.first_used


def age_years(state: RopeState, on: date) -> tuple[int, int] | None:
    """Whole years a rope is old on a day: at least and at most; None where it is not known or still to come.

    >>> age_years(RopeState("UG1", year_made=2016), date(2026, 11, 25))
    (9, 10)
    """
    made = age_counts_from(state)
    if made is None or made.earliest > on:
        return None
    return _whole_years(min(made.latest, on), on), _whole_years(made.earliest, on)


def _whole_years(since: date, on: date) -> int:
    return on.year - since.year - ((on.month, on.day) < (since.month, since.day))
