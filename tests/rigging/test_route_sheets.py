"""A route goes out as a workbook and comes back."""

from dataclasses import replace
from importlib import resources

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.any_route import routes
from tethera.basics import Cell
from tethera.rigging import (
    Measure,
    Pitch,
    Route,
    RouteReading,
    UnreadableRoute,
    anchor_rows,
    changed_pitches,
    guide_rows,
    read_route,
    read_route_rows,
    rope_needs,
    route_rows,
    together_rows,
    with_anchor_rows,
    with_guide_rows,
    with_together_rows,
)
from tethera.rigging.route import exactly
from tethera.rigging.route_rows import TOTAL_ROW


def demo(name: str) -> Route:
    return read_route((resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")).route


def out_and_back(route: Route) -> RouteReading:
    reading = with_anchor_rows(read_route_rows(route_rows(route), name=route.name), anchor_rows(route))
    reading = with_guide_rows(reading, guide_rows(route), "Other guides")
    return with_together_rows(reading, together_rows(route), "Together")


def to_the_cm(measure: Measure | None) -> Measure | None:
    """A length as a row holds it: whole centimetres, rounded down."""
    if measure is None or measure.pieces or measure.low_m != measure.high_m:
        return measure
    return exactly(down_to_cm(measure.low_m)) if not measure.about else measure


def down_to_cm(metres: float) -> float:
    """A number of a sheet is taken to a tenth of a millimetre, then to whole centimetres below."""
    return int(f"{metres:.4f}".replace(".", "")) // 100 / 100


@pytest.mark.parametrize("name", ["short", "classic", "deep"])
def test_the_demo_s_routes_come_back_whole_but_for_what_no_row_says(name: str) -> None:
    route = demo(name)
    reading = out_and_back(route)
    assert reading.route.pitches == tuple(
        replace(pitch, notes=("; ".join(pitch.notes),) if pitch.notes else ()) for pitch in route.pitches
    )
    assert reading.route.together == route.together
    assert reading.route.stated_totals == route.stated_totals
    assert [each.code for each in reading.findings if each.code in ("cell-unreadable", "column-left-out")] == []


@settings(deadline=None)
@given(routes())
def test_any_route_comes_back_with_every_pitch_and_every_anchor(route: Route) -> None:
    route = replace(route, pitches=tuple(map(sayable_in_a_row, route.pitches)))
    back = out_and_back(route)
    assert [each for each in back.findings if each.code in ("cell-unreadable", "anchor-left-out")] == []
    for now, was in zip(back.route.pitches, route.pitches, strict=True):
        assert now.depth == to_the_cm(was.depth)
        assert now.guide_rope == to_the_cm(was.guide_rope)
        for name in ("traverse_m", "to_next_m", "depth_spread_m", "rope_above_floor_m"):
            assert getattr(now, name) == (None if (metres := getattr(was, name)) is None else down_to_cm(metres)), name
        lengths = ("depth", "guide_rope", "traverse_m", "to_next_m", "depth_spread_m", "rope_above_floor_m")
        same = {name: getattr(now, name) for name in lengths}
        assert now == replace(was, notes=tuple(["; ".join(was.notes)] if was.notes else []), **same)
    assert back.route.together == tuple(replace(each, guide_rope=to_the_cm(each.guide_rope)) for each in route.together)


def sayable_in_a_row(pitch: Pitch) -> Pitch:
    """The pitch but for what a row cannot say: a depth of millimetres, a name that heads the totals."""
    name = f"Pitch {pitch.name}"[:80] if TOTAL_ROW.fullmatch(pitch.name) else pitch.name
    seen = pitch.depth.high_m >= 0.01 or (not pitch.depth.high_m and pitch.traverse_m >= 0.01)
    depth = pitch.depth if seen else exactly(9.0)
    return replace(pitch, name=name, depth=depth, instead_of=(), rope_above_floor_m=round(depth.low_m / 3, 2))


def test_what_makes_a_pitch_different_goes_out_and_comes_back() -> None:
    route = read_route(
        'name = "T"\n[[pitch]]\nname = "All Saints"\ndepth = "20 m"\npull_through = true\nsecond_line = "pull cord"\n'
        '[[pitch]]\nname = "007"\ndepth = "12 m"\nmin_diameter_mm = 9.5\nmax_g_per_m = 70\ntype_a_only = true\n'
        'to_next = "5 m"\nrope_above_floor = "2 m"\ndepth_spread = "0.4 m"\nnaturals = 2\n'
        '[[pitch]]\nname = "Dry; way"\ndepth = "15 m"\ninstead_of = "007"\ndirection = "up"\nleft_in_place = true\n'
        '[totals]\nrope = "about 90 m"\ndepth = "32 m"\nanchors = 14\n'
    ).route
    assert changed_pitches(route, out_and_back(route).route) == ()


def test_a_traverse_line_known_only_by_its_anchors_comes_back() -> None:
    """A row without a depth needs its traverse: what its anchors lie along, which the anchors themselves outrank."""
    anchors = "".join(f'[[pitch.anchor]]\nrole = "{role}"\nalong = "2.5 m"\n' for role in ("backup", "traverse"))
    route = read_route(f'name = "T"\n[[pitch]]\nname = "Ledge"\n{anchors}').route
    back = out_and_back(route)
    assert back.route.pitches == (replace(route.pitches[0], traverse_m=5.0),)
    assert rope_needs(back.route) == rope_needs(route)


def test_columns_that_no_pitch_needs_are_left_out() -> None:
    assert len(route_rows(Route("T", (Pitch("A", exactly(9.0)),)))[0]) == 10


@pytest.mark.parametrize("row", ["Total", "Totals (m)", "Sum", "All pitches", "sum of ropes", "Grand total", "ALL:"])
def test_a_row_of_totals_is_no_pitch(row: str) -> None:
    reading = read_route_rows([["Pitch", "Depth"], ["A", 9], [row, 9]])
    assert [pitch.name for pitch in reading.route.pitches] == ["A"]
    assert reading.route.stated_totals.depth == exactly(9.0)


@pytest.mark.parametrize("row", ["All Saints", "Sump Drop", "Summer Pitch", "Allotment"])
def test_a_pitch_may_be_called_nearly_so(row: str) -> None:
    reading = read_route_rows([["Pitch", "Depth"], ["A", 9], [row, 9]])
    assert [pitch.name for pitch in reading.route.pitches] == ["A", row]


@pytest.mark.parametrize(
    ("heading", "cell", "told"),
    [
        ("Pulled through", "perhaps", "“perhaps” is neither yes nor no."),
        ("Direction", "sideways", "“sideways” is none of down, up."),
        ("Thinnest rope (mm)", "thick", "“thick” is not from 5 to 20."),
        ("Instead of", "Nowhere", "“Nowhere” is no pitch of the main way above this row."),
        ("Ends above the floor (m)", 12, "The rope cannot end 12 m above the floor of a drop of 9 m."),
    ],
)
def test_an_odd_cell_is_told_with_its_address_and_the_pitch_stays(heading: str, cell: Cell, told: str) -> None:
    reading = read_route_rows([["Pitch", "Depth", heading], ["A", 9, cell]])
    assert [(each.where, each.message) for each in reading.findings] == [("cell C2", told)]
    assert reading.route.pitches == (Pitch("A", exactly(9.0)),)


def test_of_two_words_that_exclude_each_other_what_takes_more_rope_stays() -> None:
    rows: list[list[Cell]] = [["Pitch", "Depth", "Pulled through", "Left in place"], ["A", 9, "yes", "x"]]
    reading = read_route_rows(rows)
    assert (reading.route.pitches[0].pull_through, reading.route.pitches[0].left_in_place) == (True, False)
    assert [each.where for each in reading.findings] == ["cell D2"]


CLASSIC = demo("classic")


def test_a_bad_cell_of_an_anchor_is_told_with_its_address_and_the_rest_stays() -> None:
    rows: list[list[Cell]] = anchor_rows(CLASSIC)
    rows[3][5] = "deep"
    rows.append(["Nowhere", None, "rebelay", *[None] * 11])
    reading = with_anchor_rows(read_route_rows(route_rows(CLASSIC), name="x"), rows)
    told = {each.where: each.message for each in reading.findings}
    assert "“deep”" in told["Anchors, cell F4"]
    assert "no pitch of this route" in told[f"Anchors, cell A{len(rows)}"]
    assert sum(len(pitch.anchors) for pitch in reading.route.pitches) == len(rows) - 2


@given(st.randoms(use_true_random=False))
def test_rows_sorted_otherwise_come_back_in_the_order_of_their_numbers(chance: object) -> None:
    head, *rest = anchor_rows(CLASSIC)
    chance.shuffle(rest)  # type: ignore[attr-defined]
    reading = with_anchor_rows(read_route_rows(route_rows(CLASSIC)), [head, *rest])
    assert [pitch.anchors for pitch in reading.route.pitches] == [pitch.anchors for pitch in CLASSIC.pitches]


def test_without_numbers_the_order_of_the_rows_counts_and_a_bad_number_is_told() -> None:
    rows: list[list[Cell]] = [["Pitch", "Anchor", "Role"], ["A", 2, "backup"], ["A", "first", "Rebelay"]]
    plain = with_anchor_rows(RouteReading(Route("R", (Pitch("A", exactly(9.0)),))), [[r[0], r[2]] for r in rows])
    assert [anchor.role for anchor in plain.route.pitches[0].anchors] == ["backup", "rebelay"]
    reading = with_anchor_rows(RouteReading(Route("R", (Pitch("A", exactly(9.0)),))), rows)
    assert [anchor.role for anchor in reading.route.pitches[0].anchors] == ["backup", "rebelay"]
    assert [each.where for each in reading.findings] == ["Anchors, cell B3"]


def test_columns_in_feet_are_read_as_feet_and_an_unknown_one_is_told() -> None:
    rows: list[list[Cell]] = [
        ["PITCH", "role", "Down (ft)", "Along", "Colour"],
        ["barrow", "rebelay", 10.0, 2.5, "red"],
    ]
    reading = with_anchor_rows(RouteReading(Route("R", (Pitch("Barrow", exactly(41.0)),))), rows)
    (anchor,) = reading.route.pitches[0].anchors
    assert (anchor.down_m, anchor.along_m) == (3.04, 2.5)  # 10 ft are 3.048 m, whole centimetres rounded down
    assert [(each.code, each.where) for each in reading.findings] == [("column-left-out", "Anchors, cell E1")]


def test_an_anchor_below_the_foot_is_told_at_its_cell() -> None:
    rows: list[list[Cell]] = [["Pitch", "Anchor", "Role", "Down"], ["A", 2, "rebelay", 12], ["A", 1, "backup", None]]
    reading = with_anchor_rows(RouteReading(Route("R", (Pitch("A", exactly(9.0)),))), rows)
    assert [each.where for each in reading.findings if each.code == "cell-unreadable"] == ["Anchors, cell D2"]
    assert [anchor.role for anchor in reading.route.pitches[0].anchors] == ["backup", "rebelay"]


def test_a_sheet_of_anchors_without_its_headings_is_told() -> None:
    reading = with_anchor_rows(read_route_rows(route_rows(demo("short"))), [["What", "Where"]])
    assert [each.code for each in reading.findings if each.code == "anchors-left-out"] == ["anchors-left-out"]


def test_a_pitch_without_a_row_keeps_the_anchors_it_has() -> None:
    head, *rest = anchor_rows(CLASSIC)
    barrow = [row for row in rest if row[0] == "Barrow"][:2]
    now = with_anchor_rows(RouteReading(CLASSIC), [head, *barrow]).route
    assert now.pitch("Barrow").anchors == CLASSIC.pitch("Barrow").anchors[:2]
    others = [pitch for pitch in CLASSIC.pitches if pitch.name != "Barrow"]
    assert [now.pitch(pitch.name) for pitch in others] == others


CELLS = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.dates(), st.text(max_size=15))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(CELLS | st.sampled_from(["Barrow", "rebelay", "Pitch", "Role", "2"]), max_size=8), max_size=6))
def test_any_cells_are_anchors_or_findings(rows: list[list[Cell]]) -> None:
    head: list[Cell] = ["Pitch", "Role", "Anchor", "Down (m)", "Along", "Bolts", "Rub", "Knot"]
    for sheet in (rows, [head, *rows]):
        reading = with_anchor_rows(RouteReading(CLASSIC), sheet)
        assert [pitch.name for pitch in reading.route.pitches] == [pitch.name for pitch in CLASSIC.pitches]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(CELLS | st.sampled_from(["yes", "up", "A", 9.0]), max_size=8), max_size=6))
