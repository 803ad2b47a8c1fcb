"""What each role may do. The one table of permissions: views name what is needed, never a role."""

from dataclasses import dataclass
from enum import Enum, auto

from django.core.exceptions import PermissionDenied
from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """What a person is in a store."""

    KEEPER = "keeper", _("tackle keeper")
    COMPETENT = "competent", _("competent person")
    MEMBER = "member", _("member")
    READER = "reader", _("reader")


class May(Enum):
    """What can be allowed."""

    READ = auto()  # see everything of the store but its people's addresses
    TAKE = auto()  # take out, bring back, say what happened on a trip, set a doubtful rope aside
    PREPARE = auto()  # wash, dry, measure, weigh, mark, put into service, cut, tick at the stocktake
    INSPECT = auto()  # examine, clear what is set aside, correct an examination
    KEEP = auto()  # everything else: buy, import, correct, retire, recall, people, the store's rules


@dataclass(frozen=True)
class Way:
    """Where the way out is, and what it is called."""

    url: str
    words: str


class NotForYou(PermissionDenied):
    """Somebody is in the store, but this is for others to do; with a way where the visitor has one."""

    def __init__(self, told: str, way: Way | None = None) -> None:
        super().__init__(told)
        self.way = way


_ALLOWED = {
    Role.READER: {May.READ},
    Role.MEMBER: {May.READ, May.TAKE},
    Role.COMPETENT: {May.READ, May.TAKE, May.PREPARE, May.INSPECT},
    Role.KEEPER: {May.READ, May.TAKE, May.PREPARE, May.KEEP},
}


def allowed(role: Role, *, competent: bool = False) -> frozenset[May]:
    """What a role may do; a keeper who is the competent person too may also examine and clear."""
    return frozenset(_ALLOWED[role] | ({May.INSPECT} if competent and role is Role.KEEPER else set()))
