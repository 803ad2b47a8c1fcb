"""Figures of the trade: dated, sourced tables in TOML that travel with the package, never numbers in code."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from types import MappingProxyType
from typing import Any


@dataclass(frozen=True, slots=True)
class Figure:
    """One number as it was found: value, unit, spread (0 where none is known) and where it comes from."""

    value: float
    unit: str
    source: str
    sd: float = 0.0


@lru_cache(maxsize=64)
def load_table(room: str, name: str) -> Mapping[str, Any]:
    """The table `name`.toml of a room ("rope", "rigging"), read once.

    >>> load_table("rope", "stretch")["g"]["unit"]
    'm/s2'
    """
    from importlib.resources import files  # slow to import, and the terminal's help reads no table

    text = files(f"tethera.{room}").joinpath("tables", f"{name}.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


def read_figure(entry: Mapping[str, Any], on: date | None = None) -> Figure:
    """The figure of a table entry that holds on a day (the newest where no day is given).

    An entry carries `unit` and either one value with its source, or dated values:

    >>> read_figure({"unit": "m", "value": 0.6, "sd": 0.1, "source": "s"})
    Figure(value=0.6, unit='m', source='s', sd=0.1)
    """
    held = [v for v in entry.get("values", [entry]) if on is None or v.get("from", date.min) <= on]
    if not held:
        raise ValueError(f"no value holds on {on}; the oldest is from {min(v['from'] for v in entry['values'])}")
    newest = max(held, key=lambda v: v.get("from", date.min))
    return Figure(float(newest["value"]), str(entry["unit"]), str(newest["source"]), float(newest.get("sd", 0.0)))


@lru_cache(maxsize=512)
def figure(room: str, table: str, *path: str) -> Figure:
    """One figure by its place in a table: figure("rigging", "metres", "tail_at_foot")."""
    entry: Any = load_table(room, table)
    for key in path:
        entry = entry[key]
    return read_figure(entry)
