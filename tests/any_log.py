"""Logs of every kind of event with every field filled by chance: for what must hold whatever was recorded."""

import types
from dataclasses import fields
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import EVENT_KINDS, Event, Piece, Recorded

PEOPLE = ("p1", "p2", "p3")
#: Words that a spreadsheet would reckon, take for something else, or not hold.
_NASTY = (
    "=1+1",
    "=cmd|' /C calc'!A0",
    "+44 1524",
    "-3",
    "@SUM(A1)",
    "#N/A",
    "_x0041_",
    "'",
    '"',
    "a\nb",
    "\ufffe",
    "\0",
)
TEXTS = st.one_of(st.text(max_size=20), st.sampled_from(_NASTY))
DAYS = st.dates(date(1950, 1, 1), date(2090, 12, 31))


@st.composite
def partial_dates(draw: st.DrawFn) -> PartialDate:
    """Known to the year, the month or the day."""
    day, known = draw(DAYS), draw(st.integers(1, 3))
    return PartialDate(*(day.year, day.month, day.day)[:known])


def _values(name: str, hint: Any) -> st.SearchStrategy[Any]:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        inner = next(each for each in get_args(hint) if each is not type(None))
        return st.none() | _values(name, inner)
    if origin is Literal:
        return st.sampled_from(get_args(hint))
    if origin is tuple:
        return st.lists(_values(name, get_args(hint)[0]), max_size=3).map(tuple)
    named = {
        "rope": st.from_regex(r"[A-Z0-9]{1,10}", fullmatch=True),
        "person": st.sampled_from(PEOPLE),
        "code": st.from_regex(r"[A-Z]{1,5}", fullmatch=True),
        "key": st.from_regex(r"[a-z0-9]{1,10}(-[a-z0-9]{1,10}){0,2}", fullmatch=True),
        "label_keeps_back_percent": st.integers(0, 30),
    }
    if name in named:
        return named[name]
    return {
        str: TEXTS,
        int: st.integers(1, 10**6),
        float: st.floats(0.01, 1e6),
        bool: st.booleans(),
        date: DAYS,
        PartialDate: partial_dates(),
        Piece: st.builds(Piece, rope=named["rope"], length_cm=st.integers(1, 10**5)),
        Event: st.deferred(events),
    }[hint]


def events() -> st.SearchStrategy[Event]:
    """Any event that can be recorded."""
    return st.one_of([_events_of(each) for each in EVENT_KINDS.values()])


def _events_of(kind: type[Event]) -> st.SearchStrategy[Event]:
    hints = get_type_hints(kind)

    def made(**values: Any) -> Event:
        if "first_day" in values:
            values["first_day"], values["last_day"] = sorted((values["first_day"], values["last_day"]))
        return kind(**values)

    return st.builds(made, **{field.name: _values(field.name, hints[field.name]) for field in fields(kind)})


_ZONES = st.sampled_from([UTC, timezone(timedelta(hours=1)), timezone(timedelta(hours=-3, minutes=-30))])
_MOMENTS = st.datetimes(datetime(2000, 1, 1), datetime(2080, 1, 1), timezones=_ZONES)  # noqa: DTZ001
RECORDED = st.builds(Recorded, events(), _MOMENTS, st.none() | st.sampled_from(PEOPLE))
LOGS = st.lists(RECORDED, max_size=6)
_PRINTED = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
NAMES = st.fixed_dictionaries({person: st.none() | _PRINTED for person in PEOPLE})
