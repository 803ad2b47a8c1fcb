"""Everything that is stored about one person, in sections, for themselves. What can be long is read as it is asked for.

Passwords, and what sessions and links are known by, are never read into it.
"""

import json
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.store import DamagedLog
from tethera.store.people import names_person
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.signed_in import sessions_of
from tethera.web.personal.papers import AT_ONCE, drafts_of, invitations_of, links_of, lists_of, trips_of, work_of
from tethera.web.personal.somebody import Somebody, somebody
from tethera.web.store.models import LoggedEvent, Person, Photo, Store

Section = Mapping[str, Any]


def stored_about(account: Account) -> Section:
    """All of it; sections stand in the order of their names, and what is many is an iterator."""
    memberships = Membership.objects.filter(account=account).select_related("store").order_by("store__slug")
    return {
        "about this file": _about(),
        "account": {
            "address": account.email,
            "last signed in": _moment(account.last_login),
            "lengths in": account.get_units_display(),
            "made": _moment(account.made),
            "name": account.name,
            "open": account.is_active,
            "pages as": account.get_paper_display(),
        },
        "open sessions": _sessions(account),
        "stores": {f"{each.store.name} ({each.store.slug})": _in_store(each) for each in memberships},
    }


def _about() -> list[str]:
    now = timezone.localtime()
    return [
        _("What Tethera kept about you on {day}, by your account and by your id in each store you are in.").format(
            day=f"{now.day} {now:%B %Y at %H:%M}"
        ),
        _(
            "In it: your account; where you are signed in; what you are in each store; every entry of its record that "
            "has your id; trips you lead or packed for; lists to buy and long work you asked for; files you brought "
            "in, by name; invitations; links for a new password; photographs you recorded, by name and sum."
        ),
        _(
            "Not in it: your password, of which only a salted hash is kept, and the keys of sessions and links; what "
            "others wrote about you in notes and in names of trips; photographs and files themselves, which the keeper "
            "can show you; backups and paper; stores you have left; what a telephone keeps until it is sent."
        ),
    ]


def _moment(value: datetime | None) -> str | None:
    return None if value is None else timezone.localtime(value).isoformat(timespec="seconds")


def _sessions(account: Account) -> Iterator[Section]:
    for each in sessions_of(account):
        # A session is kept anew whenever something in it changes, and counts from then.
        kept = each.expire_date - timedelta(seconds=settings.SESSION_COOKIE_AGE)
        yield {"kept last": _moment(kept), "until": _moment(each.expire_date)}


def _in_store(membership: Membership) -> Section:
    store, who = membership.store, somebody(membership.store, membership.person)
    named = Person.objects.filter(store=store, key=who.person).first()
    sections: dict[str, Any] = {
        "entries of the record": _entries(store, who.person),
        "files brought in": _files(who),
        "invitations": _invitations(who),
        "links for a new password": _links(who),
        "lists to buy": ({"asked": each.asked, "made": _moment(each.made)} for each in lists_of(who)),
        "long work": _work(who),
        "photographs": _photographs(store, who.person),
        "trips": _trips(who),
        "you here": {
            "as": membership.get_role_display(),
            "also competent person": membership.competent,
            "id in the record": who.person,
            "name in the record": named.name if named else None,
        },
    }
    if who.shared:
        sections["left out"] = _(
            "Somebody else here is called {name} too. Trips, lists to buy and invitations that hold no more than that "
            "name are left out: nobody can tell whose they are. Ask the tackle keeper."
        ).format(name=who.shared[0])
    return dict(sorted(sections.items()))


def _kept(store: Store, *words: str) -> Iterator[tuple[int, Section]]:
    """Entries of the log as they are kept, with their numbers; only those that hold these words somewhere."""
    rows = LoggedEvent.objects.filter(store=store)
    for each in words:
        rows = rows.filter(body__contains=json.dumps(each, ensure_ascii=False))
    for number, body in rows.order_by("number").values_list("number", "body").iterator(chunk_size=AT_ONCE):
        try:
            entry = json.loads(body)
        except (ValueError, RecursionError) as error:
            raise DamagedLog(f"Event {number} of the log cannot be read: {error}. Restore a backup.") from None
        yield number, entry


def _entries(store: Store, person: str) -> Iterator[Section]:
    for number, entry in _kept(store, person):
        if names_person(entry, person):
            yield {"number": number, "as kept": entry}


def _photographs(store: Store, person: str) -> Iterator[Section]:
    for number, entry in _kept(store, person, "document-attached"):
        attached = entry.get("replacement") or entry
        if entry.get("by") == person and attached.get("what") == "document-attached":
            photo = Photo.objects.filter(store=store, sha256=attached["sha256"]).first()
            told = {"kept": _moment(photo.kept), "bytes": photo.size} if photo else {}
            yield {
                "entry": number,
                "name": attached["title"],
                "rope": attached["rope"],
                "sum": attached["sha256"],
                **told,
            }


def _trips(who: Somebody) -> Iterator[Section]:
    for trip, leads, ticks in trips_of(who):
        packed = [{"what": what, "at": tick.get("at", "")} for what, tick in ticks.items()]
        yield {
            "trip": trip.name,
            "first day": trip.first_day.isoformat(),
            "last day": trip.last_day.isoformat(),
            "made": _moment(trip.made),
            "you lead it": leads,
            "you packed": packed,
        }


def _files(who: Somebody) -> Iterator[Section]:
    for each in drafts_of(who).iterator(chunk_size=AT_ONCE):
        moments = {"brought in": _moment(each.made), "read": _moment(each.read), "recorded": _moment(each.recorded)}
        yield {"name": each.name, **moments}


def _invitations(who: Somebody) -> Iterator[Section]:
    for each in invitations_of(who):
        yield {
            "name": each.name,
            "as": each.get_role_display(),
            "made": _moment(each.made),
            "until": _moment(each.ends),
            "used": _moment(each.used),
        }


def _links(who: Somebody) -> Iterator[Section]:
    for each in links_of(who).iterator(chunk_size=AT_ONCE):
        whose = _("yours") if who.account and each.account_id == who.account.pk else _("made by you for somebody else")
        yield {
            "whose": whose,
            "made": _moment(each.made),
            "until": _moment(each.ends),
            "used": _moment(each.used),
        }


def _work(who: Somebody) -> Iterator[Section]:
    for each in work_of(who).iterator(chunk_size=AT_ONCE):
        yield {
            "what": each.title,
            "state": each.state,
            "made": _moment(each.made),
            "ended": _moment(each.ended),
            "file": each.file_name or None,
        }
