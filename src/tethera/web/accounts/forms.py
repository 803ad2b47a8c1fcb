"""Words and clicks of the account pages, cleaned into types."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate, password_validation
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from tethera.web.accounts import guesses
from tethera.web.accounts.models import Account
from tethera.web.accounts.roles import Role


class SignInForm(forms.Form):
    """Email address and password."""

    account: Account | None

    email = forms.EmailField(
        label=_("Email address"), widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True})
    )
    password = forms.CharField(
        label=_("Password"), strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, request: HttpRequest | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request, self.account = request, None

    def clean(self) -> dict[str, Any]:
        """See whether they belong together."""
        cleaned: dict[str, Any] = super().clean() or {}
        if self.request is None or "email" not in cleaned or "password" not in cleaned:
            return cleaned
        email = cleaned["email"].lower()
        if guesses.too_many(self.request, email):
            self.add_error("password", _("Too many wrong passwords. Wait a quarter of an hour, then try again."))
            return cleaned
        found = authenticate(self.request, username=email, password=cleaned["password"])
        self.account = found if isinstance(found, Account) else None
        if self.account is None:
            guesses.count_wrong(self.request, email)
            self.add_error("password", _("This address and password do not belong together. Try again."))
        else:
            guesses.forget(self.request, email)
        return cleaned


class NewAccountForm(forms.Form):
    """A person's own account."""

    name = forms.CharField(label=_("Your name"), max_length=200, widget=forms.TextInput(attrs={"autocomplete": "name"}))
    email = forms.EmailField(
        label=_("Email address"), max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )
    password = forms.CharField(
        label=_("Password"),
        strip=False,
        help_text=_("Ten characters or more. Three odd words do well."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_name(self) -> str:
        """Not only blanks."""
        name = " ".join(self.cleaned_data["name"].split())
        if not name:
            raise forms.ValidationError(_("Write your name."))
        return name

    def clean_email(self) -> str:
        """One account an address."""
        email = str(self.cleaned_data["email"]).lower()
        if Account.objects.filter(email=email).exists():
            raise forms.ValidationError(_("Somebody has an account with this address. Sign in instead."))
        return email

    def clean_password(self) -> str:
        """Not one that everybody uses."""
        password = str(self.cleaned_data["password"])
        password_validation.validate_password(
            password, Account(name=self.data.get("name", ""), email=self.data.get("email", ""))
        )
        return password


class NewStoreForm(forms.Form):
    """A new tackle store."""

    owner = forms.CharField(
        label=_("Whose ropes are these?"), max_length=200, help_text=_("The club or centre; it heads every page.")
    )
    code = forms.RegexField(
        r"^[A-Za-z]{1,5}$",
        label=_("Letters before each rope's number"),
        help_text=_("One to five letters: UG gives UG1, UG2 … They cannot be changed once ropes have numbers."),
        error_messages={"invalid": _("One to five letters, as UG.")},
    )
    competent = forms.BooleanField(
        required=False,
        label=_("I am also the competent person who examines these ropes"),
        help_text=_("Somebody trained to examine ropes and named for it. Only they may clear a rope set aside."),
    )

    def clean_code(self) -> str:
        """In capitals."""
        return str(self.cleaned_data["code"]).upper()


class FirstVisitForm(NewAccountForm, NewStoreForm):
    """The keeper's account and the store, in one go."""

    field_order = ("name", "email", "password", "owner", "code", "competent")


class FirstVisitWithStoreForm(NewAccountForm):
    """The keeper's account over a store that is there already."""

    competent = NewStoreForm.base_fields["competent"]


class _RoleFields(forms.Form):
    """What somebody is."""

    role = forms.ChoiceField(label=_("As"), choices=Role.choices, initial=Role.MEMBER)
    competent = forms.BooleanField(
        required=False,
        label=_("A keeper who is the competent person too"),
        help_text=_("Somebody trained to examine ropes and named for it. Only they may clear a rope set aside."),
    )

    def clean(self) -> dict[str, Any]:
        """A member or reader who examines ropes is a competent person."""
        told: dict[str, Any] = super().clean() or {}
        if told.get("competent") and told.get("role") in (Role.MEMBER, Role.READER):
            self.add_error("competent", _("Who examines ropes is let in as competent person, or as keeper."))
        return told


class InviteForm(_RoleFields):
    """Somebody to let in."""

    name = forms.CharField(label=_("Name"), max_length=200)

    field_order = ("name", "role", "competent")


class RoleForm(_RoleFields):
    """What a member is from now on."""


class NewPasswordForm(forms.Form):
    """A new password for somebody."""

    password = forms.CharField(
        label=_("New password"),
        strip=False,
        help_text=_("Ten characters or more. Three odd words do well."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, account: Account, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.account = account

    def clean_password(self) -> str:
        """Not one that everybody uses."""
        password = str(self.cleaned_data["password"])
        password_validation.validate_password(password, self.account)
        return password


class ChangePasswordForm(NewPasswordForm):
    """Another password, by who knows the old one."""

    old = forms.CharField(
        label=_("Password until now"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    field_order = ("old", "password")

    def clean_old(self) -> str:
        """The one that holds."""
        if not self.account.check_password(self.cleaned_data["old"]):
            raise forms.ValidationError(_("This is not your password. Try again."))
        return str(self.cleaned_data["old"])


class MeForm(forms.ModelForm[Account]):
    """How somebody likes the pages."""

    class Meta:
        model = Account
        fields = ("name", "units", "paper")
        labels = {"units": _("Lengths in"), "paper": _("Pages as")}
        widgets = {"units": forms.RadioSelect, "paper": forms.RadioSelect}
