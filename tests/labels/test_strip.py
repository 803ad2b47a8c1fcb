"""The strip for a rope's end: what it says, how often, and that it can be read from every side."""

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.labels import EndMark, NoMark, end_marks
from tethera.labels.strip import Item, Strip, around_mm, sheet_strip, tape_pieces
from tethera.store import RopeState, StoreDescribed

ON = date(2026, 11, 25)
RULES = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarth Caving Club")
ROPE = RopeState("UG41", 3040, "measured", diameter_mm=9.0, rope_type="A", since=PartialDate(2026, 9))

numbers = st.from_regex(r"\A[A-Z]{1,5}[0-9]{1,5}\Z")
marks = st.builds(
    EndMark,
    rope=numbers,
    length_m=st.integers(1, 400),
    kind=st.sampled_from(["", "9 mm", "10.5 mm type A", "8 mm accessory cord"]),
    kind_short=st.sampled_from(["9 mm", "10.5 A"]),
    since=st.sampled_from(["", "in service Sep 2026", "in service 2019"]),
    since_short=st.sampled_from(["09/2026", "2019"]),
    owner=st.sampled_from(["", "Ulvergarth", "Ulvergarth Caving Club"]),
    owner_short=st.sampled_from(["UCC", "Ulvergarth"]),
    end=st.sampled_from(["", "A", "B"]),
)
diameters = st.floats(7.0, 13.0)


def seen_whole(item: Item, strip: Strip, looked_from_mm: float) -> bool:
    """Whether a copy lies whole within 60 degrees either side of the line of sight, which meets the strip there."""
    third = strip.around_mm / 3
    for top in item.tops:
        # Round the rope the strip begins again.
        for turn in (-strip.around_mm, 0.0, strip.around_mm):
            above, below = top + turn, top + turn + item.height
            if above >= looked_from_mm - third / 2 - 1e-9 and below <= looked_from_mm + third / 2 + 1e-9:
                return True
    return False


@given(marks, diameters, st.floats(0.0, 1.0))
def test_every_word_stands_whole_on_the_side_one_looks_at(mark: EndMark, diameter_mm: float, share: float) -> None:
    for strip in (sheet_strip(mark, diameter_mm, 281.0), *tape_pieces(mark, diameter_mm, 24)[:-1]):
        for item in strip.items:
            if item.what in ("length", "words"):
                assert seen_whole(item, strip, share * strip.around_mm), item.says


@given(marks, diameters)
def test_the_strip_says_the_length_the_number_and_all_that_is_known(mark: EndMark, diameter_mm: float) -> None:
    said = " ".join(" ".join(item.says) for item in sheet_strip(mark, diameter_mm, 281.0).items)
    assert f"{mark.length_m}\u00a0m" in said
    assert mark.rope in said
    assert mark.kind in said or mark.kind_short in said
    assert mark.owner in said or mark.owner_short in said
    assert f"end {mark.end}" in said if mark.end else "end" not in said


@given(marks, diameters)
def test_nothing_on_a_strip_touches_its_neighbour_or_runs_off_it(mark: EndMark, diameter_mm: float) -> None:
    for strip in (sheet_strip(mark, diameter_mm, 281.0), *tape_pieces(mark, diameter_mm, 24)):
        x = 0.0
        for item in strip.items:
            assert item.x > x
            x = item.x + item.width
            for top, after in zip(item.tops, (*item.tops[1:], strip.around_mm), strict=True):
                assert top >= 0
                assert top + item.height <= after + 1e-9
        assert x < strip.length_mm


def test_the_length_is_set_larger_than_anything_else() -> None:
    mark, _ = end_marks(ROPE, RULES, ON)
    caps = {item.says[0]: item.cap_mm for item in sheet_strip(mark, 9.3, 281.0).items if item.cap_mm}
    assert max(caps, key=caps.__getitem__) == "30\u00a0m"
    # 3.5 mm at arm's length (600 mm) is 20 minutes of arc, four times the least that is read (ISO 8596 optotype: 5').
    assert caps["30\u00a0m"] > 3.4


