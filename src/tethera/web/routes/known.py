"""The routes a store knows: those in its record, and route files in the folder that nobody wrote down yet."""

from collections.abc import Iterable, Set
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.utils.translation import gettext as _

from tethera.basics import Finding
from tethera.planning import Reach, pitches_reached, taught_route
from tethera.rigging import (
    KnotLengths,
    PitchLearnt,
    RopeNeed,
    Route,
    RouteReading,
    UnreadableKnots,
    UnreadableRoute,
    read_route,
    rope_needs,
)
from tethera.store import (
    Register,
    RopeSeen,
    RopeState,
    RouteVersion,
    WrittenRoute,
    route_key,
    seen_on,
    written_routes,
)
from tethera.web.store.opened import OpenedStore

_MOST_FILES = 200


@dataclass(frozen=True)
class KnownRoute:
    """A route as it holds now, with what each pitch takes; or why it cannot be read.

    `written` is the route as its newest version says; `route` knows besides what trips taught. A route from a file in
    the folder has no `versions`; writing it down makes its first.
    """

    key: str
    name: str
    text: str
    written: Route | None
    route: Route | None
    needs: tuple[RopeNeed, ...] = ()
    learnt: tuple[PitchLearnt, ...] = ()
    findings: tuple[Finding, ...] = ()
    seen: tuple[RopeSeen, ...] = ()
    versions: tuple[RouteVersion, ...] = ()
    put_away: str | None = None
    trouble: str = ""
    by_number: dict[int, RopeSeen] = field(default_factory=dict, repr=False, compare=False)

    @property
    def version(self) -> RouteVersion | None:
        """The version that holds; None for a file."""
        return self.versions[-1] if self.versions else None


@dataclass(frozen=True)
class RouteReach:
    """What one rope alone would rig of a route."""

    route: str
    reached: tuple[Reach, ...]
    of: int
    trouble: str = ""
    key: str = ""


def knots() -> KnotLengths:
    """The store's own knots where `knots.toml` in its folder has them; UnreadableKnots says what is wrong with it."""
    own = Path(settings.FOLDER) / "knots.toml"
    try:
        return KnotLengths.from_toml(own.read_text("utf-8-sig")) if own.is_file() else KnotLengths.default()
    except UnicodeDecodeError as error:
        raise UnreadableKnots(_("knots.toml is not written in UTF-8. Save it again as UTF-8.")) from error


def usual_knots() -> tuple[KnotLengths, str]:
    """The store's own knots; where its file cannot be read, the usual ones, and what is wrong with it."""
    try:
        return knots(), ""
    except (UnreadableKnots, OSError) as error:
        told = _("{error} Until then the usual lengths of knots are taken.").format(error=error)
        return KnotLengths.default(), told


#: The register itself: another one of as many events, as after a backup was brought back, is another record.
_Key = tuple[Register, int, tuple[tuple[str, int], ...]]
_kept: dict[int, tuple[_Key, tuple[KnownRoute, ...]]] = {}


def all_routes(opened: OpenedStore) -> tuple[KnownRoute, ...]:
    """Every route, put away or not, by name; worked out anew only after something was recorded or a file changed."""
    folder = Path(settings.FOLDER)
    files = [*sorted((folder / "routes").glob("*.toml"))[:_MOST_FILES], folder / "knots.toml"]
    state = tuple((each.name, each.stat().st_mtime_ns) for each in files if each.is_file())
    key = (opened.register, len(opened.register), state)
    if opened.key not in _kept or _kept[opened.key][0] != key:
        _kept[opened.key] = (key, _worked_out(opened, [each for each in files[:-1] if each.is_file()]))
    return _kept[opened.key][1]


def routes(opened: OpenedStore) -> tuple[KnownRoute, ...]:
    """Every route that is offered, by name."""
    return tuple(each for each in all_routes(opened) if each.put_away is None)


def _worked_out(opened: OpenedStore, files: Iterable[Path]) -> tuple[KnownRoute, ...]:
    lengths, trouble = usual_knots()
    fold = opened.register.caught_up()
    written = written_routes(fold)
    # A name that another route bears now says nothing of this one any more.
    borne = {_name_in(each.newest.text).casefold() for each in written}
    found = [
        _read(
            opened,
            each,
            each.newest.text,
            each.key,
            lengths,
            trouble,
            {name for name in (each.key, *_earlier_names(each)) if name.casefold() not in borne},
        )
        for each in written
    ]
    taken = {each.name.casefold() for each in found} | {each.key for each in found}
    for path in files:
        try:
            text = path.read_text("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            found.append(KnownRoute(route_key(path.stem), path.stem, "", None, None, trouble=f"{path.name}: {error}"))
            continue
        key = route_key(path.stem)
        one = _read(opened, WrittenRoute(key, ()), text, path.name, lengths, trouble, {key} - borne)
        one = replace(one, key=route_key(one.name)) if one.written else one
        if one.name.casefold() not in taken and one.key not in taken:
            found.append(one)
    return tuple(sorted(found, key=lambda each: each.name.casefold()))


@lru_cache(maxsize=500)
def _read_once(text: str, source: str) -> RouteReading:
    """The same words say the same: whatever is recorded of ropes, no route is parsed again."""
    return read_route(text, source=source)


def _read(
    opened: OpenedStore,
    written: WrittenRoute,
    text: str,
    source: str,
    lengths: KnotLengths,
    trouble: str,
    other_names: Set[str] = frozenset(),
) -> KnownRoute:
    try:
        reading = _read_once(text, source)
    except UnreadableRoute as error:
        return KnownRoute(
            written.key,
            source,
            text,
            None,
            None,
            versions=written.versions,
            put_away=written.put_away,
            trouble=str(error),
        )
    route = reading.route
    seen = seen_on(opened.register.caught_up(), {route.name, *other_names})
    taught, learnt = taught_route(route, seen, lengths)
    return KnownRoute(
        written.key,
        route.name,
        text,
        route,
        taught,
        rope_needs(taught, lengths),
        learnt,
        reading.findings,
        seen,
        written.versions,
        written.put_away,
        trouble,
        {each.number: each for each in seen},
    )


def _earlier_names(written: WrittenRoute) -> set[str]:
    """What a route was called before: ropes used on it then tell of it still."""
    return {name for version in written.versions[:-1] if (name := _name_in(version.text))}


def _name_in(text: str) -> str:
    head = next((line for line in text.splitlines() if line.startswith("name =")), "")
    return head.partition("=")[2].strip().strip('"')


def reaches(opened: OpenedStore, rope: RopeState) -> tuple[RouteReach, ...]:
    """For each route the pitches this rope alone would rig."""
    found = []
    for each in routes(opened):
        if each.route is None:
            found.append(RouteReach(each.name, (), 0, each.trouble, each.key))
            continue
        asked = pitches_reached(rope, each.route.pitches, each.needs)
        found.append(RouteReach(each.name, tuple(r for r in asked if r.why_not is None), len(asked), key=each.key))
    return tuple(found)


def known_routes(opened: OpenedStore) -> tuple[str, ...]:
    """Names of the routes."""
    return tuple(each.name for each in routes(opened) if each.route)


def known_pitches(opened: OpenedStore) -> tuple[str, ...]:
    """Names of all pitches, each once."""
    return tuple(dict.fromkeys(p.name for each in routes(opened) if each.route for p in each.route.pitches))
