"""The pages of a store, in the order the keeper's round takes them."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from tethera.web.accounts.roles import May


@dataclass(frozen=True)
class MenuLine:
    """A page as the head of every page names it."""

    name: str
    url: str
    here: bool


_PAGES = (
    ("today", _("Today"), May.READ),
    ("ropes", _("Ropes"), May.READ),
    ("new-ropes", _("New ropes"), May.KEEP),
    ("preparation", _("Preparation"), May.PREPARE),
    ("routes", _("Routes"), May.READ),
    ("trips", _("Trips"), May.READ),
    ("sums", _("Sums"), May.READ),
    ("out-and-back", _("Out and back"), May.READ),
    ("inspect", _("Examine"), May.READ),
    ("stocktake", _("Stocktake"), May.PREPARE),
    ("buying", _("Buying"), May.READ),
    ("year", _("Year"), May.READ),
    ("import", pgettext_lazy("page", "Import"), May.KEEP),
    ("rules", _("Settings"), May.KEEP),
    ("people", _("People"), May.KEEP),
)


def menu(slug: str, path: str, allowed: "frozenset[May]") -> list[MenuLine]:
    """The pages somebody may open; the one they are at is marked."""
    lines = [(str(name), reverse(view, args=[slug])) for view, name, needed in _PAGES if needed in allowed]
    home = reverse("today", args=[slug])
    for step in (reverse("measure", args=[slug]), reverse("marks", args=[slug])):
        if path == step or path.startswith(f"{step}/"):
            # Measuring and marking are steps of preparation, and have no line of their own.
            path = reverse("preparation", args=[slug])
    # Every page lies below Today's address; only Today itself is there.
    within = (url for _, url in lines if path == url or (url != home and path.startswith(f"{url}/")))
    here = max(within, key=len, default="")
    return [MenuLine(name, url, url == here) for name, url in lines]
