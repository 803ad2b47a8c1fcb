"""Taking out, examining and walking the racks in a browser: what shows while typing, what outlives a dead signal."""

import re

from playwright.sync_api import expect

from browser.conftest import COMPETENT, KEEPER, MEMBER, PHONE, LookIn


def test_scanned_numbers_show_at_once_and_the_field_keeps_the_keys(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    page.goto(f"{address}/ug/out-and-back")
    field = page.locator("#id_ropes")
    field.click()
    # A scanner ends each number with the key that ends a line.
    for number in ("3", "UG9", "999"):
        page.keyboard.type(number)
        page.keyboard.press("Enter")
    looked = page.locator(".looked")
    expect(looked.locator("a.rope")).to_have_text(["UG3", "UG9"])
    expect(looked).to_contain_text("No rope has the number 999.")
    assert page.evaluate("document.activeElement.id") == "id_ropes"
    page.reload()
    expect(field).to_have_value(re.compile("UG9"))
    expect(looked.locator("a.rope")).to_have_text(["UG3", "UG9"])
    field.fill("UG3")
    page.get_by_role("button", name="Take these out").click()
    expect(page.locator(".told")).to_contain_text("Taken out by Ines Ravel: UG3.")
    expect(field).to_have_value("")


def test_taking_out_and_bringing_back_need_no_script(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE, script=False)
    page.goto(f"{address}/ug/out-and-back")
    page.locator("#id_ropes").fill("7")
    page.get_by_role("button", name="Show what these are").click()
    expect(page.locator(".looked a.rope")).to_have_text(["UG7"])
    page.get_by_role("button", name="Take these out").click()
    expect(page.locator(".told")).to_contain_text("UG7")
    page.get_by_label("Pick UG7").check()
    page.get_by_role("button", name="Go on: how they came back").click()
    page.get_by_label("It held a fall").check()
    page.get_by_role("button", name="Record the return").click()
    expect(page.locator(".told")).to_contain_text("Nobody may take it until a competent person")


def test_what_is_found_is_drawn_as_it_is_written_and_outlives_a_reload(look_in: LookIn, address: str) -> None:
    page = look_in(COMPETENT)
    page.goto(f"{address}/ug/inspect/UG2")
    expect(page.locator("fieldset.fault:visible")).to_have_count(2)
    for row, (at, what) in enumerate((("12.4", "flat spot"), ("20", "soft"), ("21", "stiff"))):
        page.locator(f"#id_f{row}-at").fill(at)
        page.locator(f"#id_f{row}-what").select_option(what)
    expect(page.locator("fieldset.fault:visible")).to_have_count(4)
    expect(page.locator("#line ol.found li")).to_have_text(["flat spot at 12.4 m", "soft at 20 m", "stiff at 21 m"])
    page.reload()
    expect(page.locator("#id_f2-at")).to_have_value("21")
    expect(page.locator("#line ol.found li")).to_have_count(3)
    page.get_by_label("undecided: it waits to be looked at again").check()
    page.get_by_label("I sign").check()
    page.get_by_role("button", name="Record the examination").click()
    expect(page.locator("h1")).to_contain_text("What to do with UG2")
    page.get_by_role("link", name="Record this cut").first.click()
    expect(page.locator("#id_piece_1")).to_have_value("12 m")
    page.goto(f"{address}/ug/inspect/UG2")
    expect(page.locator("#id_f0-at")).to_have_value("")


def test_a_walk_outlives_a_dead_signal_and_is_forgotten_once_recorded(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.goto(f"{address}/ug/stocktake")
    page.context.set_offline(True)
    page.get_by_label("Saw UG1", exact=True).check()
    numbers = page.get_by_role("textbox", name="Numbers")
    numbers.click()
    page.keyboard.type("2 ug 5 77 zz9 ")
    for number in ("UG1", "UG2", "UG5"):
        expect(page.get_by_label(f"Saw {number}", exact=True)).to_be_checked()
    expect(numbers).to_have_value("77 zz9 ")
    expect(page.locator("[data-picked]")).to_have_text("3")
    page.get_by_role("button", name="Compare with the record").click()
    expect(page.locator("[data-said]")).to_contain_text("There is no signal.")
    page.context.set_offline(False)
    page.reload()
    expect(page.get_by_label("Saw UG5", exact=True)).to_be_checked()
    expect(numbers).to_have_value("77 zz9 ")
    page.get_by_label("Hide what I have seen").check()
    expect(page.get_by_label("Saw UG5", exact=True)).to_be_hidden()
    page.get_by_role("button", name="Compare with the record").click()
    expect(page.locator("h1")).to_have_text("What the racks say")
    page.get_by_role("button", name="Back to the racks").click()
    expect(page.get_by_label("Saw UG2", exact=True)).to_be_checked()
    page.get_by_role("button", name="Compare with the record").click()
    page.get_by_role("button", name="Record the stocktake").click()
    expect(page.locator(".told")).to_contain_text("Stocktake recorded: 3 ropes seen.")
    expect(page.locator("aside")).to_contain_text("Numbers nobody knows: 77, zz9.")
    expect(page.get_by_label("Saw UG1", exact=True)).not_to_be_checked()
    page.reload()
    expect(page.get_by_label("Saw UG1", exact=True)).not_to_be_checked()
    expect(numbers).to_have_value("")
