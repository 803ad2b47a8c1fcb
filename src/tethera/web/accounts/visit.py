"""A visit: somebody, allowed to, at a page of one store. Every page of a store goes through `page`."""

import functools
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any, Concatenate, ParamSpec

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.db import IntegrityError, transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect, render
from django.utils import timezone

from tethera.basics import Finding
from tethera.store import Event, Register, RopeState, StoreDescribed, UnknownRope, needs_competent
from tethera.web.accounts import once
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.not_for_you import not_for_you
from tethera.web.accounts.roles import May
from tethera.web.menu import MenuLine, menu
from tethera.web.store.models import Acknowledged, Store
from tethera.web.store.opened import OpenedStore, held, let_go, writing

P = ParamSpec("P")


@dataclass
class Visit:
    """Who visits which store. It lasts as long as the request, and nobody else works on the store but in `let_go`."""

    request: HttpRequest
    store: Store
    membership: Membership
    opened: OpenedStore

    @property
    def register(self) -> Register:
        """What happened, and what follows from it."""
        return self.opened.register

    @property
    def rules(self) -> StoreDescribed:
        """What the store said of itself."""
        return self.register.store_rules()

    @property
    def units(self) -> str:
        """In which unit the visitor reads and writes lengths: "m" or "ft"."""
        return self.membership.account.units

    @property
    def today(self) -> date:
        """Today where the store is."""
        return timezone.localdate()

    @property
    def ropes(self) -> tuple[RopeState, ...]:
        """Every rope today, retired ones too."""
        return self.opened.ropes(self.today)

    def rope(self, number: str) -> RopeState:
        """One rope today; a number the store never had is not found."""
        try:
            return self.register.rope(number, self.today)
        except UnknownRope as unknown:
            raise Http404(str(unknown)) from None

    def may(self, what: May) -> bool:
        """Whether the visitor may do it."""
        return self.membership.may(what)

    def must(self, what: May) -> None:
        """PermissionDenied, in words, unless the visitor may do it."""
        if not self.may(what):
            raise not_for_you(self.membership, what)

    @property
    def seen(self) -> int | None:
        """How long the record was when the form that was sent was shown; None where the form does not say."""
        said = self.request.POST.get("seen", "")
        return int(said) if said.isdecimal() and said.isascii() and len(said) < 12 else None

    @property
    def pages(self) -> list[MenuLine]:
        """The pages this visitor may open."""
        return menu(self.store.slug, self.request.path, self.membership.allowed)

    @functools.cached_property
    def names(self) -> dict[str, str | None]:
        """Names by person id."""
        return self.opened.people.names()

    def name(self, person: str | None) -> str:
        """What to call a person."""
        return "" if person is None else self.names.get(person) or person

    @property
    def known_names(self) -> list[str]:
        """Everybody the record knows by name, for a field that offers them."""
        return sorted(each for each in self.names.values() if each)

    def person(self, name: str) -> str | None:
        """The id of a person named in a form, a new one for a new name; None where nobody is named."""
        return self.opened.people.id_of(name) if name.strip() else None

    @functools.cached_property
    def _token(self) -> str:
        return once.key_of(self.request)

    @property
    def sent_before(self) -> bool:
        """Whether this very form was recorded already: sent twice, it counts once."""
        return bool(self._token) and Acknowledged.objects.filter(store=self.store, token=self._token).exists()

    def first_time(self) -> bool:
        """Whether this form is sent for the first time, and remember it; for acts that record nothing in the log."""
        if not self._token:
            return True
        try:
            with transaction.atomic():
                Acknowledged.objects.create(store=self.store, token=self._token)
        except IntegrityError:
            return False
        return True

    @contextmanager
    def let_go(self) -> Iterator[None]:
        """Others at the store while this visit works out what takes long, of what it has read of the store already."""
        key = self.opened.key
        with let_go(key):
            yield
        with held(key) as opened:
            self.opened = opened

    def record(self, events: Sequence[Event], *, seen: int | None = None) -> tuple[Finding, ...]:
        """Record all of the events or none, once for each form sent; say what must be doubted. Refused, LogMovedOn."""
        return self._once(lambda: ((), self._checked(events, seen)))[1]

    def record_new(
        self, count: int, build: Callable[[Sequence[str]], Sequence[Event]]
    ) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
        """Record events that need `count` new rope numbers; the numbers and what must be doubted."""
        return self._once(
            lambda: self.register.record_new(count, build, recorded=timezone.now(), by=self.membership.person)
        )

    def _checked(self, events: Sequence[Event], seen: int | None) -> tuple[Finding, ...]:
        log = self.opened.log.read_so_far()
        for event in events:
            if needs_competent(event, log) and not self.may(May.INSPECT):
                raise not_for_you(self.membership, May.INSPECT)
        return self.register.record_all(events, recorded=timezone.now(), by=self.membership.person, seen=seen)

    def _once(
        self, act: Callable[[], tuple[tuple[str, ...], tuple[Finding, ...]]]
    ) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
        token = self._token
        with writing(self.opened.key):
            before = Acknowledged.objects.filter(store=self.store, token=token).first() if token else None
            if before is not None:
                return tuple(before.answer["ropes"]), tuple(Finding(*each) for each in before.answer["findings"])
            ropes, findings = act()
            if token:
                told = [[each.code, each.where, each.message, each.way_out] for each in findings]
                answer = {"ropes": list(ropes), "findings": told}
                Acknowledged.objects.create(store=self.store, token=token, answer=answer)
        return ropes, findings

    def once(self, view: Callable[[], HttpResponse]) -> HttpResponse:
        """The view's answer; a form that led somewhere already leads there again, and does nothing more."""
        key = self._token if self.request.method == "POST" else ""
        if before := once.led_to(self.store.pk, key):
            return redirect(before)
        answer = view()
        once.remember(self.store.pk, key, answer)
        return answer

    def tell(self, done: str, findings: Sequence[Finding] = ()) -> None:
        """Say on the next page what was recorded, and beside it what must be doubted."""
        messages.success(self.request, done)
        for each in findings:
            where = each.where.removeprefix("rope ")
            messages.warning(self.request, f"{where}: {each.message} {each.way_out}".strip())

    def tell_refused(self, why: str) -> None:
        """Say on the next page that nothing was recorded, and why."""
        messages.warning(self.request, why)

    def page(self, template: str, context: dict[str, Any] | None = None, status: int = 200) -> HttpResponse:
        """A page of this store."""
        more = {"visit": self, "store": self.store, "today": self.today, "may": _May(self), **(context or {})}
        return render(self.request, template, more if "rules" in more else more | {"rules": self.rules}, status=status)

    def page_apart(self, template: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
        """The same for a page that takes long to write and asks nothing of the store but names and rules."""
        known = {"names": self.names, "rules": self.rules}
        with self.let_go():
            return self.page(template, context | known, status)


class _May:
    """For templates: {% if may.PREPARE %}."""

    def __init__(self, visit: Visit) -> None:
        self._visit = visit

    def __getitem__(self, name: str) -> bool:
        return self._visit.may(May[name])


def page(
    get: May = May.READ, *, post: May | None = None
) -> Callable[[Callable[Concatenate[Visit, P], HttpResponse]], Callable[..., HttpResponse]]:
    """A view of one store: who is not signed in is asked to, a stranger finds nothing, who may not is told.

    `get` is needed to look, `post` to act; without `post` there is nothing to send. The view gets the Visit.
    """

    def wrap(view: Callable[Concatenate[Visit, P], HttpResponse]) -> Callable[..., HttpResponse]:
        @functools.wraps(view)
        def answer(request: HttpRequest, slug: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not isinstance(request.user, Account):
                return redirect_to_login(request.get_full_path())
            membership = (
                Membership.objects.select_related("store", "account").filter(account=request.user, store__slug=slug)
            ).first()
            if membership is None:
                raise Http404("There is no such page.")
            methods = ("GET", "HEAD", *(("POST",) if post else ()))
            if request.method not in methods:
                return HttpResponseNotAllowed(methods)
            needed = post if post and request.method == "POST" else get
            if not membership.may(needed):
                raise not_for_you(membership, needed)
            with held(membership.store_id) as opened:
                visit = Visit(request, membership.store, membership, opened)
                request.visit = visit  # type: ignore[attr-defined]  # a page that tells an error keeps the store's head
                return visit.once(lambda: view(visit, *args, **kwargs))

        return answer

    return wrap