def test_any_cells_of_rare_columns_are_a_route_or_unreadable(rows: list[list[Cell]]) -> None:
    head: list[Cell] = ["Pitch", "Depth", "Direction", "Pulled through", "Left in place", "Instead of"]
    table: list[list[Cell]] = [[*head, "Ends above the floor", "Thinnest rope"], ["First", 9.0], *rows]
    try:
        reading = read_route_rows(table)
    except UnreadableRoute:
        pytest.fail("a pitch with a depth stands in it")
    assert read_route_rows(route_rows(reading.route)).route.pitches[0].name == "First"


TWO = """
name = "Tallow Hole"
[[pitch]]
name = "Entrance"
depth = "12 m"
[[pitch.edition]]
source = "An older survey"
depth = "10 or 12 m"
note = "from the ledge"
[[pitch]]
name = "Chandler"
depth = "31 m"
[[together]]
pitches = ["Entrance", "Chandler"]
guide_rope = "60 m"
"""


def test_what_other_guides_say_and_a_rope_for_two_pitches_go_out_and_come_back() -> None:
    route = read_route(TWO).route
    assert guide_rows(route)[1] == ["Entrance", "An older survey", "10 or 12 m", None, None, "from the ledge"]
    assert together_rows(route)[1] == ["Entrance; Chandler", "60"]
    back = out_and_back(route).route
    assert back.pitches == route.pitches
    assert back.together == route.together


