"""Needs, plan, sheet and bags, from a route file and a store."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdfplumber
import pytest

Run = Callable[..., Any]


def test_needs_gives_a_capsule_and_a_depth_for_each_pitch(tethera: Run) -> None:
    ran = tethera("needs", "quillet.toml")
    assert ran.status == 0
    assert "↓12 m" in ran.out
    assert "First" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 80


def test_needs_add_up_from_their_items(tethera: Run) -> None:
    for pitch in tethera("needs", "quillet.toml", "--json").json["pitches"]:
        assert sum(item["metres"] for item in pitch["items"]) == pytest.approx(pitch["mean_m"], abs=0.01)
        assert pitch["need_cm"] > 100 * pitch["mean_m"]


def test_no_pitch_is_said_to_take_less_than_its_depth_and_a_long_name_stays_on_the_page(
    tethera: Run, folder: Path
) -> None:
    name = "Slope with a very long name that goes on and on because the guide writes it so"
    (folder / "easy.toml").write_text(
        f'name = "Easy Hole"\n[[pitch]]\nname = "Only"\ndepth = "14 m"\nanchors = 2\n'
        f'[[pitch]]\nname = "{name}"\ndepth = "5 m"\nanchors = 1\n',
        encoding="utf-8",
    )
    said = tethera("needs", "easy.toml").out
    assert max(len(line) for line in said.splitlines()) <= 80
    assert "  15.6* to " in said
    assert "  6.6* to " in said
    assert "* No less can do" in said
    assert not any(line.strip() == "m" for line in said.splitlines())


def test_the_figures_of_a_plan_subtract(store: Run) -> None:
    """Length less need is what is left, as shown; so is what the nearest rope lacks, unless its own need is told."""
    said = store("plan", "quillet.toml").out
    rows = re.findall(r"^(\S+) +\(([\d.]+) m\) +\(([\d.]+) m\) +([\d.]+) m", said, re.MULTILINE)
    assert rows
    for _, length, need, left in rows:
        assert round(100 * float(length)) - round(100 * float(need)) == round(100 * float(left))
    words = " ".join(said.split())
    short = re.findall(r"(\S+) The \w+ free rope[^;]*; the nearest that does not, \S+ of ([\d.]+) m, is ([\d.]+) m "
                       r"short(?:: known [\w ]+, it (?:must have|would do with) ([\d.]+) m)?", words)  # fmt: skip
    needs = {rope: float(need) for rope, _, need, _ in rows}
    assert short, words
    for rope, has, lacks, own in short:
        assert float(own or needs[rope]) - float(has) == pytest.approx(float(lacks), abs=1e-6), words


def test_more_confidence_needs_more_rope(tethera: Run) -> None:
    need = {
        c: tethera("needs", "quillet.toml", "--json", "--confidence", c).json["pitches"][1]["need_cm"]
        for c in ("80", "95", "99")
    }
    assert need["80"] < need["95"] < need["99"]


def test_a_plan_names_ropes_that_reach_and_says_why(store: Run) -> None:
    plan = store("plan", "quillet.toml", "--json").json
    assert plan["status"] == "optimal"
    assert [use["pitches"] for use in plan["trips"][0]["ropes"]] == [["First"], ["Second"]]
    for use in plan["trips"][0]["ropes"]:
        assert use["length_cm"] >= use["need_cm"]
        assert use["why"]
    assert plan["chance_any_short"] <= 0.05
    assert plan["mass_g"] >= plan["mass_bound_g"]
    not_planned = {each["rope"] for each in plan["not_planned"]}
    assert {"QT3", "QT6"} <= not_planned


def test_the_plan_in_words_fits_eighty_columns_and_puts_the_answer_first(store: Run) -> None:
    ran = store("plan", "quillet.toml", "--on", "2026-12-05")
    assert ran.status == 0
    assert ran.out.splitlines()[0] == "Quillet Pot"
    assert "2 ropes" in ran.out.splitlines()[1]
    assert max(len(line) for line in ran.out.splitlines()) <= 80


def test_a_rope_can_be_taken_for_a_pitch_and_another_left(store: Run) -> None:
    chosen = store("plan", "quillet.toml", "--json", "--take", "1@2", "--leave", "8").json["trips"][0]["ropes"]
    assert chosen[1]["rope"] == "QT1"
    assert "QT8" not in {use["rope"] for use in chosen}


def test_two_trips_on_one_weekend_share_no_rope_and_on_two_weekends_may(store: Run, folder: Path) -> None:
    (folder / "again.toml").write_text(
        (folder / "quillet.toml").read_text(encoding="utf-8").replace("Quillet Pot", "Quillet Hole"), encoding="utf-8"
    )
    same = store("plan", "quillet.toml", "again.toml", "--on", "2026-12-05", "--json").json
    ropes = [use["rope"] for trip in same["trips"] for use in trip["ropes"]]
    assert len(ropes) == len(set(ropes)) == 4
    apart = store("plan", "quillet.toml", "again.toml", "--on", "2026-12-05", "--on", "2026-12-12", "--json").json
    assert apart["mass_g"] <= same["mass_g"]


def test_a_store_that_cannot_do_it_says_which_pitch_how_short_and_what_to_buy(store: Run, folder: Path) -> None:
    (folder / "deep.toml").write_text(
        'name = "Deep Hole"\n[[pitch]]\nname = "Big"\ndepth = "130 m"\nanchors = 4\n', encoding="utf-8"
    )
    ran = store("plan", "deep.toml")
    assert ran.status == 1
    assert "Big" in ran.out
    assert "short" in ran.out
    unmet = store("plan", "deep.toml", "--json").json["unmet"]
    assert any(each["short_cm"] for each in unmet)
    assert any(each["buy_m"] for each in unmet)


def test_the_rigging_sheet_names_the_chosen_ropes_and_their_lengths(store: Run, folder: Path) -> None:
    out = folder / "sheet.pdf"
    chosen = [use["rope"] for use in store("plan", "quillet.toml", "--json").json["trips"][0]["ropes"]]
    assert store("sheet", "quillet.toml", "--out", str(out), "--on", "2026-12-05").status == 0
    with pdfplumber.open(out) as pdf:
        text = "\n".join(page.extract_text() for page in pdf.pages)
        assert {(round(p.width), round(p.height)) for p in pdf.pages} == {(420, 595)}  # A5, ISO 216
    for rope in chosen:
        assert rope in text
    assert "Quillet Pot" in text
    assert "Quillet Team" in text


def test_the_packing_list_holds_every_rope_once_and_stoppers_first(store: Run, folder: Path) -> None:
    packing = store("bags", "quillet.toml", "--json").json[0]
    bags = [bag for caver in packing["cavers"] for bag in caver["bags"]]
    ropes = [item["rope"] for bag in bags for item in bag["contents"] if "rope" in item]
    chosen = [use["rope"] for use in store("plan", "quillet.toml", "--json").json["trips"][0]["ropes"]]
    assert sorted(ropes) == sorted(chosen)
    assert packing["kit"]["hangers"] == 7
    out = folder / "bags.pdf"
    ran = store("bags", "quillet.toml", "--party", "2", "--out", str(out))
    assert ran.status == 0
    assert "stopper" in ran.out.casefold()
    assert out.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--confidence", "30"), "--confidence"),
        (("--on", "next week"), "2026-12-05"),
        (("--on", "2026-12-06/2026-12-05"), "before it begins"),
        (("--take", "41@2"), "41"),
        (("--take", "1@Fifth"), "Fifth"),
        (("--leave", "QT99"), "QT99"),
        (("--limit", "0"), "--limit"),
        (("--party", "0"), "at least one caver"),
        (("--on", "2026-12-05", "--on", "2026-12-06"), "2 days for 1 routes"),
    ],
)
def test_a_wrong_wish_is_told_in_words_and_ends_in_status_two(store: Run, words: tuple[str, ...], said: str) -> None:
    ran = store("plan", "quillet.toml", *words)
    assert ran.status == 2
    assert said in ran.err


def test_a_route_that_cannot_be_read_says_line_and_column(tethera: Run, folder: Path) -> None:
    (folder / "bad.toml").write_text('name = "X"\n[[pitch]]\nname = "A"\ndepth = 12\n', encoding="utf-8")
    ran = tethera("needs", "bad.toml")
    assert ran.status == 2
    assert "line 4" in ran.err


def test_a_spreadsheet_of_pitches_is_a_route_too(tethera: Run, folder: Path) -> None:
    (folder / "pitches.csv").write_text(
        "Pitch,Depth (m),Rope (m),Anchors\nFirst,12,20,3\nSecond,19,30,4\n", encoding="utf-8"
    )
    ran = tethera("needs", "pitches.csv", "--json")
    assert ran.status == 0
    assert [pitch["depth_m"] for pitch in ran.json["pitches"]] == [12.0, 19.0]


def test_a_file_that_is_not_there_is_said_in_words(tethera: Run) -> None:
    assert "there is no such file" in tethera("needs", "nowhere.toml").err


def test_a_store_without_a_free_rope_says_so_and_why(store: Run) -> None:
    for rope in range(1, 10):
        store("record", "taken-out", str(rope))
    ran = store("plan", "quillet.toml")
    assert ran.status == 1
    assert "cannot be rigged" in ran.out
    assert "QT1 out since" in ran.out


def test_a_pitch_that_cannot_be_read_is_said_on_top_of_the_plan(store: Run, folder: Path) -> None:
    (folder / "pitches.csv").write_text("Pitch,Depth,Rope\nFirst,12,20\nSecond,?,30\n", encoding="utf-8")
    first_line = store("plan", "pitches.csv").out.splitlines()[0]
    assert first_line.startswith("NOT PLANNED")
    assert "Second" in first_line


def test_what_is_doubted_about_a_chosen_rope_stands_on_the_plan(store: Run) -> None:
    chosen = store("plan", "quillet.toml", "--json").json
    rope = chosen["trips"][0]["ropes"][0]["rope"]
    assert any(finding["where"] == f"rope {rope}" for finding in chosen["findings"])


def test_an_interrupt_at_any_stage_gives_a_plan_or_says_that_there_is_none_yet(
    store: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tethera.cli import trips

    stages: list[str] = []
    monkeypatch.setattr(trips, "_tell_progress", lambda stage, best, bound: stages.append(stage))
    assert store("plan", "quillet.toml").status == 0
    for at in range(len(stages)):
        told = iter(range(len(stages) + 1))

        def interrupt(stage: str, best: float | None, bound: float | None) -> None:
            if next(told, None) == at:  # noqa: B023
                raise KeyboardInterrupt

        monkeypatch.setattr(trips, "_tell_progress", interrupt)
        ran = store("plan", "quillet.toml")
        assert ran.status in (0, 1)
        assert ("ropes" in ran.out and "Proven best" not in ran.out) or "Stopped" in ran.err or "Proven" in ran.out
