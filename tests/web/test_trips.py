"""Trips: planned in the background, wished about, booked once, packed, taken and brought back."""

from datetime import date, timedelta

import pytest
from django.utils import timezone
from django.utils.html import strip_tags
from tests.web.conftest import Club

from tethera.basics import PartialDate
from tethera.rigging import learn, read_route, seen_of
from tethera.store import Booked, BookingReleased, LeftRigged, Returned, RouteWritten, SetAside, TakenOut, Used
from tethera.web.trips.models import Trip
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work

TALLOW = """
name = "Tallow Hole"
[[pitch]]
name = "Entrance"
depth = "12 m"
anchors = 3
[[pitch]]
name = "Chandler"
depth = "31 m"
guide_rope = "45 m"
anchors = 5
"""
WICK = TALLOW.replace("Tallow Hole", "Wick Pot").replace("Entrance", "Snuffer")
FIRST = timezone.localdate() + timedelta(days=10)


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


def work_all() -> None:
    """What the worker would do now."""
    for work in Work.objects.filter(ended=None):
        do_work.call(work.pk)


def plan(club: Club, *keys: str, name: str = "", first: date = FIRST, by: str = "member") -> Trip:
    told = {"routes": list(keys), "first_day": first.isoformat(), "party": "4", "leader": "Ines Ravel", "name": name}
    answer = getattr(club, by).post(f"{club.address}/trips/new", told)
    assert answer.status_code == 302, answer.content.decode()
    work_all()
    return Trip.objects.latest("pk")


def page_of(club: Club, trip: Trip, by: str = "member") -> str:
    answer = getattr(club, by).get(f"{club.address}/trips/{trip.pk}")
    assert answer.status_code == 200
    return str(answer.content.decode())


def uses(trip: Trip) -> dict[str, str]:
    """Each rope of the plan with its first pitch."""
    trip.refresh_from_db()
    assert trip.plan is not None
    return {use["rope"]: use["pitches"][0] for use in trip.plan["uses"]}


def book(club: Club, trip: Trip, by: str = "member") -> object:
    trip.refresh_from_db()
    return getattr(club, by).post(f"{club.address}/trips/{trip.pk}/book", {"plan": trip.planned_from})


def booked(club: Club, name: str) -> set[str]:
    return {rope.id for rope in club.register().ropes(timezone.localdate()) for b in rope.bookings if b.trip == name}


