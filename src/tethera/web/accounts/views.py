"""Sign in and out, the first visit, an invitation taken up, and how somebody likes the pages."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from tethera.web.accounts import guesses, joining
from tethera.web.accounts.forms import (
    FirstVisitForm,
    FirstVisitWithStoreForm,
    MeForm,
    NewAccountForm,
    NewStoreForm,
    SignInForm,
)
from tethera.web.accounts.keeping import rename
from tethera.web.accounts.models import Account, Invitation, Membership
from tethera.web.accounts.roles import Role
from tethera.web.store.models import Store

BACKEND = "django.contrib.auth.backends.ModelBackend"
_get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def enter(request: HttpRequest, account: Account, answer: HttpResponse) -> HttpResponse:
    """The answer, with somebody signed in who showed that the account is theirs."""
    login(request, account, backend=BACKEND)
    guesses.know_device(request, answer, account)
    return answer


@_get_or_post
def sign_in(request: HttpRequest) -> HttpResponse:
    """Who are you?"""
    if not Account.objects.exists():
        return redirect("first-visit")
    onward = request.POST.get("next") or request.GET.get("next") or "/"
    if not url_has_allowed_host_and_scheme(onward, {request.get_host()}, require_https=request.is_secure()):
        onward = "/"
    form = SignInForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid() and form.account is not None:
        return enter(request, form.account, redirect(onward))
    invented = Store.objects.order_by("pk").first() if settings.DEMO else None
    people = invented.memberships.select_related("account").order_by("pk") if invented else ()
    return render(request, "accounts/sign_in.html", {"form": form, "next": onward, "people": people})


@require_http_methods(["POST"])
def look_in(request: HttpRequest) -> HttpResponse:
    """In the invented store, and nowhere else, anybody may look in as one of its invented people."""
    if not settings.DEMO:
        raise Http404
    account = Account.objects.filter(pk=request.POST.get("account", "0")).first()
    if account is None:
        raise Http404
    login(request, account, backend=BACKEND)
    return redirect("home")


@require_http_methods(["POST"])
def sign_out(request: HttpRequest) -> HttpResponse:
    """Good-bye."""
    logout(request)
    return redirect("sign-in")


@_get_or_post
def first_visit(request: HttpRequest, key: str = "") -> HttpResponse:
    """The keeper's account, made by whoever comes first; from other machines only with the printed address."""
    if Account.objects.exists() or not constant_time_compare(key, settings.FIRST_VISIT_KEY):
        raise Http404("The first account has been made, or this is not the address that was printed at the start.")
    store = Store.objects.first()
    form = FirstVisitWithStoreForm(request.POST or None) if store else FirstVisitForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        with transaction.atomic():
            # Two who come first at the same moment: the second finds it taken.
            joining.one_after_the_other()
            if Account.objects.exists():
                raise Http404("The first account has been made.")
            account = Account.objects.create_user(told["email"], told["password"], name=told["name"])
            if store is None:
                store = joining.new_store(told["owner"], told["code"])
            joining.make_keeper(account, store, competent=told["competent"])
            joining.describe(store, told.get("owner"), told.get("code"), account)
        return enter(request, account, redirect("today", store.slug))
    return render(request, "accounts/first_visit.html", {"form": form, "store": store})


@login_required
@require_http_methods(["GET", "HEAD"])
def home(request: HttpRequest) -> HttpResponse:
    """Straight to the only store, or a choice of several."""
    assert isinstance(request.user, Account)
    stores = list(Store.objects.filter(memberships__account=request.user).order_by("name"))
    if len(stores) == 1:
        return redirect("today", stores[0].slug)
    return render(request, "accounts/stores.html", {"stores": stores})


@login_required
@_get_or_post
def me(request: HttpRequest) -> HttpResponse:
    """How somebody likes the pages, and a way to one more store."""
    assert isinstance(request.user, Account)
    form = MeForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        rename(form.save())
        messages.success(request, _("Kept."))
        return redirect("me")
    stores = Store.objects.filter(memberships__account=request.user).order_by("name")
    keeps = Membership.objects.filter(account=request.user, role=Role.KEEPER).exists()
    return render(request, "accounts/me.html", {"form": form, "stores": stores, "keeps": keeps})


@login_required
@_get_or_post
def new_store(request: HttpRequest) -> HttpResponse:
    """One more store in this installation; whoever makes it is its keeper."""
    assert isinstance(request.user, Account)
    if not Membership.objects.filter(account=request.user, role=Role.KEEPER).exists():
        raise Http404("Only a tackle keeper can make one more store.")
    form = NewStoreForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        with transaction.atomic():
            store = joining.new_store(told["owner"], told["code"])
            joining.make_keeper(request.user, store, competent=told["competent"])
            joining.describe(store, told["owner"], told["code"], request.user)
        return redirect("today", store.slug)
    return render(request, "accounts/new_store.html", {"form": form})


@_get_or_post
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Take up an invitation: with an account there is, or a new one."""
    now = timezone.now()
    invitation = Invitation.objects.filter(sum=Invitation.sum_of(token), used=None, ends__gt=now).first()
    if invitation is None:
        raise Http404("This invitation was used already or has ended. Ask the tackle keeper for a new one.")
    account = request.user if isinstance(request.user, Account) else None
    form = None if account else NewAccountForm(request.POST or None, initial={"name": invitation.name})
    if request.method == "POST" and (form is None or form.is_valid()):
        with transaction.atomic():
            if form is not None:
                told = form.cleaned_data
                account = Account.objects.create_user(told["email"], told["password"], name=told["name"])
            assert account is not None
            joining.take_up(invitation, account)
        answer = redirect("today", invitation.store.slug)
        return answer if form is None else enter(request, account, answer)
    member = Membership.objects.filter(account=account, store=invitation.store).first() if account else None
    told = {"form": form, "invitation": invitation, "token": token, "member": member}
    return render(request, "accounts/join.html", told)
