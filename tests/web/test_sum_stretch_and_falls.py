"""The pages about stretch and falls."""

import re

import pytest

from tethera.rope import ask_rebelay, fall_modulus, reach
from web.conftest import Club


def _words(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.replace("\u202f", " ").replace("&#8239;", " ")))


class TestStretch:
    def test_the_answer_stands_at_once_with_the_cores_own_length(self, club: Club) -> None:
        page = club.reader.get(f"{club.address}/sums/stretch?floor=40&elongation=3.5").content.decode()
        found = reach(40.0, 0.067, 85.0, 0.035)
        assert 39.9 < found.take_m < 40
        assert "39.99 m on, knots and tail on top" in _words(page)
        assert page.count('role="img"') >= 2
        assert "Tie a stopper knot" in page

    def test_a_rope_that_springs_out_of_reach_looks_bad(self, club: Club) -> None:
        pages = [club.reader.get(f"{club.address}/sums/stretch?floor=40&length={m}") for m in (39, 41)]
        short, long = (_words(page.content.decode()) for page in pages)
        assert "may hang 1.0 m above the floor with nobody on it" in short
        assert "A caver may still touch down on it, and be left there." in short
        assert "Looks bad" not in long

    def test_a_rope_of_the_store_lends_its_length(self, club: Club) -> None:
        club.ready("UG1", 45, diameter_mm=10.0, rope_type="A")
        page = _words(club.reader.get(f"{club.address}/sums/stretch?floor=40&rope=UG1").content.decode())
        assert "For a rope of 45 m" in page
        assert "UG1 10 mm A (45 m)" in page

    def test_what_is_declared_of_a_rope_is_gone_by_until_something_else_is_typed(self, club: Club) -> None:
        club.ready("UG1", 45, diameter_mm=10.0, rope_type="A", elongation_percent=2.0, mass_g_per_m=67.0)
        declared, typed, bare = (
            _words(club.reader.get(f"{club.address}/sums/stretch?floor=40&{query}").content.decode())
            for query in ("rope=UG1", "rope=UG1&elongation=4", "length=45&elongation=2&grams=67")
        )
        assert "Declared of UG1: elongation 2 %." in declared
        assert "Declared of UG1" not in typed
        stretches = [re.search(r"springs up by (.*?) To leave", page) for page in (declared, typed, bare)]
        assert all(stretches)
        assert stretches[0][1] == stretches[2][1] != stretches[1][1]  # type: ignore[index]

    def test_what_cannot_be_read_is_told_in_the_answers_place(self, club: Club) -> None:
        answer = club.reader.get(f"{club.address}/sums/stretch?floor=deep&mass=5")
        page = _words(answer.content.decode())
        assert answer.status_code == 422
        assert "From anchor to floor: “deep” is not a length" in page
        assert "Caver with kit and bags: write 30 to 300 kg, not 5." in page
        assert "Looks bad" not in page
        assert 'value="deep"' in answer.content.decode()


class TestFalls:
    @pytest.mark.parametrize("what", ["backup", "rebelay", "cowstail", "traverse"])
    def test_each_has_its_band_its_drawings_and_its_cautions(self, club: Club, what: str) -> None:
        answer = club.reader.get(f"{club.address}/sums/falls?what={what}")
        page = answer.content.decode()
        assert answer.status_code == 200
        assert re.search(r"Most force on the caver \d+\.\d kN \(\d+\.\d to \d+\.\d\)", _words(page))
        assert page.count('role="img"') == 6, "three drawings, for a desk and for a telephone"
        assert "Slack is the number that matters: measure it." in page
        assert not re.search(r"\bsafe(ly)?\b", _words(page), re.IGNORECASE)
        assert "nan" not in _words(page).lower().split()

    def test_an_impact_force_declared_is_that_typed_and_says_nothing_of_another_type(self, club: Club) -> None:
        club.ready("UG1", 45, rope_type="A", impact_force_kn=4.4)
        base = f"{club.address}/sums/falls?what=backup"
        declared, typed, other = (
            _words(club.reader.get(f"{base}&{query}").content.decode())
            for query in ("rope=UG1", "type=A&force=4.4", "rope=UG1&type=B")
        )
        force = r"Most force on the caver (\d+\.\d kN \(.*?\))"
        assert "Declared of UG1: impact force 4.4 kN." in declared
        assert re.findall(force, declared) == re.findall(force, typed) != re.findall(force, other)
        assert "Declared of UG1" not in other

    def test_a_rebelay_is_what_the_core_says(self, club: Club) -> None:
        query = "what=rebelay&hang=5&slack=1.5&under=0.5&type=A&force=5.1"
        page = _words(club.reader.get(f"{club.address}/sums/falls?{query}").content.decode())
        force = ask_rebelay(5.0, 1.5, 85.0, fall_modulus("A", impact_force_kn=5.1)).answer().force_kn
        assert f"Most force on the caver {force.likely:.1f} kN" in page
        assert f"{force.low:.1f} {force.likely:.1f} {force.high:.1f}" in page
        assert "Looks bad: this can pass 4 kN" in page

    def test_a_gentle_fall_is_called_nothing(self, club: Club) -> None:
        page = _words(club.reader.get(f"{club.address}/sums/falls?what=rebelay&hang=50&slack=0.5").content.decode())
        assert "Looks bad" not in page
        assert "never that it will hold" in page

    def test_what_two_numbers_together_cannot_be_is_told_by_their_labels(self, club: Club) -> None:
        answer = club.reader.get(f"{club.address}/sums/falls?what=cowstail&tail=0.5&above=0.8")
        page = _words(answer.content.decode())
        assert answer.status_code == 422
        assert "“Harness above the anchor, metres” must lie between minus and plus the length of the tail" in page
        assert "above_m" not in page
        link = _words(club.reader.get(f"{club.address}/sums/falls?link=0.2&backup_above=1").content.decode())
        assert "“Rope between the two anchors” cannot be shorter" in link

    def test_htmx_gets_the_reason_with_a_page_it_will_show(self, club: Club) -> None:
        answer = club.reader.get(f"{club.address}/sums/falls?link=x", headers={"hx-request": "true"})
        assert answer.status_code == 200
        assert "“x” is not a length" in answer.content.decode()

    def test_both_sums_are_on_the_list(self, club: Club) -> None:
        page = club.reader.get(f"{club.address}/sums").content.decode()
        assert f"{club.address}/sums/stretch" in page
        assert f"{club.address}/sums/falls" in page
