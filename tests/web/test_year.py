"""The page Year, the record on paper, and the calendar."""

import io
import re
from datetime import date, timedelta

import pdfplumber
import pytest
import vobject
from django.utils import timezone
from icalendar import Calendar

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Corrected,
    Inspected,
    Measured,
    SetAside,
    StoreDescribed,
    TakenOut,
    Washed,
    equipment_record,
)
from tethera.web.store.models import Store
from tethera.web.store.opened import held
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work
from tethera.web.yearly import feed
from web.conftest import DAY, Club


def text_of(pdf: bytes) -> str:
    with pdfplumber.open(io.BytesIO(pdf)) as opened:
        return "\n".join(page.extract_text() for page in opened.pages)


class TestThePageYear:
    def test_an_empty_store_says_what_will_stand_here(self, club: Club) -> None:
        assert "There is nothing to count yet" in club.reader.get(f"{club.address}/year").content.decode()

    def test_it_counts_lengths_ages_and_what_leaves_with_its_price(self, club: Club) -> None:
        this = timezone.localdate().year
        club.did(StoreDescribed(happened=DAY, code="UG", owner="Ulvergarth Caving Club", age_limit_years=10))
        club.ready("UG1", 30, year_made=this - 9, diameter_mm=9.0, rope_type="A", price_pence=6600)
        club.ready("UG2", 45, year_made=this - 1, diameter_mm=10.0)
        page = club.reader.get(f"{club.address}/year").content.decode()
        words = re.sub(r"[ \n]+", " ", re.sub(r"<[^>]+>", " ", page))
        assert "75\u202fm in all" in words
        # 33 m were bought for £66, so 30 m cost £60 again; UG1 leaves at the end of next year.
        assert re.search(rf"{this + 1} 30\u202fm £60 UG1", words)
        assert "UG2" in words
        assert "9\u202fmm type A" in words
        assert "2 ropes, 75\u202fm in all" in words
        # As the list of ropes says it: made in a year, on no known day of it.
        listed = re.sub(r"<[^>]+>", " ", club.reader.get(f"{club.address}/ropes").content.decode())
        last_day = timezone.localdate() == date(this, 12, 31)
        for age, rope in (
            (("1 year", "UG2"), ("9 years", "UG1")) if last_day else (("0–1 years", "UG2"), ("8–9 years", "UG1"))
        ):
            assert f"{age} 1 {rope}" in words
            assert age in listed
        assert page.count("<svg") >= 2, "the drawing is made for a desk and for a telephone"

    def test_it_counts_and_prices_what_stands_after_corrections(self, club: Club) -> None:
        today = PartialDate.of(timezone.localdate())
        club.did(StoreDescribed(happened=DAY, code="UG", age_limit_years=10))
        club.ready("UG1", 30, year_made=today.year - 9)
        first = len(club.log())
        club.did(Bought(rope="UG2", happened=today, length_cm=10_000, price_pence=90_000))
        club.did(Washed(rope="UG2", happened=today), Washed(rope="UG2", happened=today))
        right = Bought(rope="UG2", happened=today, length_cm=10_000, price_pence=20_000)
        club.did(
            Corrected(happened=today, event=first, reason="misread the bill", replacement=right),
            Corrected(happened=today, event=first + 2, reason="written twice"),
        )
        page = club.reader.get(f"{club.address}/year").content.decode()
        words = re.sub(r"[ \n]+", " ", re.sub(r"<[^>]+>", " ", page))
        assert "30\u202fm £60 UG1" in words
        assert "bought 1 " in words
        assert "washed 1 " in words

    def test_without_any_limit_the_keeper_is_led_to_the_settings(self, club: Club) -> None:
        club.ready("UG1")
        assert "No age limit is known" in club.keeper.get(f"{club.address}/year").content.decode()
        assert f"{club.address}/settings" in club.keeper.get(f"{club.address}/year").content.decode()
        assert "Set the store" not in club.reader.get(f"{club.address}/year").content.decode()


