"""A store in which everything that can hold a person holds Ines Ravel (p3), and beside it the same of Maud (p1)."""

from datetime import timedelta

from django.utils import timezone

from tethera.store import Corrected, DocumentAttached, Event, Inspected, Returned, TakenOut, Used, Washed
from tethera.web.accounts.joining import invite
from tethera.web.accounts.keeping import password_link
from tethera.web.accounts.models import Account, PasswordLink
from tethera.web.accounts.roles import Role
from tethera.web.buying.models import BuyingList
from tethera.web.importing.models import Draft
from tethera.web.store.models import Store
from tethera.web.trips.models import Trip
from tethera.web.work.files import work_folder
from tethera.web.work.models import Work
from web.conftest import DAY, Club

PHOTO = "ab" * 32
_ASKED = {
    "routes": [], "at_once": 1, "spare": 0, "years": 1, "confidence": 95, "fibre": "nylon", "diameter_mm": 9.5,
    "rope_type": "A", "habit": "cut-then-soak", "reels": [], "per_metre": None, "ceiling": None,
    "on": "2027-01-01", "today": "2026-11-01",
}  # fmt: skip


def ines() -> Account:
    return Account.objects.get(email="p3@ug.invalid")


def maud() -> Account:
    return Account.objects.get(email="p1@ug.invalid")


def other_store(club: Club) -> Store:
    return Store.objects.get(slug=f"{club.store.slug}-other")


def fill(club: Club) -> list[int]:
    """Fill it; the numbers of the entries that name Ines."""
    club.ready("UG1", 30)
    begins, named = club.events(), []
    for event, by, hers in _happenings(begins):
        if hers:
            named.append(club.events())
        club.did(event, by=by)
    _papers(club)
    for account, name in ((ines(), "hers"), (maud(), "his")):
        _rows(club, account, name)
    invite(club.store, "Ines Ravel", Role.MEMBER, competent=False)
    invite(club.store, "Olaf Trenholme", Role.READER, competent=False)
    password_link(maud(), ines(), club.store)
    PasswordLink.objects.create(
        account=maud(), made_by=maud(), store=club.store, sum="0" * 64, ends=timezone.now() + timedelta(hours=3)
    )
    return named


def _happenings(begins: int) -> list[tuple[Event, str, bool]]:
    told = {"rope": "UG1", "happened": DAY}
    taken = TakenOut(person="p3", trip="Sunday", **told)  # type: ignore[arg-type]
    return [
        (Washed(note="hers alone", **told), "p3", True),  # type: ignore[arg-type]
        (TakenOut(person="p3", **told), "p1", True),  # type: ignore[arg-type]
        (Returned(person="p3", **told), "p1", True),  # type: ignore[arg-type]
        (Corrected(happened=DAY, event=begins + 1, reason="another day", replacement=taken), "p1", True),
        (DocumentAttached(title="worn at the knot", sha256=PHOTO, **told), "p3", True),  # type: ignore[arg-type]
        # The third pitch is no person, nor is a note that only says the id.
        (Used(pitch="p3", note="p3", **told), "p1", False),  # type: ignore[arg-type]
        (Inspected(person="p2", findings="of others alone", **told), "p2", False),  # type: ignore[arg-type]
    ]


def _papers(club: Club) -> None:
    day = timezone.localdate() + timedelta(days=10)
    days = {"first_day": day, "last_day": day}
    older = {"by": "Ines Ravel", "at": "09:10"}
    of_others = {"by": "Maud Ellerbeck", "at": "09:12", "person": "p1"}
    packed = {"wick/UG1": older, "wick/UG2": of_others, "wick/UG3": {"by": "Ines", "at": "09:14", "person": "p3"}}
    Trip.objects.create(store=club.store, name="Sunday", leader="ines  RAVEL", **days)
    Trip.objects.create(store=club.store, name="Monday", leader="Maud Ellerbeck", packed=packed, **days)
    Trip.objects.create(store=club.store, name="Tuesday", leader="Maud Ellerbeck", **days)
    Trip.objects.create(store=other_store(club), name="Elsewhere", leader="Ines Ravel", **days)
    for by, need in (("Ines Ravel", 31), ("Maud Ellerbeck", 123457)):
        BuyingList.objects.create(store=club.store, by=by, asked={**_ASKED, "needs": [need]})


def _rows(club: Club, account: Account, name: str) -> None:
    work_folder().mkdir(parents=True, exist_ok=True)
    work = Work.objects.create(store=club.store, account=account, kind="none", title=f"Work {name}", file_name="r.txt")
    work.path.write_text("made")
    cells = [{"name": "S", "rows": [[f"cell {name}"]]}]
    read = {"store": club.store, "account": account, "sheets": cells, "read": timezone.now()}
    draft = Draft.objects.create(name=f"begun-{name}.csv", **read)
    draft.path.write_text("begun")
    Draft.objects.create(name=f"brought-{name}.csv", recorded=timezone.now(), **read)
