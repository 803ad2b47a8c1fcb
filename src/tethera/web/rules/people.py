"""Who is in the store and as what: let in, changed, let go, forgotten."""

from typing import Any

from django import forms
from django.contrib.auth import logout
from django.http import Http404, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store.people import plain_name
from tethera.web.accounts import keeping
from tethera.web.accounts.forms import InviteForm, RoleForm
from tethera.web.accounts.joining import invite
from tethera.web.accounts.models import Invitation, Membership
from tethera.web.accounts.roles import May, Role
from tethera.web.accounts.visit import Visit, page
from tethera.web.personal import forgetting
from tethera.web.shared_address import shared_address

_SHOWN = "shown-link"


def _show_once(visit: Visit, name: str, address: str, what: str) -> None:
    """Keep a link for the next page only: it is told once."""
    link = shared_address(visit.request, address)
    told = {"store": visit.store.pk, "name": name, "link": link.full, "only_here": link.only_here, "what": what}
    visit.request.session[_SHOWN] = told


def _member(visit: Visit, key: int) -> Membership:
    found = Membership.objects.select_related("account").filter(pk=key, store=visit.store).first()
    if found is None:
        raise Http404(_("Nobody of this store is meant. Look on the page People."))
    return found


@page(May.KEEP, post=May.KEEP)
def people(visit: Visit) -> HttpResponse:
    """Everybody; an invitation for one more."""
    form = InviteForm(visit.request.POST or None)
    if visit.request.method == "POST":
        form = InviteForm(visit.request.POST)
        if form.is_valid():
            if visit.first_time():
                told = form.cleaned_data
                invitation, token = invite(
                    visit.store, " ".join(told["name"].split()), Role(told["role"]), competent=told["competent"]
                )
                _show_once(visit, invitation.name, reverse("join", args=[token]), "invitation")
            return redirect("people", visit.store.slug)
    members = list(Membership.objects.filter(store=visit.store).select_related("account").order_by("account__name"))
    known = {each.person for each in members}
    shown = visit.request.session.get(_SHOWN)
    if visit.request.method == "GET" and shown is not None:
        del visit.request.session[_SHOWN]
    open_ones = Invitation.objects.filter(store=visit.store, used=None, ends__gt=timezone.now()).order_by("-made")
    told = {
        "form": form,
        "members": [(each, visit.name(each.person)) for each in members],
        "invitations": open_ones,
        "others": [(key, name) for key, name in visit.names.items() if name and key not in known],
        "erased": sum(name is None for name in visit.names.values()),
        "shown": shown if shown and shown["store"] == visit.store.pk else None,
    }
    return visit.page("rules/people.html", told, 400 if form.errors else 200)


@page(May.KEEP, post=May.KEEP)
def withdraw(visit: Visit, key: int) -> HttpResponse:
    """An invitation does not hold any more."""
    if visit.request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    found = Invitation.objects.filter(pk=key, store=visit.store, used=None).first()
    if found is not None:
        name = found.name
        found.delete()
        visit.tell(_("The invitation for {name} is withdrawn.").format(name=name))
    return redirect("people", visit.store.slug)


@page(May.KEEP, post=May.KEEP)
def member(visit: Visit, key: int) -> HttpResponse:
    """What one member is, and what else can be done about them."""
    membership = _member(visit, key)
    initial = {"role": membership.role, "competent": membership.competent}
    form = RoleForm(visit.request.POST or None, initial=initial)
    if visit.request.method == "POST":
        form = RoleForm(visit.request.POST, initial=initial)
        if form.is_valid():
            told = form.cleaned_data
            was = (membership.role, membership.competent)
            try:
                keeping.change_role(membership, Role(told["role"]), competent=told["competent"])
            except keeping.LastKeeper as error:
                form.add_error("role", str(error))
            else:
                visit.tell(_said(visit.name(membership.person), membership, was))
                still_keeper = membership.account_id != visit.membership.account_id or membership.may(May.KEEP)
                return redirect("people" if still_keeper else "today", visit.store.slug)
    told = {
        "form": form,
        "member": membership,
        "name": visit.name(membership.person),
        "last": keeping.is_last_keeper(membership),
        "no_link": keeping.why_no_password_link(visit.membership.account, membership.account),
        "me": membership.account_id == visit.membership.account_id,
    }
    return visit.page("rules/member.html", told, 400 if form.errors else 200)


