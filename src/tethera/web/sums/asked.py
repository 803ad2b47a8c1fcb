"""What every sum has in common: numbers as people type them, and no answer beside another question."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.utils.translation import gettext as _

from tethera.basics import read_length
from tethera.web.accounts.visit import Visit

_FOOT_M = 0.3048


class Asked:
    """The numbers of a sum's form, read one by one.

    What cannot be read is told in `wrong`, and the default stands in, so that one page tells all that is wrong.
    """

    def __init__(self, told: Mapping[str, str], units: str = "m") -> None:
        self._told = told
        self.units = units
        self.wrong: list[str] = []

    def words(self, name: str, default: str = "", most: int = 80) -> str:
        """What was typed, without blanks around it; the default where the field was not sent."""
        return self._told.get(name, default).strip()[:most]

    def choice(self, name: str, allowed: tuple[str, ...], default: str) -> str:
        """One of a few words; anything else is the default."""
        typed = self.words(name, default)
        return typed if typed in allowed else default

    def number(self, name: str, label: str, low: float, high: float, unit: str, default: float) -> float:
        """A number between two others; the default where the field was not sent."""
        found = self.maybe(name, label, low, high, unit, f"{default:g}")
        if found is None and not self.words(name, "x"):
            self.wrong.append(_("{label}: write a number.").format(label=label))
        return default if found is None else found

    def maybe(self, name: str, label: str, low: float, high: float, unit: str, default: str = "") -> float | None:
        """A number that may be left out; None then, and where it cannot be read, which is told."""
        typed = self.words(name, default)
        if not typed:
            return None
        plain = typed.replace(",", ".").replace("\u2009", " ").removesuffix(unit).removesuffix("%").strip()
        try:
            value = float(plain)
        except ValueError:
            self.wrong.append(_("{label}: “{typed}” is not a number.").format(label=label, typed=typed))
            return None
        return self._within(label, typed, value, (low, high), unit)

    def length_m(self, name: str, label: str, low_m: float, high_m: float, default_m: float) -> float:
        """A length in the visitor's unit, or with its own unit beside it, in metres."""
        typed = self.words(name, self.typed_length(default_m))
        if not typed:
            self.wrong.append(_("{label}: write a length.").format(label=label))
            return default_m
        reading = read_length(typed, unit="ft" if self.units == "ft" else "m", where=label)
        if reading.length_cm is None:
            # Nought is a length here (no slack, level with the anchor), and shorter than any rope.
            if typed.replace(",", ".").strip(" m").replace(".", "").strip("0") == "":
                return self._within(label, typed, 0.0, (low_m, high_m), "m") or (0.0 if low_m <= 0 else default_m)
            self.wrong += [f"{label}: {each.message} {each.way_out}".strip() for each in reading.findings]
            return default_m
        found = self._within(label, typed, reading.length_cm / 100, (low_m, high_m), "m")
        return default_m if found is None else found

    def typed_length(self, length_m: float) -> str:
        """A length as the visitor would type it."""
        return f"{length_m / _FOOT_M:.1f}" if self.units == "ft" else f"{length_m:g}"

    def _within(self, label: str, typed: str, value: float, span: tuple[float, float], unit: str) -> float | None:
        if span[0] <= value <= span[1]:
            return value
        told = _("{label}: write {low} to {high}, not {typed}.")
        low, high = f"{span[0]:g}", f"{span[1]:g} {unit}".strip()
        self.wrong.append(told.format(label=label, low=low, high=high, typed=typed))
        return None


def answer(visit: Visit, template: str, context: dict[str, Any], wrong: list[str]) -> HttpResponse:
    """The page of a sum. Where something cannot be read, `wrong` stands in the answer's place."""
    # htmx leaves the old answer standing beside an error: a wrong question must take it away.
    status = 422 if wrong and not visit.request.headers.get("HX-Request") else 200
    return visit.page(template, context | {"wrong": wrong}, status)
