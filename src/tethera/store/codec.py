"""Events as JSON objects and back, strictly: what cannot be read is said in words."""

import functools
import math
import re
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from tethera.basics import FIRST_YEAR, LAST_YEAR, PartialDate
from tethera.store.events import EVENT_KINDS, Event, kind
from tethera.store.log import Recorded

#: No length, mass, price or number of a store comes near; beyond, sums of them would be no numbers any more.
MOST_NUMBER = 10**12
#: A correction of a correction of …: nobody goes on so long, and each costs a step in depth.
MOST_IN_ONE_ANOTHER = 20
_SUM = re.compile(r"[0-9a-f]{64}")
_PLAIN_WORDS = {str: "words", int: "a whole number", float: "a number", bool: "true or false"}


def encode_recorded(recorded: Recorded) -> dict[str, Any]:
    """One line of the log as a JSON object; what was left at its default is left out."""
    encoded = {"recorded": recorded.recorded.isoformat(), "by": recorded.by, **encode_event(recorded.event)}
    return encoded if recorded.previous is None else {**encoded, "previous": recorded.previous}


def encode_to_keep(recorded: Recorded) -> dict[str, Any]:
    """The same, after it was read back: ValueError rather than an entry that nobody could read again."""
    encoded = encode_recorded(recorded)
    if decode_recorded(encoded) != recorded:
        raise ValueError(f"an entry “{kind(recorded.event)}” would not be read back as it was written")
    return encoded


def encode_event(event: Event) -> dict[str, Any]:
    """An event as a JSON object whose first key says what was done."""
    return {"what": kind(event), "happened": event.happened.isoformat(), **_encode_fields(event, {"happened"})}


def _encode_fields(thing: Any, but: set[str]) -> dict[str, Any]:
    return {
        field.name: _encode(value)
        for field in fields(thing)
        if field.name not in but and ((value := getattr(thing, field.name)) != field.default)
    }


def _encode(value: Any) -> Any:
    if isinstance(value, Event):
        return encode_event(value)
    if isinstance(value, PartialDate | date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_encode(each) for each in value]
    return _encode_fields(value, set()) if is_dataclass(value) else value


def decode_recorded(value: object) -> Recorded:
    """Read back one JSON object; ValueError says what is wrong with it."""
    if not isinstance(value, Mapping):
        raise ValueError("expected an object {…} with “what”, “happened” and “recorded”")
    rest = dict(value)
    if "recorded" not in rest:
        raise ValueError("“recorded” is missing: when the event was written down")
    moment = _when(rest.pop("recorded"))
    by = rest.pop("by", None)
    if by is not None and not isinstance(by, str):
        raise ValueError(f"“by” should be a person's id, not {_cut(by)}")
    previous = rest.pop("previous", None)
    if previous is not None and not (isinstance(previous, str) and _SUM.fullmatch(previous)):
        raise ValueError(f"“previous” should be the sum of the entry before, 64 letters 0 to f, not {_cut(previous)}")
    return Recorded(decode_event(rest), moment, by, previous)


def _when(text: object) -> datetime:
    try:
        moment = datetime.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise ValueError(f"“recorded” should be a time with its zone, as 2026-11-25T09:30:00+00:00, not {_cut(text)}")
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        # Far outside, the time in another zone would be no day that exists.
        raise ValueError(f"“recorded” should lie in the years {FIRST_YEAR} to {LAST_YEAR}, not {_cut(text)}")
    return moment


def decode_event(value: object) -> Event:
    """An event from its JSON object."""
    if not isinstance(value, Mapping):
        raise ValueError("expected an event as an object {…}")
    _check_depth(value)
    rest = dict(value)
    word = rest.pop("what", None)
    event_class = EVENT_KINDS.get(word) if isinstance(word, str) else None
    if event_class is None:
        raise ValueError(
            f"“{_named(word)}” is no event known here; a newer Tethera may have written it: update Tethera"
        )
    event: Event = _decode_fields(event_class, rest, f"“{word}”")
    return event


def _check_depth(value: object) -> None:
    depth = 0
    while isinstance(value, Mapping):
        depth, value = depth + 1, value.get("replacement")
        if depth > MOST_IN_ONE_ANOTHER:
            raise ValueError(
                f"more than {MOST_IN_ONE_ANOTHER} corrections stand in one another. Correct the event itself"
            )


@functools.cache
def _hints(cls: type) -> dict[str, Any]:
    return get_type_hints(cls)


def _decode_fields(cls: type, rest: Mapping[str, object], name: str) -> Any:
    known = {field.name: field for field in fields(cls)}
    for key in rest:
        if key not in known:
            raise ValueError(f"{name} has no “{_named(key)}”; a newer Tethera may have written it: update Tethera")
    for key, field in known.items():
        if key not in rest and field.default is MISSING:
            raise ValueError(f"{name} lacks “{key}”")
    hints = _hints(cls)
    return cls(**{key: _decode(value, hints[key], f"“{key}” of {name}") for key, value in rest.items()})


def _decode(value: Any, hint: Any, name: str) -> Any:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        if value is None and type(None) in get_args(hint):
            return None
        return _decode(value, next(each for each in get_args(hint) if each is not type(None)), name)
    if origin is Literal:
        if value not in get_args(hint):
            raise ValueError(f"{name} should be one of {', '.join(get_args(hint))}, not {_cut(value)}")
        return value
    if origin is tuple:
        if not isinstance(value, list):
            raise ValueError(f"{name} should be a list, not {_cut(value)}")
        return tuple(_decode(each, get_args(hint)[0], name) for each in value)
    return _decode_plain(value, hint, name)


def _decode_plain(value: Any, hint: Any, name: str) -> Any:
    if hint is PartialDate or hint is date:
        if not isinstance(value, str):
            raise ValueError(f"{name} should be a date as 2021-09-03, not {_cut(value)}")
        try:
            return hint.fromisoformat(value)
        except ValueError as error:
            # Of a day that is none, Python speaks in its own words.
            told = f"there is no day {_cut(value)}" if hint is date else str(error)
            raise ValueError(f"{name}: {told}") from None
    if hint is Event:
        return decode_event(value)
    if is_dataclass(hint) and isinstance(hint, type):
        if not isinstance(value, Mapping):
            raise ValueError(f"{name} should be an object {{…}}, not {_cut(value)}")
        return _decode_fields(hint, value, name)
    if hint is float and type(value) is int and -MOST_NUMBER <= value <= MOST_NUMBER:
        value = float(value)
    if type(value) is int and hint in (int, float) and not -MOST_NUMBER <= value <= MOST_NUMBER:
        raise ValueError(f"{name} should lie within ±{MOST_NUMBER:,}, not {_cut(value)}")
    if type(value) is not hint or (hint is float and not math.isfinite(value)):
        raise ValueError(f"{name} should be {_PLAIN_WORDS[hint]}, not {_cut(value)}")
    if hint is float and not -MOST_NUMBER <= value <= MOST_NUMBER:
        raise ValueError(f"{name} should lie within ±{MOST_NUMBER:,}, not {_cut(value)}")
    return value


def _named(word: object) -> str:
    """A key or a kind that is not known, no longer than a message can carry."""
    return word if isinstance(word, str) and len(word) <= 60 else _cut(word)


def _cut(value: object) -> str:
    try:
        text = repr(value)
    except ValueError:  # Python writes no integer of more than some thousand digits
        return "a number of thousands of digits"
    return text if len(text) <= 60 else f"{text[:60]}…"
