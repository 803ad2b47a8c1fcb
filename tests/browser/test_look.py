"""By keyboard alone, on a narrow paper, with letters of twice the size, with colours of one's own."""

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import DESKTOP, KEEPER, PHONE, LookIn

NARROW, HALF_A_DESK = (320, 640), (640, 450)
PAGES = ("", "/ropes", "/ropes/UG21", "/ropes/UG21/do/washed", "/ropes/recall", "/new-ropes", "/preparation",
         "/measure", "/out-and-back", "/inspect", "/stocktake", "/year", "/import", "/settings", "/people")  # fmt: skip
_SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
_OUTLINED = "parseFloat(getComputedStyle(document.activeElement).outlineWidth)"
_SAYS = "(document.activeElement.textContent || document.activeElement.name || '').trim()"


def tab_to(page: Page, words: str, most: int = 80) -> None:
    """Press Tab until what has the focus says these words; each stop on the way shows that it has it."""
    for _ in range(most):
        page.keyboard.press("Tab")
        assert page.evaluate(_OUTLINED) >= 2, page.evaluate("document.activeElement.outerHTML")
        if page.evaluate(_SAYS) == words:
            return
    raise AssertionError(f"no way to {words} by Tab")


def test_a_note_is_written_by_keyboard_alone(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/ropes")
    tab_to(page, "UG2")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ropes/UG2")
    tab_to(page, "A note")
    page.keyboard.press("Enter")
    page.wait_for_url("**/do/note")
    tab_to(page, "note")
    page.keyboard.type("Written without a mouse")
    tab_to(page, "Write it down")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ropes/UG2")
    expect(page.locator(".told")).to_contain_text("UG2")
    expect(page.locator("ol.life").first).to_contain_text("Written without a mouse")


def test_the_first_tab_leads_past_the_head(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug")
    page.keyboard.press("Tab")
    assert page.evaluate(_SAYS) == "To the page"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


def test_the_names_of_the_pages_stay_on_one_line_of_a_desk(look_in: LookIn, address: str) -> None:
    """The page one is at is bold, and wider; with a scroll bar of 15 px a desk of 1280 px is narrower still."""
    page = look_in(KEEPER, (DESKTOP[0] - 15, DESKTOP[1]))
    lines = (
        "new Set([...document.querySelectorAll('.menu a')].filter((a) => a.offsetParent).map((a) => a.offsetTop)).size"
    )
    for path in (*PAGES, "/routes", "/trips", "/sums", "/buying", "/marks"):
        page.goto(f"{address}/ug{path}")
        assert page.evaluate(lines) == 1, path


def test_the_pages_fold_out_and_in_by_keyboard(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.goto(f"{address}/ug")
    button, ropes = page.get_by_role("button", name="Pages"), page.get_by_role("link", name="Ropes", exact=True)
    expect(ropes).to_be_hidden()
    expect(button).to_have_attribute("aria-expanded", "false")
    button.focus()
    page.keyboard.press("Enter")
    expect(button).to_have_attribute("aria-expanded", "true")
    expect(ropes).to_be_visible()
    ropes.focus()
    page.keyboard.press("Escape")
    expect(ropes).to_be_hidden()
    expect(button).to_be_focused()


def test_without_script_the_pages_are_simply_there(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE, script=False)
    page.goto(f"{address}/ug")
    expect(page.get_by_role("link", name="Ropes", exact=True)).to_be_visible()
    expect(page.get_by_role("button", name="Pages")).to_be_hidden()


@pytest.mark.parametrize("size", [NARROW, (360, 740), HALF_A_DESK, (768, 1024)], ids=lambda size: f"{size[0]} px")
def test_nothing_sticks_out(look_in: LookIn, address: str, size: tuple[int, int]) -> None:
    """320 px is what WCAG 2.1, 1.4.10 asks for; 640 px is a desk's screen at twice the size."""
    page = look_in(KEEPER, size)
    wide = {}
    for each in PAGES:
        page.goto(f"{address}/ug{each}")
        wide[each] = page.evaluate(_SIDEWAYS)
    assert {each: by for each, by in wide.items() if by > 0} == {}


def test_three_sizes_stand_on_a_page_and_a_fourth_only_where_metres_are_counted(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, DESKTOP)
    sizes = """() => [...new Set([...document.querySelectorAll('body *')]
        .filter(e => e.checkVisibility() && !e.closest('svg')
                     && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
        .map(e => getComputedStyle(e).fontSize))]"""
    for each in PAGES:
        page.goto(f"{address}/ug{each}")
        assert len(page.evaluate(sizes)) <= 3, each
    page.goto(f"{address}/ug/measure/UG2")
    assert len(page.evaluate(sizes)) <= 4


def test_targets_on_a_phone_are_high_enough(look_in: LookIn, address: str) -> None:
    """A tick is as high as the label it stands in or beside."""
    page = look_in(KEEPER, PHONE)
    low = """() => [...document.querySelectorAll('button, .act, input:not([type=hidden]), select, textarea, summary')]
        .filter(e => e.checkVisibility() && !e.closest('.unseen') && !e.classList.contains('unseen'))
        .filter(e => Math.max(e.getBoundingClientRect().height,
                              ...[...(e.labels || [])].map(l => l.getBoundingClientRect().height)) < 47.5)
        .map(e => e.outerHTML.slice(0, 120))"""
    for each in PAGES:
        page.goto(f"{address}/ug{each}")
        assert page.evaluate(low) == [], each


def test_with_colours_of_ones_own_fields_and_ticks_can_still_be_seen(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.emulate_media(forced_colors="active")
    page.goto(f"{address}/ug/new-ropes")
    border = "e => parseFloat(getComputedStyle(e).borderTopWidth)"
    assert page.locator("#id_length").evaluate(border) >= 1
    assert page.locator("input[type=checkbox]").first.evaluate("e => getComputedStyle(e).appearance") == "auto"
