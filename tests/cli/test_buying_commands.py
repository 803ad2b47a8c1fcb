"""What to buy and how to cut it, asked at the terminal."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.cli.test_json_manual import WORDS, keys

BUY = ("buy", "quillet.toml", "--reel", "200m@310", "--reel", "100yd@140", "--type", "A", "--diameter", "10mm")


def test_a_store_that_has_the_ropes_need_buy_nothing(store: Callable[..., Any]) -> None:
    ran = store(*BUY)
    assert ran.status == 0
    assert "Nothing to buy" in ran.out
    assert "Counted:" in ran.out


def test_lengths_that_no_rope_has_are_bought_with_reasons_bound_and_confidence(store: Callable[..., Any]) -> None:
    ran = store(*BUY[:1], "--lengths", "2x70m", *BUY[2:])
    assert ran.status == 0
    assert re.search(r"2 new ropes for £\d+", ran.out)
    assert "Proven" in ran.out
    assert re.search(r"held in 9\d\.\d % of 20,000 draws", ran.out)
    assert "You asked for 70 m" in ran.out


def test_a_pitch_that_no_rope_reaches_gives_the_reason_for_the_rope_and_what_goes_wrong_without_it(
    store: Callable[..., Any], folder: Path
) -> None:
    text = 'name = "Long Pot"\n[[pitch]]\nname = "Shaft"\ndepth = "70 m"\nanchors = 2\n'
    (folder / "long.toml").write_text(text, encoding="utf-8")
    ran = store("buy", "long.toml", *BUY[2:], "--at-once", "1")
    said = " ".join(ran.out.split())
    assert ran.status == 0
    assert "Long Pot: Shaft takes" in said
    assert "Left out, Long Pot no longer goes." in said
    assert "points more lost than foretold" in said


def test_every_key_of_buy_and_cut_is_in_the_manual(store: Callable[..., Any]) -> None:
    answers = {
        "buy": store(*BUY[:1], "--lengths", "70m,30m", *BUY[2:], "--ceiling", "100", "--json").json,
        "years": store(*BUY, "--years", "2", "--json").json,
        "cut": store("cut", "40", "--reel", "100m", "--json").json,
    }
    answers["cut"]["becomes_cm"] = list(answers["cut"]["becomes_cm"].values())
    missing = {(command, key) for command, answer in answers.items() for key in keys(answer) if key not in WORDS}
    assert missing == set()
    assert answers["buy"]["status"] == "optimal"
    assert answers["buy"]["at_most"]["lost"] == ["lengths you asked for"]


def test_years_are_told_one_below_the_other(store: Callable[..., Any]) -> None:
    ran = store(*BUY, "--years", "3")
    assert ran.status == 0
    assert len(re.findall(r"^20\d\d ", ran.out, re.MULTILINE)) == 3


def test_a_route_no_reel_can_rig_is_named_and_the_exit_status_says_so(store: Callable[..., Any], folder: Path) -> None:
    (folder / "deep.toml").write_text(
        'name = "Deep Pot"\n[[pitch]]\nname = "Shaft"\ndepth = "230 m"\nanchors = 2\n', encoding="utf-8"
    )
    ran = store("buy", "deep.toml", *BUY[2:])
    assert ran.status == 1
    assert "Shaft takes" in ran.out


def test_cuts_are_told_in_order_and_again_once_a_piece_is_measured(store: Callable[..., Any]) -> None:
    first = store("cut", "40", "40", "55", "20", "--reel", "200m")
    assert first.status == 0
    assert "4 cuts" in first.out
    again = store("cut", "40", "40", "55", "20", "--reel", "200m", "--cut", "25m=23m")
    assert "3 cuts" in again.out
    assert "Cut already: (20 m)" in again.out


def test_a_rope_of_the_store_is_cut_and_the_line_to_record_it_is_given(store: Callable[..., Any]) -> None:
    told = store("cut", "20", "15", "--rope", "QT1", "--soaked")
    assert "When it is cut:  tethera record cut QT1 into=20m,15m" in told.out
    line = re.search(r"tethera (record cut QT1 into=\S+)", told.out)
    assert line is not None
    assert store(*line[1].split()).status == 0
    assert "retired" in store("rope", "QT1").out or "cut" in store("rope", "QT1").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("buy", "--reel", "200m@310"), "at least one route"),
        (("buy", "quillet.toml"), "name a reel on offer"),
        (("buy", "quillet.toml", "--reel", "200m"), "--reel"),
        (("buy", "quillet.toml", "--reel", "200m@cheap"), "cannot be read as pounds"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--at-once", "2"), "routes go at once"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--together", "1+x"), "names no routes"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--together", "1+2"), "not in the list"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--confidence", "100"), "--confidence"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--until", "soon"), "--until"),
        (("buy", "quillet.toml", "--reel", "200m@310", "--years", "0"), "1 to 10 years"),
        (("buy", "nowhere.toml", "--reel", "200m@310"), "no such file"),
        (("cut", "40"), "Say what is to be cut"),
        (("cut", "forty", "--reel", "200m"), "LENGTH"),
        (("cut", "40", "--reel", "200m", "--cut", "300m"), "within its 200 m"),
        (("cut", "40", "--reel", "200m", "--damaged", "300m"), "damaged place"),
        (("cut", "40", "--reel", "200m", "--reel", "100m", "--damaged", "30m"), "one reel at a time"),
    ],
)
def test_bad_words_are_told_without_a_traceback(store: Callable[..., Any], words: tuple[str, ...], told: str) -> None:
    ran = store(*words)
    assert ran.status == 2
    assert told in ran.err
    assert "Traceback" not in ran.err


def test_the_lines_given_record_the_reel_and_its_pieces(store: Callable[..., Any]) -> None:
    """What the answer says to type is typed: the reel comes in and becomes the pieces, its useful off-cut with them."""
    said = store(*BUY[:1], "--lengths", "70m", *BUY[2:]).out
    lines = re.findall(r"^ +tethera (record .+)$", said, re.MULTILINE)
    bought, cut = lines[0].split(), lines[1]
    reel = store(*bought, "--json").json["ropes"][0]
    done = store(*cut.replace("NUMBER", reel).split(), "--json").json
    assert done["recorded"] == "cut"
    lengths = [store("rope", rope, "--json").json["length_cm"] for rope in done["ropes"][1:]]
    assert lengths[0] >= 7000
    assert sum(lengths) <= 9144
