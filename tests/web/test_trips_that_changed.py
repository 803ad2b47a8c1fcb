"""A trip whose ropes changed after they were booked: what does not hold is named wherever somebody goes by it."""

import io
from datetime import timedelta

import pdfplumber
import pytest
from django.utils import timezone
from django.utils.html import strip_tags
from tests.web.conftest import Club
from tests.web.test_trips import FIRST, TALLOW, WICK, book, page_of, plan, uses, work_all

from tethera.basics import PartialDate
from tethera.store import Booked, Cut, Measured, Piece, Retired, RouteWritten, SetAside, TakenOut
from tethera.web.trips.models import Trip

TODAY = PartialDate.of(timezone.localdate())


@pytest.fixture
def ready(club: Club) -> Club:
    """Two routes and ropes for more than two trips."""
    club.did(
        RouteWritten(happened=PartialDate(2024), key="tallow-hole", text=TALLOW),
        RouteWritten(happened=PartialDate(2024), key="wick-pot", text=WICK),
    )
    for number, metres in enumerate((22, 25, 56, 60, 28, 62, 26), start=1):
        club.ready(f"UG{number}", metres, diameter_mm=9.5, rope_type="A")
    return club


def words(html: str) -> str:
    return " ".join(strip_tags(html).replace("\u202f", " ").split())


def booked_trip(club: Club) -> tuple[Trip, str, str]:
    """A booked trip, the rope on its Entrance and the rope on its Chandler."""
    trip = plan(club, "tallow-hole")
    book(club, trip)
    by_pitch = {pitch: rope for rope, pitch in uses(trip).items()}
    return trip, by_pitch["Entrance"], by_pitch["Chandler"]


def test_a_rope_set_aside_and_one_measured_short_are_named_with_their_pitch(ready: Club) -> None:
    trip, entrance, chandler = booked_trip(ready)
    assert "Do not go by" not in page_of(ready, trip)
    ready.did(
        SetAside(rope=entrance, happened=TODAY, reason="cut sheath"),
        Measured(rope=chandler, happened=TODAY, length_cm=3000, counts_cm=(3000, 3005)),
    )
    html = page_of(ready, trip)
    said = words(html)
    assert "Do not go by these ropes" in said
    assert f"{entrance} for Entrance: set aside: cut sheath. Entrance has no rope on this plan." in said
    assert f"{chandler} for Chandler: now 30 m, needs" in said
    assert "short by" in said
    assert "<s><a" in html
    assert f"{entrance} not to be had" in said
    assert "Choose anew" in said
    # Nothing is sure of ropes that do not hold, and nothing is proven of a store that changed.
    assert "sure that none is short" not in said
    assert "roven" not in said


def test_a_rope_that_was_cut_keeps_its_row_and_its_pitch_is_without_a_rope(ready: Club) -> None:
    trip, _entrance, chandler = booked_trip(ready)
    ready.did(
        Cut(
            rope=chandler, happened=TODAY, into=(Piece(rope="UG20", length_cm=2500), Piece(rope="UG21", length_cm=2500))
        )
    )
    said = words(page_of(ready, trip))
    assert f"{chandler} for Chandler: retired: cut into UG20 and UG21. Chandler has no rope on this plan." in said
    assert f"2 {chandler}no rope" in said


def test_the_bags_say_what_not_to_pack_and_are_never_all_packed_so(ready: Club) -> None:
    trip, entrance, _chandler = booked_trip(ready)
    address = f"{ready.address}/trips/{trip.pk}/bags"
    ready.member.post(address, {"what": f"tallow-hole/{entrance}", "in": "1"})
    ready.did(SetAside(rope=entrance, happened=TODAY, reason="cut sheath"))
    said = words(ready.member.get(address).content.decode())
    assert f"{entrance} for Entrance: set aside: cut sheath." in said
    assert "Take it out of the bag: set aside: cut sheath." in said
    ready.member.post(address, {"what": f"tallow-hole/{entrance}", "out": "1"})
    html = ready.member.get(address).content.decode()
    assert "Do not pack it: set aside: cut sheath." in words(html)
    for what in html.split('name="what" value="')[1:]:
        ready.member.post(address, {"what": what.split('"')[0], "in": "1"})
    assert "All is packed" not in ready.member.get(address).content.decode()


def test_both_papers_say_it_near_their_head(ready: Club) -> None:
    trip, entrance, chandler = booked_trip(ready)
    ready.did(
        SetAside(rope=entrance, happened=TODAY, reason="cut sheath"),
        Retired(rope=chandler, happened=TODAY, reason="glazed"),
    )
    for paper in ("rigging-sheet.pdf", "packing-list.pdf"):
        answer = ready.reader.get(f"{ready.address}/trips/{trip.pk}/tallow-hole/{paper}")
        with pdfplumber.open(io.BytesIO(answer.content)) as pdf:
            first = " ".join((pdf.pages[0].extract_text() or "").split())
        assert "Do not go by this paper" in first, paper
        assert f"{entrance} for Entrance: set aside: cut sheath." in first, paper
        assert f"{chandler} for Chandler: retired: glazed." in first, paper


