"""The list of routes, one route with what its pitches take, and its versions."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from statistics import NormalDist
from typing import Any

from django.http import Http404, HttpResponse
from django.utils.translation import gettext as _

from tethera.labels import elevation_svg, key_svg, pitch_svg
from tethera.planning import USUAL_PARTY
from tethera.rigging import (
    Account,
    PitchChange,
    PitchLearnt,
    RopeNeed,
    Route,
    UnreadableRoute,
    changed_pitches,
    read_route,
    rigging_sheet,
)
from tethera.rigging.route import Pitch
from tethera.store import RouteVersion
from tethera.web.accounts.visit import Visit, page
from tethera.web.routes.known import KnownRoute, all_routes
from tethera.web.trips.models import Trip

#: How sure a need stands beside its pitch [%].
SURE_PERCENT = 95
Z = NormalDist().inv_cdf(SURE_PERCENT / 100)


@dataclass(frozen=True)
class ShownPitch:
    """A pitch with what it takes on a rope of its own, and what trips taught."""

    pitch: Pitch
    need: RopeNeed
    learnt: PitchLearnt | None
    changed: tuple[tuple[str, str, str], ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)

    @cached_property
    def svg(self) -> str:
        """The pitch to scale with its anchors."""
        return pitch_svg(self.facts)

    @property
    def need_cm(self) -> int:
        """What suffices nearly always [cm]."""
        return self.need.at(Z)

    @property
    def account(self) -> Account:
        """What it takes metre by metre, with the margin."""
        return self.need.account(Z)


@dataclass(frozen=True)
class Line:
    """A route in the list."""

    known: KnownRoute
    depth_m: float
    need_cm: int
    trips: int


def known_route(visit: Visit, key: str) -> KnownRoute:
    """A route by its short name; 404."""
    found = next((each for each in all_routes(visit.opened) if each.key == key), None)
    if found is None:
        raise Http404(_("There is no such route."))
    return found


@page()
def routes(visit: Visit) -> HttpResponse:
    """Every route by name; those put away below."""
    used: dict[str, int] = {}
    for keys in Trip.objects.filter(store=visit.store).values_list("routes", flat=True):
        for key in keys:
            used[key] = used.get(key, 0) + 1
    lines = [_line(each, used.get(each.key, 0)) for each in all_routes(visit.opened)]
    return visit.page(
        "routes/routes.html",
        {
            "lines": [each for each in lines if each.known.put_away is None],
            "put_away": [each for each in lines if each.known.put_away is not None],
        },
    )


def _line(known: KnownRoute, trips: int) -> Line:
    pitches = known.route.pitches if known.route else ()
    depth = sum(pitch.depth_m for pitch in pitches if not pitch.instead_of and pitch.direction == "down")
    need = sum(n.at(Z) for n, p in zip(known.needs, pitches, strict=False) if not p.instead_of and not p.left_in_place)
    return Line(known, depth, need, trips)


@page()
def route(visit: Visit, key: str) -> HttpResponse:
    """One route: drawn, with the metres each pitch takes and why."""
    known = known_route(visit, key)
    return visit.page("routes/route.html", shown_route(visit, known))


def shown_route(visit: Visit, known: KnownRoute) -> dict[str, object]:
    """What the page of a route shows."""
    if known.route is None:
        return {"known": known, "pitches": [], "drawing": "", "route": None}
    learnt = {each.pitch: each for each in known.learnt if each.trips}
    said = said_otherwise(visit, known)
    with visit.let_go():
        sheet = rigging_sheet(known.route, ())
        pitches = [
            ShownPitch(pitch, need, learnt.get(pitch.name), tuple(said.get(pitch.name, ())), facts)
            for pitch, need, facts in zip(known.route.pitches, known.needs, sheet["pitches"], strict=True)
        ]
        draw_each(pitches)
        whole, signs = elevation_svg(sheet), key_svg(sheet["pitches"])
    return {
        "known": known,
        "route": known.route,
        "pitches": pitches,
        "drawing": whole,
        "key": signs,
        "party": known.route.team_size or USUAL_PARTY,
        "sure": SURE_PERCENT,
    }


def draw_each(pitches: Iterable[ShownPitch]) -> None:
    """Draw those that are shown with their anchors now, rather than when the page is written."""
    for each in pitches:
        if each.pitch.anchors:
            _ = each.svg


def drawing(route: Route) -> str:
    """The whole route drawn to scale."""
    return elevation_svg(rigging_sheet(route, ()))


#: By pitch: the day, who wrote it, and what they rigged otherwise.
Said = dict[str, list[tuple[str, str, str]]]


def said_otherwise(visit: Visit, known: KnownRoute) -> Said:
    """By pitch: what people rigged otherwise than the route says, with the day and who wrote it."""
    found: Said = {}
    for each in known.seen:
        if each.use.changed:
            for pitch in each.use.pitches or (each.use.pitch,):
                told = (each.use.happened.spoken(), visit.name(each.by), each.use.changed)
                found.setdefault(pitch, []).append(told)
    return found


@page()
def versions(visit: Visit, key: str) -> HttpResponse:
    """Every version of a route, the newest first, with who wrote it and when."""
    known = known_route(visit, key)
    return visit.page("routes/versions.html", {"known": known, "versions": with_changes(known)[::-1]})


def with_changes(known: KnownRoute) -> list[tuple[RouteVersion, tuple[PitchChange, ...]]]:
    """Each version with what it changed of the one before it."""
    found: list[tuple[RouteVersion, tuple[PitchChange, ...]]] = []
    before: Route | None = None
    for each in known.versions:
        try:
            now = read_route(each.text, source=known.key).route
        except UnreadableRoute as error:
            found.append((each, (PitchChange("", (str(error),)),)))
            continue
        found.append((each, changed_pitches(before, now)))
        before = now
    return found


@page()
def version(visit: Visit, key: str, number: int) -> HttpResponse:
    """One version as it was."""
    known = known_route(visit, key)
    found = next((each for each in known.versions if each.number == number), None)
    if found is None:
        raise Http404(_("There is no such version."))
    try:
        with visit.let_go():
            picture = drawing(read_route(found.text, source=key).route)
    except UnreadableRoute as error:
        return visit.page("routes/version.html", {"known": known, "version": found, "trouble": str(error)})
    return visit.page("routes/version.html", {"known": known, "version": found, "drawing": picture})


@page()
def route_file(visit: Visit, key: str) -> HttpResponse:
    """The route file, as it holds; `?version=12` as it was then."""
    known = known_route(visit, key)
    text, name = known.text, key
    if number := visit.request.GET.get("version", ""):
        found = next((each for each in known.versions if str(each.number) == number), None)
        if found is None:
            raise Http404(_("There is no such version."))
        text, name = found.text, f"{key}-{found.number}"
    return HttpResponse(
        text,
        content_type="application/toml; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.toml"'},
    )
