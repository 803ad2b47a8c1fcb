"""Stretch and falls at the terminal."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tethera.rope import fall_modulus, hang, rebelay_failure

Run = Callable[..., Any]
MANUAL = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")


def _keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for part in value.values() for key in _keys(part)}
    return {key for part in value for key in _keys(part)} if isinstance(value, list) else set()


def test_stretch_tells_what_reaches_first_and_its_reasons_under_it(tethera: Run) -> None:
    ran = tethera("stretch", "40m", "--mass", "85", "--elongation", "3.5")
    assert ran.status == 0
    lines = ran.out.splitlines()
    assert "↓40 m" in lines[0]
    assert "(39.99 m)" in lines[1]
    assert ran.out.index("What this rests on") < ran.out.index("stopper knot")
    assert max(len(line) for line in lines) <= 80


def test_the_numbers_are_those_of_the_rope_named(tethera: Run) -> None:
    """Mass of 10 mm rope, E = 3.5 %: the core's own band."""
    answer = tethera("stretch", "40m", "--length", "39m", "--elongation", "3.5", "--json").json
    hung = hang(39.0, 0.067, 85.0, 0.035)
    assert answer["length_m"] == 39.0
    assert answer["loaded_foot_high_m"] == pytest.approx(float(hung.loaded_foot_m.high), abs=1e-3)
    assert answer["recoil_likely_m"] == pytest.approx(float(hung.recoil_m.likely), abs=1e-3)
    assert answer["take_m"] < 40 < answer["take_m"] + 0.1


def test_a_rope_that_only_touches_under_load_looks_bad(tethera: Run) -> None:
    said = tethera("stretch", "40m", "--length", "39m").out
    assert "Looks bad: with nobody on it the foot may hang 1.0 m above the floor." in said
    assert "Looks bad" not in tethera("stretch", "40m", "--length", "41m").out


def test_where_a_caver_part_of_the_way_down_hangs(tethera: Run) -> None:
    answer = tethera("stretch", "40m", "--length", "40m", "--at", "20m", "--json").json
    assert 20 < answer["caver_low_m"] < answer["caver_high_m"] < 22
    assert answer["foot_low_m"] < answer["loaded_foot_low_m"]


@pytest.mark.parametrize("scenario", ["backup", "rebelay", "cowstail", "traverse"])
def test_each_fall_gives_its_band_first_and_the_cautions_last(tethera: Run, scenario: str) -> None:
    ran = tethera("fall", scenario)
    assert ran.status == 0
    assert re.search(r"caver  \d+\.\d kN \(\d+\.\d to \d+\.\d\)", ran.out.splitlines()[1])
    assert "Trained people decide" in ran.out.splitlines()[-1]
    assert max(len(line) for line in ran.out.splitlines()) <= 80
    assert not re.search(r"\bsafe", ran.out, re.IGNORECASE)
    answer = tethera("fall", scenario, "--json").json
    assert answer["force_low_kn"] <= answer["force_likely_kn"] <= answer["force_high_kn"]
    assert answer["chances"]["p05_kn"] <= answer["chances"]["p95_kn"]


def test_a_rebelay_is_the_cores_own_answer(tethera: Run) -> None:
    words = ("fall", "rebelay", "--hang", "5m", "--slack", "1.5m", "--type", "A", "--impact-force", "5.1", "--json")
    fall = rebelay_failure(5.0, 1.5, 85.0, fall_modulus("A", impact_force_kn=5.1))
    answer = tethera(*words).json
    assert answer["force_high_kn"] == pytest.approx(float(fall.force_kn.high), abs=1e-3)
    assert answer["fall_factor"] == pytest.approx(0.214, abs=1e-3)
    assert "4 kN" in answer["looks_bad"]


def test_a_rope_of_the_store_lends_its_type_and_length(store: Run) -> None:
    """QT1 is 60 m of 10 mm, type A."""
    fall = store("fall", "backup", "--rope", "QT1", "--json").json
    assert any("type A" in each for each in fall["assumptions"])
    stretch = store("stretch", "50m", "--rope", "QT1", "--json").json
    assert (stretch["rope"], stretch["length_m"]) == ("QT1", 60.0)
    assert store("fall", "backup", "--rope", "QT99").status == 2


def test_measured_slack_narrows_what_is_likely(tethera: Run) -> None:
    guessed, measured = (tethera("fall", "rebelay", *more, "--json").json["chances"] for more in ((), ("--measured",)))
    assert measured["p95_kn"] - measured["p05_kn"] < guessed["p95_kn"] - guessed["p05_kn"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("stretch", "3000m"), "DEPTH must lie between 0 and 2000 m, not 3000"),
        (("stretch", "deep"), "is not a length that can be read"),
        (("stretch", "30m", "--length", "20m", "--at", "25m"), "--at must lie between 0 and --length"),
        (("fall", "rebelay", "--hang", "0m"), "--hang must lie between 0.5 and 500 m, not 0"),
        (
            ("fall", "cowstail", "--above=-0.6m"),
            "--above must lie between minus and plus the length of the tail, --tail",
        ),
        (("fall", "backup", "--impact-force", "1"), "--impact-force must lie between 2 and 20 kN, not 1"),
        (("fall", "backup", "--mass", "5"), "--mass must lie between 30 and 300 kg, not 5"),
        (("fall", "backup", "--link", "0.2m", "--backup-above", "1m"), "--link cannot be shorter"),
    ],
)
def test_what_cannot_be_is_told_by_the_option_as_typed(tethera: Run, words: tuple[str, ...], told: str) -> None:
    ran = tethera(*words)
    assert ran.status == 2
    assert told in ran.err
    assert "_m" not in ran.err


def test_every_key_is_in_the_manual(tethera: Run) -> None:
    known = set(re.findall(r"`([a-z0-9_]+)`", MANUAL))
    for words in (("stretch", "40m", "--at", "20m"), ("fall", "traverse")):
        assert _keys(tethera(*words, "--json").json) - known == set()


def test_what_is_declared_of_a_rope_of_the_store_is_gone_by(store: Run) -> None:
    store("record", "described", "QT1", "elongation=2.5%", "impact-force=4.8kN", "type=A")
    declared = store("fall", "backup", "--rope", "QT1", "--json").json
    typed = store("fall", "backup", "--type", "A", "--impact-force", "4.8", "--elongation", "2.5", "--json").json
    assert "Declared of QT1: elongation 2.5 %, impact force 4.8 kN." in declared["assumptions"]
    assert declared["force_likely_kn"] == typed["force_likely_kn"]
    other = store("fall", "backup", "--rope", "QT1", "--type", "B", "--json").json
    assert "Declared of QT1: elongation 2.5 %." in other["assumptions"]
    stretch = store("stretch", "50m", "--rope", "QT1", "--json").json
    assert "Declared elongation 2.5 %" in " ".join(stretch["assumptions"])
    anchor = store("anchor", "y", "--rope", "QT1", "--json").json
    assert "4.8 kN" in " ".join(anchor["assumptions"])


def test_a_figure_no_formula_takes_is_kept_doubted_and_not_gone_by(store: Run) -> None:
    told = store("record", "described", "QT1", "elongation=35", "impact-force=52")
    assert "EN 1891 allows 5 % at most" in told.out
    fall = store("fall", "backup", "--rope", "QT1", "--json").json
    assert not any("Declared of QT1" in each for each in fall["assumptions"])
    rope = store("rope", "QT1", "--json").json
    assert (rope["elongation_percent"], rope["impact_force_kn"]) == (35.0, 52.0)
