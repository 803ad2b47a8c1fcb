"""Bringing in: the file, the sheet with its doubtful cells, and what to do once it is recorded."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.store import ImportReading
from tethera.store.columns import Row
from tethera.store.length_columns import words
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.importing.checked import checked
from tethera.web.importing.forms import BringForm, SheetForm, column_name, typed, unit_of_bare, unused_columns
from tethera.web.importing.models import Draft
from tethera.web.importing.reading import by_hand_of, keep_by_hand, read_draft, ropes_of, rows_of, seal
from tethera.web.importing.work import BRING_BACK, OWN_STORE, READ, RECORD
from tethera.web.work.doing import start
from tethera.web.work.models import Work


def _draft(visit: Visit, key: int) -> Draft:
    draft = Draft.objects.filter(pk=key, store=visit.store).first()
    if draft is None or draft.read is None:
        raise Http404(_("This sheet is not here any more. Bring it in once more."))
    return draft


@page(May.KEEP, post=May.KEEP)
def bring(visit: Visit) -> HttpResponse:
    """Choose a file; go on with one that was begun."""
    form = BringForm(visit.request.POST or None, visit.request.FILES or None)
    if visit.request.method == "POST":
        form = BringForm(visit.request.POST, visit.request.FILES)
        if form.is_valid():
            file = form.cleaned_data["file"]
            # However long the name is, its ending says how the file is read.
            name = Path(file.name)
            kept = f"{name.stem[: 200 - len(name.suffix)]}{name.suffix}"
            draft = Draft.objects.create(store=visit.store, account=visit.membership.account, name=kept)
            with draft.path.open("wb") as out:
                for chunk in file.chunks():
                    out.write(chunk)
            work = start(visit, READ, _("Reading {name}").format(name=draft.name), draft=draft.pk)
            return redirect("work", visit.store.slug, work.pk)
    for lost in Draft.objects.filter(store=visit.store, read=None, made__lt=timezone.now() - timedelta(days=1)):
        lost.drop()
    drafts = Draft.objects.filter(store=visit.store).exclude(read=None).defer("sheets", "changed")
    begun, brought = [each for each in drafts if not each.recorded], [each for each in drafts if each.recorded]
    told = {"form": form, "begun": begun, "brought": brought, "ropes": visit.register.numbers_taken()}
    return visit.page("importing/bring.html", told, 400 if form.errors else 200)


@page(May.KEEP, post=May.KEEP)
def draft(visit: Visit, key: int) -> HttpResponse:
    """The sheet to be checked and corrected; what was typed is kept with every press of a button."""
    here = _draft(visit, key)
    if here.recorded is not None:
        return redirect("import-done", visit.store.slug, key)
    if here.form:
        return _export(visit, here)
    reading = read_draft(here, visit.register, visit.today)
    if visit.request.method == "POST":
        return _typed(visit, here, reading)
    return _show(visit, here, reading, _form(here, reading, None))


def _form(here: Draft, reading: ImportReading, data: object) -> SheetForm:
    return SheetForm(
        data,  # type: ignore[arg-type]
        sheets=[each["name"] for each in here.sheets],
        sheet=here.sheet,
        as_of=here.as_of,
        reading=reading,
        by_hand=by_hand_of(here),
    )


def _typed(visit: Visit, here: Draft, reading: ImportReading) -> HttpResponse:
    data = visit.request.POST
    form, before = _form(here, reading, data), by_hand_of(here)
    by_hand = typed(data, before, before.longer(rows_of(here)), reading.rows)
    as_of, sheet, chosen = here.as_of, here.sheet, {}
    if form.is_valid():
        if "as_of" in data:
            as_of = form.cleaned_data["as_of"].isoformat() if data["as_of"].strip() else ""
        sheet = sheet if form.cleaned_data.get("sheet", "") == "" else form.cleaned_data["sheet"]
        chosen = form.chosen() | unit_of_bare(data, reading)
    by_hand = replace(by_hand, columns={**by_hand.columns, **chosen})
    changed = (as_of, sheet, by_hand) != (here.as_of, here.sheet, before)
    keep_by_hand(here, by_hand)
    here.as_of, here.sheet = as_of, sheet
    here.save(update_fields=["as_of", "sheet", "changed"])
    if form.errors:
        return _show(visit, here, read_draft(here, visit.register, visit.today), form, 400)
    if data.get("act") == "record" and not changed and data.get("seal") == seal(reading) and reading.events:
        return _record(visit, here, reading)
    again = read_draft(here, visit.register, visit.today)
    visit.tell(_said(again, data.get("act") == "record"))
    where = {name: data[name] for name in ("rows", "page") if data.get(name)}
    return redirect(f"{reverse('import-draft', args=[visit.store.slug, here.pk])}?{urlencode(where)}")


def _said(reading: ImportReading, wanted: bool) -> str:
    cells, ropes = len(reading.doubts), len(ropes_of(reading))
    told = ngettext("%(n)d rope", "%(n)d ropes", ropes) % {"n": ropes}
    told += ngettext(", %(n)d cell in doubt.", ", %(n)d cells in doubt.", cells) % {"n": cells}
    if wanted:
        return _("What you typed was read first: {told} Look, then record.").format(told=told)
    return _("Read again: {told}").format(told=told)


def _record(visit: Visit, here: Draft, reading: ImportReading) -> HttpResponse:
    under_way = Work.objects.filter(store=visit.store, kind=RECORD, asked__draft=here.pk, ended=None).first()
    if under_way is not None and under_way.account_id == visit.membership.account_id:
        return redirect("work", visit.store.slug, under_way.pk)
    ropes = len(ropes_of(reading))
    title = ngettext("Recording %(n)d rope", "Recording %(n)d ropes", ropes) % {"n": ropes}
    work = start(visit, RECORD, title, draft=here.pk, seal=seal(reading))
    return redirect("work", visit.store.slug, work.pk)


def _show(visit: Visit, here: Draft, reading: ImportReading, form: SheetForm, status: int = 200) -> HttpResponse:
    asked = visit.request.GET if visit.request.method == "GET" else visit.request.POST
    wanted = asked.get("rows", "")[:40]
    number = int(asked["page"]) if asked.get("page", "").isascii() and asked.get("page", "").isdigit() else 1
    rows = rows_of(here)
    below = rows[(reading.heading_row or 0) + 1 :]
    columns = [(bound, _examples(below, int(place))) for bound, place in form.columns()]
    told = {
        "draft": here,
        "form": form,
        "columns": columns,
        "unused": unused_columns(reading),
        "bare": [(each, column_name(reading, each.place)) for each in reading.bare],
        "units": (("m", _("metres")), ("ft", _("feet")), ("yd", _("yards"))),
        "reading": reading,
        "ropes": len(ropes_of(reading)),
        "checked": checked(reading, by_hand_of(here), rows, wanted, min(number, 10_000)),
        "seal": seal(reading),
    }
    return visit.page("importing/sheet.html", told, status)


def _examples(rows: list[Row], place: int) -> list[str]:
    """What stands in a column's first cells."""
    return [text for row in rows if place < len(row) and (text := words(row[place]))][:3]


