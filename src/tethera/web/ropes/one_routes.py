"""The routes a store knows: the route files in the folder `routes` of the installation."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.conf import settings

from tethera.planning import Reach, pitches_reached
from tethera.rigging import KnotLengths, RopeNeed, Route, UnreadableKnots, UnreadableRoute, read_route, rope_needs
from tethera.store import RopeState

_MOST = 200


@dataclass(frozen=True)
class KnownRoute:
    """A route with what each pitch takes, or why its file cannot be read."""

    name: str
    route: Route | None
    needs: tuple[RopeNeed, ...]
    trouble: str = ""


@dataclass(frozen=True)
class RouteReach:
    """What one rope alone would rig of a route."""

    route: str
    reached: tuple[Reach, ...]
    of: int
    trouble: str = ""


def routes() -> tuple[KnownRoute, ...]:
    """Every route file of the folder, by name; one that cannot be read is told, and keeps no other from being read."""
    folder = Path(settings.FOLDER) / "routes"
    if not folder.is_dir():
        return ()
    files = sorted(each for each in folder.glob("*.toml") if each.is_file())[:_MOST]
    knots = Path(settings.FOLDER) / "knots.toml"
    changed = knots.stat().st_mtime_ns if knots.is_file() else 0
    return tuple(_read(each, each.stat().st_mtime_ns, knots, changed) for each in files)


@lru_cache(maxsize=2 * _MOST)
def _read(path: Path, changed: int, knots_path: Path, knots_changed: int) -> KnownRoute:
    """A route file as it was at this moment of change."""
    try:
        knots = KnotLengths.from_toml(knots_path.read_text("utf-8")) if knots_changed else KnotLengths.default()
        route = read_route(path.read_text("utf-8-sig"), source=path.name).route
        return KnownRoute(route.name, route, rope_needs(route, knots))
    except (UnreadableRoute, UnreadableKnots, UnicodeDecodeError, OSError) as error:
        return KnownRoute(path.stem, None, (), str(error) if path.name in str(error) else f"{path.name}: {error}")


def reaches(rope: RopeState) -> tuple[RouteReach, ...]:
    """For each route the pitches this rope alone would rig."""
    found = []
    for each in routes():
        if each.route is None:
            found.append(RouteReach(each.name, (), 0, each.trouble))
            continue
        asked = pitches_reached(rope, each.route.pitches, each.needs)
        found.append(RouteReach(each.name, tuple(r for r in asked if r.why_not is None), len(asked)))
    return tuple(found)


def known_routes() -> tuple[str, ...]:
    """Names of the routes."""
    return tuple(each.name for each in routes() if each.route)


def known_pitches() -> tuple[str, ...]:
    """Names of all pitches, each once."""
    return tuple(dict.fromkeys(pitch.name for each in routes() if each.route for pitch in each.route.pitches))
