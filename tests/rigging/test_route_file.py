"""Reading a route file: what people write, and where it is wrong."""

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.rigging import UnreadableRoute, explain_run, read_route, rigging_sheet, rope_lines, rope_needs

PLAIN = 'name = "R"\n[[pitch]]\nname = "First"\ndepth = "22 m"\nguide_rope = "30 m"\nanchors = 4\n'


def unreadable(text):
    with pytest.raises(UnreadableRoute) as caught:
        read_route(text, source="r.toml")
    return caught.value


def codes(text):
    return [finding.code for finding in read_route(text).findings]


def test_the_example_routes_are_read_without_a_doubt(texts):
    for text in texts.values():
        assert read_route(text).findings == ()


def test_what_is_known_coarsely_is_kept_as_written():
    pitch = read_route(PLAIN).route.pitches[0]
    assert (pitch.depth_m, pitch.guide_rope_m, pitch.count, pitch.depth_known_by) == (22.0, 30.0, 4, "guide")


@pytest.mark.parametrize(
    ("written", "low", "high", "about"),
    [
        ('"22 m"', 22, 22, False),
        ('"150 ft"', 45.72, 45.72, False),
        ('"10 or 15 m"', 10, 15, False),
        ('"10-15 m"', 10, 15, False),
        ('"10 – 15 m"', 10, 15, False),
        ('"about 25 m"', 25, 25, True),
        ('"~25m"', 25, 25, True),
        ('"25 m ?"', 25, 25, True),
        ('"50 m + 5 m + 13 m"', 68, 68, False),
        ('"5 + 13 m"', 18, 18, False),
    ],
)
def test_a_depth_may_be_a_range_a_sum_or_a_doubt(written, low, high, about):
    """150 ft is 45.72 m exactly (a foot is 0.3048 m)."""
    depth = read_route(f'name = "R"\n[[pitch]]\nname = "P"\ndepth = {written}\n').route.pitches[0].depth
    assert (depth.low_m, depth.high_m, depth.about) == (pytest.approx(low), pytest.approx(high), about)


def test_the_unit_may_stand_in_the_key():
    route = read_route('name = "R"\n[[pitch]]\nname = "P"\ndepth_m = 22\nto_next_ft = 10\n').route
    assert (route.pitches[0].depth_m, route.pitches[0].to_next_m) == (22.0, pytest.approx(3.048))


def test_a_step_of_less_than_a_centimetre_is_none():
    """A rope so short is doubted (basics/lengths.py); a way to the next pitch may well be."""
    route = read_route('name = "R"\n[[pitch]]\nname = "P"\ndepth = "22 m"\nto_next = "0.4 cm"\n').route
    assert route.pitches[0].to_next_m == 0.0


@pytest.mark.parametrize(
    ("old", "new", "line", "column", "says"),
    [
        ('depth = "22 m"', "depth = 22", 4, 9, "the unit is missing in 22; expected a length with its unit"),
        ('depth = "22 m"', 'depth = "22"', 4, 9, "the unit is missing in “22”"),
        ('depth = "22 m"', 'depht = "22 m"', 4, 1, "did you mean “depth”?"),
        ('depth = "22 m"', 'depth = "-3 m"', 4, 9, "below 0 m"),
        ('depth = "22 m"', "depth = true", 4, 9, "expected a length with its unit"),
        ('depth = "22 m"', 'depth = "22 q"', 4, 9, "not a unit of length"),
        ('depth = "22 m"\n', "", 2, 1, "expected its depth"),
        ("anchors = 4", "anchors = 4.5", 6, 11, "expected a whole number"),
        ("anchors = 4", "anchors = -1", 6, 11, "expected a whole number from 0 to 1000"),
        ("anchors = 4", 'direction = "dwon"', 6, 13, "did you mean “down”?"),
        ("anchors = 4", 'rope_above_floor = "23 m"', 6, 20, "less than the depth of 22 m"),
        ('name = "R"', "name = 7", 1, 8, "expected words in quotes, not 7"),
        ('name = "R"', 'name = "R', 1, 10, "not TOML"),
    ],
)
def test_what_cannot_be_read_is_named_with_line_column_and_what_was_expected(old, new, line, column, says):
    error = unreadable(PLAIN.replace(old, new))
    assert (error.line, error.column) == (line, column)
    assert says in error.message
    assert error.message.startswith(f"r.toml, line {line}, column {column}: ")


def test_two_pitches_may_not_have_one_name():
    error = unreadable(PLAIN + '[[pitch]]\nname = "First"\ndepth = "5 m"\n')
    assert (error.line, error.column) == (8, 8)
    assert "two pitches are called “First”" in error.message


