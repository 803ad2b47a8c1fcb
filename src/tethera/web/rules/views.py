"""The store's rules, the calendar's address, and taking the whole store away."""

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import PartialDate, label_m
from tethera.store import StoreDescribed
from tethera.store.exchange import FORMS
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.rules.forms import RulesForm
from tethera.web.rules.proof import proof
from tethera.web.rules.since import rules_since
from tethera.web.rules.work import BACKUP, EXPORT, keeps_everything
from tethera.web.shared_address import shared_address
from tethera.web.store.models import Store, new_secret
from tethera.web.work.doing import start

#: A measured length for which the page shows what a mark may say of it [cm].
_EXAMPLE_CM = 2940


@page(May.KEEP, post=May.KEEP)
def rules(visit: Visit) -> HttpResponse:
    """The store's rules: shown with since when each holds, and changed."""
    now, numbered = visit.register.store_rules(), bool(visit.register.numbers_taken())
    form = RulesForm(visit.request.POST or None, rules=now, numbered=numbered)
    known = _known(visit)
    if visit.request.method == "POST":
        form = RulesForm(visit.request.POST, rules=now, numbered=numbered)
        if visit.request.POST.get("known", known) != known and form.is_valid():
            form.add_error(None, _("Somebody changed the rules meanwhile. They stand beside the fields; look again."))
        if form.is_valid():
            return _change(visit, form)
    since = rules_since(visit.opened.log.read(), visit.register.stands)
    fields = [(bound, since.get(bound.name)) for bound in form]
    keeps_back = now.label_keeps_back_percent
    told = {
        "form": form,
        "fields": fields,
        "known": known,
        "now": now,
        "example_cm": _EXAMPLE_CM,
        "examples": [(percent, 100 * label_m(_EXAMPLE_CM, percent)) for percent in sorted({0, 5, 10, keeps_back})],
        "calendar": shared_address(visit.request, reverse("calendar", args=[visit.store.calendar_key])),
        "forms": FORMS,
        "backup": keeps_everything(visit.membership.account),
        "proof": proof(visit),
    }
    return visit.page("rules/rules.html", told, 400 if form.errors else 200)


def _known(visit: Visit) -> str:
    """Which description of the store somebody looked at, by its place in the record."""
    log = visit.opened.log.read()
    return str(max((n for n, each in enumerate(log) if isinstance(each.event, StoreDescribed)), default=-1))


def _change(visit: Visit, form: RulesForm) -> HttpResponse:
    event = form.event(PartialDate.of(visit.today))
    if event is None:
        visit.tell(_("Nothing was changed."))
        return redirect("rules", visit.store.slug)
    findings = visit.record((event,))
    # The name at the head of every page is the owner's.
    Store.objects.filter(pk=visit.store.pk).update(name=event.owner)
    visit.tell(_("These rules hold from today."), findings)
    return redirect("rules", visit.store.slug)


@page(May.KEEP, post=May.KEEP)
def renew_calendar(visit: Visit) -> HttpResponse:
    """Another address for the calendar; the old one is no more."""
    if visit.request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    if visit.first_time():
        Store.objects.filter(pk=visit.store.pk).update(calendar_key=new_secret())
        visit.tell(_("The calendar has a new address. Whoever had the old one needs the new one."))
    return redirect("rules", visit.store.slug)


@page(May.KEEP, post=May.KEEP)
def take_away(visit: Visit) -> HttpResponse:
    """The whole store in one file, or everything of this installation."""
    if visit.request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    form = visit.request.POST.get("form", "")
    if form in FORMS:
        work = start(visit, EXPORT, _("Writing the whole store into one file"), form=form)
    elif form == BACKUP:
        if not keeps_everything(visit.membership.account):
            raise PermissionDenied(_("There are stores here that you do not keep; a backup would hold them too."))
        work = start(visit, BACKUP, _("Making a backup of everything"))
    else:
        raise ValueError(_("Choose one of the forms that stand on the page Settings."))
    return redirect("work", visit.store.slug, work.pk)
