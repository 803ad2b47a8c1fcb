"""The head of the record on the page Settings and at the foot of printed records; a record that was altered."""

import io
import re
from urllib.parse import parse_qs, urlsplit

import pdfplumber
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Inspected, Measured, Washed, head_of, heads_in
from tethera.web.store.models import LoggedEvent
from tethera.web.store.opened import forget, held
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work
from web.conftest import DAY, Club


def pages_of(pdf: bytes) -> list[str]:
    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        return [page.extract_text() for page in opened.pages]


def settings(club: Club) -> str:
    return club.keeper.get(f"{club.address}/settings").content.decode()


def altered(club: Club, number: int, was: str, now: str) -> None:
    """Somebody changes a row of the database, and Tethera is started again."""
    row = LoggedEvent.objects.get(store=club.store, number=number)
    assert was in row.body
    LoggedEvent.objects.filter(pk=row.pk).update(body=row.body.replace(was, now))
    forget(club.store.pk)


def the_head(club: Club) -> str:
    with held(club.store.pk) as opened:
        return head_of(opened.log.read()).short()


class TestSettings:
    def test_the_head_is_shown_and_moves_on_with_the_record(self, club: Club) -> None:
        club.ready("UG1", 30)
        page = settings(club)
        before = the_head(club)
        assert f">{before}</output>" in page
        club.did(Washed(rope="UG1", happened=DAY))
        assert the_head(club) != before
        assert f">{the_head(club)}</output>" in settings(club)

    def test_a_mail_holds_the_whole_head_and_the_day(self, club: Club) -> None:
        club.ready("UG1", 30)
        link = re.search(r'href="(mailto:[^"]+)"', settings(club))
        assert link is not None
        asked = parse_qs(urlsplit(link[1].replace("&amp;", "&")).query)
        (head,) = heads_in(asked["body"][0])
        with held(club.store.pk) as opened:
            assert head == head_of(opened.log.read())
        assert str(timezone.localdate().year) in asked["body"][0]
        assert asked["subject"] == [f"Head of the record of {club.store.name}"]

    def test_an_altered_row_is_named_and_no_head_is_handed_out(self, club: Club) -> None:
        club.ready("UG1", 30)
        club.did(Measured(rope="UG1", happened=DAY, length_cm=2900), Washed(rope="UG1", happened=DAY))
        number = club.events() - 2
        altered(club, number, "2900", "3900")
        page = settings(club)
        assert "The record is not as it was written." in page
        assert f"Event {number} (measured UG1" in page
        assert "mailto:" not in page

    def test_only_keepers_see_it(self, club: Club) -> None:
        assert club.reader.get(f"{club.address}/settings").status_code == 403


class TestOnPaper:
    def test_each_page_of_a_record_carries_the_head(self, club: Club) -> None:
        club.ready("UG1", 30)
        club.did(*(Washed(rope="UG1", happened=DAY, note=f"the {n}th time, in the bath") for n in range(60)))
        pages = pages_of(club.reader.get(f"{club.address}/ropes/UG1/record.pdf").content)
        assert len(pages) > 1
        assert [heads_in(each)[0].short() for each in pages] == [the_head(club)] * len(pages)

    def test_the_record_of_the_whole_store_carries_it_too(self, club: Club) -> None:
        for number in range(1, 8):
            club.ready(f"UG{number}", 30)
        club.reader.post(f"{club.address}/record.pdf")
        work = Work.objects.latest("pk")
        do_work.call(work.pk)
        work.refresh_from_db()
        assert the_head(club) in pages_of(work.path.read_bytes())[0]

    def test_an_altered_record_says_so_on_every_page(self, club: Club) -> None:
        club.ready("UG1", 30)
        club.did(Washed(rope="UG1", happened=DAY, how="hand"), Washed(rope="UG1", happened=DAY))
        altered(club, club.events() - 2, "hand", "bath")
        (words,) = pages_of(club.reader.get(f"{club.address}/ropes/UG1/record.pdf").content)
        assert f"The record is NOT as it was written, from event {club.events() - 2} on" in words
        assert heads_in(words) == ()

    def test_an_examination_shows_who_signed_it(self, club: Club) -> None:
        club.ready("UG1", 30)
        with held(club.store.pk) as opened:
            person = opened.people.id_of("Ines Ravel")
        club.did(Inspected(rope="UG1", happened=PartialDate(2026, 5, 3), reason="yearly", findings="sound sheath",
                           outcome="fit", person=person))  # fmt: skip
        (words,) = pages_of(club.reader.get(f"{club.address}/ropes/UG1/record.pdf").content)
        assert "Ines Ravel" in words
        assert "Ines Ravel" in club.reader.get(f"{club.address}/ropes/UG1").content.decode()