def _export(visit: Visit, here: Draft) -> HttpResponse:
    """A store's own export: it is no sheet to be checked, but whole."""
    adds = here.about.get("adds")
    if visit.request.method == "POST":
        kind = BRING_BACK if adds is not None else OWN_STORE
        if kind == BRING_BACK and not adds:
            raise PermissionDenied(_("This store has all of it already."))
        under_way = Work.objects.filter(store=visit.store, kind=kind, asked__draft=here.pk, ended=None).first()
        work = under_way or start(visit, kind, _("Bringing in {name}").format(name=here.name), draft=here.pk)
        return redirect("work", visit.store.slug, work.pk)
    return visit.page("importing/export.html", {"draft": here, "adds": adds})


@page(May.KEEP, post=May.KEEP)
def drop(visit: Visit, key: int) -> HttpResponse:
    """Put a sheet away that was not recorded."""
    here = _draft(visit, key)
    if here.recorded is not None:
        raise Http404(_("This sheet is recorded and stays."))
    if visit.request.method == "POST":
        here.drop()
        visit.tell(_("{name} is put away. Nothing of it was recorded.").format(name=here.name))
        return redirect("import", visit.store.slug)
    return visit.page("importing/drop.html", {"draft": here})


@page(May.KEEP)
def done(visit: Visit, key: int) -> HttpResponse:
    """What was recorded, and what to do next."""
    here = _draft(visit, key)
    if here.recorded is None:
        return redirect("import-draft", visit.store.slug, key)
    if here.form:
        return redirect("today", visit.store.slug)
    numbers = set(here.ropes)
    ropes = [each for each in visit.ropes if each.id in numbers]

    def doubted(*codes: str) -> list[str]:
        return [each.id for each in ropes if each.state != "retired" and any(f.code in codes for f in each.findings)]

    told = {
        "draft": here,
        "ropes": ropes,
        "unmeasured": doubted("never-measured", "length-unknown"),
        "ageless": doubted("age-unknown"),
        "set_aside": [each.id for each in ropes if each.state == "set aside"],
        "numbered": here.about.get("numbered", ()),
        "cm": sum(each.length_cm or 0 for each in ropes if each.state != "retired"),
    }
    return visit.page("importing/done.html", told)
