"""The store as a treasurer or a committee asks for it: its ropes by kind, by age and by length."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from tethera.store.age import age_counts_from, age_years
from tethera.store.rope_state import RopeState

#: The steps in which a rack is hung [m].
_LENGTHS_M = (10, 20, 30, 40, 50, 60, 80, 100)


@dataclass(frozen=True, slots=True)
class Kind:
    """Ropes of one diameter and type together; one of them stands for all as `example`."""

    example: RopeState
    count: int
    length_cm: int
    ready: int
    mean_age_years: float | None


def by_kind(ropes: Iterable[RopeState], on: date) -> list[Kind]:
    """The ropes by diameter and type as declared; a rope of unknown length or age counts nothing in the sum or mean.

    >>> made = [RopeState("UG1", diameter_mm=9.0, year_made=2020), RopeState("UG2", diameter_mm=9.0, year_made=2025)]
    >>> [(each.count, each.mean_age_years) for each in by_kind(made, date(2026, 11, 25))]
    [(2, 3.5)]
    """
    found: dict[tuple[float, str], list[RopeState]] = defaultdict(list)
    for rope in ropes:
        found[(rope.diameter_mm or 0.0, rope.rope_type or "")].append(rope)
    return [_kind(alike, on) for _key, alike in sorted(found.items())]


def _kind(alike: list[RopeState], on: date) -> Kind:
    ages = [years for rope in alike if (years := _calendar_years(rope, on)) is not None]
    return Kind(
        alike[0],
        len(alike),
        sum(rope.length_cm or 0 for rope in alike),
        sum(rope.usable for rope in alike),
        sum(ages) / len(ages) if ages else None,
    )


def by_age(ropes: Iterable[RopeState], on: date) -> list[tuple[tuple[int, int], list[RopeState]]]:
    """Ropes by the whole years they are old, at least and at most, the youngest first; unknown ages are left out.

    >>> [(years, len(ropes)) for years, ropes in by_age([RopeState("UG1", year_made=2020)], date(2026, 11, 25))]
    [((5, 6), 1)]
    """
    found: dict[tuple[int, int], list[RopeState]] = defaultdict(list)
    for rope in ropes:
        years = age_years(rope, on)
        if years is not None:
            found[years].append(rope)
    return sorted(found.items())


def _calendar_years(rope: RopeState, on: date) -> int | None:
    made = age_counts_from(rope)
    return None if made is None else max(0, on.year - made.year)


def by_length(ropes: Iterable[RopeState]) -> list[tuple[str, list[RopeState]]]:
    """Ropes by length in steps of metres, shortest first; steps without a rope and unknown lengths are left out.

    >>> [(name, len(ropes)) for name, ropes in by_length([RopeState("UG1", length_cm=3000), RopeState("UG2")])]
    [('20–30', 1)]
    """
    found: dict[str, list[RopeState]] = {name: [] for name in _step_names()}
    for rope in ropes:
        if rope.length_cm is not None:
            step = sum(rope.length_cm > metres * 100 for metres in _LENGTHS_M)
            found[_step_names()[step]].append(rope)
    return [(name, sorted(each, key=lambda rope: rope.length_cm or 0)) for name, each in found.items() if each]


def _step_names() -> tuple[str, ...]:
    between = zip((0, *_LENGTHS_M[:-1]), _LENGTHS_M, strict=True)
    return (*(f"{low}–{high}" for low, high in between), f"> {_LENGTHS_M[-1]}")
