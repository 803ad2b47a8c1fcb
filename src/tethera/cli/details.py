"""Details of an event as typed at the terminal: name=value, read into the type the event wants.

Names are those of the event without the unit (length for length_cm), because the value carries its unit.
"""

import dataclasses
import difflib
import re
import types
import typing
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any, Literal

from tethera.basics import Finding, PartialDate, read_date, read_length
from tethera.cli.errors import WrongInput
from tethera.store import EVENT_KINDS, Event, kind, read_bands

#: Given by the command itself, not as a detail.
_NOT_A_DETAIL = ("happened", "rope", "replacement")
_OWN_NAMES = {"mass_g_per_m": "mass-per-metre", "rope_type": "type"}
_UNITS = ("_cm", "_kn", "_percent", "_m", "_mm", "_g", "_g_per_m", "_c", "_pence")


def short_name(field: str) -> str:
    """A field's name as typed.

    >>> short_name("length_cm"), short_name("mass_g_per_m"), short_name("next_due")
    ('length', 'mass-per-metre', 'next-due')
    """
    if field in _OWN_NAMES:
        return _OWN_NAMES[field]
    unit = next((unit for unit in _UNITS if field.endswith(unit)), "")
    return field.removesuffix(unit).removesuffix("_").replace("_", "-")


def event_kind(word: str) -> type[Event]:
    """The event a word names; WrongInput lists the nearest."""
    wanted = word.strip().lower().replace(" ", "-").replace("_", "-")
    if wanted in EVENT_KINDS:
        return EVENT_KINDS[wanted]
    near = difflib.get_close_matches(wanted, EVENT_KINDS, 3, 0.4)
    hint = f"The nearest are {', '.join(near)}." if near else ""
    raise WrongInput(
        f"“{word}” is nothing that can be recorded. {hint} All of them:  tethera record".replace("  A", " A")
    )


def details_of(event: type[Event]) -> dict[str, dataclasses.Field[Any]]:
    """The details an event takes, by the name they are typed with."""
    return {short_name(f.name): f for f in dataclasses.fields(event) if f.name not in _NOT_A_DETAIL}


def read_details(
    event: type[Event], typed: Mapping[str, str], person: Callable[[str], str]
) -> tuple[dict[str, Any], list[Finding]]:
    """Typed details as the event's fields; WrongInput says which was wrong and what was expected."""
    known = details_of(event)
    hints = typing.get_type_hints(event)
    fields: dict[str, Any] = {}
    findings: list[Finding] = []
    for name, text in typed.items():
        if name not in known:
            near = ", ".join(known) or "none"
            raise WrongInput(f"{kind(event)} has no detail “{name}”. It takes: {near}.")
        field = known[name].name
        value, doubts = _read(field, text, hints[field], person)
        fields[field] = value
        findings += doubts
    lacking = [
        name
        for name, field in known.items()
        if field.default is dataclasses.MISSING
        and field.default_factory is dataclasses.MISSING
        and field.name not in fields
    ]
    if lacking:
        raise WrongInput(f"{kind(event)} needs {' and '.join(f'{name}=…' for name in lacking)}.")
    return fields, findings


def _read(field: str, text: str, hint: Any, person: Callable[[str], str]) -> tuple[Any, list[Finding]]:
    options = typing.get_args(hint) if typing.get_origin(hint) in (types.UnionType, typing.Union) else (hint,)
    wanted = next(option for option in options if option is not types.NoneType)
    if typing.get_origin(wanted) is tuple:
        inner = typing.get_args(wanted)[0]
        read = [_read(field.replace("counts_cm", "count_cm"), part, inner, person) for part in text.split(",")]
        return tuple(value for value, _ in read), [doubt for _, doubts in read for doubt in doubts]
    if field == "person":
        return person(text), []
    if wanted is int and field.endswith("_cm"):
        return _length_cm(field, text), []
    if wanted is int and field == "length_m":
        return _length_cm(field, text) // 100, []
    if wanted is PartialDate:
        reading = read_date(text, where=short_name(field))
        if reading.date is None:
            raise WrongInput(str(reading.findings[0]))
        return reading.date, list(reading.findings)
    if field == "bands":
        return _bands(text), []
    return _plain(field, text, wanted), []


def _bands(text: str) -> str:
    """A store's own bands, one on each line; at the terminal a semicolon may end a line too."""
    lines = "\n".join(line.strip() for line in re.split(r"[;\n]", text) if line.strip())
    try:
        read_bands(lines)
    except ValueError as error:
        raise WrongInput(f"bands: {error}") from None
    return lines


def _length_cm(field: str, text: str) -> int:
    short = text.strip().startswith("-")
    if short and field != "left_over_cm":
        # Only what was left over at the foot can be below zero: so much was short.
        raise WrongInput(f"{short_name(field)}: “{text}” is below zero. Write the length as it is, as 45 m.")
    reading = read_length(text.strip().removeprefix("-"), where=short_name(field))
    if reading.length_cm is None:
        raise WrongInput(str(reading.findings[0]))
    return -reading.length_cm if short else reading.length_cm


def _plain(field: str, text: str, wanted: Any) -> Any:
    name = short_name(field)
    if typing.get_origin(wanted) is Literal:
        choices = typing.get_args(wanted)
        same = [choice for choice in choices if choice.lower() == text.lower()]
        if not same:
            raise WrongInput(f"{name}: “{text}” is not one of {', '.join(choices)}.")
        return same[0]
    if wanted is bool:
        if text.lower() not in ("yes", "no"):
            raise WrongInput(f"{name}: write yes or no, not “{text}”.")
        return text.lower() == "yes"
    try:
        if wanted is date:
            return date.fromisoformat(text)
        if wanted in (int, float):
            return wanted(_number(field, text))
    except ValueError:
        expected = "a day as 2026-12-05" if wanted is date else "a number"
        raise WrongInput(f"{name}: “{text}” is not {expected}.") from None
    return text


#: What one of a written unit is in the unit of the field.
_TIMES = {"_g": {"kg": 1000.0}, "_pence": {"£": 100.0, "pounds": 100.0, "pound": 100.0}, "_mm": {"cm": 10.0}}


def _number(field: str, text: str) -> str:
    """A number in the field's unit, from one that may say its own: “650 g”, “2.4 kg”, “10.5mm”, “£40”, “58 g/m”."""
    words = text.strip().lower().replace(",", ".")
    unit = words.strip("0123456789. -")
    number = words.replace(unit, "").strip() if unit else words
    ending = next((ending for ending in _TIMES if field.endswith(ending) and not field.endswith("_per_m")), "")
    times = _TIMES.get(ending, {}).get(unit, 1.0)
    return number if times == 1.0 else f"{float(number) * times:g}"


def all_events() -> Iterator[tuple[str, str, str]]:
    """Each event: its word, what it means, the details it takes."""
    for word, event in EVENT_KINDS.items():
        meaning = " ".join((event.__doc__ or "").split())
        yield word, _without_code(meaning), ", ".join(details_of(event))


def _without_code(meaning: str) -> str:
    """An event's meaning for a keeper: without field names and units of the program."""
    plain = re.sub(r"\s*\[[a-z]+[^\]]*\]", "", meaning)
    plain = plain.split("; `", 1)[0].split(". `", 1)[0]
    plain = re.sub(r",? (?:None|`None`)[^.;]*", "", plain).replace("`", "")
    return plain.rstrip(". ") + "."


def piece_cm(text: str) -> int:
    """Length of one piece of a cut [cm]."""
    return _length_cm("into", text)