def test_an_anchor_below_the_foot_is_impossible():
    anchors = '[[pitch.anchor]]\nrole = "y-hang"\n[[pitch.anchor]]\nrole = "rebelay"\ndown = "23 m"\n'
    error = unreadable(PLAIN + anchors)
    assert (error.line, error.column) == (11, 8)
    assert "anchor 2 of “First” lies 23 m down, below the foot at 22 m" in error.message


def test_columns_are_counted_in_characters_not_bytes():
    error = unreadable('name = "É"\npitch = [{ name = "Été", depth = 4 }]\n')
    assert (error.line, error.column) == (2, 34)


def test_a_rope_shorter_than_its_drop_is_doubted_and_left_out_of_the_reckoning():
    """P28 on 25 m stands in a published sheet."""
    text = PLAIN.replace("22 m", "28 m").replace("30 m", "25 m")
    assert codes(text) == ["rope-shorter-than-drop"]
    without = PLAIN.replace("22 m", "28 m").replace('guide_rope = "30 m"\n', "")
    assert rope_needs(read_route(text).route)[0].mean_m == rope_needs(read_route(without).route)[0].mean_m


def test_rows_that_do_not_add_up_to_the_stated_total_are_doubted():
    assert codes(PLAIN + '[totals]\nrope = "45 m"\n') == ["total-does-not-add-up"]
    assert codes(PLAIN + '[totals]\nrope = "30 m"\ndepth = "22 m"\nanchors = 4\n') == []
    assert codes(PLAIN + "[totals]\nanchors = 5\n") == ["total-does-not-add-up"]


def _read(text):
    try:
        return read_route(text), None
    except UnreadableRoute as error:
        return None, error


def _use(text):
    """Everything a route is good for; only UnreadableRoute may come out."""
    reading, error = _read(text)
    if reading is None:
        assert error.line >= 1
        assert error.column >= 1
        assert error.expected
        return
    rope_needs(reading.route)
    rigging_sheet(reading.route, [])
    for line in rope_lines(reading.route, longest_m=60.0):
        for run in line.runs[:3]:
            explain_run(reading.route, line, run)


LENGTHS = r"(about )?[0-9]{1,4}([.,][0-9]{1,2})?( or | to |-|/| \+ )?[0-9]{0,3} ?(m|ft|yd|cm)\??"
_SCRAPS = [
    '"',
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    "\n",
    "\0",
    "\ufeff",
    "\r",
    "é",
    "-",
    "nan",
    "inf",
    "1e999",
    "9" * 5000,
    "0x1F",
    "'''",
    "[[pitch]]",
    "[pitch]",
    "[[pitch.anchor]]",
    "[pitch.anchor]",
    "depth = ",
    "name.name = 1",
    "1979-05-27",
    "true",
    "\ud800",
    'instead_of = "First"',
    "left_in_place = true",
    "pull_through = true",
    "[" * 400,
    '"10 or 15 or 20 m"',
    '"0 m"',
    '"²m"',
    'second_line = "x"',
    "rope_goes_on = true",
    "[totals]",
    "totals = 4",
    "together = 3",
    '"1 - 2 m"',
    '"١٢ m"',
    "anchors = 0",
]


def _damaged(text, chance):
    if chance.random() < 0.4:  # a slip of the pen: the file still looks like a route
        numbers = [match.span() for match in re.finditer(r"[0-9]+", text)]
        start, end = chance.choice(numbers)
        return text[:start] + chance.choice(("0", "7", "250", "3.5", "1 or 2", "9 + 4", "", "-2", "99999")) + text[end:]
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        at = chance.randrange(len(text) + 1)
        width = chance.choice((0, 1, 1, 3, 12, 200))
        scrap = chance.choice((*_SCRAPS, "", chr(chance.randrange(0x250)), text[at : at + chance.randrange(60)]))
        text = text[:at] + scrap + text[at + width :]
    return text


def test_damaged_files_end_in_one_clear_complaint_or_a_route(texts):
    """Fixed seed; a longer run is in the closing notes."""
    chance = random.Random(20211)
    for number in range(400):
        _use(_damaged(texts[("short", "classic", "deep")[number % 3]], chance))


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_a_route_or_unreadable(text):
    _use(text)


@settings(max_examples=150, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["depth", "traverse", "guide_rope", "to_next", "rope_above_floor", "depth_spread", "depth_m"]),
        st.one_of(
            st.integers(),
            st.floats(),
            st.booleans(),
            st.text(max_size=12),
            st.from_regex(
                r"(about )?[0-9]{1,4}([.,][0-9]{1,2})?( or | to |-|/| \+ )?[0-9]{0,3} ?(m|ft|yd|cm|)\??", fullmatch=True
            ),
        ),
    )
)
def test_any_value_is_a_length_or_a_complaint(values):
    lines = [f"{key} = {_toml(value)}" for key, value in values.items()]
    _use('name = "R"\n[[pitch]]\nname = "P"\n' + "\n".join(lines))


def _toml(value):
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    return str(value).lower()