def test_a_trip_gets_its_ropes_with_the_reason_for_each(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    assert trip.name.startswith("Tallow Hole, ")
    html = page_of(ready, trip)
    assert set(uses(trip).values()) == {"Entrance", "Chandler"}
    for rope in uses(trip):
        assert f">{rope}</a>" in html
    assert "Why this rope" in html
    assert "sure that none is short" in html
    assert "Book these ropes" in html


def test_before_the_worker_has_done_it_the_page_says_what_is_being_done(ready: Club) -> None:
    told = {"routes": ["tallow-hole"], "first_day": FIRST.isoformat(), "party": "4"}
    ready.member.post(f"{ready.address}/trips/new", told)
    html = page_of(ready, Trip.objects.get())
    assert "Stop, and take the best so far" in html
    assert "Book these ropes" not in html


def test_a_rope_kept_on_a_pitch_stays_there_and_one_left_at_home_is_not_taken(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    before = uses(trip)
    on_entrance = next(rope for rope, pitch in before.items() if pitch == "Entrance")
    ready.member.post(f"{ready.address}/trips/{trip.pk}/wish", {"wish": "leave", "rope": on_entrance})
    work_all()
    assert on_entrance not in uses(trip)
    keep = {"wish": "keep", "rope": "UG5", "route": "tallow-hole", "pitch": "Entrance"}
    ready.member.post(f"{ready.address}/trips/{trip.pk}/wish", keep)
    work_all()
    assert uses(trip)["UG5"] == "Entrance"
    assert "UG5 stays on Entrance" in page_of(ready, trip)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/wish", {"wish": "none"})
    work_all()
    assert uses(trip) == before


def test_a_reader_may_look_and_no_more_and_a_stranger_finds_nothing(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    html = page_of(ready, trip, "reader")
    assert "Book these ropes" not in html
    assert "Not this" not in html
    events = ready.events()
    for act in ("wish", "book", "plan", "give-back", "call-off", "why", "others", "back", "bags", "paper"):
        address = f"{ready.address}/trips/{trip.pk}/{act}"
        assert ready.reader.post(address, {"wish": "none", "plan": trip.planned_from}).status_code == 403, act
        assert ready.stranger.post(address).status_code == 404, act
        assert ready.nobody.post(address).status_code == 302, act
    assert ready.reader.post(f"{ready.address}/trips/new").status_code == 403
    assert ready.member.get(f"{ready.address}/trips/999").status_code == 404
    assert ready.events() == events


def test_booked_ropes_say_where_they_are_to_hang(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    book(ready, trip)
    found = [event for event in ready.log() if isinstance(event, Booked)]
    assert {event.rope: (event.route, event.pitches[0]) for event in found} == {
        rope: ("Tallow Hole", pitch) for rope, pitch in uses(trip).items()
    }
    assert {(event.first_day, event.last_day, event.trip, event.person) for event in found} == {
        (FIRST, FIRST, trip.name, "p3")
    }
    html = page_of(ready, trip)
    assert "Booked:" in html
    assert "Book these ropes" not in html


def test_two_trips_on_the_same_days_are_planned_together_and_share_no_rope(ready: Club) -> None:
    first = plan(ready, "tallow-hole", name="Saturday")
    second = plan(ready, "wick-pot", name="Novices")
    assert "Planned together with" in page_of(ready, second)
    first.refresh_from_db()
    second.refresh_from_db()
    assert second.planned_for == [[first.pk, "tallow-hole"], [second.pk, "wick-pot"]]
    assert (first.plan, first.planned_from) == (second.plan, second.planned_from), "one answer for both"
    assert "has changed since" not in page_of(ready, first)
    ropes = [use["rope"] for use in second.plan["uses"]]
    assert len(ropes) == len(set(ropes)) == 4


def test_of_two_who_book_the_same_rope_one_is_told(ready: Club) -> None:
    """Both looked before either pressed: the second press books nothing and says why."""
    first = plan(ready, "tallow-hole", name="Saturday")
    second = plan(ready, "tallow-hole", name="Also Saturday")
    # The second was asked to be planned apart, so both were offered the same ropes.
    ready.member.post(f"{ready.address}/trips/{second.pk}/wish", {"wish": "apart", "trip": str(first.pk)})
    work_all()
    first_seal, second_seal = (Trip.objects.get(pk=each.pk).planned_from for each in (first, second))
    ready.member.post(f"{ready.address}/trips/{first.pk}/wish", {"wish": "apart", "trip": str(second.pk)})
    work_all()
    first.refresh_from_db()
    assert first_seal
    assert set(uses(first)) & set(uses(second))
    book(ready, first)
    assert booked(ready, "Saturday") == set(uses(first))
    answer = ready.competent.post(f"{ready.address}/trips/{second.pk}/book", {"plan": second_seal}, follow=True)
    told = " ".join(strip_tags(answer.content.decode()).split())
    assert "Nothing is booked: meanwhile somebody has booked " in told
    assert all(rope in told for rope in set(uses(first)) & set(uses(second)))
    assert "for Saturday, Ines Ravel." in told
    assert "Not this" not in told, "what does not hold any more is not offered"
    assert booked(ready, "Also Saturday") == set()
    work_all()
    assert not set(uses(second)) & set(uses(first))


def test_a_plan_whose_ground_moved_is_not_booked_but_made_anew(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    taken = next(iter(uses(trip)))
    ready.did(SetAside(rope=taken, happened=PartialDate.of(timezone.localdate()), reason="flat spot"))
    assert "has changed since these ropes were chosen" in page_of(ready, trip)
    book(ready, trip)
    assert booked(ready, trip.name) == set()
    work_all()
    assert taken not in uses(trip)


def test_two_trips_down_one_route_on_one_day_get_one_answer_told_alike_on_both_pages(ready: Club) -> None:
    first = plan(ready, "tallow-hole", name="Early")
    second = plan(ready, "tallow-hole", name="Late")
    early, late = (" ".join(strip_tags(page_of(ready, each)).split()) for each in (first, second))
    first.refresh_from_db()
    assert first.plan is not None
    ropes = [use["rope"] for use in first.plan["uses"]]
    assert len(ropes) == len(set(ropes)) == 4
    for use in first.plan["uses"]:
        whose, others = (early, late) if first.planned_for[use["trip_index"]][0] == first.pk else (late, early)
        assert use["rope"] in whose.split("Planned together with")[0]
        assert use["rope"] in others.split("Planned together with")[1]


def test_the_wishes_of_both_go_for_a_plan_made_together(ready: Club) -> None:
    """A rope one of them leaves at home is in neither plan; the surer of the two counts."""
    first = plan(ready, "tallow-hole", name="Early")
    second = plan(ready, "wick-pot", name="Late")
    home = next(iter(uses(second)))
    ready.member.post(f"{ready.address}/trips/{first.pk}/wish", {"wish": "leave", "rope": home})
    ready.member.post(
        f"{ready.address}/trips/{second.pk}/wish", {"wish": "sure", "confidence": "99", "prefer": "least-left-over"}
    )
    work_all()
    for trip in (first, second):
        assert home not in uses(trip)
        assert trip.plan is not None
        assert trip.plan["confidence"] == 0.99


def test_booking_twice_with_the_same_form_books_once(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    book(ready, trip)
    events = ready.events()
    book(ready, trip)
    assert booked(ready, trip.name) == set(uses(trip))
    assert sum(isinstance(each, Booked) for each in ready.log()[:events]) == len(uses(trip))


def test_given_back_the_ropes_are_free_for_others(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    book(ready, trip)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/give-back")
    assert booked(ready, trip.name) == set()
    assert any(isinstance(event, BookingReleased) for event in ready.log())


def test_what_the_store_cannot_rig_is_said_with_what_is_missing(ready: Club) -> None:
    deep = TALLOW.replace("31 m", "331 m").replace("45 m", "360 m").replace("Tallow Hole", "Deep Hole")
    ready.did(RouteWritten(happened=PartialDate(2024), key="deep-hole", text=deep))
    html = page_of(ready, plan(ready, "deep-hole"))
    assert "This store cannot rig it" in html
    assert "Chandler" in html


def test_bad_words_on_the_paper_are_told_beside_the_field_and_nothing_is_lost(ready: Club) -> None:
    told = {
        "routes": ["tallow-hole"],
        "first_day": "2026-12-05",
        "last_day": "2026-12-04",
        "party": "none",
        "leader": "Ines",
    }
    answer = ready.member.post(f"{ready.address}/trips/new", told)
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "That is before the first day." in html
    assert 'value="Ines"' in html
    assert 'value="2026-12-05"' in html
    assert not Trip.objects.exists()


def test_without_routes_the_page_says_what_to_do_first(club: Club) -> None:
    html = club.member.get(f"{club.address}/trips").content.decode()
    assert "A trip needs a route" in html


def test_bags_are_ticked_off_and_two_who_pack_lose_no_tick(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    address = f"{ready.address}/trips/{trip.pk}/bags"
    rope, other = list(uses(trip))[:2]
    assert "0</span>" in ready.member.get(address).content.decode()
    ready.member.post(address, {"what": f"tallow-hole/{rope}", "in": "1"})
    ready.competent.post(address, {"what": f"tallow-hole/{other}", "in": "1"})
    trip.refresh_from_db()
    assert set(trip.packed) == {f"tallow-hole/{rope}", f"tallow-hole/{other}"}
    html = ready.member.get(address).content.decode()
    assert "Ines Ravel" in html
    assert "litres" in html
    ready.member.post(address, {"what": f"tallow-hole/{rope}", "out": "1"})
    trip.refresh_from_db()
    assert set(trip.packed) == {f"tallow-hole/{other}"}


@pytest.mark.parametrize("paper", ["rigging-sheet", "packing-list"])
def test_the_papers_come_from_the_same_page(ready: Club, paper: str) -> None:
    trip = plan(ready, "tallow-hole")
    answer = ready.reader.get(f"{ready.address}/trips/{trip.pk}/tallow-hole/{paper}.pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert ready.reader.get(f"{ready.address}/trips/{trip.pk}/wick-pot/{paper}.pdf").status_code == 404


def gone(club: Club, trip: Trip) -> dict[str, str]:
    """The trip's ropes booked and taken out."""
    book(club, trip)
    placed = uses(trip)
    today = PartialDate.of(timezone.localdate())
    club.did(*(TakenOut(rope=rope, happened=today, person="p3", trip=trip.name) for rope in placed))
    return placed


def told_back(placed: dict[str, str], **more: str) -> dict[str, str]:
    told = {"how": "muddy", "days": "1", "person": "Ines Ravel", "happened": ""}
    for rope in placed:
        told |= {f"{rope}-what": "back", f"{rope}-left_over_cm": "", f"{rope}-changed": ""}
    return told | more


def test_back_from_a_trip_each_rope_tells_what_was_left_over_on_its_pitch(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    html = ready.member.get(f"{ready.address}/trips/{trip.pk}/back").content.decode()
    assert all(f"Tallow Hole: {pitch}" in html for pitch in placed.values())
    rope = next(rope for rope, pitch in placed.items() if pitch == "Chandler")
    told = told_back(placed, **{f"{rope}-left_over_cm": "3.5", f"{rope}-changed": "used the thread"})
    answer = ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told)
    assert answer.status_code == 302
    use = next(event for event in ready.log() if isinstance(event, Used) and event.rope == rope)
    assert (use.route, use.pitches, use.left_over_cm, use.changed) == (
        "Tallow Hole",
        ("Chandler",),
        350,
        "used the thread",
    )
    assert sum(isinstance(event, Returned) for event in ready.log()) == len(placed)
    assert not any(state.out_trip for state in ready.register().ropes(timezone.localdate()))


def test_a_rope_that_stays_hangs_on_its_own_list_with_its_day(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    rope = next(iter(placed))
    told = told_back(placed, **{f"{rope}-what": "stays", f"{rope}-look_again": "May 2027"})
    ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told)
    left = next(event for event in ready.log() if isinstance(event, LeftRigged))
    assert (left.rope, left.route, left.pitch, left.look_again) == (
        rope,
        "Tallow Hole",
        placed[rope],
        PartialDate(2027, 5),
    )
    html = ready.reader.get(f"{ready.address}/rigged").content.decode()
    assert "Tallow Hole" in html
    assert "May 2027" in html
    told_again = {"rope": rope, "look_again": "Nov 2027", "note": "sheath fine"}
    ready.member.post(f"{ready.address}/rigged", told_again)
    assert "Nov 2027" in ready.reader.get(f"{ready.address}/rigged").content.decode()


def test_damage_sets_a_rope_aside(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    rope = next(iter(placed))
    ready.member.post(
        f"{ready.address}/trips/{trip.pk}/back", told_back(placed, **{f"{rope}-damage": "cut sheath at 8 m"})
    )
    assert ready.rope(rope).state == "set aside"


def test_what_was_left_over_moves_the_next_plan_the_right_way(ready: Club) -> None:
    """Much rope lay at the foot: the pitch is now said to take less, and its spread is smaller."""
    trip = plan(ready, "tallow-hole")
    before = {use["pitches"][0]: use for use in Trip.objects.get(pk=trip.pk).plan["uses"]}
    placed = gone(ready, trip)
    rope = next(rope for rope, pitch in placed.items() if pitch == "Chandler")
    taken_m = before["Chandler"]["need_mean_m"] - 3.0
    left_m = ready.rope(rope).length_cm / 100 - taken_m  # type: ignore[operator]
    told = told_back(placed, **{f"{rope}-left_over_cm": f"{left_m:.2f}"})
    ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told)
    again = plan(ready, "tallow-hole", first=FIRST + timedelta(days=30))
    ropes_left = {use["pitches"][0]: use for use in Trip.objects.get(pk=again.pk).plan["uses"]}
    after = ropes_left.get("Chandler")
    assert after is not None
    route = read_route(TALLOW).route
    seen = seen_of("UG0", "then", round((taken_m + left_m) * 100), 30.0, round(left_m * 100), ["Chandler"])
    said = learn(route, [seen])[1].weighed
    # The mean of both weighed by one over their squared spreads, and no more.
    weights = [1 / each.sd_m**2 for each in said]
    expected = (weights[0] * before["Chandler"]["need_mean_m"] + weights[1] * taken_m) / sum(weights)
    assert after["need_mean_m"] == pytest.approx(expected, abs=0.05)
    assert taken_m < after["need_mean_m"] < before["Chandler"]["need_mean_m"] - 0.5
    assert after["need_sd_m"] <= before["Chandler"]["need_sd_m"]


def test_once_booked_or_gone_nothing_is_chosen_anew_by_itself(ready: Club) -> None:
    """A booked rope that is out for this very trip is still its rope; the page goes on naming it."""
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    html = page_of(ready, trip)
    assert 'hx-trigger="load' not in html
    assert all(f">{rope}</a>" in html for rope in placed)
    assert "Not this" not in html
    work_all()
    assert uses(trip) == placed
    ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told_back(placed))
    html = page_of(ready, trip)
    assert "this trip is over" in html
    assert 'hx-trigger="load' not in html
    assert ready.member.post(f"{ready.address}/trips/{trip.pk}/paper", {}).status_code == 302


def test_a_booked_trip_whose_paper_changes_offers_to_book_the_others_instead(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    book(ready, trip)
    before = booked(ready, trip.name)
    ready.did(SetAside(rope=next(iter(before)), happened=PartialDate.of(timezone.localdate()), reason="flat spot"))
    assert "has changed since these ropes were booked" in page_of(ready, trip)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/plan")
    work_all()
    html = page_of(ready, trip)
    assert "Book these instead" in html
    assert booked(ready, trip.name) == before
    book(ready, trip)
    assert booked(ready, trip.name) == set(uses(trip)) != before


def test_why_a_rope_is_not_in_the_plan_is_answered_with_what_it_would_cost(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    idle = next(number for number in ("UG4", "UG6") if number not in uses(trip))
    answer = ready.member.post(f"{ready.address}/trips/{trip.pk}/why", {"rope": idle.removeprefix("UG")})
    assert answer.status_code == 302
    work_all()
    html = page_of(ready, trip)
    assert f"{idle} (" in html
    assert "is long enough on Chandler" in html
    assert uses(trip).keys() & {idle} == set()
    for told in ("UG99", ""):
        asked = ready.member.post(f"{ready.address}/trips/{trip.pk}/why", {"rope": told}, follow=True)
        assert asked.status_code == 200
        assert not told or "No rope is called UG99." in asked.content.decode()


def test_another_plan_is_taken_by_one_press_and_booked_as_it_stands(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    before = uses(trip)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/others")
    work_all()
    trip.refresh_from_db()
    offered = [{use["rope"] for use in each["plan"]["uses"]} for each in trip.asked["others"]]
    assert offered
    assert all(each != set(before) for each in offered)
    text = " ".join(strip_tags(page_of(ready, trip)).split())
    assert all(said in text for said in trip.asked["others"][0]["said"])
    ready.member.post(f"{ready.address}/trips/{trip.pk}/others", {"choose": trip.asked["others"][0]["id"]})
    assert set(uses(trip)) == offered[0]
    book(ready, trip)
    assert booked(ready, trip.name) == offered[0]


def test_a_plan_that_is_no_longer_in_the_list_is_told_and_not_another_taken(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    before = uses(trip)
    answer = ready.member.post(f"{ready.address}/trips/{trip.pk}/others", {"choose": "0"}, follow=True)
    assert "not in the list any more" in answer.content.decode()
    assert uses(trip) == before


def test_bags_and_papers_follow_what_is_booked_while_another_plan_is_tried(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    book(ready, trip)
    held = booked(ready, trip.name)
    kept_home = min(held)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/wish", {"wish": "leave", "rope": kept_home})
    work_all()
    assert kept_home not in uses(trip)
    bags = ready.member.get(f"{ready.address}/trips/{trip.pk}/bags").content.decode()
    assert all(f'value="tallow-hole/{rope}"' in bags for rope in held)
    ready.member.post(f"{ready.address}/trips/{trip.pk}/give-back")
    bags = ready.member.get(f"{ready.address}/trips/{trip.pk}/bags").content.decode()
    assert f'value="tallow-hole/{kept_home}"' not in bags


def test_a_plan_offered_before_the_store_changed_is_not_booked(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    ready.member.post(f"{ready.address}/trips/{trip.pk}/others")
    work_all()
    trip.refresh_from_db()
    offered = trip.asked["others"][0]
    gone = offered["plan"]["uses"][0]["rope"]
    ready.did(SetAside(happened=PartialDate.of(timezone.localdate()), rope=gone, reason="a cut"))
    ready.member.post(f"{ready.address}/trips/{trip.pk}/others", {"choose": offered["id"]})
    book(ready, trip)
    assert booked(ready, trip.name) == set()
    work_all()
    assert gone not in uses(trip)


def test_a_booked_trip_moved_to_other_days_is_not_told_as_booked_for_them(ready: Club) -> None:
    trip = plan(ready, "tallow-hole", name="Saturday")
    book(ready, trip)
    later = FIRST + timedelta(days=14)
    paper = {"routes": ["tallow-hole"], "first_day": later.isoformat(), "party": "4", "name": "Saturday"}
    assert ready.member.post(f"{ready.address}/trips/{trip.pk}/paper", paper).status_code == 302
    work_all()
    html = page_of(ready, trip)
    assert "booked for other days" in html
    assert "Book these instead" in html
    book(ready, trip)
    days = {each.first_day for rope in ready.register().ropes(FIRST) for each in rope.bookings}
    assert days == {later}
    assert "booked for other days" not in page_of(ready, trip)


def test_a_trip_that_is_over_leaves_its_ropes_to_others(ready: Club) -> None:
    """Back before its day, its routes are in no other plan."""
    trip = plan(ready, "tallow-hole", name="Early")
    placed = gone(ready, trip)
    other = plan(ready, "wick-pot", name="Other")
    assert other.planned_for == [[other.pk, "wick-pot"]], "a trip that is under way has its ropes"
    ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told_back(placed))
    third = plan(ready, "wick-pot", name="Third")
    assert {pk for pk, _key in third.planned_for} == {other.pk, third.pk}


def test_what_takes_place_after_all_gives_nobodys_ropes_back(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    ready.member.post(f"{ready.address}/trips/{trip.pk}/call-off", {"off": ""})
    seal = Trip.objects.get(pk=trip.pk).planned_from
    told = ready.member.post(f"{ready.address}/trips/{trip.pk}/book", {"plan": seal}, follow=True)
    assert "Nothing is booked: the trip is called off" in told.content.decode()
    assert booked(ready, trip.name) == set()
    ready.member.post(f"{ready.address}/trips/{trip.pk}/call-off", {})
    book(ready, trip)
    held = booked(ready, trip.name)
    assert held
    ready.competent.post(f"{ready.address}/trips/{trip.pk}/call-off", {})
    assert booked(ready, trip.name) == held


def test_a_trip_that_is_over_cannot_be_called_off_any_more(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    assert "Call the trip off" in page_of(ready, trip)
    Trip.objects.filter(pk=trip.pk).update(over=True)
    assert "Call the trip off" not in page_of(ready, trip)


def test_a_rope_that_is_not_back_yet_stays_out_and_the_trip_goes_on(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    late, here = sorted(placed)
    told = told_back(placed, **{f"{late}-what": "not yet"})
    assert ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told).status_code == 302
    assert ready.rope(late).out_trip == trip.name
    assert not ready.rope(here).out_trip
    assert booked(ready, trip.name) == {late}
    assert not Trip.objects.get(pk=trip.pk).over
    ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told_back({late: placed[late]}))
    assert Trip.objects.get(pk=trip.pk).over


@pytest.mark.parametrize(
    ("what", "typed"),
    [("not used", {"left_over_cm": "2"}), ("not used", {"changed": "x"}), ("not yet", {"damage": "x"})],
)
def test_what_was_typed_of_a_rope_that_did_nothing_is_not_dropped_unsaid(
    ready: Club, what: str, typed: dict[str, str]
) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    rope = next(iter(placed))
    events = len(ready.log())
    told = told_back(placed, **{f"{rope}-what": what}, **{f"{rope}-{name}": value for name, value in typed.items()})
    assert ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told).status_code == 422
    assert len(ready.log()) == events


def test_damage_typed_of_a_rope_taken_back_meanwhile_is_shown_again(ready: Club) -> None:
    trip = plan(ready, "tallow-hole")
    placed = gone(ready, trip)
    rope = next(iter(placed))
    ready.did(Returned(rope=rope, happened=PartialDate.of(timezone.localdate()), clean=True, dry=True))
    told = told_back(placed, **{f"{rope}-damage": "flat spot at 12 m"}) | {"shown": sorted(placed)}
    events = len(ready.log())
    answer = ready.member.post(f"{ready.address}/trips/{trip.pk}/back", told)
    assert answer.status_code == 409
    assert "flat spot at 12 m" in answer.content.decode()
    assert len(ready.log()) == events
    assert not Trip.objects.get(pk=trip.pk).over


def test_ropes_taken_out_under_its_name_in_other_capitals_are_the_trip_s(ready: Club) -> None:
    trip = plan(ready, "tallow-hole", name="Tallow Sunday")
    book(ready, trip)
    numbers = sorted(booked(ready, "Tallow Sunday"))
    for number in numbers:
        ready.did(
            TakenOut(rope=number, happened=PartialDate.of(timezone.localdate()), person="p3", trip=" tallow  SUNDAY ")
        )
    address = f"{ready.address}/trips/{trip.pk}"
    page = page_of(ready, trip)
    assert "Take them out" not in page
    back = ready.member.get(f"{address}/back").content.decode()
    assert all(f'name="shown" value="{number}"' in back for number in numbers)
    today = ready.member.get(ready.address).content.decode()
    assert f"/trips/{trip.pk}" in today
    # Booked again while its ropes are out it is not.
    before = ready.events()
    book(ready, trip)
    assert ready.events() == before


def test_two_trips_are_not_called_the_same_but_for_capitals(ready: Club) -> None:
    plan(ready, "tallow-hole", name="Tallow Sunday")
    told = {"routes": ["tallow-hole"], "first_day": FIRST.isoformat(), "party": "4", "name": "TALLOW  sunday"}
    answer = ready.member.post(f"{ready.address}/trips/new", told)
    assert answer.status_code == 422
    assert "Another trip is called so." in answer.content.decode()
    assert Trip.objects.filter(store=ready.store).count() == 1
