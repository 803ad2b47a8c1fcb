"""The sums: what rope does, asked in the browser; a wrong question takes its answer away."""

import re
from typing import Any

import pytest
from django.utils.html import strip_tags

from tethera.basics import PartialDate
from tethera.store import RouteWritten
from tethera.web.accounts.models import Account
from web.conftest import Club

TALLOW = 'name = "Tallow Hole"\n[[pitch]]\nname = "Entrance"\ndepth = "12 m"\nanchors = 3\n'

SUMS = ("shrinkage", "stretch", "falls", "anchors", "anchors?what=deviation", "anchors?what=traverse")


def words(answer: Any) -> str:
    return " ".join(strip_tags(answer.content.decode()).split())


def ask(club: Club, asked: str, /, **told: str) -> Any:
    return club.reader.get(f"{club.address}/sums/{asked}", told)


def test_the_list_leads_to_every_sum(club: Club) -> None:
    html = club.reader.get(f"{club.address}/sums").content.decode()
    for name in ("shrinkage", "stretch", "falls", "anchors"):
        assert f'href="{club.address}/sums/{name}"' in html


@pytest.mark.parametrize("what", SUMS)
def test_every_sum_has_an_answer_at_once_with_its_drawing_its_table_and_its_cautions(club: Club, what: str) -> None:
    answer = club.reader.get(f"{club.address}/sums/{what}")
    html = answer.content.decode()
    assert answer.status_code == 200
    assert html.count("<svg") >= 2
    assert "<table" in html
    assert "an estimate" in words(answer).casefold()
    assert not re.search(r"\bsafe(ly)?\b", words(answer).casefold())


def test_more_is_bought_to_be_surer_for_more_ropes_and_for_life(club: Club) -> None:
    """40 m of nylon of which none was measured, 5 to 15 % lost by 80 % of ropes: 48.0 m at 95 %."""
    plain = ask(club, "shrinkage", kind="nylon", left="40").context["buy_cm"]
    assert plain == pytest.approx(4799, abs=2)
    assert ask(club, "shrinkage", kind="nylon", left="40", confidence="99").context["buy_cm"] > plain
    assert ask(club, "shrinkage", kind="nylon", left="40", ropes="5").context["buy_cm"] > plain
    assert ask(club, "shrinkage", kind="nylon", left="40", life="on").context["buy_cm"] > plain
    assert ask(club, "shrinkage", kind="polyester", left="40").context["buy_cm"] < plain


def test_a_rope_that_reaches_only_under_load_looks_bad(club: Club) -> None:
    assert "Looks bad" in words(ask(club, "stretch", floor="40", length="39"))
    assert "Looks bad" not in words(ask(club, "stretch", floor="40", length="45"))


def test_a_fall_on_more_slack_passes_the_ceiling(club: Club) -> None:
    assert "Looks bad" not in words(ask(club, "falls", what="rebelay", hang="30", slack="0.3", type="A", force="5.2"))
    assert "6 kN" in words(ask(club, "falls", what="rebelay", hang="3", slack="3", type="A"))


def test_a_right_angle_gives_each_leg_what_the_formula_says(club: Club) -> None:
    """T = W / (2 cos 45 degrees), on 100 kg."""
    answer = ask(club, "anchors", what="y", apart="1.41", leg1="1", leg2="1", mass="100")
    loads = answer.context["told"]["loads"]
    assert [load["hanging_kn"]["likely"] for load in loads] == pytest.approx([0.6934, 0.6934], abs=0.004)
    assert "90°" in words(answer)


def test_a_third_leg_and_a_second_deviation_are_asked_for(club: Club) -> None:
    answer = ask(club, "anchors", what="y", leg1="0.8", leg2="0.8", leg3="0.9")
    assert [load["name"] for load in answer.context["told"]["loads"]] == ["leg 1", "leg 2", "leg 3"]
    answer = ask(club, "anchors", what="deviation", sling2="0.4", aside2="-0.2", down2="10")
    assert len(answer.context["told"]["turns_deg"]) == 2


def test_a_declared_rating_that_is_passed_looks_bad(club: Club) -> None:
    answer = ask(club, "anchors", what="traverse", rating="2")
    assert "more than the 2.0 kN of the anchor" in words(answer)


@pytest.mark.parametrize(
    ("what", "told", "said"),
    [
        ("stretch", {"floor": "deep"}, "From anchor to floor"),
        ("falls", {"mass": "5000"}, "Caver with kit and bags"),
        ("anchors", {"leg1": "nought"}, "Left leg"),
        ("anchors", {"apart": "9", "leg1": "1", "leg2": "1"}, "leg"),
        ("anchors", {"aside": "95"}, "Pull to the right"),
        ("anchors", {"what": "traverse", "slack": "9", "span": "2"}, "Rope beyond the straight line"),
    ],
)
def test_a_wrong_question_is_told_by_the_words_above_its_field_and_has_no_answer(
    club: Club, what: str, told: dict[str, str], said: str
) -> None:
    answer = ask(club, what, **told)
    assert answer.status_code == 422
    assert said in words(answer)
    assert "<svg" not in answer.content.decode().split('id="answer"')[1]
    live = club.reader.get(f"{club.address}/sums/{what}", told, headers={"HX-Request": "true"})
    assert live.status_code == 200
    assert said in words(live)


def test_whoever_counts_in_feet_is_asked_and_read_in_feet(club: Club) -> None:
    Account.objects.update(units="ft")
    answer = ask(club, "anchors", what="y")
    assert 'value="3.3"' in answer.content.decode()


def test_the_loads_of_a_route_come_bad_ones_first(club: Club) -> None:
    club.did(RouteWritten(happened=PartialDate(2024), key="tallow-hole", text=TALLOW))
    answer = club.reader.get(f"{club.address}/routes/tallow-hole/loads")
    assert answer.status_code == 200
    badness = [each["badness"] for each in answer.context["told"]["anchors"]]
    assert badness == sorted(badness, reverse=True)
    assert "head of Entrance" in words(answer)
    assert (
        f"{club.address}/routes/tallow-hole/loads"
        in club.reader.get(f"{club.address}/routes/tallow-hole").content.decode()
    )
    assert club.reader.get(f"{club.address}/routes/tallow-hole/loads", {"mass": "x"}).status_code == 422


def test_each_sum_says_whether_its_caver_has_a_bag(club: Club) -> None:
    """85 kg with what hangs on the harness (rope/tables/falls.toml), 15 kg a full bag (rigging/tables/loads.toml)."""
    club.did(RouteWritten(happened=PartialDate(2024), key="tallow-hole", text=TALLOW))
    for path, mass, told in (
        ("sums/falls", "85", "85 kg with what hangs on the harness. Add a bag that hangs there too: 15 kg when full."),
        (
            "sums/stretch",
            "85",
            "85 kg with what hangs on the harness. Add a bag that hangs there too: 15 kg when full.",
        ),
        ("sums/anchors", "100", "85 kg with what hangs on the harness, and a full bag of 15 kg."),
        ("routes/tallow-hole/loads", "100", "85 kg with what hangs on the harness, and a full bag of 15 kg."),
    ):
        page = club.reader.get(f"{club.address}/{path}").content.decode()
        assert f'name="mass" value="{mass}"' in page, path
        assert told in page, path
