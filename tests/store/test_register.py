"""Recording and asking: what is told, what is refused, what is tried again."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    BookingReleased,
    Bought,
    Cleared,
    Corrected,
    Cut,
    Described,
    Event,
    Inspected,
    LogMovedOn,
    Marked,
    Measured,
    MemoryLog,
    Missed,
    Piece,
    PutIntoService,
    Recorded,
    RecordedAsFound,
    Refused,
    Register,
    Retired,
    Returned,
    RopeEvent,
    SetAside,
    Stocktaken,
    StoreDescribed,
    TakenOut,
    UnknownRope,
    Washed,
)

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
TODAY = date(2026, 11, 25)


def on(text: str) -> PartialDate:
    return PartialDate.fromisoformat(text)


def found(rope: str, **more: object) -> RecordedAsFound:
    values: dict[str, object] = {"length_cm": 4000, "rope_type": "A", "bought": on("2020-05"), **more}
    return RecordedAsFound(rope=rope, happened=on("2026-01-10"), **values)  # type: ignore[arg-type]


def register(*events: Event, log: MemoryLog | None = None) -> Register:
    store = Register(log or MemoryLog())
    store.record_all((StoreDescribed(happened=on("2026"), code="TV", age_limit_years=10), *events), recorded=NOW)
    return store


class Busy(MemoryLog):
    """Somebody else gets in first, once."""

    def __init__(self, *others: Event) -> None:
        super().__init__()
        self.others: Sequence[Event] = others
        self.armed = False

    def append(self, expected_length: int, events: Sequence[Recorded]) -> None:
        if self.armed:
            self.armed = False
            super().append(len(self.read()), [Recorded(each, NOW) for each in self.others])
        super().append(expected_length, events)


def test_a_rope_as_found_is_ready_with_a_finding() -> None:
    rope = register(found("TV1")).rope("TV1", TODAY)
    assert rope.usable
    assert [each.code for each in rope.findings] == ["never-measured"]


def test_a_fact_is_recorded_and_its_doubt_told() -> None:
    store = register(found("TV1"))
    told = store.record(Measured(rope="TV1", happened=on("2026-02"), length_cm=5000), recorded=NOW)
    assert [each.code for each in told] == ["longer-than-before"]
    assert store.rope("TV1", TODAY).doubted_cm == 5000


def test_a_fact_about_an_unknown_rope_is_kept_and_doubted() -> None:
    store = register()
    told = store.record(Washed(rope="TV9", happened=on("2026-02")), recorded=NOW)
    assert [each.code for each in told] == ["unknown-rope"]
    assert not store.rope("TV9", TODAY).usable


def test_a_date_yet_to_come_is_doubted() -> None:
    told = register(found("TV1")).record(Washed(rope="TV1", happened=on("2027-02")), recorded=NOW)
    assert [each.code for each in told] == ["not-yet"]


def test_asking_for_a_rope_that_is_not_there_names_the_nearest() -> None:
    store = register(found("TV41"), found("TV2"))
    assert store.rope("41", TODAY).id == store.rope("tv 41", TODAY).id == "TV41"
    with pytest.raises(UnknownRope, match="TV41"):
        store.rope("TV14", TODAY)


def test_putting_into_service_is_refused_with_all_that_is_missing() -> None:
    store = register(Bought(rope="TV1", happened=on("2026-02"), length_cm=5000))
    into_service = PutIntoService(rope="TV1", happened=on("2026-03"))
    with pytest.raises(Refused) as refused:
        store.record(into_service, recorded=NOW)
    assert len(refused.value.missing) == 2
    assert len(store) == 2
    store.record(Measured(rope="TV1", happened=on("2026-02-20"), length_cm=4600), recorded=NOW)
    store.record(Marked(rope="TV1", happened=on("2026-02-20"), length_m=47), recorded=NOW)
    with pytest.raises(Refused, match="mark says 47 m but it measures 46 m"):
        store.record(into_service, recorded=NOW)
    store.record(Marked(rope="TV1", happened=on("2026-02-21"), length_m=46), recorded=NOW)
    assert [each.code for each in store.record(into_service, recorded=NOW)] == ["not-washed"]
    assert store.rope("TV1", TODAY).state == "ready"


def test_clearing_needs_a_named_person_who_says_what_they_found() -> None:
    store = register(found("TV1"), SetAside(rope="TV1", happened=on("2026-02-01"), reason="furry"))
    with pytest.raises(Refused) as refused:
        store.record(Cleared(rope="TV1", happened=on("2026-02-02")), recorded=NOW)
    assert len(refused.value.missing) == 2
    store.record(Inspected(rope="TV1", happened=on("2026-02-02"), outcome="not fit"), recorded=NOW)
    cleared = Cleared(rope="TV1", happened=on("2026-02-03"), person="p1", findings="looks well")
    with pytest.raises(Refused, match="not fit"):
        store.record(cleared, recorded=NOW)


def booked(first: str, last: str) -> Booked:
    return Booked(
        rope="TV1", happened=on("2026-11-20"), first_day=date.fromisoformat(first), last_day=date.fromisoformat(last)
    )


def test_a_rope_is_booked_once_for_a_day() -> None:
    store = register(found("TV1"))
    store.record(booked("2026-12-05", "2026-12-06"), recorded=NOW)
    with pytest.raises(Refused, match="booked 5 to 6 Dec 2026"):
        store.record(booked("2026-12-06", "2026-12-07"), recorded=NOW)
    store.record(booked("2026-12-07", "2026-12-08"), recorded=NOW)
    assert "booked" in (store.rope("TV1", TODAY).why_not_on(date(2026, 12, 6), date(2026, 12, 6)) or "")
    store.record(BookingReleased(rope="TV1", happened=on("2026-11-21"), booking=2), recorded=NOW)
    store.record(booked("2026-12-05", "2026-12-06"), recorded=NOW)


def test_several_events_are_recorded_all_or_none() -> None:
    store = register(found("TV1"))
    with pytest.raises(Refused):
        store.record_all(
            [Washed(rope="TV1", happened=on("2026-03")), PutIntoService(rope="TV1", happened=on("2026-03"))],
            recorded=NOW,
        )
    assert len(store) == 2


def test_a_fact_is_tried_again_when_the_log_moved_on() -> None:
    log = Busy(Washed(rope="TV1", happened=on("2026-05")))
    store = register(found("TV1"), log=log)
    log.armed = True
    store.record(Measured(rope="TV1", happened=on("2026-06"), length_cm=3900), recorded=NOW)
    assert [each.event for each in log.read()[2:]] == [
        Washed(rope="TV1", happened=on("2026-05")),
        Measured(rope="TV1", happened=on("2026-06"), length_cm=3900),
    ]


def test_a_booking_is_told_only_when_its_own_rope_moved() -> None:
    log = Busy(Washed(rope="TV2", happened=on("2026-05")))
    store = register(found("TV1"), found("TV2"), log=log)
    log.armed = True
    store.record(booked("2026-12-05", "2026-12-06"), recorded=NOW)
    log.others, log.armed = (TakenOut(rope="TV1", happened=on("2026-11-24")),), True
    with pytest.raises(LogMovedOn, match="about TV1"):
        store.record(booked("2026-12-12", "2026-12-13"), recorded=NOW)


def test_two_keepers_never_get_one_number() -> None:
    log = Busy(Bought(rope="TV2", happened=on("2026-11"), length_cm=3000))
    store = register(found("TV1"), log=log)
    log.armed = True
    ids, _ = store.record_new(
        1, lambda ids: [Bought(rope=ids[0], happened=on("2026-11"), length_cm=4000)], recorded=NOW
    )
    assert ids == ("TV3",)


def test_a_number_struck_out_is_not_given_again() -> None:
    store = register(found("TV1"), found("TV2"))
    store.record(Corrected(happened=on("2026-11"), event=2, reason="no such rope"), recorded=NOW)
    assert [each.id for each in store.ropes(TODAY)] == ["TV1"]
    assert store.next_rope_ids(1) == ("TV3",)


def test_age_is_weighed_on_the_sooner_of_two_limits() -> None:
    store = register(found("TV1", bought=on("2015-05")), found("TV2", bought=on("2021"), age_limit_years=5))
    old, perhaps = store.ropes(TODAY)
    assert old.why_not == "over its age limit of 10 years since 2025"
    # Bought some time in 2021: five years may or may not be over in November 2026.
    assert perhaps.usable
    assert "perhaps-over-age" in [each.code for each in perhaps.findings]


@pytest.mark.parametrize("limit", [None, 10])
def test_an_unknown_age_is_told_until_somebody_finds_it(limit: int | None) -> None:
    store = Register(MemoryLog())
    described = StoreDescribed(happened=on("2026"), code="TV", age_limit_years=limit)
    store.record_all((described, found("TV1", bought=None)), recorded=NOW)
    rope = store.rope("TV1", date(2036, 1, 1))
    told = next(each for each in rope.findings if each.code == "age-unknown")
    assert told.message.startswith("Its age is not known")
    assert "year_made" in told.way_out
    assert ("age limit of 10 years" in told.message) == (limit == 10)
    assert "find its age" in [each.what for each in store.to_do(TODAY)]
    store.record(Described(rope="TV1", happened=on("2026-11-25"), year_made=2012), recorded=NOW)
    rope = store.rope("TV1", TODAY)
    assert "age-unknown" not in [each.code for each in rope.findings]
    assert (rope.over_age is not None) == (limit == 10)


def test_a_mark_that_says_more_than_the_rope_has_is_told_until_it_is_mended() -> None:
    store = register(found("TV1"), Marked(rope="TV1", happened=on("2026-02"), length_m=40))
    store.record(Measured(rope="TV1", happened=on("2026-03"), length_cm=3890), recorded=NOW)
    assert "mark it anew" in [each.what for each in store.to_do(TODAY)]
    store.record(Marked(rope="TV1", happened=on("2026-04"), length_m=38), recorded=NOW)
    assert store.to_do(TODAY) == ()


def test_a_mark_a_few_centimetres_too_long_is_told_at_once() -> None:
    store = register(found("TV1"))
    store.record(Measured(rope="TV1", happened=on("2026-03"), length_cm=3940), recorded=NOW)
    told = store.record(Marked(rope="TV1", happened=on("2026-03"), length_m=40), recorded=NOW)
    assert [(each.code, each.message) for each in told] == [
        ("mark-overstates", "Its mark says 40 m but it has 39.4 m.")
    ]
    # And again when the same slip is made again.
    assert store.record(Marked(rope="TV1", happened=on("2026-03"), length_m=40), recorded=NOW) == told


@pytest.mark.parametrize(
    "taken_away",
    [
        Retired(rope="TV1", happened=on("2026-11"), reason="worn sheath"),
        SetAside(rope="TV1", happened=on("2026-11"), reason="flat spot"),
        Missed(rope="TV1", happened=on("2026-11")),
        Cut(rope="TV1", happened=on("2026-11"), into=(Piece(rope="TV2", length_cm=900),)),
    ],
    ids=lambda event: type(event).__name__,
)
def test_a_trip_that_counted_on_a_rope_nobody_may_take_any_more_is_named_at_once(taken_away: RopeEvent) -> None:
    def told(*bookings: Booked) -> list[tuple[str, str]]:
        store = register(found("TV1"), *bookings)
        found_now = store.record(taken_away, recorded=NOW)
        return [(each.message, each.way_out) for each in found_now if each.code == "booked-no-more"]

    ahead = replace(booked("2027-12-04", "2027-12-05"), trip="Great Marrowgill")
    assert told(ahead) == [
        ("It was booked 4 to 5 Dec 2027, Great Marrowgill.", "Choose another rope for that trip."),
    ]
    assert told() == told(booked("2025-12-04", "2025-12-05")) == []


def test_a_stocktake_that_sees_what_cannot_be_on_the_rack_is_told_at_once() -> None:
    store = register(found("TV1"), Retired(rope="TV1", happened=on("2026-02"), reason="worn"), found("TV2"))
    told = store.record(Stocktaken(happened=on("2026-09-01"), seen=("TV1", "TV2", "TV3")), recorded=NOW)
    assert [(each.where, each.code) for each in told] == [("rope TV1", "seen-on-rack"), ("rope TV3", "unknown-rope")]
    assert "Take it off the rack" in told[0].way_out


def test_what_a_retired_rope_is_refused_is_refused_for_good() -> None:
    store = register(found("TV1", condition="retired"))
    with pytest.raises(Refused) as refused:
        store.record(booked("2026-12-05", "2026-12-06"), recorded=NOW)
    told = "Rope TV1 cannot be booked:\n  – it is retired before this record began; that is final"
    assert str(refused.value) == told


def test_what_a_stocktake_did_not_see_is_told() -> None:
    store = register(found("TV1"), found("TV2"), Stocktaken(happened=on("2026-09-01"), seen=("TV1",)))
    codes = {each.id: [finding.code for finding in each.findings] for each in store.ropes(TODAY)}
    assert "not-seen" in codes["TV2"]
    assert "not-seen" not in codes["TV1"]


def test_lineage_runs_from_the_reel_to_the_piece() -> None:
    store = register(
        Bought(rope="TV1", happened=on("2026-01"), length_cm=20000),
        Cut(rope="TV1", happened=on("2026-02"), into=(Piece(rope="TV2", length_cm=9000),)),
        Cut(rope="TV2", happened=on("2026-03"), into=(Piece(rope="TV3", length_cm=4000),)),
    )
    assert store.lineage("TV3", TODAY) == ("TV1", "TV2", "TV3")
    assert [each.number for each in store.events("TV3")] == [1, 2, 3]


def test_each_piece_of_a_rope_cut_longer_than_it_was_is_doubted_until_it_is_measured() -> None:
    log = MemoryLog()
    register = Register(log)
    day = PartialDate(2026, 1, 5)
    pieces = (Piece(rope="TV2", length_cm=1200), Piece(rope="TV3", length_cm=8000))
    moment = datetime(2026, 1, 5, 9, tzinfo=UTC)
    register.record_all(
        (Bought(rope="TV1", happened=day, length_cm=2100), Cut(rope="TV1", happened=day, into=pieces)), recorded=moment
    )

    def doubted(rope: str) -> bool:
        return "pieces-too-long" in [each.code for each in register.rope(rope, date(2026, 2, 1)).findings]

    assert doubted("TV2")
    assert doubted("TV3")
    register.record(Measured(rope="TV2", happened=day, length_cm=1190), recorded=moment)
    assert not doubted("TV2")
    assert doubted("TV3")


def test_a_length_that_none_of_its_counts_says_is_doubted() -> None:
    register = Register(MemoryLog())
    day, moment = PartialDate(2026, 1, 5), datetime(2026, 1, 5, 9, tzinfo=UTC)
    register.record(Bought(rope="TV1", happened=day, length_cm=4000), recorded=moment)
    wrong = Measured(rope="TV1", happened=day, length_cm=3610, counts_cm=(3710, 3712))
    assert "length-not-counted" in [each.code for each in register.record(wrong, recorded=moment)]
    right = Measured(rope="TV1", happened=day, length_cm=3710, counts_cm=(3710, 3712))
    assert "length-not-counted" not in [each.code for each in register.record(right, recorded=moment)]


def test_a_rope_retired_while_somebody_has_it_is_to_be_fetched_back() -> None:
    register = Register(MemoryLog())
    day, moment = PartialDate(2026, 1, 5), datetime(2026, 1, 5, 9, tzinfo=UTC)
    register.record(Bought(rope="TV1", happened=day, length_cm=4000), recorded=moment)
    register.record(TakenOut(rope="TV1", happened=day, person="p3"), recorded=moment)
    found = register.record(Retired(rope="TV1", happened=day, reason="worn"), recorded=moment)
    assert [each.code for each in found] == ["retired-while-out"]
    register.record(Bought(rope="TV2", happened=day, length_cm=4000), recorded=moment)
    assert register.record(Retired(rope="TV2", happened=day, reason="worn"), recorded=moment) == ()


def test_a_rope_retired_while_somebody_has_it_waits_to_be_fetched_back_until_it_is() -> None:
    store = register(
        found("TV1"),
        TakenOut(rope="TV1", happened=on("2026-04"), person="p3"),
        Retired(rope="TV1", happened=on("2026-05"), reason="recalled"),
    )
    assert [(each.rope, each.what) for each in store.to_do(TODAY)] == [("TV1", "fetch it back")]
    assert "retired-while-out" in {each.code for each in store.rope("TV1", TODAY).findings}
    assert store.record(Returned(rope="TV1", happened=on("2026-06")), recorded=NOW) == ()
    back = store.rope("TV1", TODAY)
    assert (back.state, back.findings, back.with_somebody) == ("retired", (), False)
    assert store.to_do(TODAY) == ()


def test_a_correction_that_leaves_a_length_on_no_count_is_told_at_once() -> None:
    counted = Measured(rope="TV1", happened=on("2026-03"), length_cm=3940, counts_cm=(3940, 3942))
    store = register(found("TV1"), counted)
    number = len(store) - 1
    wrong = Measured(rope="TV1", happened=on("2026-03"), length_cm=3490, counts_cm=(3940, 3942))
    slip = Corrected(happened=on("2026-04"), event=number, reason="misread", replacement=wrong)
    assert "length-not-counted" in {each.code for each in store.record(slip, recorded=NOW)}
    right = Corrected(happened=on("2026-04"), event=number, reason="misread again", replacement=counted)
    assert store.record(right, recorded=NOW) == ()


def test_what_a_struck_out_entry_leaves_odd_is_told_at_once() -> None:
    store = register(
        found("TV1"), TakenOut(rope="TV1", happened=on("2026-04")), Returned(rope="TV1", happened=on("2026-05"))
    )
    struck = Corrected(happened=on("2026-06"), event=len(store) - 2, reason="another rope")
    assert [each.code for each in store.record(struck, recorded=NOW)] == ["never-taken"]


def test_corrections_that_speak_of_each_other_are_told_without_end() -> None:
    store = register(found("TV1"))
    first, second = len(store), len(store) + 1
    both = [Corrected(happened=on("2026-06"), event=each, reason="a slip") for each in (second, first)]
    assert "no-such-event" in {each.code for each in store.record_all(both, recorded=NOW)}
