"""The demo runs the main job to its end, twice the same, and harms no store that it did not make."""

import json
from datetime import date
from pathlib import Path

import pdfplumber
import pytest

from tethera.cli.main import main
from tethera.store import Booked, FileLog


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's folder."""
    into = tmp_path_factory.mktemp("demo")
    assert main(["demo", "--into", str(into)]) == 0
    return into


def test_the_demo_leaves_a_store_a_plan_and_two_papers_a_trip(made: Path) -> None:
    assert (made / "store" / "events.jsonl").stat().st_size > 100_000
    assert (made / "plan.json").is_file()
    assert len(list(made.glob("*-rigging-sheet.pdf"))) == 2
    assert len(list(made.glob("*-packing-list.pdf"))) == 2
    assert {path.name for path in (made / "store" / "routes").iterdir()} == {"short.toml", "classic.toml", "deep.toml"}


def test_the_ropes_of_both_trips_are_booked_for_who_leads_them(made: Path) -> None:
    log = FileLog(made / "store" / "events.jsonl").read()
    booked = [each.event for each in log if isinstance(each.event, Booked)]
    planned = json.loads((made / "plan.json").read_text(encoding="utf-8"))["trips"]
    assert {(each.trip, each.rope) for each in booked} == {
        (trip["route"], use["rope"]) for trip in planned for use in trip["ropes"]
    }
    assert {each.person for each in booked} == {"p3", "p6"}
    assert {(each.first_day, each.last_day) for each in booked} == {(date(2026, 12, 5), date(2026, 12, 6))}


def test_every_page_of_the_papers_is_a5_and_says_whose_ropes_they_are(made: Path) -> None:
    for path in [*made.glob("*-sheet.pdf"), *made.glob("*-list.pdf")]:
        with pdfplumber.open(path) as pdf:
            assert {(round(page.width), round(page.height)) for page in pdf.pages} == {(420, 595)}, path
            assert "Ulvergarth Caving Club" in pdf.pages[0].extract_text()


def test_papers_of_trips_whose_ropes_are_all_as_chosen_are_to_be_gone_by(made: Path) -> None:
    """Booked before they are printed, for these very trips."""
    for path in [*made.glob("*-sheet.pdf"), *made.glob("*-list.pdf")]:
        with pdfplumber.open(path) as pdf:
            said = "\n".join(page.extract_text() for page in pdf.pages)
        assert "Do not go by this paper" not in said, path
        assert "no rope" not in said, path
        assert "booked" not in said.lower(), path


def test_the_rope_whose_mark_says_too_much_gets_a_strip_for_both_ends_that_says_less(made: Path) -> None:
    with pdfplumber.open(made / "marks.pdf") as pdf:
        text = pdf.pages[0].extract_text()
    assert text.count("wind round") == 2
    assert "UG21" in text
    assert "54" in text
    assert "63" not in text


def test_the_story_is_there_one_rope_doubted_one_too_short_one_due(
    made: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store = ["--store", str(made / "store")]
    main(["rope", "UG21", *store])
    assert "mark says" in capsys.readouterr().out
    main(["rope", "UG26", *store])
    told = capsys.readouterr().out
    assert "28m" in told or "(28 m)" in told
    main(["rope", "UG29", *store])
    assert "age" in capsys.readouterr().out


def test_a_second_run_prints_the_same_and_another_store_is_left_alone(
    made: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = {path.name: path.read_bytes() for path in made.glob("*.pdf")}
    assert main(["demo", "--into", str(made)]) == 0
    assert {path.name: path.read_bytes() for path in made.glob("*.pdf")} == before
    (tmp_path / "store").mkdir()
    capsys.readouterr()
    assert main(["demo", "--into", str(tmp_path)]) == 2
    assert "did not make" in capsys.readouterr().err
