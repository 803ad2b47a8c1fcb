"""Where one is after something was sent: the cursor in what is wrong, what was recorded in sight."""

from playwright.sync_api import expect

from browser.conftest import KEEPER, MEMBER, PHONE, LookIn


def test_the_cursor_is_in_the_first_field_that_is_wrong(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE)
    page.goto(f"{address}/ug/out-and-back")
    page.get_by_role("button", name="Take these out").click()
    expect(page.locator("#id_ropes")).to_be_focused()
    page.goto(f"{address}/ug/inspect")
    page.get_by_role("button", name="Set aside").click()
    expect(page.get_by_label("Rope numbers")).to_be_focused()


def test_it_is_there_without_scripts_too(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE, script=False)
    page.goto(f"{address}/ug/inspect")
    page.get_by_role("button", name="Set aside").click()
    expect(page.get_by_label("Rope numbers")).to_be_focused()


def test_what_was_recorded_is_in_sight(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE)
    page.goto(f"{address}/ug/out-and-back")
    page.locator("#id_ropes").fill("10")
    page.get_by_role("button", name="Take these out").click()
    expect(page.locator(".told")).to_contain_text("Taken out by Ines Ravel: UG10.")
    expect(page.locator(".told")).to_be_in_viewport()


def test_one_rope_to_be_washed_takes_two_presses_from_today(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.goto(f"{address}/ug")
    page.get_by_role("link", name="Record the wash").click()
    page.get_by_role("button", name="Record the wash").click()
    expect(page.locator(".told")).to_contain_text("Washed: UG18.")