@given(marks, diameters)
def test_codes_keep_the_blank_margin_that_their_standards_ask(mark: EndMark, diameter_mm: float) -> None:
    """ISO/IEC 18004: four modules round a QR code; ISO/IEC 15417: ten modules beside a Code 128 (both from memory)."""
    strip = sheet_strip(mark, diameter_mm, 281.0)
    module = 0.254
    before, first, second, bars = strip.items[-4:]
    assert first.x - before.x - before.width >= 4 * module
    assert second.x - first.x - first.width >= 4 * module
    for qr in (first, second):
        for top, after in zip(qr.tops, (*qr.tops[1:], qr.tops[0] + strip.around_mm), strict=True):
            assert after - top - qr.height >= 4 * module - 1e-9
    qr = second
    drawn = [item for item in strip.primitives(0.0, 0.0) if getattr(item, "role", "") == "code128"]
    lefts = [left for left, _, _, _ in drawn[0].rectangles]  # type: ignore[union-attr]
    rights = [left + wide for left, _, wide, _ in drawn[0].rectangles]  # type: ignore[union-attr]
    assert min(lefts) - qr.x - qr.width >= 10 * module - 1e-9
    assert strip.length_mm - max(rights) >= 10 * module - 1e-9
    assert bars.height == strip.around_mm


def test_once_round_is_pi_times_the_diameter_over_the_tape() -> None:
    mark, _ = end_marks(ROPE, RULES, ON)
    assert sheet_strip(mark, 9.3, 281.0).around_mm == pytest.approx(9.3 * math.pi)
    for bad in (2.0, 40.0, math.nan):
        with pytest.raises(ValueError, match="5 to 20 mm over the tape"):
            around_mm(bad)


def test_an_owner_too_long_for_the_strip_takes_the_short_form_and_then_is_refused() -> None:
    long = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarth and Sorrowby Potholing Society " * 4)
    mark, _ = end_marks(ROPE, long, ON)
    assert mark.owner_short == "USPS" * 4
    said = [item.says for item in sheet_strip(mark, 9.3, 281.0).items]
    assert ("9 mm A", "09/2026") in said
    with pytest.raises(ValueError, match="and the paper takes 60 mm"):
        sheet_strip(mark, 9.3, 60.0)


def test_a_word_wider_than_the_tape_is_refused_with_its_width() -> None:
    rules = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarthiansocietyofcavers")
    mark, _ = end_marks(ROPE, rules, ON)
    with pytest.raises(ValueError, match=r"cavers” of UG41 is \d+ mm wide .* the tape takes 9.8 mm"):
        tape_pieces(mark, 9.3, 12)


def test_a_letter_the_typeface_lacks_is_an_error_that_names_it() -> None:
    rules = StoreDescribed(happened=PartialDate(2026), code="UG", owner="山田 Club")
    mark, _ = end_marks(ROPE, rules, ON)
    with pytest.raises(ValueError, match=r"UG41 says “山田.*U\+5C71.*Latin letters"):
        sheet_strip(mark, 9.3, 281.0)


@given(st.integers(1, 60_000), st.integers(0, 30), st.none() | st.integers(-3, 800))
def test_a_mark_never_says_more_than_was_measured(length_cm: int, keeps_back: int, wished_m: int | None) -> None:
    rules = StoreDescribed(happened=PartialDate(2026), code="UG", label_keeps_back_percent=keeps_back)
    rope = RopeState("UG1", length_cm, "measured")
    if length_cm * (100 - keeps_back) < 10_000 or (wished_m is not None and not 0 < wished_m * 100 <= length_cm):
        with pytest.raises(NoMark):
            end_marks(rope, rules, ON, length_m=wished_m)
    elif wished_m is None or wished_m * 10_000 <= length_cm * (100 - keeps_back):
        assert all(0 < mark.length_m * 100 <= length_cm for mark in end_marks(rope, rules, ON, length_m=wished_m))


@pytest.mark.parametrize(
    ("rope", "why"),
    [
        (RopeState("UG1"), "nobody has measured it"),
        (RopeState("UG1", 4500, "label"), "nobody has measured it"),
        (RopeState("UG1", 4500, "cut"), "nobody has measured it"),
        (RopeState("UG1", 4500, "measured", retired="cut into UG2 and UG3"), "retired: cut into UG2"),
        (RopeState("UG1", 80, "measured"), "leave no whole metre"),
    ],
)
def test_no_mark_is_made_for_what_was_not_measured_or_is_no_more(rope: RopeState, why: str) -> None:
    with pytest.raises(NoMark, match=why):
        end_marks(rope, RULES, ON)


def test_ends_are_lettered_only_where_the_store_letters_them() -> None:
    assert [mark.end for mark in end_marks(ROPE, RULES, ON)] == ["", ""]
    lettered = StoreDescribed(happened=PartialDate(2026), code="UG", ends_lettered=True)
    assert [mark.end for mark in end_marks(ROPE, lettered, ON)] == ["A", "B"]
