"""What stands behind a question mark, given to the pages of a store; and a backup put back into its database."""

import io
import re
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django import setup
from django.db import transaction
from django.http import QueryDict
from django.test import Client
from django.test.utils import setup_databases, setup_test_environment

from faults.good_files import events
from guided.watch import FOR_PROGRAMMERS
from tethera.basics import PartialDate
from tethera.store import MemoryLog, Register, heads_in, read_bands, read_head
from tethera.store.exchange import Backup, write_backup

_DAY = PartialDate(2026, 11, 26)
_PAGES = ("ropes", "marks", "out-and-back", "read-mark", "recall", "find", "new-ropes", "bring-back", "stocktake")
_PAGES += ("sums/stretch", "sums/falls", "sums/anchors", "sums/shrinkage", "year", "inspect", "measure")


def database() -> None:
    """An empty database in memory."""
    setup()
    setup_test_environment(debug=False)
    setup_databases(0, interactive=False)


def furnished() -> Any:
    """A store with one of everything, and its keeper."""
    from tethera.web.accounts.models import Account, Membership
    from tethera.web.accounts.roles import Role
    from tethera.web.store.models import Person, Store
    from web.conftest import Club
    from web.furnished import furnish

    store = Store.objects.create(slug="ug", name="Ulvergarth Caving Club")
    clients = []
    people = (("p1", Role.KEEPER), ("p2", Role.COMPETENT), ("p3", Role.MEMBER), ("p4", Role.READER))
    for key, role in people:
        Person.objects.create(store=store, key=key, name=f"Person {key}")
        account = Account.objects.create_user(f"{key}@ug.invalid", "three odd words", name=f"Person {key}")
        Membership.objects.create(account=account, store=store, role=role, person=key)
        client = Client()
        client.force_login(account)
        clients.append(client)
    club = Club(store, *clients, stranger=Client(), nobody=Client())
    furnish(club)
    return club


def page_seeds(club: Any) -> tuple[bytes, ...]:
    """Each page with the fields it offers, filled as it shows them."""
    found = []
    for page in _PAGES:
        html = club.keeper.get(f"{club.address}/{page}").content.decode()
        fields = dict.fromkeys(re.findall(r'\bname="([\w-]{1,60})"', html), "")
        for name, value in re.findall(r'<input[^>]*\bname="([\w-]{1,60})"[^>]*\bvalue="([^"]*)"', html):
            fields[name] = value
        query = QueryDict(mutable=True)
        query.update({name: value for name, value in fields.items() if name != "csrfmiddlewaretoken"})
        found.append(f"{page}?{query.urlencode()}".encode())
    return (*found, b"ropes?q=UG1&length_from=10&sort=-age&state=ready", b"find?number=UG1")


class Asked:
    """Asks a page of a store; everything is as before afterwards."""

    def __init__(self, club: Any) -> None:
        self._club = club

    def __call__(self, data: bytes) -> None:
        """A page must answer, in words for people."""
        from tethera.web.store.opened import forget

        page, _, query = data.decode("utf-8", "replace").partition("?")
        address = f"{self._club.address}/{page if page in _PAGES else 'ropes'}"
        # Only what a browser could send: letters of other alphabets are sent as their bytes.
        sent = query.encode("utf-8", "replace").decode("latin-1")
        with transaction.atomic():
            answer = self._club.keeper.get(address, QUERY_STRING=sent)
            transaction.set_rollback(True)
        forget()
        assert answer.status_code < 500, f"status {answer.status_code}"
        if "html" in answer.get("Content-Type", "") and not answer.streaming:
            said = re.sub(r"(?s)<(textarea|option|input)[^>]*>", "", answer.content.decode())
            asked = FOR_PROGRAMMERS.search(f"{query} {QueryDict(sent).dict()}")
            wrong = None if asked else FOR_PROGRAMMERS.search(said)
            assert wrong is None, said[max(wrong.start() - 200, 0) : wrong.end() + 100]


class Listed:
    """The list of ropes without its page: what an address asks for, found and sorted."""

    def __init__(self) -> None:
        self._register = Register(MemoryLog(events()))
        self._ropes = tuple(self._register.ropes(_DAY.latest))

    def __call__(self, data: bytes) -> None:
        """Whatever is asked, there is a list, and what could not be read is told."""
        from tethera.web.paper.numbers import read_numbers
        from tethera.web.ropes.list_matching import matching
        from tethera.web.ropes.list_page import address_of, with_
        from tethera.web.ropes.list_rows import Row, ordered
        from tethera.web.ropes.list_wanted import WantedForm

        address = QueryDict(data.decode("utf-8", "replace").partition("?")[2].encode("utf-8", "replace"))
        wanted = WantedForm(address, ropes=self._ropes, units="ft" if address.get("units") == "ft" else "m")
        wanted.is_valid()
        rows = [Row(each, {"p1": "Maud"}, _DAY.latest, each.id in address.getlist("rope")) for each in self._ropes]
        found, perhaps = matching(rows, wanted, self._register.known(str(wanted.told("q") or "")))
        order, backwards = wanted.order
        assert len(ordered(found, order, backwards=backwards)) + len(perhaps) <= len(rows)
        wanted.spoken()
        for each in wanted.faults():
            assert not FOR_PROGRAMMERS.search(each), each
        with_(address_of(address), sort=order)
        read_numbers(self._register, address.get("have", ""))


LISTED_SEEDS = (
    b"ropes?q=UG1&length_from=10+m&length_to=100+ft&mm=10&made=2019&age_from=1&age_to=9&sort=-age&have=UG1+UG+2",
    b"ropes?maker=Maker+A&batch=7&state=ready&state=out&kind=A&doubt=any&due=on&sort=length&show=all&rope=UG1&units=ft",
)


def read_small(data: bytes) -> None:
    """What stands in a box of its own: a head, a text with heads, a rule of coloured bands."""
    text = data.decode("utf-8", "replace")
    for head in heads_in(text):
        assert read_head(head.short()).length == head.length
        assert read_head(str(head)) == head
    if text.startswith("b"):
        read_bands(text[1:])
    else:
        read_head(text)


SMALL_SEEDS = (b"142: 3f9a 01c2 4b7e 9d10", b"b30 to 39 m: yellow\n10-19: red and white\n7 = blue", b"7:" + b"a1" * 32)


def backup_of_database() -> bytes:
    """A backup of a database with a store, its people, a trip, a photograph and accounts."""
    from tethera.web.kept import kept

    file = io.BytesIO()
    with tempfile.TemporaryDirectory() as no_files, transaction.atomic():
        furnished()
        write_backup(file, kept(Path(no_files)), made=datetime(2026, 11, 26, tzinfo=UTC), version="1")
        transaction.set_rollback(True)
    return file.getvalue()


def put_back(data: bytes) -> None:
    """Into a database, all of it or nothing, as the terminal does after the sums were right."""
    from tethera.web import kept
    from tethera.web.accounts.models import Account
    from tethera.web.store.models import Store

    backup = Backup(io.BytesIO(data))
    stores = tuple(backup.store(each) for each in backup.manifest.stores)
    if not backup.manifest.database:
        return
    with transaction.atomic():
        try:
            kept.put_back(stores, backup.json("accounts.json"))
            assert Store.objects.count() == len(stores), "not every store is there"
        except BaseException:
            half = Store.objects.exists() or Account.objects.exists()
            assert not half, "something is half written"
            raise
        finally:
            transaction.set_rollback(True)
