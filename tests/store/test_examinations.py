"""When a rope must be examined next, when it leaves service, and a maker's recall."""

from datetime import UTC, date, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Cut,
    Described,
    Event,
    Inspected,
    Marked,
    Measured,
    MemoryLog,
    Piece,
    PutIntoService,
    Recorded,
    RecordedAsFound,
    Register,
    Retired,
    RopeState,
    StoreDescribed,
    examination_due,
    leaves_on,
    leaving,
    months_on,
)

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
ON = date(2026, 11, 25)


def register(*events: Event, months: int | None = None, years: int | None = None) -> Register:
    described = StoreDescribed(happened=PartialDate(2020), code="TV", inspection_months=months, age_limit_years=years)
    return Register(MemoryLog([Recorded(each, NOW, "p1") for each in (described, *events)]))


def bought(rope: str = "TV1", **specified: object) -> Bought:
    return Bought(rope=rope, happened=PartialDate(2024, 3, 10), length_cm=5000, **specified)  # type: ignore[arg-type]


class TestTheCalendarMonthsOfAnExamination:
    """Six months under LOLER regulation 9(3)(a)(i), twelve by EN 365 practice: calendar months (figures with their
    sources in docs/glossary.md); the end of a shorter month counts where the day does not exist."""

    @pytest.mark.parametrize(
        ("day", "months", "due"),
        [
            (date(2026, 3, 14), 6, date(2026, 9, 14)),
            (date(2026, 8, 31), 6, date(2027, 2, 28)),
            (date(2027, 8, 31), 6, date(2028, 2, 29)),
            (date(2026, 12, 1), 12, date(2027, 12, 1)),
            (date(2024, 2, 29), 12, date(2025, 2, 28)),
            (date(2026, 6, 15), 6, date(2026, 12, 15)),
            (date(2026, 7, 15), 6, date(2027, 1, 15)),
        ],
    )
    def test_months_are_calendar_months(self, day: date, months: int, due: date) -> None:
        assert months_on(day, months) == due

    def test_what_the_competent_person_wrote_goes_before_the_stores_interval(self) -> None:
        examined = Inspected(rope="TV1", happened=PartialDate(2026, 1, 5), outcome="fit", next_due=PartialDate(2026, 4))
        assert register(bought(), examined, months=12).rope("TV1", ON).inspection_due == date(2026, 4, 30)

    def test_the_interval_counts_from_the_last_examination(self) -> None:
        examined = [Inspected(rope="TV1", happened=PartialDate(2026, month, 5), outcome="fit") for month in (1, 7)]
        assert register(bought(), *examined, months=6).rope("TV1", ON).inspection_due == date(2027, 1, 5)

    def test_a_rope_never_examined_counts_from_going_into_service(self) -> None:
        state = RopeState("TV1", born=True, since=PartialDate(2026, 2), bought=PartialDate(2024))
        assert examination_due(state, 6) == date(2026, 8, 1)

    def test_without_an_interval_or_on_a_shelf_nothing_is_due(self) -> None:
        assert register(bought()).rope("TV1", ON).inspection_due is None
        assert register(bought(), months=6).rope("TV1", ON).inspection_due is None

    def test_a_rope_found_in_service_without_a_date_counts_from_when_it_was_written_down(self) -> None:
        found = RecordedAsFound(rope="TV1", happened=PartialDate(2026, 3, 1), length_cm=3000)
        assert register(found, months=6).rope("TV1", ON).inspection_due == date(2026, 9, 1)
        unused = RecordedAsFound(rope="TV1", happened=PartialDate(2026, 3, 1), condition="in preparation")
        assert register(unused, months=6).rope("TV1", ON).inspection_due is None

    def test_what_is_due_up_to_a_day_is_told_the_longest_overdue_first(self) -> None:
        ropes = [bought(f"TV{number}") for number in (1, 2, 3, 4)]
        examined = [
            Inspected(rope=f"TV{number}", happened=PartialDate(2026, month, 25), outcome="fit")
            for number, month in ((1, 6), (2, 1), (3, 7), (4, 4))
        ]
        retired = Retired(rope="TV4", happened=PartialDate(2026, 5, 1), reason="worn")
        store = register(*ropes, *examined, retired, months=6)
        assert [each.id for each in store.due(ON, date(2026, 12, 25))] == ["TV2", "TV1"]
        assert [each.id for each in store.due(ON, date(2027, 1, 25))] == ["TV2", "TV1", "TV3"]

    def test_a_rope_past_its_day_is_doubted_and_waits(self) -> None:
        examined = Inspected(rope="TV1", happened=PartialDate(2026, 1, 5), outcome="fit")
        store = register(bought(), examined, months=6)
        told = [each.message for each in store.rope("TV1", ON).findings if each.code == "inspection-due"]
        assert told == ["Its inspection was due 5 Jul 2026."]
        assert ("TV1", "inspect") in [(each.rope, each.what) for each in store.to_do(ON)]
        assert "inspection-due" not in [each.code for each in store.rope("TV1", date(2026, 7, 5)).findings]


