"""Lengths people write.

Exact factors: international yard and pound agreement of 1959 (1 yd = 0.9144 m, 1 ft = 0.3048 m, 1 in = 25.4 mm),
as in NIST Special Publication 811 (2008), appendix B.8 (values from memory of the agreement; exact by definition).
"""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import METRES_IN, label_m, measured_cm, need_cm, read_length, show_metres


@pytest.mark.parametrize(
    ("written", "centimetres"),
    [
        ("45", 4500),
        ("45 m", 4500),
        ("45m", 4500),
        ("45 metres", 4500),
        ("148ft", 4511),  # 148 × 30.48 = 4511.04
        ("50 yd", 4572),  # 50 × 91.44
        ("12,5m", 1250),
        ("12.5 m", 1250),
        ("98' 6\"", 3002),  # 98 × 30.48 + 6 × 2.54 = 3002.28
        ("98’ 6”", 3002),
        ("150'", 4572),
        ("5 ft 6 in", 167),  # 167.64
        ("0.125", 12),
        ("30 m 50", 3050),
        ("30m 5cm", 3005),
        ("850 cm", 850),
        ("1000", 100000),
    ],
)
def test_a_length_written_by_hand_becomes_whole_centimetres_rounded_down(written: str, centimetres: int) -> None:
    reading = read_length(written)
    assert (reading.length_cm, reading.findings) == (centimetres, ())


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("30/40", "length-ambiguous"),
        ("30 or 40", "length-ambiguous"),
        ("30-40 m", "length-ambiguous"),
        ("30 + 20", "length-ambiguous"),
        ("1,250", "length-ambiguous"),
        ("1.250,5", "length-ambiguous"),
        ("30m5", "length-ambiguous"),
        ("", "length-missing"),
        ("long one", "length-unreadable"),
        ("40 ells", "length-unit-unknown"),
        ("0", "length-not-positive"),
        ("0.009 m", "length-too-short"),
        ("0,03 ft", "length-too-short"),
        ("-3 m", "length-unreadable"),
        ("999999999 m", "length-too-long"),
    ],
)
def test_a_length_that_could_mean_two_things_is_a_finding_and_never_a_guess(written: str, code: str) -> None:
    reading = read_length(written, where="row 14, column Length")
    assert reading.length_cm is None
    assert [finding.code for finding in reading.findings] == [code]
    assert reading.findings[0].where == "row 14, column Length"
    assert reading.findings[0].way_out


def test_a_need_is_rounded_up_where_a_measured_length_is_rounded_down() -> None:
    assert read_length("148ft", need=True).length_cm == 4512
    assert (need_cm(28.351), measured_cm(28.359)) == (2836, 2835)


def test_a_yard_is_exactly_0_9144_metres_and_three_feet() -> None:
    assert METRES_IN["yd"] == Fraction("0.9144") == 3 * METRES_IN["ft"]


@given(st.integers(1, 10_000_000))
def test_whole_centimetres_survive_both_roundings_and_being_written_down(length_cm: int) -> None:
    assert need_cm(length_cm / 100) == measured_cm(length_cm / 100) == length_cm
    assert read_length(f"{show_metres(length_cm)} m").length_cm == length_cm


@given(st.floats(0, 1e5))
def test_rounding_moves_a_length_by_less_than_a_centimetre_and_to_its_own_side(length_m: float) -> None:
    assert measured_cm(length_m) <= length_m * 100 + 2e-6
    assert need_cm(length_m) >= length_m * 100 - 2e-6
    assert 0 <= need_cm(length_m) - measured_cm(length_m) <= 1


@given(st.text())
def test_any_text_gives_a_length_or_a_reason(text: str) -> None:
    reading = read_length(text)
    assert (reading.length_cm is None) == bool(reading.findings)


@pytest.mark.parametrize("endless", [math.nan, math.inf, -math.inf])
def test_a_length_that_is_no_number_is_an_error(endless: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        need_cm(endless)


@pytest.mark.parametrize(
    "written", ["20m, 25m", "20m,25m", "15m+20m", "20m and 25m", "20 m & 25 m", "60ft; 70ft", "20, 25", "20' + 25'"]
)
def test_two_lengths_in_one_cell_are_two_ropes_to_be_split(written: str) -> None:
    reading = read_length(written)
    assert reading.length_cm is None
    assert [each.code for each in reading.findings] == ["length-ambiguous"]
    assert "could be two ropes: split the row" in reading.findings[0].message


@pytest.mark.parametrize("written", ["30m/40m", "30m - 40m", "30m or 40m"])
def test_a_range_or_choice_is_seen_with_its_units_too(written: str) -> None:
    assert [each.code for each in read_length(written).findings] == ["length-ambiguous"]


@pytest.mark.parametrize(("centimetres", "shown"), [(-150, "-1.5"), (-5, "-0.05"), (-200, "-2"), (-1, "-0.01")])
def test_what_is_short_is_shown_with_its_own_metres(centimetres: int, shown: str) -> None:
    assert show_metres(centimetres) == shown


@given(st.integers(200, 30_000), st.integers(0, 30))
def test_a_mark_never_says_more_metres_than_the_rope_has(length_cm: int, keeps_back: int) -> None:
    said = label_m(length_cm, keeps_back)
    assert said * 10_000 <= length_cm * (100 - keeps_back) < (said + 1) * 10_000


def test_a_rope_too_short_for_a_mark_is_said_to_be() -> None:
    with pytest.raises(ValueError, match=r"0\.99 m is too short"):
        label_m(99)
    with pytest.raises(ValueError, match="0 to 30"):
        label_m(3000, 31)
