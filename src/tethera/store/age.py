"""How old a rope is, from what is known of when it was made, bought or first used."""

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import MAXYEAR, MINYEAR, date

from tethera.basics import PartialDate
from tethera.store.rope_state import RopeState, changed


def age_counts_from(state: RopeState) -> PartialDate | None:
    """When it was made; where nobody knows, when it was bought, else first used; None where nothing is known."""
    if state.year_made and MINYEAR <= state.year_made <= MAXYEAR:
        return PartialDate(state.year_made)
    return state.bought or state.first_used


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


def leaves_on(state: RopeState, store_limit_years: int | None) -> date | None:
    """The last day of service by age: the maker's limit or the store's own, whichever is sooner.

    Where the day it counts from is known only to the month or year, the latest day it can be. None for a retired rope,
    and where no limit or no age is known.

    >>> leaves_on(RopeState("UG1", year_made=2016, born=True), 10)
    datetime.date(2026, 12, 31)
    """
    limits = _limits(state, store_limit_years)
    made = age_counts_from(state)
    if not limits or made is None or state.retired is not None:
        return None
    return years_on(made.latest, min(limits))


@dataclass(frozen=True, slots=True)
class Leaving:
    """The ropes whose last day of service by age lies in a calendar year."""

    year: int
    ropes: tuple[RopeState, ...]

    @property
    def length_cm(self) -> int:
        """Together [cm]; a rope of unknown length counts nothing."""
        return sum(rope.length_cm or 0 for rope in self.ropes)


def leaving(ropes: Iterable[RopeState], store_limit_years: int | None, on: date, years: int = 3) -> tuple[Leaving, ...]:
    """What leaves service by age this year and in the `years` after it, every year named.

    What should have left before counts in this year.
    """
    found: dict[int, list[RopeState]] = {on.year + ahead: [] for ahead in range(years + 1)}
    for rope in ropes:
        last = leaves_on(rope, store_limit_years)
        if last is not None and max(last.year, on.year) in found:
            found[max(last.year, on.year)].append(rope)
    return tuple(Leaving(year, tuple(each)) for year, each in found.items())


def years_on(day: date, years: int) -> date:
    """The same day so many years later; 28 February where that year has no 29th; at most the last day there is."""
    if day.year + years > MAXYEAR:
        return date.max
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 2, 28)


def months_on(day: date, months: int) -> date:
    """The same day so many calendar months later; the last of the month where it has fewer days; at most date.max.

    >>> months_on(date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > MAXYEAR:
        return date.max
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def examination_due(state: RopeState, interval_months: int | None) -> date | None:
    """When a rope must be examined next: as the last examination says, else the store's interval after it.

    A rope never examined here counts from when it went into service or was first used; one found in service without a
    word of either, from when it was written down. A date known to the month or year counts from its first day: too soon
    is the safe side. None without an interval, and for a rope that is retired or was never in service.
    """
    if state.retired is not None or not state.born:
        return None
    if state.next_due is not None:
        return state.next_due.latest
    since = state.last_inspected or state.since or state.first_used
    if since is None and state.as_found and "put into service" not in state.waits:
        since = state.bought or state.found_on
    if interval_months is None or since is None:
        return None
    return months_on(since.earliest, interval_months)


def _limits(state: RopeState, store_limit_years: int | None) -> list[int]:
    return [each for each in (state.age_limit_years, store_limit_years) if each is not None]


def with_age(state: RopeState, on: date, store_limit_years: int | None) -> RopeState:
    """The rope with its age weighed: the maker's limit or the store's own, whichever is sooner.

    Age counts from the year of manufacture if known (its last day), else from purchase or first use. Where none of them
    is known, or it is still to come, that is said.
    """
    limits = _limits(state, store_limit_years)
    made = age_counts_from(state)
    if state.state == "retired" or not state.born:
        return state
    if made is None or made.earliest > on:
        limit = f", so its age limit of {min(limits)} years cannot be watched" if limits else ""
        way_out = "Read its inner tape or its papers and describe the rope with its year_made, or retire it."
        return state.doubted("age-unknown", f"Its age is not known{limit}.", way_out)
    if not limits:
        return state
    soonest, latest = years_on(made.earliest, min(limits)), leaves_on(state, store_limit_years)
    if latest is not None and on > latest:
        why = f"over its age limit of {min(limits)} years since {latest.year}"
        return changed(state, over_age=why).doubted("over-age", f"It is {why}.", "Retire it.")
    if on > soonest:
        return state.doubted(
            "perhaps-over-age",
            f"It may be over its age limit of {min(limits)} years: it dates from {made.spoken()}, on no known day.",
            "Find the exact date, or retire it.",
        )
    return state