class TestTheRecordOnPaper:
    def test_one_ropes_record_says_what_en_365_asks_and_shows_a_correction_beside_what_was_written(
        self, club: Club
    ) -> None:
        club.ready("UG1", 30, product="Fell 9", maker="Maker A", batch="B7", year_made=2023)
        club.did(Inspected(rope="UG1", happened=DAY, reason="periodic", outcome="fit", person="p2", findings="clean"))
        number = next(n for n, each in enumerate(club.log()) if isinstance(each, Measured))
        right = Measured(rope="UG1", happened=DAY, length_cm=2950)
        club.did(Corrected(happened=DAY, event=number, reason="read the tape", replacement=right))
        answer = club.reader.get(f"{club.address}/ropes/UG1/record.pdf")
        assert answer["Content-Type"] == "application/pdf"
        text = text_of(answer.content)
        for told in ("Fell 9", "Maker A", "B7", "2023", "Tobias Quarmby", "periodic", "read the tape",
                     "29.5", "Ulvergarth Caving Club", "not recorded"):  # fmt: skip
            assert told in text, told
        assert "safe" in text  # the caution that the record says nothing on it

    def test_the_stores_own_age_limit_stands_beside_the_leaflets(self, club: Club) -> None:
        club.did(StoreDescribed(happened=DAY, code="UG", age_limit_years=8))
        club.ready("UG1", 30, year_made=2023, age_limit_years=12)
        club.ready("UG2", 30, year_made=2023)
        with held(club.store.pk) as opened:
            records = [equipment_record(opened.register, rope, timezone.localdate(), str) for rope in ("UG1", "UG2")]
        assert [dict(each.facts)["Age limit"] for each in records] == [
            "12 years, by its leaflet; 8 years, by the store's own rule",
            "8 years, by the store's own rule",
        ]
        # The facts stand in two columns, so their lines alternate.
        on_paper = text_of(club.reader.get(f"{club.address}/ropes/UG2/record.pdf").content)
        assert "8 years, by the store's own rule" in on_paper
        assert "31 Dec 2031" in on_paper
        assert "The store's own is 8 years." in club.reader.get(f"{club.address}/year").content.decode()

    def test_the_whole_store_is_long_work_with_a_file_at_its_end(self, club: Club) -> None:
        for number in range(1, 9):
            club.ready(f"UG{number}")
        assert club.keeper.get(f"{club.address}/record.pdf")["Location"] == f"{club.address}/year"
        begun = club.keeper.post(f"{club.address}/record.pdf")
        work = Work.objects.get()
        assert begun["Location"] == f"{club.address}/under-way/{work.pk}"
        assert "Stop" in club.keeper.get(begun["Location"]).content.decode()
        do_work.call(work.pk)
        assert "Fetch record-ug.pdf" in club.keeper.get(begun["Location"]).content.decode()
        pdf = b"".join(club.keeper.get(f"{begun['Location']}/file").streaming_content)  # type: ignore[arg-type]
        text = text_of(pdf)
        assert all(f"UG{number}" in text for number in range(1, 9))
        # Somebody else's work is nobody's business.
        assert club.member.get(begun["Location"]).status_code == 404

    def test_the_list_in_front_counts_examinations_only_and_says_when_the_next_is_due(self, club: Club) -> None:
        club.did(StoreDescribed(happened=DAY, code="UG", inspection_months=12))
        club.ready("UG1")
        club.ready("UG2")
        club.did(SetAside(rope="UG1", happened=PartialDate(2026, 3, 2), reason="a fall"))
        club.did(Inspected(rope="UG2", happened=PartialDate(2026, 4, 3), outcome="fit", person="p2"))
        answer = club.reader.post(f"{club.address}/record.pdf", {"rope": ["UG1", "UG2"]})
        with pdfplumber.open(io.BytesIO(answer.content)) as opened:
            lines = opened.pages[0].extract_text().splitlines()
        ropes = {line.split()[0]: line for line in lines if line.startswith("UG")}
        assert "2 Mar 2026" not in ropes["UG1"]
        assert "not recorded 1 May 2025" in ropes["UG1"]
        assert "3 Apr 2026 3 Apr 2027" in ropes["UG2"]

    def test_stop_is_heard_and_no_file_is_left(self, club: Club) -> None:
        for number in range(1, 9):
            club.ready(f"UG{number}")
        club.keeper.post(f"{club.address}/record.pdf")
        work = Work.objects.get()
        club.keeper.post(f"{club.address}/under-way/{work.pk}")
        do_work.call(work.pk)
        work.refresh_from_db()
        assert work.state == "stopped"
        assert "Stopped" in club.keeper.get(f"{club.address}/under-way/{work.pk}").content.decode()
        assert club.keeper.get(f"{club.address}/under-way/{work.pk}/file").status_code == 404

    def test_a_few_picked_come_at_once_and_an_unknown_number_is_not_found(self, club: Club) -> None:
        club.ready("UG1")
        club.ready("UG2")
        answer = club.reader.post(f"{club.address}/record.pdf", {"rope": ["UG2"]})
        assert "UG2" in text_of(answer.content)
        assert "UG1" not in text_of(answer.content)
        assert club.reader.get(f"{club.address}/ropes/UG99/record.pdf").status_code == 404


