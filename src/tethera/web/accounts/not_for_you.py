"""Who may not do something is told who does it here."""

from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.web.accounts.models import Membership
from tethera.web.accounts.roles import May, NotForYou, Way
from tethera.web.store.models import Store


def examiners(store: Store) -> list[str]:
    """The names of those who may examine ropes in this store."""
    memberships = store.memberships.select_related("account")
    return sorted(each.account.name for each in memberships if May.INSPECT in each.allowed)


def not_for_you(membership: Membership, needed: May) -> NotForYou:
    """What to say to somebody who may not do what is needed."""
    if needed is not May.INSPECT:
        return NotForYou(_("You may look, but this is for others to do. Ask the tackle keeper."))
    told = _("Only a competent person examines ropes and clears them.")
    if names := examiners(membership.store):
        return NotForYou(_("{told} Ask {names}.").format(told=told, names=_(" or ").join(names)))
    if membership.may(May.KEEP):
        way = Way(reverse("people", args=[membership.store.slug]), _("Name a competent person"))
        return NotForYou(_("{told} Nobody here is one yet.").format(told=told), way)
    return NotForYou(_("{told} Nobody here is one yet: the tackle keeper names one.").format(told=told))
