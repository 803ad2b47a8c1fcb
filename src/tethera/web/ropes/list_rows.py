"""A rope as one row of the list: where it is, how old, what is doubted, and the words it can be found by."""

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from tethera.store import RopeState, age_counts_from, age_years, by_number
from tethera.web.paper.shown import age_words, kind, shown_days
from tethera.web.paper.words import ROPE_TYPES
from tethera.web.ropes.list_doubts import AT_ONCE, codes_of, word

#: Usable ones first, as somebody who looks for a rope wants them.
STATES = ("ready", "out", "rigged", "in preparation", "set aside", "missing", "retired")


@dataclass(frozen=True)
class Row:
    """A rope of the list, on a day. What is worked out at length is worked out only when it is looked at."""

    state: RopeState
    names: Mapping[str, str | None]
    on: date
    picked: bool = False

    @property
    def id(self) -> str:
        """Its number."""
        return self.state.id

    @property
    def marked_cm(self) -> int:
        """What its mark says [cm]."""
        return (self.state.marked_m or 0) * 100

    @functools.cached_property
    def years(self) -> tuple[int, int] | None:
        """Whole years it is old: at least, at most."""
        return age_years(self.state, self.on)

    @property
    def age(self) -> str:
        """How old it is, in words."""
        return age_words(self.years)

    @functools.cached_property
    def where(self) -> str:
        """Where it is, with whom, or why nobody may take it."""
        state = self.state
        match state.state:
            case "out":
                return self._out()
            case "rigged":
                return str(state.rigged)
            case "missing":
                return _("since {day}").format(day=state.missing.spoken()) if state.missing else ""
            case "set aside":
                return str(state.set_aside)
            case "retired":
                return str(state.retired)
            case "in preparation":
                return _("waits for {steps}").format(steps=", ".join(state.waits))
        if state.over_age:
            return state.over_age
        if state.bookings:
            booking = min(state.bookings, key=lambda each: each.first_day)
            told = _("booked {days}").format(days=shown_days(booking.first_day, booking.last_day))
            return f"{told}, {booking.trip}" if booking.trip else told
        return ""

    def _out(self) -> str:
        who = self.named(self.state.out_with)
        until = self.state.out_until.spoken() if self.state.out_until else ""
        parts = (_("with {who}").format(who=who) if who else "", _("due back {day}").format(day=until) if until else "")
        return ", ".join(each for each in parts if each)

    def named(self, person: str | None) -> str:
        """What to call a person."""
        return (self.names.get(person) or person) if person else ""

    @functools.cached_property
    def doubts(self) -> tuple[str, ...]:
        """The kinds of doubt about it."""
        return codes_of(self.state)

    @property
    def doubt_words(self) -> list[tuple[str, bool]]:
        """Its doubts in words, and whether each needs a hand now."""
        return [(word(code), code in AT_ONCE) for code in self.doubts]

    @property
    def searched(self) -> str:
        """All that somebody may type to find it, in small letters."""
        state = self.state
        parts = (
            *(state.id, state.id.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")),
            *(kind(state).replace("\u202f", " "), state.maker, state.product, state.batch, state.material),
            *(state.state, state.owner, self.where, self.named(state.out_with), *state.notes),
            *(booking.trip for booking in state.bookings),
        )
        return " ".join(part for part in parts if part).casefold()


def _by_state(row: Row) -> Any:
    return (STATES.index(row.state.state), not row.state.usable)


def _by_age(row: Row) -> Any:
    made = age_counts_from(row.state)
    # Oldest age is the earliest day; the younger the later.
    return None if row.years is None or made is None else -made.earliest.toordinal()


def _by_kind(row: Row) -> Any:
    state = row.state
    if state.rope_type is None and state.diameter_mm is None:
        return None
    place = ROPE_TYPES.index(state.rope_type) if state.rope_type else len(ROPE_TYPES)
    return (place, state.diameter_mm or 0)


#: What the list can be sorted by; None is not known and stands last either way.
ORDERS: dict[str, Callable[[Row], Any]] = {
    "number": lambda row: by_number(row.id),
    "length": lambda row: row.state.length_cm,
    "kind": _by_kind,
    "state": _by_state,
    "where": lambda row: row.where.casefold() or None,
    "age": _by_age,
    "mark": lambda row: row.state.marked_m,
    "doubt": lambda row: -len(row.doubts) or None,
}


def ordered(rows: list[Row], order: str, *, backwards: bool = False) -> list[Row]:
    """The rows in an order; those of which it is not known stand last, and equals are in the order of their numbers."""
    key = ORDERS[order]
    keyed = sorted(((key(row), row) for row in rows), key=lambda each: by_number(each[1].id))
    known = [each for each in keyed if each[0] is not None]
    known.sort(key=lambda each: each[0], reverse=backwards)
    return [row for _key, row in known] + [row for key, row in keyed if key is None]
