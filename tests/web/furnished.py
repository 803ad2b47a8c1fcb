"""A store with one of everything that an address can name."""

import io
from datetime import timedelta

from django.utils import timezone
from PIL import Image

from tethera.basics import PartialDate
from tethera.store import DocumentAttached, RouteWritten
from tethera.web.accounts import keeping
from tethera.web.accounts.joining import invite
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.roles import Role
from tethera.web.importing.models import Draft
from tethera.web.ropes.one_pictures import keep, read_picture
from tethera.web.routes.known import all_routes
from tethera.web.store.models import Photo
from tethera.web.store.opened import held
from tethera.web.store.photos import photos_folder
from tethera.web.trips.models import Trip
from tethera.web.work.doing import do_work
from tethera.web.work.files import work_folder
from tethera.web.work.models import Work
from web.conftest import DAY, Club

_ROUTE = 'name = "Tallow Hole"\n[[pitch]]\nname = "Entrance"\ndepth = "12 m"\nanchors = 3\n'

#: What a list to buy is asked for.
WANTED = {
    "at_once": "1", "spare": "0", "confidence": "95", "fibre": "nylon", "diameter_mm": "9.5", "rope_type": "A",
    "habit": "cut-then-soak", "reels": "100 m £170", "on": "2027-01-01",
}  # fmt: skip


def furnish(club: Club) -> dict[str, object]:
    """Fill a club's store; by the name of an address's argument what it is there."""
    keeper = Account.objects.get(email="p1@ug.invalid")
    club.ready("UG1", 30)
    club.did(RouteWritten(happened=PartialDate(2024), key="tallow-hole", text=_ROUTE))
    with held(club.store.pk) as opened:
        version = all_routes(opened)[0].versions[0].number
    trip = _planned(club)
    done = Work.objects.create(
        store=club.store, account=keeper, kind="none", title="The record", ended=timezone.now(), file_name="r.txt"
    )
    work_folder().mkdir(parents=True, exist_ok=True)
    done.path.write_text("the record")
    sheet = {"name": "Ropes", "rows": [["Rope", "Length"], ["7", "30 m"]]}
    told = {"store": club.store, "account": keeper, "name": "old.csv", "sheets": [sheet], "read": timezone.now()}
    draft, recorded = Draft.objects.create(**told), Draft.objects.create(**told, recorded=timezone.now())
    invitation, token = invite(club.store, "Perpetua Nkemelu", Role.MEMBER, competent=False)
    member = Membership.objects.get(store=club.store, person="p3")
    _link, password = keeping.password_link(keeper, member.account, club.store)
    bought = club.keeper.post(f"{club.address}/buying", {**WANTED, "routes": ["tallow-hole"]})
    return {
        "list": int(bought.headers["Location"].rsplit("/", 1)[1]),
        "number": "UG1", "event": 1, "photo": _photo(club), "route": "tallow-hole", "version": version, "trip": trip,
        "work": done.pk, "draft": draft.pk, "recorded": recorded.pk, "invitation": invitation.pk,
        "member": member.pk, "person": "p4", "join": token, "password": password, "calendar": club.store.calendar_key,
    }  # fmt: skip


def _planned(club: Club) -> int:
    """A trip whose ropes are chosen."""
    day = timezone.localdate() + timedelta(days=10)
    trip = Trip.objects.create(store=club.store, name="Sunday", first_day=day, last_day=day, routes=["tallow-hole"])
    club.member.post(f"{club.address}/trips/{trip.pk}/plan")
    for work in Work.objects.filter(ended=None):
        do_work.call(work.pk)
    return int(trip.pk)


def _photo(club: Club) -> str:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "red").save(out, "JPEG")
    picture = read_picture(io.BytesIO(out.getvalue()), "a.jpg")
    keep(photos_folder(), picture)
    Photo.objects.create(store=club.store, sha256=picture.sha256, width=40, height=30, size=len(picture.jpeg))
    club.did(DocumentAttached(rope="UG1", happened=DAY, title="worn", sha256=picture.sha256))
    return picture.sha256
