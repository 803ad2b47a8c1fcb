"""Who may sign in, in which stores, and as what."""

import hashlib
import secrets
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _

from tethera.web.accounts.roles import May, Role, allowed
from tethera.web.store.models import Store


class Accounts(BaseUserManager["Account"]):
    """Makes accounts."""

    def create_user(self, email: str, password: str | None = None, **more: Any) -> "Account":
        """A new account; without a password nobody can sign in to it."""
        account = self.model(email=email.strip().lower(), **more)
        account.set_password(password)
        account.save()
        return account


class Account(AbstractBaseUser):
    """A person who signs in, and how they like the pages."""

    email = models.EmailField(_("email address"), unique=True)
    name = models.CharField(_("name"), max_length=200)
    units = models.CharField(max_length=2, default="m", choices=[("m", _("metres")), ("ft", _("feet"))])
    paper = models.CharField(
        max_length=5, default="auto", choices=[("auto", _("as the device")), ("day", _("paper")), ("night", _("night"))]
    )
    is_active = models.BooleanField(default=True)
    made = models.DateTimeField(auto_now_add=True)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar = ["name"]
    objects: ClassVar[Accounts] = Accounts()

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """What an account is in one store; `person` is its id in that store's log."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="memberships")
    store = models.ForeignKey(Store, models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role.choices)
    #: A keeper may be the competent person as well.
    competent = models.BooleanField(default=False)
    person = models.CharField(max_length=20)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["account", "store"], name="one_membership_a_store")]

    @property
    def allowed(self) -> frozenset[May]:
        """What this member may do."""
        return allowed(Role(self.role), competent=self.competent)

    def may(self, what: May) -> bool:
        """Whether this member may do it."""
        return what in self.allowed

    def __str__(self) -> str:
        return f"{self.account} in {self.store}"


class Invitation(models.Model):
    """A link that lets one person in, once, for a while. Only its sum is kept: the link itself cannot be read here."""

    store = models.ForeignKey(Store, models.CASCADE, related_name="invitations")
    role = models.CharField(max_length=10, choices=Role.choices)
    competent = models.BooleanField(default=False)
    name = models.CharField(max_length=200)
    sum = models.CharField(max_length=64, unique=True)
    made = models.DateTimeField(auto_now_add=True)
    ends = models.DateTimeField()
    used = models.DateTimeField(null=True)
    used_by = models.ForeignKey(Account, models.SET_NULL, null=True, related_name="+")

    @staticmethod
    def sum_of(token: str) -> str:
        """What is kept of a link's token."""
        return hashlib.sha256(token.encode()).hexdigest()

    @staticmethod
    def new_token() -> str:
        """A token nobody guesses."""
        return secrets.token_urlsafe(24)


class PasswordLink(models.Model):
    """A link with which a member chooses a new password, once, within a day. Only its sum is kept."""

    account = models.ForeignKey(Account, models.CASCADE, related_name="password_links")
    store = models.ForeignKey(Store, models.CASCADE, related_name="+")
    made_by = models.ForeignKey(Account, models.CASCADE, related_name="+")
    sum = models.CharField(max_length=64, unique=True)
    made = models.DateTimeField(auto_now_add=True)
    ends = models.DateTimeField()
    used = models.DateTimeField(null=True)


class WrongGuesses(models.Model):
    """Wrong passwords since a moment; `sum` is of what they are counted by (accounts/guesses.py), which is not kept."""

    sum = models.CharField(max_length=64, unique=True)
    count = models.PositiveIntegerField(default=0)
    since = models.DateTimeField(db_index=True)
