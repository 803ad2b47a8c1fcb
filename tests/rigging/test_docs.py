"""The manual holds to the reader, and the reader to the manual."""

import re
from pathlib import Path

import pytest

from tethera.rigging import read_route, rope_needs
from tethera.rigging.route_file import KEYS

DOCS = Path(__file__).resolve().parents[2] / "docs"
ROUTES = (DOCS / "routes.md").read_text(encoding="utf-8")
NEEDS = (DOCS / "needs.md").read_text(encoding="utf-8")
SECTIONS = {"Keys of a route": "route", "Keys of a pitch": "pitch", "Keys of an anchor": "anchor"}


def block(text):
    return re.search(r"```toml\n(.*?)```", text, re.DOTALL)[1]


def rows_of(heading):
    part = ROUTES.split(f"## {heading}\n")[1].split("\n## ")[0]
    return [line.strip("|").split("|") for line in part.splitlines() if line.startswith("| `")]


@pytest.mark.parametrize(("heading", "kind"), SECTIONS.items())
def test_every_key_is_in_the_manual_and_every_key_of_the_manual_is_accepted(heading, kind):
    written = {key for row in rows_of(heading) for key in re.findall(r"`(\w+)`", row[0])}
    assert written == set(KEYS[kind])


def test_the_keys_of_together_and_totals_are_in_the_manual():
    for kind in ("together", "totals"):
        written = {row[0].strip(" `") for row in rows_of("Keys of together and totals") if f"({kind})" in row[2]}
        assert written == set(KEYS[kind])


def test_every_word_a_choice_allows_is_in_the_manual():
    for heading, kind in SECTIONS.items():
        for row in rows_of(heading):
            allowed = KEYS[kind][row[0].split("`")[1]]
            if "/" in allowed:
                assert row[1].strip().split(", ") == allowed.split("/")


def test_the_example_of_the_manual_is_read_without_a_doubt():
    reading = read_route(block(ROUTES))
    assert reading.findings == ()
    assert [pitch.name for pitch in reading.route.pitches] == ["Entrance", "Chandler"]


def test_five_pitches_worked_by_hand_agree_with_ours():
    needs = {need.pitch: need for need in rope_needs(read_route(block(NEEDS)).route)}
    rows = re.findall(r"^\| (\w+) \| ([^|]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", NEEDS, re.MULTILINE)
    assert [row[0] for row in rows] == list(needs) == ["One", "Two", "Three", "Four", "Five"]
    for name, by_hand, total, mean, high in rows:
        worked = eval(by_hand.replace("×", "*"), {"__builtins__": {}})
        assert worked == pytest.approx(float(total), abs=0.006)
        assert needs[name].mean_m == pytest.approx(float(mean), abs=0.006)
        assert float(total) == float(mean)
        assert needs[name].at(1.645) == round(float(high) * 100)