class TestTheLastDayOfService:
    def test_the_sooner_of_two_limits_counts(self) -> None:
        state = RopeState("TV1", born=True, bought=PartialDate(2020, 5, 3), age_limit_years=8)
        assert leaves_on(state, 10) == date(2028, 5, 3)
        assert leaves_on(state, 5) == date(2025, 5, 3)
        assert leaves_on(state, None) == date(2028, 5, 3)

    def test_each_year_names_the_ropes_that_leave_in_it_with_their_metres(self) -> None:
        ropes = [
            RopeState("TV1", born=True, bought=PartialDate(2017, 3), length_cm=4250),
            RopeState("TV2", born=True, bought=PartialDate(2010), length_cm=3000),
            RopeState("TV3", born=True, year_made=2018, length_cm=2000),
            RopeState("TV4", born=True, year_made=2018),
            RopeState("TV5", born=True, year_made=2010, length_cm=3000, retired="worn"),
            RopeState("TV6", born=True, length_cm=3000),
            RopeState("TV7", born=True, year_made=2020, length_cm=3000),
        ]
        years = leaving(ropes, 10, ON, 3)
        assert [(each.year, [rope.id for rope in each.ropes], each.length_cm) for each in years] == [
            (2026, ["TV2"], 3000),
            (2027, ["TV1"], 4250),
            (2028, ["TV3", "TV4"], 2000),
            (2029, [], 0),
        ]

    def test_it_agrees_with_the_finding(self) -> None:
        store = register(bought(year_made=2016), years=10)
        state = store.rope("TV1", ON)
        last = leaves_on(state, 10)
        assert last == date(2026, 12, 31)
        assert "over-age" not in [each.code for each in store.rope("TV1", last).findings]
        assert "over-age" in [each.code for each in store.rope("TV1", date(2027, 1, 1)).findings]

    def test_what_is_not_known_or_retired_has_none(self) -> None:
        assert leaves_on(RopeState("TV1", born=True), 10) is None
        assert leaves_on(RopeState("TV1", born=True, year_made=2016), None) is None
        assert leaves_on(RopeState("TV1", born=True, year_made=2016, retired="worn"), 10) is None


class TestARecall:
    def cut(self, rope: str, *pieces: str) -> Cut:
        into = tuple(Piece(rope=each, length_cm=1000) for each in pieces)
        return Cut(rope=rope, happened=PartialDate(2024, 4, 1), into=into)

    def test_every_piece_of_the_batch_is_found_through_the_cuts(self) -> None:
        store = register(
            bought("TV1", maker="Maker A", batch="B 7"), self.cut("TV1", "TV2", "TV3"), self.cut("TV3", "TV4", "TV5"),
            bought("TV6", maker="Maker A", batch="B8"),
        )  # fmt: skip
        assert store.recall(maker="maker a", batch="b7", on=ON) == ("TV2", "TV4", "TV5")

    def test_a_batch_written_on_the_reel_only_after_it_was_cut_still_finds_the_pieces(self) -> None:
        later = Described(rope="TV1", happened=PartialDate(2025, 1, 1), batch="B7")
        store = register(bought("TV1"), self.cut("TV1", "TV2", "TV3"), later)
        assert store.recall(batch="B7", on=ON) == ("TV2", "TV3")

    def test_what_the_notice_names_may_be_known_of_the_reel_in_part_and_of_the_piece_in_part(self) -> None:
        store = register(
            bought("TV1"), self.cut("TV1", "TV2", "TV3"),
            Described(rope="TV1", happened=PartialDate(2025, 1, 1), batch="B7"),
            Described(rope="TV2", happened=PartialDate(2025, 1, 1), maker="Maker A"),
            Described(rope="TV3", happened=PartialDate(2025, 1, 1), maker="Maker B"),
        )  # fmt: skip
        assert store.recall(maker="Maker A", batch="B7", on=ON) == ("TV2",)

    def test_retired_ropes_are_left_out_and_ropes_in_service_are_not(self) -> None:
        store = register(
            bought("TV1", batch="B7"), bought("TV2", batch="B7"),
            PutIntoService(rope="TV2", happened=PartialDate(2025)),
            Retired(rope="TV1", happened=PartialDate(2025), reason="worn"),
        )  # fmt: skip
        assert store.recall(batch="B7", on=ON) == ("TV2",)

    def test_nothing_asked_is_not_everything(self) -> None:
        with pytest.raises(ValueError, match="say a maker"):
            register(bought("TV1")).recall(on=ON)
        assert register(bought("TV1", maker="Maker A")).recall(batch="B7", on=ON) == ()


def test_an_old_rope_put_back_into_service_has_served_since_it_was_bought() -> None:
    found = RecordedAsFound(
        rope="TV1", happened=PartialDate(2026, 11, 1), length_cm=3000, condition="in preparation",
        bought=PartialDate(2022),
    )  # fmt: skip
    day = PartialDate(2026, 11, 2)
    made_ready = (
        Measured(rope="TV1", happened=day, length_cm=2900),
        Marked(rope="TV1", happened=day, length_m=29),
        PutIntoService(rope="TV1", happened=day),
    )
    state = register(found, *made_ready, months=12).rope("TV1", ON)
    assert state.state == "ready"
    assert state.since == PartialDate(2022)
    # Never examined here, in use for years: it is due, not due a year after it was written down.
    assert state.inspection_due == date(2023, 1, 1)
