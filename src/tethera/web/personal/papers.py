"""The working papers of a store that hold one person: by name, by id where it stands beside, or by account."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import Q, QuerySet

from tethera.web.accounts.models import Invitation, PasswordLink
from tethera.web.buying.models import BuyingList
from tethera.web.importing.models import Draft
from tethera.web.personal.somebody import Somebody
from tethera.web.trips.models import Trip
from tethera.web.work.models import Work

#: Rows that are looked at together.
AT_ONCE = 200


def trips_of(who: Somebody) -> Iterator[tuple[Trip, bool, dict[str, Any]]]:
    """Trips that they lead or packed for: whether they lead it, and what they ticked into the bags."""
    trips = Trip.objects.filter(store=who.store).defer("plan", "booked_plan", "asked").order_by("first_day", "pk")
    for trip in trips.iterator(chunk_size=AT_ONCE):
        leads, ticks = who.is_called(trip.leader), ticks_of(who, trip.packed)
        if leads or ticks:
            yield trip, leads, ticks


def ticks_of(who: Somebody, packed: Mapping[str, Any]) -> dict[str, Any]:
    """What they put into the bags; a tick that has an id goes by it, an older one by its name."""
    return {what: tick for what, tick in packed.items() if isinstance(tick, Mapping) and _ticked(who, tick)}


def _ticked(who: Somebody, tick: Mapping[str, Any]) -> bool:
    by_id = tick.get("person")
    return by_id == who.person if by_id else who.is_called(str(tick.get("by", "")))


def lists_of(who: Somebody) -> Iterator[BuyingList]:
    """Lists to buy that they asked for."""
    lists = BuyingList.objects.filter(store=who.store).exclude(by="").defer("answer").order_by("made", "pk")
    return (each for each in lists.iterator(chunk_size=AT_ONCE) if who.is_called(each.by))


def invitations_of(who: Somebody) -> Iterator[Invitation]:
    """Invitations of the store that name them, or that their account took up."""
    invitations = Invitation.objects.filter(store=who.store).order_by("made", "pk")
    for each in invitations.iterator(chunk_size=AT_ONCE):
        if who.is_called(each.name) or (who.account is not None and each.used_by_id == who.account.pk):
            yield each


def links_of(who: Somebody) -> QuerySet[PasswordLink]:
    """Links for a new password of theirs, and those that they made for others."""
    links = PasswordLink.objects.filter(store=who.store).order_by("made", "pk")
    return links.filter(Q(account=who.account) | Q(made_by=who.account)) if who.account else links.none()


def work_of(who: Somebody) -> QuerySet[Work]:
    """Long work that they asked for."""
    work = Work.objects.filter(store=who.store).order_by("made", "pk")
    return work.filter(account=who.account) if who.account else work.none()


def drafts_of(who: Somebody) -> QuerySet[Draft]:
    """Files that they brought in, without what stands in them."""
    drafts = Draft.objects.filter(store=who.store).defer("sheets", "changed").order_by("made", "pk")
    return drafts.filter(account=who.account) if who.account else drafts.none()


def titles_with(who: Somebody) -> Iterator[tuple[Work, str]]:
    """Long work of others whose title has their name in it, with the title that says the id instead."""
    if not who.names:
        return
    said = "|".join(r"\s+".join(map(re.escape, each.split())) for each in who.names)
    name = re.compile(rf"(?<!\w)(?:{said})(?!\w)", re.IGNORECASE)
    others = Work.objects.filter(store=who.store)
    others = others.exclude(account=who.account) if who.account else others
    for each in others.only("pk", "title").iterator(chunk_size=AT_ONCE):
        title = name.sub(lambda _found: who.person, each.title)
        if title != each.title:
            yield each, title[:200]
