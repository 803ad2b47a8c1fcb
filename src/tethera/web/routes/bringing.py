"""A route from a file: a route file, or a spreadsheet of pitches and perhaps of their anchors."""

import io
import tempfile
from pathlib import Path
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.basics import PartialDate, UnreadableWorkbook
from tethera.rigging import (
    RouteReading,
    UnreadableRoute,
    anchor_rows,
    guide_rows,
    read_route,
    read_route_rows,
    route_rows,
    together_rows,
    with_anchor_rows,
    with_guide_rows,
    with_together_rows,
    write_route,
)
from tethera.store import RoutePutAway, RouteWritten, route_key
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.importing.workbook_child import read_workbook_safely
from tethera.web.routes.known import all_routes
from tethera.web.routes.views import known_route

_MOST_BYTES = 2_000_000
#: Further sheets of a workbook, by their names as it goes out.
_READERS = {"Anchors": with_anchor_rows, "Other guides": with_guide_rows, "Together": with_together_rows}


@page(May.TAKE, post=May.TAKE)
def bring(visit: Visit) -> HttpResponse:
    """Keep the route that a file holds: as a new one, or as a new version of the one that is called so."""
    if visit.request.method != "POST":
        return redirect("routes", visit.store.slug)
    file = visit.request.FILES.get("file")
    if file is None:
        return _told(visit, _("Choose a file first."))
    if (file.size or 0) > _MOST_BYTES:
        return _told(visit, _("That file is larger than any route. Nothing is kept."))
    name = file.name or "route"
    try:
        reading = _read(file.read(), name)
    except (UnreadableRoute, UnreadableWorkbook, UnicodeDecodeError, ValueError) as error:
        said = str(error) if not isinstance(error, UnicodeDecodeError) else _("The file is no text.")
        return _told(visit, _("Nothing is kept. {why}").format(why=said))
    route = reading.route
    known = all_routes(visit.opened)
    same = next((each for each in known if each.name.casefold() == route.name.casefold()), None)
    if same is not None and same.versions and same.written == route and same.put_away is None:
        visit.tell(_("Nothing was changed."), reading.findings)
        return redirect("route", visit.store.slug, same.key)
    key = same.key if same is not None else route_key(route.name, {each.key for each in known})
    event = RouteWritten(
        happened=PartialDate.of(visit.today),
        key=key,
        text=write_route(route),
        note=_("from {file}").format(file=name[:100]),
    )
    findings = visit.record([event])
    told = _("Kept as a new version of {name}.") if same and same.versions else _("Kept: {name}.")
    visit.tell(told.format(name=route.name), (*findings, *reading.findings))
    return redirect("route", visit.store.slug, key)


def _read(content: bytes, name: str) -> RouteReading:
    if name.lower().endswith(".toml"):
        return read_route(content.decode("utf-8-sig"), source=name)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "brought"
        path.write_bytes(content)
        sheets = read_workbook_safely(path, name)
    if not sheets:
        raise ValueError(_("{name} has no sheet.").format(name=name))
    named = {each.name.casefold(): each for each in reversed(sheets)}
    further = [(named[name.casefold()], read) for name, read in _READERS.items() if name.casefold() in named]
    first = next((each for each in sheets if each not in [sheet for sheet, _ in further]), sheets[0])
    title = name.rsplit(".", 1)[0].replace("-", " ").strip() or _("Route")
    called = first.name if first.name.casefold() not in ("pitches", "sheet1", "sheet", "route") else title
    reading = read_route_rows(first.rows, source=name, name=called[:80])
    for sheet, read in further:
        if sheet is not first:
            reading = read(reading, sheet.rows, sheet.name)
    return reading


def _told(visit: Visit, words: str) -> HttpResponse:
    visit.tell(words)
    return redirect("routes", visit.store.slug)


@page()
def workbook(visit: Visit, key: str) -> HttpResponse:
    """The route as a workbook: a sheet of pitches, one of anchors, and what other guides and several pitches say."""
    from openpyxl import Workbook

    known = known_route(visit, key)
    if known.written is None:
        return redirect("route", visit.store.slug, key)
    book = Workbook()
    first = book.active
    assert first is not None
    sheets: list[tuple[Any, list[list[Any]]]] = [(first, route_rows(known.written))]
    first.title = "Pitches"
    sheets.append((book.create_sheet("Anchors"), anchor_rows(known.written)))
    rare = {"Other guides": guide_rows(known.written), "Together": together_rows(known.written)}
    sheets += [(book.create_sheet(name), rows) for name, rows in rare.items() if len(rows) > 1]
    for sheet, rows in sheets:
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row, start=1):
                cell = sheet.cell(number, column)
                cell.value = value
                if isinstance(value, str):
                    cell.data_type = "s"  # words, also those that begin as a formula does
                    cell.quotePrefix = value.startswith(("=", "#", "+", "-", "@"))
    out = io.BytesIO()
    book.save(out)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return HttpResponse(
        out.getvalue(), content_type=kind, headers={"Content-Disposition": f'attachment; filename="{key}.xlsx"'}
    )


@page(May.TAKE, post=May.TAKE)
def again(visit: Visit, key: str) -> HttpResponse:
    """Bring an earlier version back, or write down the file in the folder: it is kept as the newest."""
    known = known_route(visit, key)
    if visit.request.method == "POST":
        number = visit.request.POST.get("version", "")
        old = next((each for each in known.versions if str(each.number) == number), None)
        text = old.text if old is not None else "" if known.versions else known.text
        if text:
            note = _("as it was written {day}").format(day=old.happened.spoken()) if old else _("from the folder")
            event = RouteWritten(happened=PartialDate.of(visit.today), key=key, text=text, note=note)
            visit.tell(_("Kept: {name}.").format(name=known.name), visit.record([event]))
    return redirect("route", visit.store.slug, key)


@page(May.KEEP, post=May.KEEP)
def put_away(visit: Visit, key: str) -> HttpResponse:
    """Offer a route no more; what was written of it stays."""
    known = known_route(visit, key)
    if visit.request.method == "POST" and known.versions:
        reason = visit.request.POST.get("reason", "")[:500].strip()
        visit.record([RoutePutAway(happened=PartialDate.of(visit.today), key=key, reason=reason)])
        visit.tell(_("Put away: {name}. Writing it again brings it back.").format(name=known.name))
    return redirect("routes", visit.store.slug)
