"""A rope named at the terminal, of the store or by its figures, and lengths as typed."""

import argparse
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import cast

from tethera.basics import read_length
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.rope import Band, RopeType, typical_mass_g_per_m
from tethera.store import RopeState

_COMMON_MM = 10.0


@dataclass(frozen=True)
class RopeAsked:
    """What is known of the rope a question is about; `length_m`, `name` and `known` only of a rope of the store."""

    rope_type: RopeType
    mass_kg_per_m: float
    elongation: float | None
    impact_force_kn: float | None
    told: tuple[str, ...]
    mass_told: tuple[str, ...]
    name: str = ""
    length_m: float | None = None
    known: tuple[str, ...] = ()


def rope_asked(words: argparse.Namespace) -> RopeAsked:
    """The rope of `--rope`, `--type`, `--diameter`, `--elongation`; what is typed goes before what the store says."""
    state = None
    if words.rope:
        store = places.open_store(words.store)
        state = store.register.rope(words.rope, places.today())
    told: list[str] = []
    mass_told: list[str] = []
    rope_type = words.type or (state.rope_type if state else None)
    if rope_type == "cord":
        raise WrongInput(f"{words.rope} is accessory cord: no fall is to be held by it. Name a rope.")
    if rope_type is None:
        told.append("Type not declared: counted as type B, the stiffer one in a fall.")
    diameter = words.diameter or (state.diameter_mm if state else None)
    grams = getattr(words, "g_per_m", None) or (state.mass_g_per_m if state else None)
    if grams is None:
        grams = typical_mass_g_per_m(diameter or _COMMON_MM)
        mass_told.append(f"Mass not declared: {grams:g} g a metre, as is common for {diameter or _COMMON_MM:g} mm.")
    share = (state.elongation if state else None) if words.elongation is None else words.elongation / 100
    percent = state.elongation_percent if state and state.elongation and words.elongation is None else None
    typed_kn = getattr(words, "impact_force", None)
    own_kn = state.fall_force_kn(words.type) if state else None
    length = None if state is None or state.length_cm is None else state.length_cm / 100
    return RopeAsked(
        cast(RopeType, rope_type or "B"),
        grams / 1000,
        share,
        own_kn if typed_kn is None else typed_kn,
        tuple(told),
        tuple(mass_told),
        state.id if state else "",
        length,
        _by_leaflet(state, percent, own_kn if typed_kn is None else None),
    )


def _by_leaflet(state: RopeState | None, percent: float | None, kn: float | None) -> tuple[str, ...]:
    """What is taken from what the store knows of the rope, so that nobody wonders where it came from."""
    figures = [f"elongation {percent:g} %"] if percent is not None else []
    figures += [f"impact force {kn:g} kN"] if kn is not None else []
    return (f"Declared of {state.id}: {', '.join(figures)}.",) if state and figures else ()


def metres(text: str | None, name: str, default: float) -> float:
    """A length as typed, in metres; nought is one, and below zero too where the formula allows it."""
    if text is None:
        return default
    typed = text.strip()
    below = typed.startswith(("-", "−"))
    plain = typed.lstrip("-−").strip()
    if not plain.replace(",", ".").lower().removesuffix("m").strip().strip("0.") and any(c == "0" for c in plain):
        return 0.0
    reading = read_length(plain, where=name)
    if reading.length_cm is None:
        raise WrongInput(str(reading.findings[0]))
    return (-1 if below else 1) * reading.length_cm / 100


@contextmanager
def named_as_typed(**own: str) -> Iterator[None]:
    """A number outside its range is told by the option that carries it: --hang, not the formula's own hang_m."""
    try:
        yield
    except ValueError as error:
        options = re.sub(
            r"\b([a-z]+(?:_[a-z]+)*?)_(?:m|kg|kn|mm|deg)\b", lambda m: own.get(m[1], _option(m[1])), str(error)
        )
        raise WrongInput(options[0].upper() + options[1:]) from None


def _option(name: str) -> str:
    own = {"depth": "DEPTH", "length": "--length", "caver_at": "--at", "slack_after": "--loop", "load": "--mass"}
    return own.get(name, f"--{name.replace('_', '-')}")


def spread(band: Band, unit: str, places_after: int = 1) -> str:
    """A band's likely value with its ends.

    >>> spread(Band(2.0, 2.5, 3.04), "kN")
    '2.5 kN (2.0 to 3.0)'
    """
    low, likely, high = (f"{float(each):.{places_after}f}" for each in (band.low, band.likely, band.high))
    return f"{likely} {unit} ({low} to {high})"


def ends(band: Band, name: str, unit: str) -> dict[str, float]:
    """A band as machines read it."""
    return {f"{name}_{which}_{unit}": round(float(getattr(band, which)), 3) for which in ("low", "likely", "high")}


def reasons(assumptions: tuple[str, ...], cautions: tuple[str, ...]) -> str:
    """What an answer rests on, and what stands beside it."""
    lines = [terminal.bold("What this rests on")]
    lines += [terminal.paragraph(each, indent="  – ", hanging="    ") for each in assumptions]
    lines += ["", *(terminal.paragraph(each) for each in cautions)]
    return "\n".join(lines)