class TestTheCalendar:
    def address(self, club: Club) -> str:
        return f"/calendar/{Store.objects.get(pk=club.store.pk).calendar_key}.ics"

    @pytest.fixture
    def busy(self, club: Club) -> Club:
        today = timezone.localdate()
        club.did(StoreDescribed(happened=DAY, code="UG", age_limit_years=10, inspection_months=12))
        club.ready("UG1", year_made=today.year - 8)
        club.ready("UG2", year_made=today.year - 2)
        examined = PartialDate.of(today - timedelta(days=100))
        club.did(*(Inspected(rope=rope, happened=examined, outcome="fit", person="p2") for rope in ("UG1", "UG2")))
        first = today + timedelta(days=10)
        club.did(
            Booked(rope="UG1", happened=PartialDate.of(today), first_day=first, last_day=first + timedelta(days=1),
                   person="p3", trip="Great Marrowgill"),
            TakenOut(rope="UG2", happened=PartialDate.of(today), person="p3", until=PartialDate.of(first)),
        )  # fmt: skip
        return club

    def test_a_general_reader_finds_every_date(self, busy: Club) -> None:
        answer = busy.nobody.get(self.address(busy))
        assert answer["Content-Type"].startswith("text/calendar")
        read = vobject.readOne(answer.content.decode())
        found = {(each.summary.value, each.dtstart.value, each.dtend.value) for each in read.vevent_list}
        today = timezone.localdate()
        first, day = today + timedelta(days=10), timedelta(days=1)
        due = busy.rope("UG1").inspection_due
        assert due is not None
        assert found == {
            ("Examination due: UG1, UG2", due, due + day),
            ("Trip Great Marrowgill: UG1", first, first + 2 * day),
            ("Due back: UG2", first, first + day),
            ("Last day of service by age: UG1", date(today.year + 2, 12, 31), date(today.year + 3, 1, 1)),
            ("Last day of service by age: UG2", date(today.year + 8, 12, 31), date(today.year + 9, 1, 1)),
        }

    def test_it_is_well_formed_and_names_nobody(self, busy: Club) -> None:
        data = busy.nobody.get(self.address(busy)).content
        assert all(len(line) <= 75 for line in data.split(b"\r\n"))
        assert data.endswith(b"END:VCALENDAR\r\n")
        entries = Calendar.from_ical(data).walk("VEVENT")
        uids = [str(each["UID"]) for each in entries]
        assert len(uids) == len(set(uids)) == 5
        assert all(each.decoded("DTSTAMP").tzinfo is not None for each in entries)
        assert b"Ravel" not in data
        # The same thing keeps its UID when the feed is fetched again.
        again = Calendar.from_ical(busy.nobody.get(self.address(busy)).content).walk("VEVENT")
        assert [str(each["UID"]) for each in again] == uids

    def test_what_is_overdue_stands_on_today_and_moves_on_with_it(self, club: Club) -> None:
        today = timezone.localdate()
        club.ready("UG1", year_made=today.year)
        club.ready("UG2", year_made=today.year - 5)
        club.did(
            StoreDescribed(happened=DAY, code="UG", age_limit_years=2, inspection_months=12),
            TakenOut(rope="UG1", happened=DAY, person="p3", until=PartialDate.of(today - timedelta(days=3))),
            Inspected(rope="UG2", happened=PartialDate.of(today), outcome="fit", person="p2"),
        )
        entries = Calendar.from_ical(club.nobody.get(self.address(club)).content).walk("VEVENT")
        found = {str(each["SUMMARY"]): each.decoded("DTSTART") for each in entries}
        due = club.rope("UG2").inspection_due
        assert found == {
            "Examination overdue: UG1": today,
            "Overdue, to come back: UG1": today,
            "Past its age: UG2": today,
            "Examination due: UG2": due,
            "Last day of service by age: UG1": date(today.year + 2, 12, 31),
        }
        told = {str(each["SUMMARY"]): str(each["DESCRIPTION"]) for each in entries}
        # A year after the day on which it was last ready, 1 May 2024.
        assert told["Examination overdue: UG1"] == "Examination overdue: UG1 (was due 1 May 2025)"
        ropes = [club.rope("UG1")]
        days = [today, today + timedelta(days=1)]
        uids = []
        for day in days:
            overdue = next(each for each in feed.due(ropes, 2, day) if each.what == "examine-overdue")
            assert overdue.on == day
            written = feed.calendar("x", "ug", "host", [overdue], timezone.now())
            uids.append(str(Calendar.from_ical(written).walk("VEVENT")[0]["UID"]))
        assert uids[0] == uids[1]

    def test_a_wrong_or_renewed_address_has_nothing(self, busy: Club) -> None:
        address = self.address(busy)
        Store.objects.filter(pk=busy.store.pk).update(calendar_key="another")
        assert busy.nobody.get(address).status_code == 404
        assert busy.nobody.get("/calendar/another.ics").status_code == 200
        assert busy.nobody.post("/calendar/another.ics").status_code == 405

    def test_retired_and_quiet_ropes_give_no_entry(self, club: Club) -> None:
        club.did(Bought(rope="UG1", happened=DAY, length_cm=3000), Washed(rope="UG1", happened=DAY))
        club.did(SetAside(rope="UG1", happened=DAY, reason="a fall"))
        assert Calendar.from_ical(club.nobody.get(self.address(club)).content).walk("VEVENT") == []
