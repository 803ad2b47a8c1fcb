"""Every rope of the store as one row: found by typing, filtered, sorted, picked; all of it in the address."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse, QueryDict
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from tethera.web.accounts.visit import Visit, page
from tethera.web.ropes.list_acts import offered
from tethera.web.ropes.list_matching import matching
from tethera.web.ropes.list_rows import Row, ordered
from tethera.web.ropes.list_wanted import WantedForm

#: Rows shown before somebody asks for all.
PAGE_ROWS = 200
_COLUMNS = (
    ("number", _("Rope")),
    ("length", _("Length")),
    ("kind", _("Kind")),
    ("state", _("State")),
    ("where", _("Where, with whom or why")),
    ("age", _("Age")),
    ("mark", _("Mark says")),
    ("doubt", _("Doubted")),
)


@page()
def ropes(visit: Visit) -> HttpResponse:
    """The list."""
    address = visit.request.GET
    wanted = WantedForm(address, ropes=visit.ropes, units=visit.units)
    wanted.is_valid()
    picked = set(address.getlist("rope"))
    rows = [Row(each, visit.names, visit.today, each.id in picked) for each in visit.ropes]
    found, perhaps = matching(rows, wanted, visit.register.known(str(wanted.told("q") or "")))
    order, backwards = wanted.order
    found = ordered(found, order, backwards=backwards)
    there = {row.id for row in found}
    kept = [row for row in rows if row.picked and row.id not in there]
    shown = found if address.get("show") == "all" else found[:PAGE_ROWS]
    clean = address_of(address)
    told = {
        "wanted": wanted,
        "kept": kept,
        "shown": shown,
        "left": len(found) - len(shown),
        "all_query": with_(clean, show="all"),
        "perhaps": perhaps[:12],
        "perhaps_more": len(perhaps) - 12,
        "counts": _counts(visit, found),
        "columns": _columns(clean, order, backwards),
        "clean": clean,
        "acts": offered(visit),
        "said": wanted.spoken(),
        # On a whole page they stand beside their fields.
        "faults": wanted.faults() if visit.request.headers.get("HX-Request") else (),
    }
    answer = visit.page("ropes/list.html", told)
    if visit.request.headers.get("HX-Request"):
        answer["HX-Replace-Url"] = reverse("ropes", args=[visit.store.slug]) + (f"?{clean}" if clean else "")
    return answer


def _counts(visit: Visit, found: list[Row]) -> dict[str, int]:
    ready = [row.state.length_cm or 0 for row in found if row.state.usable]
    return {"found": len(found), "of": len(visit.ropes), "ready": len(ready), "ready_cm": sum(ready)}


def _columns(clean: str, order: str, backwards: bool) -> list[dict[str, Any]]:
    """The head of each column, which leads to the list sorted by it, or the other way round."""
    columns = []
    for name, title in _COLUMNS:
        here = name == order
        aria = ("descending" if backwards else "ascending") if here else "none"
        turned = f"-{name}" if here and not backwards else name
        columns.append({"name": name, "title": title, "aria": aria, "query": with_(clean, sort=turned)})
    return columns


def address_of(address: QueryDict) -> str:
    """What the address says of the list, without what is empty or not of the list, in one order."""
    said: list[tuple[str, str]] = []
    for name in (*WantedForm.base_fields, "show"):
        several = name in ("state", "kind")
        values = address.getlist(name) if several else [address.get(name, "")]
        said += [(name, each.strip()[:200]) for each in values if each.strip() and (name, each) != ("sort", "state")]
    return urlencode(said)


def with_(address: str, **told: str) -> str:
    """The same address with something else said."""
    query = QueryDict(address, mutable=True)
    for name, value in told.items():
        query[name] = value
    return query.urlencode()
