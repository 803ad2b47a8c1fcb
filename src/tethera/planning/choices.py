"""What the user wishes for a plan, and what those words mean for these trips and ropes."""

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from tethera.planning.trip import Trip


@dataclass(frozen=True)
class Choices:
    """Wishes for a plan.

    Parameters
    ----------
    take : ropes that must hang on a pitch, as "41@2", "TV41@Second" or, with several trips, "41@Route:2"
    leave : ropes that stay at home
    confidence : that no rope is short, 0.5 to below 1; None plans on mean needs, without margins
    joint : the confidence is for all ropes together; otherwise for each
    prefer : what up to `mass_allowance` of mass may be given up for
    mid_drop_joins : ropes may be joined in mid-drop when nothing else goes
    compare : other confidences to tell the cost of
    """

    take: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    confidence: float | None = 0.95
    joint: bool = True
    prefer: Literal["least-left-over", "long-ropes-kept"] = "least-left-over"
    mass_allowance: float = 0.01
    mid_drop_joins: bool = True
    compare: tuple[float | None, ...] = (None, 0.90, 0.99)


class UnknownWish(ValueError):
    """A wish that names no rope or no pitch, or a rope that may not be planned."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """Wishes understood: rope, trip and pitch (counted from 0) of each pin, and the ropes to leave."""

    pins: tuple[tuple[str, int, int], ...] = ()
    leave: frozenset[str] = frozenset()


def read_wishes(choices: Choices, trips: Sequence["Trip"], free: Sequence[str], excluded: Mapping[str, str]) -> Wishes:
    """Understand the wishes; UnknownWish says what is wrong and what there is."""
    leave = frozenset(_rope(word, [*free, *excluded]) for word in choices.leave)
    pins = []
    for wish in choices.take:
        word, at, where = wish.partition("@")
        if not at or not word.strip() or not where.strip():
            raise UnknownWish(f"“{wish}” names no pitch: write the rope, @ and the pitch, as 41@2.")
        rope = _rope(word, [*free, *excluded])
        if rope in excluded:
            raise UnknownWish(f"{rope} cannot be taken: {excluded[rope]}.")
        if rope in leave:
            raise UnknownWish(f"{rope} is to be taken and to be left: say one of them.")
        pins.append((rope, *_pitch(where, trips, wish)))
    return Wishes(tuple(pins), leave & frozenset(free))


def _rope(word: str, names: Sequence[str]) -> str:
    """A rope by its full name, or by its running number when only one store's rope has it."""
    asked = word.strip().upper()
    same = [name for name in names if name.upper() == asked]
    if not same and asked.isdigit():
        same = [name for name in names if name.upper().lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ-").lstrip("0") == asked]
    if len(same) == 1:
        return same[0]
    if same:
        raise UnknownWish(f"“{word}” could be {', '.join(sorted(same))}: write the whole number.")
    near = difflib.get_close_matches(asked, names, n=3, cutoff=0.5)
    hint = f" Nearest: {', '.join(near)}." if near else " The store has no rope like it."
    raise UnknownWish(f"No rope is called “{word.strip()}”.{hint}")


def _pitch(where: str, trips: Sequence["Trip"], wish: str) -> tuple[int, int]:
    route, colon, word = where.rpartition(":")
    asked, route = word.strip().casefold(), route.strip().casefold()
    found = [
        (number, index)
        for number, trip in enumerate(trips)
        if not colon or trip.route.name.casefold() == route
        for index, pitch in enumerate(trip.route.pitches)
        if asked in (str(index + 1), pitch.name.casefold())
    ]
    if len(found) == 1:
        return found[0]
    pitches = [f"{i + 1} {p.name}" for trip in trips for i, p in enumerate(trip.route.pitches)][:12]
    if found:
        names = ", ".join(trips[number].route.name for number, _ in found)
        raise UnknownWish(f"“{wish}” could be on {names}: write the rope, @, the route, a colon and the pitch.")
    raise UnknownWish(f"“{wish}” names no pitch of these routes. There are: {', '.join(pitches)}.")
