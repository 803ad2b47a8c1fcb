"""Finding ropes by typing and acting on several, in a real browser, with JavaScript and without."""

import re

from playwright.sync_api import Page, expect

from browser.conftest import KEEPER, PHONE, LookIn


def numbers(page: Page) -> list[str]:
    """The ropes shown."""
    return [str(each) for each in page.eval_on_selector_all("#listed input[name=rope]", "all => all.map(a => a.value)")]


def test_typing_finds_at_once_the_address_follows_and_picks_stay(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/ropes")
    everything = numbers(page)
    page.locator("input[name=rope][value=UG1]").check()
    page.locator("#id_q").press_sequentially("set aside", delay=20)
    expect(page.locator("#listed .large")).not_to_have_text(str(len(everything)))
    expect(page).to_have_url(f"{address}/ug/ropes?q=set+aside")
    # What does not fit any longer, but was picked, is still there and still picked.
    assert numbers(page)[0] == "UG1"
    expect(page.locator("input[name=rope][value=UG1]")).to_be_checked()
    expect(page.locator("[data-picked]")).to_have_text("1")
    expect(page.locator("#id_q")).to_be_focused()
    page.get_by_label("Pick all shown").check()
    picked = numbers(page)
    page.locator("#id_act").select_option("washed")
    page.get_by_role("button", name="Go on with these").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Record the wash of {len(picked)} ropes")
    page.get_by_role("link", name="Back to the list").click()
    expect(page.locator("#id_q")).to_have_value("set aside")
    assert page.locator("input[name=rope]:checked").count() == len(picked)


def test_the_back_button_leads_to_the_list_as_it_was_found(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/ropes")
    page.locator("#id_q").press_sequentially("ug12", delay=20)
    expect(page).to_have_url(re.compile(r"q=ug12$"))
    page.locator("#listed a.rope").first.click()
    page.wait_for_url(re.compile(r"/ropes/UG12"))
    page.go_back()
    expect(page.locator("#id_q")).to_have_value("ug12")
    assert numbers(page)[0].startswith("UG12")


def test_a_filter_that_cannot_be_read_is_told_while_typing(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/ropes")
    page.get_by_text("Narrow down, or sort").click()
    page.get_by_label("Length from (m)").fill("long")
    expect(page.locator("#listed .doubt").first).to_contain_text("“long” is not a length that can be read")
    page.get_by_label("Length from (m)").fill("50")
    expect(page.locator("#listed .only")).to_contain_text("Length from (m): 50")


def test_a_draft_of_the_details_survives_a_reload(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.goto(f"{address}/ug/ropes/several?act=set-aside&rope=UG1&rope=UG2")
    page.get_by_label("Why").fill("smells of petrol")
    page.reload()
    expect(page.get_by_label("Why")).to_have_value("smells of petrol")
    page.get_by_role("button", name="Leave out UG2").click()
    expect(page.get_by_label("Why")).to_have_value("smells of petrol")
    expect(page.get_by_role("heading", level=1)).to_have_text("Set aside 1 rope")


def test_everything_goes_without_javascript(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, script=False)
    page.goto(f"{address}/ug/ropes")
    page.locator("#id_q").fill("ug1")
    page.locator("#id_q").press("Enter")
    shown = numbers(page)
    assert shown
    assert all(each.startswith("UG1") for each in shown)
    for each in shown[:2]:
        page.locator(f"input[name=rope][value={each}]").check()
    # Another search keeps them.
    page.locator("#id_q").fill("nothing like it")
    page.get_by_role("button", name="Show", exact=True).click()
    assert numbers(page) == sorted(shown[:2], key=lambda rope: int(rope[2:]))
    page.locator("#id_act").select_option("set-aside")
    page.get_by_role("button", name="Go on with these").click()
    page.get_by_label("Why").fill("smells of petrol")
    page.get_by_label("Why").press("Enter")
    expect(page.locator(".told .done")).to_contain_text(f"Set aside: {', '.join(numbers_in(shown[:2]))}")


def numbers_in(ropes: list[str]) -> list[str]:
    """Ropes in the order of their numbers."""
    return sorted(ropes, key=lambda rope: int(rope[2:]))
