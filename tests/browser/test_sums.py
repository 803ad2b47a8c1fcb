"""Sums on a telephone: the first line of the answer stays in sight while its numbers are typed above it."""

import pytest
from playwright.sync_api import expect

from browser.conftest import PHONE, READER, LookIn
from browser.test_every_page import check


@pytest.mark.parametrize("sum_name", ["falls", "anchors", "stretch", "shrinkage"])
def test_the_answer_is_in_sight_from_the_first_number_on(look_in: LookIn, address: str, sum_name: str) -> None:
    page = look_in(READER, PHONE)
    page.goto(f"{address}/ug/sums/{sum_name}")
    expect(page.locator("#answer > .lead")).to_be_in_viewport(ratio=0.99)
    check(page, f"{sum_name} on a telephone")


def test_typing_moves_the_answer_where_it_stands_and_a_mistake_takes_its_place(look_in: LookIn, address: str) -> None:
    page = look_in(READER, PHONE)
    page.goto(f"{address}/ug/sums/falls")
    lead, rope = page.locator("#answer > .lead"), page.get_by_label("Rope down to the caver")
    before = lead.inner_text()
    rope.fill("20")
    expect(lead).not_to_have_text(before)
    expect(lead).to_be_in_viewport(ratio=0.99)
    rope.fill("abc")
    expect(page.locator("#answer > [role=alert]")).to_be_in_viewport()


def test_no_field_is_typed_into_behind_the_answer(look_in: LookIn, address: str) -> None:
    page = look_in(READER, PHONE)
    page.goto(f"{address}/ug/sums/anchors")
    for field in page.locator(".asked input:not([type=hidden])").all():
        field.focus()
        typed, answer = field.bounding_box(), page.locator("#answer > .lead").bounding_box()
        assert typed is not None
        assert answer is not None
        assert typed["y"] + typed["height"] <= answer["y"] + 1