def _said(name: str, membership: Membership, was: tuple[str, bool]) -> str:
    """What changed about somebody, and nothing that was so before."""
    if (membership.role, membership.competent) == was:
        return _("Nothing was changed.")
    if membership.role != was[0]:
        both = _("{name} is {role} and competent person from now on.")
        told = both if membership.competent else _("{name} is {role} from now on.")
    elif membership.competent:
        told = _("{name} is a competent person too from now on.")
    else:
        told = _("{name} is not a competent person any more.")
    return told.format(name=name, role=membership.get_role_display())


@page(May.KEEP, post=May.KEEP)
def end(visit: Visit, key: int) -> HttpResponse:
    """Close the store to a member."""
    if visit.request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    membership = _member(visit, key)
    name, me = visit.name(membership.person), membership.account_id == visit.membership.account_id
    keeping.end_membership(membership)
    if me:
        return redirect("home")
    visit.tell(_("The store is closed to {name}. What they recorded stays.").format(name=name))
    return redirect("people", visit.store.slug)


@page(May.KEEP, post=May.KEEP)
def password(visit: Visit, key: int) -> HttpResponse:
    """A link with which a member chooses a new password."""
    if visit.request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    membership = _member(visit, key)
    why_not = keeping.why_no_password_link(visit.membership.account, membership.account)
    if why_not:
        raise ValueError(why_not)
    if visit.first_time():
        _link, token = keeping.password_link(visit.membership.account, membership.account, visit.store)
        name = visit.name(membership.person)
        _show_once(visit, name, reverse("new-password", args=[token]), "password")
    return redirect("people", visit.store.slug)


class EraseForm(forms.Form):
    """The name once more, so that nobody is forgotten by a slip."""

    name = forms.CharField(
        label=gettext_lazy("Type the name to confirm"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, wanted: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.wanted = wanted

    def clean_name(self) -> str:
        """The very name."""
        name = " ".join(str(self.cleaned_data["name"]).split())
        if plain_name(name) != plain_name(self.wanted):
            told = _("“{typed}” is not the name. Type {wanted}, or go back.")
            raise forms.ValidationError(told.format(typed=name, wanted=self.wanted))
        return name


@page(May.KEEP, post=May.KEEP)
def erase(visit: Visit, person: str) -> HttpResponse:
    """Forget the name of somebody who asked for it."""
    name = visit.names.get(person)
    if not name:
        raise Http404(_("There is no such name in this store, or it was erased already."))
    membership = Membership.objects.filter(store=visit.store, person=person).select_related("account").first()
    form = EraseForm(visit.request.POST or None, wanted=name)
    if visit.request.method == "POST":
        form = EraseForm(visit.request.POST, wanted=name)
        if form.is_valid():
            try:
                forgotten = forgetting.forget(visit.store, person)
            except keeping.LastKeeper as error:
                form.add_error(None, str(error))
            else:
                if membership is not None and membership.account_id == visit.membership.account_id:
                    logout(visit.request)
                    return redirect("sign-in")
                told = _("The name is erased. In the record this person is called {person} from now on.")
                visit.tell(f"{told.format(person=person)} {forgetting.said(forgotten)}")
                return redirect("people", visit.store.slug)
    elsewhere = membership is not None and membership.account.memberships.count() > 1
    papers = forgetting.papers_of(visit.store, person)
    told_more = {
        "form": form,
        "person_key": person,
        "name": name,
        "member": membership,
        "elsewhere": elsewhere,
        "papers": papers.in_words(),
        "shared": forgetting.shared_said(papers.who),
    }
    return visit.page("rules/erase.html", told_more, 400 if form.errors else 200)
