"""What a rope should weigh, and when its weight is an alarm."""

from datetime import UTC, datetime

from tethera.basics import PartialDate
from tethera.store import Bought, Cut, Described, Event, Measured, MemoryLog, Piece, Register, Weighed, Weight, weight

DAY = PartialDate(2024, 5, 3)


def weighed(*events: Event, rope: str = "UG1") -> Weight | None:
    register = Register(MemoryLog())
    register.record_all(events, recorded=datetime(2024, 9, 1, tzinfo=UTC))
    state = register.rope(rope, datetime(2024, 9, 1, tzinfo=UTC).date())
    return weight(state, (each.event for each in register.events(rope)))


BOUGHT = Bought(rope="UG1", happened=DAY, length_cm=5000, diameter_mm=10.0)
MEASURED = Measured(rope="UG1", happened=DAY, length_cm=5000)


def test_a_rope_nobody_weighed_weighs_what_its_diameter_usually_does() -> None:
    # 67 g/m for 10 mm: rope/tables/mass.toml.
    assert weighed(BOUGHT) == Weight(3350, 67.0, "usual")


def test_nothing_tells_the_weight_of_a_rope_of_unknown_diameter() -> None:
    assert weighed(Bought(rope="UG1", happened=DAY, length_cm=5000)) is None


def test_weighed_when_measured_its_own_metres_are_known() -> None:
    told = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=3200))
    assert told is not None
    assert (told.mass_g, told.g_per_m, told.by, told.astray) == (3200, 64.0, "weighed", False)
    assert told.speaks_for_cm == 4776  # 3,200 g of 67 g/m, as usual for 10 mm


def test_a_first_weighing_that_no_rope_of_its_diameter_has_is_an_alarm() -> None:
    told = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=2600))
    assert told is not None
    assert (told.speaks_for_cm, told.astray) == (3881, True)


def test_a_rope_that_shrank_weighs_more_a_metre_than_declared_and_that_is_no_alarm() -> None:
    described = Described(rope="UG1", happened=DAY, mass_g_per_m=64.0)
    # 55.5 m of new rope became 50 m; 65 m cannot have.
    for metres, alarm in ((55.5, False), (65, True)):
        told = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=round(metres * 64)), described)
        assert told is not None
        assert told.astray is alarm


def test_six_metres_less_than_the_declared_mass_speaks_for_are_an_alarm_and_four_are_not() -> None:
    described = Described(rope="UG1", happened=PartialDate(2024, 6), mass_g_per_m=64.0)
    for metres, alarm in ((44, True), (46, False)):
        told = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=metres * 64), described)
        assert told is not None
        assert (told.by, told.speaks_for_cm, told.astray) == ("declared", metres * 100, alarm)


def test_a_usual_mass_alarms_only_beyond_its_own_doubt() -> None:
    for metres, alarm in ((43, False), (40, True)):  # 5 m and 7 % of 43 m make 8 m
        told = weighed(BOUGHT, Weighed(rope="UG1", happened=DAY, mass_g=metres * 67))
        assert told is not None
        assert (told.by, told.astray) == ("usual", alarm)


def test_damp_rope_says_nothing_and_a_piece_is_not_judged_by_its_parents_weighing() -> None:
    wet = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=5000, dry=False))
    assert wet is not None
    assert wet.last_g is None
    cut = Cut(rope="UG1", happened=PartialDate(2024, 6), into=(Piece(rope="UG2", length_cm=2000),))
    piece = weighed(BOUGHT, MEASURED, Weighed(rope="UG1", happened=DAY, mass_g=3200), cut, rope="UG2")
    assert piece == Weight(1280, 64.0, "weighed")