def test_an_odd_row_of_the_rarer_sheets_is_told_and_the_others_stay() -> None:
    route = read_route(TWO).route
    guides = [*guide_rows(route), ["Nowhere", "An older survey", "3 m"], ["Chandler", None, "3 m"]]
    read = with_guide_rows(RouteReading(route), guides, "Other guides")
    assert [each.where for each in read.findings if each.code == "guide-left-out"] == [
        "Other guides, row 3",
        "Other guides, row 4",
    ]
    assert read.route.pitches == route.pitches
    unread = with_guide_rows(RouteReading(route), [*guide_rows(route), ["Chandler", "A map", "deep"]], "Other guides")
    assert [each.where for each in unread.findings if each.code == "cell-unreadable"] == ["Other guides, row 3"]
    groups = [*together_rows(route), ["Entrance", "60"], ["Entrance; Nowhere", "60"], ["Entrance; Chandler", "much"]]
    read = with_together_rows(RouteReading(route), groups, "Together")
    assert [each.where for each in read.findings] == ["Together, row 3", "Together, row 4", "Together, row 5"]
    assert read.route.together == route.together
    headless = with_together_rows(RouteReading(route), [["Entrance", "60"]], "Together")
    assert [each.code for each in headless.findings] == ["sheet-left-out"]


@settings(deadline=None)
@given(
    st.lists(st.lists(CELLS | st.sampled_from(["Pitch", "Guide", "Pitches", "Rope (m)", "Barrow", "2"])), max_size=6)
)
def test_any_cells_of_the_rarer_sheets_are_read_or_told(rows: list[list[Cell]]) -> None:
    reading = RouteReading(read_route(TWO).route)
    assert with_guide_rows(reading, rows, "Other guides").route.pitches
    assert with_together_rows(reading, rows, "Together").route.pitches == reading.route.pitches
