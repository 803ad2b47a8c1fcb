"""Routes: written in a table, drawn and reckoned as typed, every version kept, out and in as files."""

import io
import re
import threading
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tethera.basics import PartialDate
from tethera.rigging import read_route
from tethera.rigging.route_file import KEYS
from tethera.store import RoutePutAway, RouteWritten, Used
from tethera.web.routes.known import KnownRoute, all_routes
from tethera.web.routes.table import cell_called
from tethera.web.store.opened import held
from tethera.web.trips.models import Trip
from web.conftest import DAY, Club

TYPED = {
    "name": "Tallow Hole",
    "p0.name": "Entrance",
    "p0.depth": "12",
    "p0.anchors": "3",
    "p1.name": "Chandler",
    "p1.depth": "31",
    "p1.guide_rope": "45",
    "p1.anchors": "5",
}


def versions(club: Club) -> list[RouteWritten]:
    return [each for each in club.log() if isinstance(each, RouteWritten)]


def known_routes_of(club: Club) -> tuple[KnownRoute, ...]:
    with held(club.store.pk) as opened:
        return all_routes(opened)


def keep(club: Club, path: str = "write-route", by: str = "member", **changed: str) -> Any:
    return getattr(club, by).post(f"{club.address}/{path}", {**TYPED, **changed, "keep": "1"})


def test_a_route_typed_into_the_table_is_kept_with_who_wrote_it(club: Club) -> None:
    answer = keep(club, note="from the guide")
    assert answer.headers["Location"] == f"{club.address}/routes/tallow-hole"
    (event,) = versions(club)
    assert (event.key, event.note) == ("tallow-hole", "from the guide")
    route = read_route(event.text).route
    assert [(pitch.name, pitch.depth_m, pitch.guide_rope_m, pitch.anchor_count) for pitch in route.pitches] == [
        ("Entrance", 12.0, None, 3),
        ("Chandler", 31.0, 45.0, 5),
    ]
    html = club.reader.get(f"{club.address}/routes/tallow-hole").content.decode()
    assert "Chandler" in html
    assert "<svg" in html
    assert "Ines Ravel" in club.reader.get(f"{club.address}/routes").content.decode()


def test_what_is_typed_is_drawn_and_reckoned_and_nothing_is_kept(club: Club) -> None:
    answer = club.member.post(f"{club.address}/write-route/drawn", TYPED)
    html = answer.content.decode()
    assert html.count("hx-swap-oob") == 2
    assert 'id="says-1"' in html
    assert "takes" in html
    assert re.search(r"\d+\.\d ± \d+\.\d m", html)
    assert "<svg" in html
    assert versions(club) == []


def test_what_a_pitch_took_goes_when_its_cells_are_emptied(club: Club) -> None:
    emptied = {**TYPED, "p1.name": "", "p1.depth": "", "p1.guide_rope": "", "p1.anchors": ""}
    html = club.member.post(f"{club.address}/write-route/drawn", emptied).content.decode()
    assert '<div id="says-1" hx-swap-oob="innerHTML"></div>' in html
    assert html.count("hx-swap-oob") == 2