def test_today_and_the_list_of_trips_name_them_too(ready: Club) -> None:
    _trip, entrance, _chandler = booked_trip(ready)
    ready.did(SetAside(rope=entrance, happened=TODAY, reason="cut sheath"))
    assert f"{entrance}: set aside: cut sheath." in words(ready.member.get(ready.address).content.decode())
    said = words(ready.member.get(f"{ready.address}/trips").content.decode())
    assert "2 ropes booked; 1 does not hold any more" in said


def test_ropes_booked_without_a_paper_are_judged_on_today_by_what_they_are(ready: Club) -> None:
    ready.did(
        Booked(rope="UG5", happened=TODAY, first_day=FIRST, last_day=FIRST, person="p3", trip="Candle Night"),
        SetAside(rope="UG5", happened=TODAY, reason="cut sheath"),
    )
    assert "UG5: set aside: cut sheath." in words(ready.member.get(ready.address).content.decode())


def test_a_rope_booked_beside_the_plan_is_named_as_well(ready: Club) -> None:
    trip, _entrance, _chandler = booked_trip(ready)
    spare = next(f"UG{n}" for n in range(1, 8) if f"UG{n}" not in uses(trip))
    ready.did(
        Booked(rope=spare, happened=TODAY, first_day=FIRST, last_day=FIRST, person="p3", trip=trip.name),
        SetAside(rope=spare, happened=TODAY, reason="cut sheath"),
    )
    assert f"{spare}: set aside: cut sheath." in words(page_of(ready, trip))


def test_ropes_out_for_the_trip_hold_and_those_back_from_it_are_not_judged(ready: Club) -> None:
    trip, entrance, chandler = booked_trip(ready)
    ready.did(*(TakenOut(rope=r, happened=TODAY, person="p3", trip=trip.name) for r in (entrance, chandler)))
    assert "Do not go by" not in page_of(ready, trip)
    ready.did(SetAside(rope=chandler, happened=TODAY, reason="a stone fell on it"))
    assert f"{chandler} for Chandler: set aside: a stone fell on it." in words(page_of(ready, trip))
    Trip.objects.filter(pk=trip.pk).update(over=True)
    assert "Do not go by" not in page_of(ready, trip)


def test_chosen_anew_and_booked_the_trip_holds_again(ready: Club) -> None:
    trip, entrance, _chandler = booked_trip(ready)
    ready.did(SetAside(rope=entrance, happened=TODAY, reason="cut sheath"))
    ready.member.post(f"{ready.address}/trips/{trip.pk}/plan")
    work_all()
    html = page_of(ready, trip)
    # What is booked is still named while the other plan stands below it.
    assert f"{entrance} for Entrance: set aside: cut sheath." in words(html)
    assert "Book these instead" in html
    assert "sure that none is short" in html
    book(ready, trip)
    assert "Do not go by" not in page_of(ready, trip)
    assert entrance not in uses(trip)


def test_what_is_doubted_of_a_rope_stands_in_its_row_in_its_bag_and_where_it_is_taken(ready: Club) -> None:
    trip, entrance, _chandler = booked_trip(ready)
    longer = (ready.rope(entrance).length_cm or 0) + 150
    ready.did(Measured(rope=entrance, happened=TODAY, length_cm=longer, counts_cm=(longer, longer)))
    doubts = [finding.message for finding in ready.rope(entrance, timezone.localdate()).findings]
    assert doubts, "the rope on Entrance is doubted"
    pages = (f"trips/{trip.pk}", f"trips/{trip.pk}/bags", f"out-and-back?take={entrance}")
    for where in pages:
        html = ready.member.get(f"{ready.address}/{where}").content.decode()
        said = words(html)
        for doubt in doubts:
            assert doubt in said, where
            assert 'class="doubt small"' in html


def test_a_trip_that_cannot_be_rigged_is_named_on_the_page_of_another_of_the_same_day(ready: Club) -> None:
    deep = TALLOW.replace("Tallow Hole", "Muckle Hole").replace("31 m", "310 m").replace("45 m", "400 m")
    ready.did(RouteWritten(happened=PartialDate(2024), key="muckle-hole", text=deep))
    other = plan(ready, "muckle-hole", name="Muckle")
    trip = plan(ready, "tallow-hole", name="Easy")
    said = words(page_of(ready, trip))
    assert "This store cannot rig another trip of the same days" in said
    assert "Muckle cannot be rigged, and this trip is planned together with it." in said
    assert "Muckle Hole: from" in said
    assert "Plan without it" in said
    assert "This store cannot rig it" in words(
        page_of(ready, plan(ready, "muckle-hole", name="Alone", first=FIRST + timedelta(days=40)))
    )
    ready.member.post(f"{ready.address}/trips/{trip.pk}/wish", {"wish": "apart", "trip": str(other.pk)})
    work_all()
    html = page_of(ready, trip)
    assert "Book these ropes" in html
    assert "planned without Muckle" in words(html)
