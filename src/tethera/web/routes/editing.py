"""Writing a route: a table of pitches, drawn and reckoned as it is typed, kept as a new version."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.labels import elevation_svg, key_svg
from tethera.planning import taught_route
from tethera.rigging import (
    CellError,
    KnotLengths,
    Route,
    TableReading,
    rigging_sheet,
    rope_needs,
    route_from_table,
    table_of,
    write_route,
)
from tethera.rigging.knots import KNOTS
from tethera.rigging.route import DIRECTIONS, KINDS, KNOWN_BY, ROLES
from tethera.store import RouteWritten, route_key
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.routes.known import KnownRoute, all_routes, usual_knots
from tethera.web.routes.table import acted_on, cell_called, is_empty, sent_pitches, sent_table
from tethera.web.routes.views import (
    SURE_PERCENT,
    Said,
    ShownPitch,
    draw_each,
    known_route,
    said_otherwise,
    with_changes,
)
from tethera.web.store.opened import writing

_CHOICES = {"roles": ROLES, "kinds": KINDS, "ways": KNOWN_BY, "directions": DIRECTIONS, "knots": tuple(KNOTS)}
_MOST_NOTE = 500


@dataclass(frozen=True)
class ShownRow:
    """A pitch of the table: its cells, what it takes, and what is wrong in it, with what the cell is called."""

    cells: dict[str, Any]
    shown: ShownPitch | None
    errors: tuple[tuple[str, CellError], ...]

    @property
    def at(self) -> str:
        """Its number in the form that was sent."""
        return str(self.cells.get("at", ""))


@page(May.TAKE, post=May.TAKE)
def new_route(visit: Visit) -> HttpResponse:
    """A route that nobody wrote down yet."""
    return _edit(visit, None)


@page(May.TAKE, post=May.TAKE)
def edit_route(visit: Visit, key: str) -> HttpResponse:
    """The newest version of a route, to be changed."""
    return _edit(visit, known_route(visit, key))


@page(May.TAKE, post=May.TAKE)
def draw(visit: Visit) -> HttpResponse:
    """What is typed so far, drawn and reckoned; nothing is kept."""
    key = visit.request.POST.get("key", "")
    known = next((each for each in all_routes(visit.opened) if each.key == key), None)
    table = sent_table(visit.request.POST)
    still = {str(row["at"]) for row in table["pitches"]}
    emptied = [at for at in sent_pitches(visit.request.POST) if at not in still]
    return visit.page_apart("routes/drawn.html", _shown(visit, known, table) | {"swap": True, "emptied": emptied})


def _edit(visit: Visit, known: KnownRoute | None) -> HttpResponse:
    if visit.request.method != "POST":
        table = table_of(known.written, visit.units) if known and known.written else _empty()
        return _page(visit, known, table)
    told = visit.request.POST
    table = sent_table(told)
    if act := told.get("act", ""):
        return _page(visit, known, acted_on(table, act[:40]))
    if "keep" not in told:
        return _page(visit, known, table)
    reading = _reading(visit, known, table)
    if reading.route is None or reading.errors:
        wrong = _("Nothing is kept yet: some cells cannot be read. They are named in their rows.")
        if not reading.route and not reading.errors:
            wrong = _("Write at least one pitch with its depth first.")
        return _page(visit, known, table, wrong=wrong, status=422)
    if not str(table["name"]).strip():
        return _page(visit, known, table, wrong=_("The route has no name yet. Name it, then keep it."), status=422)
    with writing(visit.opened.key):  # nobody keeps another version between the look and the keeping
        known = known_route(visit, known.key) if known is not None else None
        if known is not None and known.version is not None and (meanwhile := _meanwhile(visit, known)):
            # Kept once more it stands on this newest version; one that comes after it is told again.
            newest = known.version.number
            return _page(visit, known, table, meanwhile=meanwhile, version=newest, status=409)
        return _kept(visit, known, reading.route, told.get("note", "")[:_MOST_NOTE].strip())


def _kept(visit: Visit, known: KnownRoute | None, route: Route, note: str) -> HttpResponse:
    """Record the version, unless it says what the newest says already."""
    everything = all_routes(visit.opened)
    same_name = next(
        (each for each in everything if each.name.casefold() == route.name.casefold() and each is not known), None
    )
    text = write_route(route)
    if known is not None and known.versions and known.written == route:
        visit.tell(_("Nothing was changed."))
        return redirect("route", visit.store.slug, known.key)
    key = known.key if known is not None else route_key(route.name, {each.key for each in everything})
    event = RouteWritten(happened=PartialDate.of(visit.today), key=key, text=text, note=note)
    findings = visit.record([event])
    visit.tell(_("Kept: {name}.").format(name=route.name), findings)
    if same_name is not None:
        visit.tell(_("Another route is called {name} too: what ropes tell counts for both.").format(name=route.name))
    return redirect("route", visit.store.slug, key)


def _meanwhile(visit: Visit, known: KnownRoute) -> list[tuple[str, str, tuple[str, ...]]]:
    """What others kept since the form was opened: who, pitch by pitch; nothing where it is on the newest."""
    seen = visit.request.POST.get("version", "")
    places = [place for place, each in enumerate(known.versions) if str(each.number) == seen]
    since = with_changes(known)[places[0] + 1 if places else 0 :]
    return [(visit.name(version.by), change.pitch, change.what) for version, changes in since for change in changes]


def _reading(visit: Visit, known: KnownRoute | None, table: dict[str, Any]) -> TableReading:
    return route_from_table(table, before=known.written if known else None, unit=visit.units)


def _empty() -> dict[str, Any]:
    return {"name": "", "team": "", "notes": "", "pitches": [{"anchor": [], "edition": []}]}


def _page(
    visit: Visit, known: KnownRoute | None, table: dict[str, Any], *, status: int = 200, **more: Any
) -> HttpResponse:
    if not table["pitches"]:
        table["pitches"] = [{"anchor": [], "edition": []}]
    context = _shown(visit, known, table) | _CHOICES | more
    return visit.page_apart("routes/edit.html", context, status)


def _drawn(
    reading: TableReading, known: KnownRoute | None, lengths: KnotLengths, said: Said
) -> tuple[dict[int, ShownPitch], str, str]:
    """The pitches by their rows in the table, all of them drawn together, and the key of the signs."""
    if reading.route is None:
        return {}, "", ""
    route, learnt = taught_route(reading.route, known.seen if known else (), lengths)
    by_name = {each.pitch: each for each in learnt if each.trips}
    sheet = rigging_sheet(route, (), knots=lengths)
    told = zip(reading.places, route.pitches, rope_needs(route, lengths), sheet["pitches"], strict=True)
    shown = {
        place: ShownPitch(pitch, need, by_name.get(pitch.name), tuple(said.get(pitch.name, ())), facts)
        for place, pitch, need, facts in told
    }
    draw_each(shown.values())
    return shown, elevation_svg(sheet), key_svg(sheet["pitches"])


def _named(reading: TableReading, pitch: int | None) -> tuple[tuple[str, CellError], ...]:
    """What is wrong in a pitch, or in the route as a whole, with what the cell is called."""
    return tuple((cell_called(each.key), each) for each in reading.errors if each.pitch == pitch)


def _shown(visit: Visit, known: KnownRoute | None, table: dict[str, Any]) -> dict[str, Any]:
    """The table with what follows from it: each pitch's need and why, the drawing, and what cannot be read."""
    said = said_otherwise(visit, known) if known else {}
    lengths, trouble = usual_knots()
    with visit.let_go():  # the largest route takes some seconds, and whoever types asks with every word
        reading = _reading(visit, known, table)
        shown, picture, signs = _drawn(reading, known, lengths, said)
    rows = [
        ShownRow(cells, shown.get(place), () if is_empty(cells) else _named(reading, place))
        for place, cells in enumerate(table["pitches"])
    ]
    return {
        "known": known,
        "table": table,
        "rows": rows,
        "drawing": picture,
        "key": signs,
        "findings": reading.findings,
        "trouble": trouble,
        "route_errors": _named(reading, None),
        "need_cm": sum(
            row.shown.need_cm
            for row in rows
            if row.shown and not row.shown.pitch.instead_of and not row.shown.pitch.left_in_place
        ),
        "sure": SURE_PERCENT,
        "version": visit.request.POST.get("version", known.version.number if known and known.version else ""),
        "note": visit.request.POST.get("note", ""),
    }
