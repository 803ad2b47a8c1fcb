"""Marks in a browser: printed as ticked, lettered on a telephone, ticks that outlive a reload, and no scripts."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import DESKTOP, KEEPER, PHONE, READER, LookIn
from browser.test_every_page import check

#: The least of telephones that is still held in hands.
SMALL = (360, 640)


def letter(page: Page, address: str, rope: str, then: str = "") -> None:
    page.goto(f"{address}/ug/marks/{rope}{f'?then={then}' if then else ''}")


def marked(page: Page, address: str, rope: str) -> int:
    """How often the store has recorded marks for a rope, by the written life on its page."""
    _, _, life = page.request.get(f"{address}/ug/ropes/{rope}").text().partition('id="life"')
    return life.count("<p>Both ends marked")


def asked_for(page: Page, act: Callable[[], None]) -> str:
    """The address of the strips that an act asks for; the strips themselves are a PDF."""
    with page.context.expect_event("response", lambda answer: "strips.pdf" in answer.url) as caught:
        act()
    assert caught.value.status == 200
    assert caught.value.headers["content-type"] == "application/pdf"
    return str(caught.value.url)


@pytest.mark.parametrize(("size", "night"), [(DESKTOP, False), (PHONE, True), (SMALL, False)])
def test_both_pages_are_whole_and_a_strip_stays_in_its_box(
    look_in: LookIn, address: str, size: tuple[int, int], night: bool
) -> None:
    page = look_in(KEEPER, size, night=night)
    page.goto(f"{address}/ug/marks?rope=UG1&rope=UG4")
    for strip in page.get_by_text("The strip, unrolled").all():
        strip.click()
    check(page, f"marks {size}")
    letter(page, address, "UG1", "UG2")
    check(page, f"letter {size}")
    letter(page, address, "UG4")
    check(page, f"no mark {size}")


def test_the_length_on_a_drawn_strip_stands_within_its_capsule(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/marks?rope=UG3")
    page.get_by_text("The strip, unrolled").first.click()
    room = page.evaluate("""() => {
        const svg = document.querySelector("svg.strip"), text = svg.querySelector("text").getBBox();
        const [left, right] = [...svg.querySelectorAll("polyline")].slice(0, 2).map((line) => line.getBBox());
        return [text.x - left.x, right.x + right.width - text.x - text.width];
    }""")
    assert min(room) > 0
    assert abs(room[0] - room[1]) < 0.4


@pytest.mark.parametrize("size", [PHONE, SMALL])
def test_the_length_fills_a_telephone_and_never_more(look_in: LookIn, address: str, size: tuple[int, int]) -> None:
    page = look_in(KEEPER, size)
    letter(page, address, "UG1")
    for said in ("8", "55", "100", "1000"):
        share = page.evaluate(
            """(said) => {
                const line = document.querySelector(".letter .huge");
                line.className = "huge wide-" + said.length;
                line.textContent = said + "\\u202fm";
                const words = document.createRange();
                words.selectNodeContents(line);
                return words.getBoundingClientRect().width / line.getBoundingClientRect().width;
            }""",
            said,
        )
        assert 0.7 < share <= 1, said


def test_ticks_outlive_a_reload_and_only_both_record(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    before = marked(page, address, "UG1")
    letter(page, address, "UG1", "UG2")
    page.get_by_label("One end carries it", exact=True).check()
    page.reload()
    expect(page.get_by_label("One end carries it", exact=True)).to_be_checked()
    expect(page.get_by_label("The other end carries it")).not_to_be_checked()
    page.get_by_role("button", name="Record the mark").click()
    expect(page.get_by_role("alert")).to_contain_text("the other end is missing")
    expect(page.get_by_label("One end carries it", exact=True)).to_be_checked()
    assert marked(page, address, "UG1") == before
    page.get_by_label("The other end carries it").check()
    page.get_by_role("button", name="Record the mark").click()
    page.wait_for_url("**/marks/UG2")
    expect(page.locator(".told")).to_contain_text("Both ends marked: UG1.")
    assert marked(page, address, "UG1") == before + 1
    # Its ticks have done their work, and the next rope starts with none.
    expect(page.get_by_label("One end carries it", exact=True)).not_to_be_checked()
    letter(page, address, "UG1")
    expect(page.get_by_label("One end carries it", exact=True)).not_to_be_checked()


@pytest.mark.parametrize(("who", "script"), [(KEEPER, True), (KEEPER, False), (READER, False)])
def test_printed_is_what_is_ticked_and_chosen_at_that_moment(
    look_in: LookIn, address: str, who: str, script: bool
) -> None:
    page = look_in(who, script=script)
    page.goto(f"{address}/ug/marks?rope=UG1&rope=UG2&rope=UG3")
    page.get_by_label("Pick UG2", exact=True).uncheck()
    page.get_by_label("sheets of Letter").check()
    page.locator("#over-UG3").fill("10.9")
    page.get_by_label("More ropes").fill("5")
    url = asked_for(page, page.get_by_role("button", name="Print the strips").click)
    assert re.findall(r"rope=(\w+)", url) == ["UG1", "UG3", "UG5"]
    assert "paper=letter" in url
    assert "over-UG3=10.9" in url
    # The page itself has stayed, with all that was typed.
    assert page.locator("#over-UG3").input_value() == "10.9"


def test_without_scripts_ropes_from_the_list_are_lettered_and_recorded_one_after_the_other(
    look_in: LookIn, address: str
) -> None:
    page = look_in(KEEPER, PHONE, script=False)
    page.goto(f"{address}/ug/marks?rope=UG3&rope=UG5")
    page.get_by_role("button", name="Letter by hand").click()
    for rope in ("UG3", "UG5"):
        expect(page.get_by_role("heading", level=1)).to_contain_text(rope)
        page.get_by_label("One end carries it", exact=True).check()
        page.get_by_label("The other end carries it").check()
        page.get_by_role("button", name="Record the mark").click()
        expect(page.locator(".told")).to_contain_text(f"Both ends marked: {rope}.")
    expect(page.get_by_role("heading", level=1)).to_have_text("Marks on both ends")


def test_from_preparation_the_marks_that_are_not_true_are_printed_and_recorded(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/preparation")
    group = page.locator("form.group", has_text="Marks no longer true")
    group.get_by_label("Pick UG21").check()
    group.get_by_role("button", name=re.compile("Print or letter their marks")).click()
    expect(page.get_by_label("Pick UG21")).to_be_checked()
    expect(page.get_by_text("Take the old marks off:")).to_be_visible()
    page.get_by_role("button", name="Both ends carry it: record the marks").click()
    expect(page.locator(".told")).to_contain_text("Both ends marked: UG21.")
    expect(page.get_by_text("No rope waits for marks.")).to_be_visible()
    check(page, "marks, none waiting")