def test_a_cell_that_cannot_be_read_is_told_in_its_row_and_what_was_typed_stays(club: Club) -> None:
    answer = keep(club, **{"p1.depth": "deep", "p0.anchors": "three"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "“deep” is no length; write it as 22" in html
    assert "Expected a whole number" in html
    assert 'value="deep"' in html
    assert versions(club) == []


def test_an_empty_table_or_no_name_is_not_kept(club: Club) -> None:
    nothing = club.member.post(f"{club.address}/write-route", {"name": "Tallow", "p0.name": "", "keep": "1"})
    assert "Write at least one pitch" in nothing.content.decode()
    assert "The route has no name yet." in keep(club, name=" ").content.decode()
    assert versions(club) == []


def test_nothing_is_wrong_in_a_table_before_anything_is_typed(club: Club) -> None:
    """Neither on the empty page, nor in a row that was just added to it."""
    page = club.member.get(f"{club.address}/write-route").content.decode()
    one_more = club.member.post(f"{club.address}/write-route", {**TYPED, "act": "add"}).content.decode()
    for html in (page, one_more):
        assert 'class="error"' not in html
        assert "no name yet" not in html


def test_what_is_wrong_is_told_by_what_the_page_calls_the_cell(club: Club) -> None:
    wrong = {"p0.name": "", "p1.guide_rope": "long", "p1.e0.source": "Old guide", "p1.e0.depth": "deep", "team": "some"}
    html = keep(club, **wrong).content.decode()
    words = " ".join(re.sub(r"<[^>]+>", " ", html).split())
    assert "The pitch has no name yet." in words
    for told in ("Guide&#x27;s rope: “long” is no length", "Guide 1, Depth: “deep” is no length", "Cavers, usually: "):
        assert told in words
    assert not re.search(r"\b(name|guide_rope|team|depth): ", words)


def test_everything_a_route_may_say_is_called_something_on_the_page() -> None:
    asked = {key for row in ("pitch", "anchor", "edition") for key in KEYS[row]} - {"anchor", "edition"}
    for key in (*asked, "team", "pitches"):
        assert cell_called(key)


def test_a_coarse_pitch_is_refined_without_losing_what_the_guide_says(club: Club) -> None:
    keep(club)
    finer = {
        "p1.a0.role": "backup",
        "p1.a1.role": "y-hang",
        "p1.a1.along": "2",
        "p1.a2.role": "rebelay",
        "p1.a2.down": "14",
        "p1.e0.source": "Old guide, 1987",
        "p1.e0.depth": "27",
    }
    number = len(club.log()) - 1
    keep(club, "routes/tallow-hole/change", version=str(number), **finer)
    pitch = read_route(versions(club)[-1].text).route.pitch("Chandler")
    assert [anchor.role for anchor in pitch.anchors] == ["backup", "y-hang", "rebelay"]
    assert (pitch.guide_rope_m, pitch.anchor_count, pitch.editions[0].source) == (45.0, 5, "Old guide, 1987")
    html = club.member.get(f"{club.address}/routes/tallow-hole/change").content.decode()
    assert 'value="Old guide, 1987"' in html
    assert "this route goes by" in html
    assert "Old guide, 1987 says" in html


def test_each_version_says_who_changed_which_pitch(club: Club) -> None:
    keep(club)
    keep(club, "routes/tallow-hole/change", by="competent", version=str(len(club.log()) - 1), **{"p1.depth": "29"})
    html = club.reader.get(f"{club.address}/routes/tallow-hole/versions").content.decode()
    assert "Tobias Quarmby" in html
    text = re.sub(r"<[^>]+>", "", html)
    assert re.search(r"Chandler:.*29\s*m.*was.*31\s*m", text.replace("\u202f", " ").replace("\n", " "))
    first = versions(club)[0]
    number = club.log().index(first)
    assert "<svg" in club.reader.get(f"{club.address}/routes/tallow-hole/versions/{number}").content.decode()
    old_file = f"{club.address}/routes/tallow-hole/route.toml?version="
    assert club.reader.get(f"{old_file}{number}").content.decode() == first.text
    assert club.reader.get(f"{old_file}99999").status_code == 404
    club.member.post(f"{club.address}/routes/tallow-hole/again", {"version": str(number)})
    assert versions(club)[-1].text == first.text


def test_nothing_changed_makes_no_version(club: Club) -> None:
    keep(club)
    keep(club, "routes/tallow-hole/change", version=str(len(club.log()) - 1))
    assert len(versions(club)) == 1


def test_of_two_who_write_at_once_the_second_is_told_and_loses_nothing(club: Club) -> None:
    keep(club)
    opened = str(len(club.log()) - 1)
    keep(club, "routes/tallow-hole/change", by="competent", version=opened, **{"p1.depth": "29"})
    late = keep(club, "routes/tallow-hole/change", version=opened, **{"p0.depth": "13"})
    html = late.content.decode()
    assert late.status_code == 409
    assert "Somebody kept another version" in html
    assert "Tobias Quarmby" in html
    assert 'value="13"' in html
    assert len(versions(club)) == 2
    told_of = re.search(r'name="version" value="(\d+)"', html)
    assert told_of is not None
    # A third version meanwhile is told as well, with who wrote it, and only that one.
    keep(club, "routes/tallow-hole/change", by="keeper", version=told_of[1], **{"p1.depth": "28"})
    again = keep(club, "routes/tallow-hole/change", version=told_of[1], **{"p0.depth": "13"})
    html = again.content.decode()
    assert again.status_code == 409
    assert "Maud Ellerbeck, Chandler" in html
    assert "Tobias Quarmby, Chandler" not in html
    told_of = re.search(r'name="version" value="(\d+)"', html)
    assert told_of is not None
    keep(club, "routes/tallow-hole/change", version=told_of[1], **{"p0.depth": "13"})
    assert len(versions(club)) == 4
    assert read_route(versions(club)[-1].text).route.pitch("Entrance").depth_m == 13.0


def test_without_scripts_rows_are_added_moved_and_taken_out(club: Club) -> None:
    def names(act: str) -> list[str]:
        html = club.member.post(f"{club.address}/write-route", {**TYPED, "act": act}).content.decode()
        return re.findall(r'name="p\d+\.name" value="([^"]*)"', html)

    assert names("add") == ["Entrance", "Chandler", ""]
    assert names("down:0") == ["Chandler", "Entrance"]
    assert names("up:1") == ["Chandler", "Entrance"]
    assert names("out:0") == ["Chandler"]
    for odd in ("out:9", "up", "anchor:x", "nonsense", "out:0:a:5", "out:0:a"):
        assert names(odd) == ["Entrance", "Chandler"]
    html = club.member.post(f"{club.address}/write-route", {**TYPED, "act": "anchor:1"}).content.decode()
    assert 'name="p1.a0.role"' in html


@pytest.mark.parametrize("who", ["reader", "stranger", "nobody"])
def test_only_who_may_take_ropes_writes_routes(club: Club, who: str) -> None:
    keep(club)
    client = getattr(club, who)
    status = {"reader": 403, "stranger": 404, "nobody": 302}[who]
    for path in (
        "write-route",
        "write-route/drawn",
        "bring-route",
        "routes/tallow-hole/change",
        "routes/tallow-hole/again",
    ):
        assert client.post(f"{club.address}/{path}", {**TYPED, "keep": "1"}).status_code == status, path
    assert client.post(f"{club.address}/routes/tallow-hole/put-away").status_code == status
    assert club.member.post(f"{club.address}/routes/tallow-hole/put-away").status_code == 403
    assert len(versions(club)) == 1
    assert club.member.get(f"{club.address}/routes/no-such-route").status_code == 404


def test_sent_twice_a_version_is_kept_once(club: Club) -> None:
    html = club.member.get(f"{club.address}/write-route").content.decode()
    token = re.search(r'name="once" value="([^"]+)"', html)
    assert token is not None
    keep(club, once=token[1])
    keep(club, once=token[1])
    assert len(versions(club)) == 1


def brought(club: Club, name: str, content: bytes) -> Any:
    return club.member.post(f"{club.address}/bring-route", {"file": SimpleUploadedFile(name, content)}, follow=True)


def test_a_route_goes_out_as_file_and_workbook_and_comes_back(club: Club) -> None:
    finer = {"p1.a0.role": "backup", "p1.a1.role": "rebelay", "p1.a1.down": "14"}
    keep(club, **finer)
    text = club.reader.get(f"{club.address}/routes/tallow-hole/route.toml").content
    assert read_route(text.decode()).route == read_route(versions(club)[0].text).route
    book = club.reader.get(f"{club.address}/routes/tallow-hole/route.xlsx").content
    sheets = openpyxl.load_workbook(io.BytesIO(book))
    assert sheets.sheetnames == ["Pitches", "Anchors"]
    assert [cell.value for cell in sheets["Pitches"][3]][:3] == ["Chandler", 31, 45]
    brought(club, "tallow-hole.toml", text.replace(b"31 m", b"33 m"))
    assert read_route(versions(club)[-1].text).route.pitch("Chandler").depth_m == 33.0
    told = brought(club, "tallow-hole.toml", club.reader.get(f"{club.address}/routes/tallow-hole/route.toml").content)
    assert "Nothing was changed." in told.content.decode()
    assert len(versions(club)) == 2
    brought(club, "wick-pot.xlsx", book)
    last = versions(club)[-1]
    assert last.key == "wick-pot"
    assert [anchor.role for anchor in read_route(last.text).route.pitch("Chandler").anchors] == ["backup", "rebelay"]


def test_words_that_begin_as_a_formula_does_stay_words_in_the_workbook(club: Club) -> None:
    keep(club, **{"p1.name": "=1+1"})
    book = club.reader.get(f"{club.address}/routes/tallow-hole/route.xlsx").content
    cell = openpyxl.load_workbook(io.BytesIO(book))["Pitches"]["A3"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == ("=1+1", "s", True)


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.toml", b'name = "X"\n[[pitch]]\nname = "A"\ndepth = "deep"\n', "line 4"),
        ("a.toml", b"\xff\xfe\x00", "no text"),
        ("a.xlsx", b"not a workbook", "Nothing is kept"),
        ("a.csv", b"What,Where\n1,2\n", "Nothing is kept"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_and_nothing_is_kept(
    club: Club, name: str, content: bytes, told: str
) -> None:
    html = brought(club, name, content).content.decode()
    assert told in html
    assert versions(club) == []


def test_a_route_put_away_is_offered_no_more_and_comes_back_when_written(club: Club) -> None:
    keep(club)
    club.keeper.post(f"{club.address}/routes/tallow-hole/put-away", {"reason": "the entrance fell in"})
    assert any(isinstance(each, RoutePutAway) for each in club.log())
    assert 'value="tallow-hole"' not in club.member.get(f"{club.address}/trips/new").content.decode()
    assert "the entrance fell in" in club.member.get(f"{club.address}/routes").content.decode()
    html = club.member.get(f"{club.address}/routes/tallow-hole/change").content.decode()
    opened = re.search(r'name="version" value="(\d+)"', html)
    assert opened is not None
    keep(club, "routes/tallow-hole/change", version=opened[1], **{"p1.depth": "30"})
    assert 'value="tallow-hole"' in club.member.get(f"{club.address}/trips/new").content.decode()


def test_what_ropes_told_stands_beside_its_pitch_with_the_weight_of_each_source(club: Club) -> None:
    keep(club)
    club.ready("UG1", 50)
    used = {"happened": PartialDate(2025, 6, 1), "route": "Tallow Hole", "pitch": "Chandler", "pitches": ("Chandler",)}
    club.did(Used(rope="UG1", left_over_cm=900, changed="second bolt is loose", **used))  # type: ignore[arg-type]
    html = club.reader.get(f"{club.address}/routes/tallow-hole").content.decode()
    assert "Guide and published sheets" in html
    assert "UG1, 1 Jun 2025" in html
    assert "Together" in html
    assert "second bolt is loose" in html


def test_what_a_pitch_takes_adds_up_on_its_page_with_the_margin_and_the_guide_that_is_not_believed(club: Club) -> None:
    """Nine metres with six of traverse take more than the guide's 9 m; the rows above "Takes" come to what it takes."""
    keep(club, **{"p0.guide_rope": "9", "p0.traverse": "6"})
    html = club.reader.get(f"{club.address}/routes/tallow-hole").content.decode()
    tables = re.findall(r"Metre by metre.*?</table>", html, re.DOTALL)
    assert len(tables) == 2
    assert "guide&#x27;s 9 m not weighed in" in tables[0]
    for table in tables:
        rows = re.findall(r'<td class="num">(?:<b>)?(-?[\d.]+) m', table)
        *items, expected, margin, takes = (round(100 * float(each)) for each in rows)
        assert sum(items) == expected
        assert expected + margin == takes


def test_a_renamed_route_keeps_what_its_ropes_told_until_another_takes_the_old_name(club: Club) -> None:
    keep(club)
    club.ready("UG1", 50)
    used = Used(rope="UG1", happened=PartialDate(2025, 6, 1), route="Tallow Hole", pitch="Chandler", left_over_cm=300)
    club.did(used)
    keep(club, "routes/tallow-hole/change", version="1", key="tallow-hole", name="Tallow Hole Main")
    assert [each.name for each in known_routes_of(club)] == ["Tallow Hole Main"]
    assert [len(each.seen) for each in known_routes_of(club)] == [1]
    keep(club, name="Tallow Hole")
    told = {each.name: [seen.rope for seen in each.seen] for each in known_routes_of(club)}
    assert told == {"Tallow Hole": ["UG1"], "Tallow Hole Main": []}


def test_an_empty_store_says_what_a_route_is(club: Club) -> None:
    assert "in the order they are met" in club.reader.get(f"{club.address}/routes").content.decode()


def test_a_route_that_cannot_be_read_says_where_and_keeps_no_other_from_being_shown(club: Club) -> None:
    keep(club)
    club.did(RouteWritten(happened=DAY, key="odd", text='name = "Odd"\n[[pitch]]\ndepth = "9 m"\n'))
    html = club.reader.get(f"{club.address}/routes").content.decode()
    assert "odd, line 2" in html
    assert "Tallow Hole" in html
    assert club.reader.get(f"{club.address}/routes/odd").status_code == 200


def test_a_file_in_the_folder_is_written_down_with_one_press_from_the_list(
    club: Club, tmp_path: Path, settings: Any
) -> None:
    settings.FOLDER = tmp_path
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "wick-pot.toml").write_text('name = "Wick Pot"\n[[pitch]]\nname = "A"\ndepth = "9 m"\n')
    html = club.member.get(f"{club.address}/routes").content.decode()
    assert "a file in the folder" in html
    assert "Write it down" in html
    assert "Write it down" not in club.reader.get(f"{club.address}/routes").content.decode()
    club.member.post(f"{club.address}/routes/wick-pot/again")
    (event,) = versions(club)
    assert (event.key, event.note) == ("wick-pot", "from the folder")
    assert "a file in the folder" not in club.member.get(f"{club.address}/routes").content.decode()


def test_the_list_counts_the_trips_to_a_route(club: Club) -> None:
    keep(club)
    for day in (date(2027, 3, 6), date(2027, 5, 1)):
        Trip.objects.create(store=club.store, name=str(day), first_day=day, last_day=day, routes=["tallow-hole"])
    html = club.reader.get(f"{club.address}/routes").content.decode()
    assert '<td class="num" data-label="trips">2</td>' in html


def test_a_route_whose_name_no_typeface_has_opens_and_can_be_changed(club: Club) -> None:
    text = 'name = "Hole 山"\n[[pitch]]\nname = "Entrance 山 😀"\ndepth = "12 m"\nanchors = 3\n'
    club.did(RouteWritten(happened=PartialDate(2024), key="hole", text=text))
    for path in ("routes", "routes/hole"):
        answer = club.member.get(f"{club.address}/{path}")
        assert answer.status_code == 200, answer.content.decode()[-1500:]
    assert "Entrance 山" in club.member.get(f"{club.address}/routes/hole").content.decode()


def test_a_knots_file_that_cannot_be_read_is_told_and_routes_are_written_with_the_usual_lengths(
    club: Club, tmp_path: Path, settings: Any
) -> None:
    settings.FOLDER = tmp_path
    plain = keep(club, "write-route/drawn").content.decode()
    (tmp_path / "knots.toml").write_text("butterfly = 99\n")
    assert keep(club).status_code == 302
    for answer in (
        club.member.get(f"{club.address}/routes/tallow-hole/change"),
        keep(club, "write-route/drawn", key="tallow-hole"),
    ):
        html = answer.content.decode()
        assert "butterfly: expected 0.05 to 5 m of rope" in html
        assert "Until then the usual lengths of knots are taken." in html
        assert re.search(r"takes.*", html).group() == re.search(r"takes.*", plain).group()  # type: ignore[union-attr]


def test_more_than_any_route_has_is_told_and_nothing_is_cut_off(club: Club) -> None:
    many = {f"p{n}.{key}": value for n in range(201) for key, value in (("name", f"P{n}"), ("depth", "9"))}
    for typed, told in (
        (many, "201 pitches; at most 200 are read"),
        ({"p0.name": "x" * 2001}, "has 2,001 letters; at most 2,000 fit"),
    ):
        answer = keep(club, **typed)
        assert answer.status_code == 400
        assert told in answer.content.decode()
    assert versions(club) == []


def test_others_use_the_store_while_a_route_is_drawn(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another thread asks for the store in the middle of the drawing, and gets it."""
    got: list[bool] = []

    def draw(sheet: Any) -> str:
        def ask() -> None:
            with held(club.store.pk):
                got.append(True)

        other = threading.Thread(target=ask)
        other.start()
        other.join(timeout=20)
        return "<svg></svg>"

    monkeypatch.setattr("tethera.web.routes.editing.elevation_svg", draw)
    monkeypatch.setattr("tethera.web.routes.views.elevation_svg", draw)
    assert keep(club, "write-route/drawn").status_code == 200
    keep(club)
    assert club.reader.get(f"{club.address}/routes/tallow-hole").status_code == 200
    assert got == [True, True]
