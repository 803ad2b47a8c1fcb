"""Another password: by who knows the old one, or with a link that the keeper made."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from tethera.web.accounts.forms import ChangePasswordForm, NewPasswordForm
from tethera.web.accounts.keeping import good_password_link, use_password_link
from tethera.web.accounts.models import Account
from tethera.web.accounts.views import enter

_get_or_post = require_http_methods(["GET", "HEAD", "POST"])


@sensitive_post_parameters()
@login_required
@_get_or_post
def change(request: HttpRequest) -> HttpResponse:
    """Change one's own password; everywhere else one is signed out."""
    assert isinstance(request.user, Account)
    form = ChangePasswordForm(request.POST or None, account=request.user)
    if request.method == "POST" and form.is_valid():
        request.user.set_password(form.cleaned_data["password"])
        request.user.save(update_fields=["password"])
        update_session_auth_hash(request, request.user)
        messages.success(request, _("Your password is changed. On every other device you are signed out."))
        return redirect("me")
    return render(request, "accounts/password.html", {"form": form}, status=400 if form.errors else 200)


@sensitive_post_parameters()
@_get_or_post
def choose(request: HttpRequest, token: str) -> HttpResponse:
    """Choose a new password with the keeper's link, once."""
    link = good_password_link(token)
    ended = _("This link was used already or has ended. Ask the tackle keeper for a new one.")
    if link is None:
        raise Http404(ended)
    form = NewPasswordForm(request.POST or None, account=link.account)
    if request.method == "POST" and form.is_valid():
        if not use_password_link(link, form.cleaned_data["password"]):
            raise Http404(ended)
        return enter(request, link.account, redirect("home"))
    told = {"form": form, "account": link.account}
    return render(request, "accounts/password.html", told, status=400 if form.errors else 200)
