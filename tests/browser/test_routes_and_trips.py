"""The whole story in a browser: a route written, a trip planned, packed, gone and back; the next plan knows better."""

import re

from playwright.sync_api import Page, expect

from browser.conftest import COMPETENT, KEEPER, MEMBER, PHONE, LookIn
from browser.test_every_page import check, picture


def write_route(page: Page, address: str, name: str) -> None:
    """Type two pitches with the keys alone, one of them anchor by anchor."""
    page.goto(f"{address}/ug/write-route")
    page.locator("#name").fill(name)
    page.locator("#name").press("Tab")
    page.locator("[id='p0.name']").focus()
    page.keyboard.type("Doorway")
    for text in ("11", "", "3"):
        page.keyboard.press("Tab")
        page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.locator("tbody.pitch-row").nth(1).locator("[data-column=name]").focus()
    page.keyboard.type("Big Drop")
    for text in ("29", "45", "5"):
        page.keyboard.press("Tab")
        page.keyboard.type(text)


def needs(page: Page) -> list[str]:
    return page.locator(".says .capsule").all_inner_texts()


def metres(text: str) -> float:
    found = re.search(r"(\d+(?:\.\d+)?)\s*m", text)
    assert found is not None, text
    return float(found[1])


def test_a_route_is_drawn_and_reckoned_while_it_is_typed_by_keys_alone(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    write_route(page, address, "Typed Hole")
    expect(page.locator(".says .capsule")).to_have_count(2)
    expect(page.locator("#drawn svg.elevation text", has_text="Big Drop")).to_be_visible()
    before = needs(page)
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Control+a")
    page.keyboard.type("39")
    # The digit before the last is drawn too: what stands in the end is what counts.
    expect(page.locator("#drawn svg.elevation text", has_text="39")).to_be_visible()
    assert metres(needs(page)[1]) != metres(before[1])
    assert page.evaluate("document.activeElement.name").endswith(".depth")
    # Finer: anchor by anchor, and what the guide says stays.
    second = page.locator("tbody.pitch-row").nth(1)
    second.locator("summary", has_text="Anchor by anchor").click()
    for role, down in (("backup", ""), ("y-hang", "1"), ("rebelay", "15")):
        second.get_by_role("button", name="One more anchor").click()
        row = second.locator("[data-below]").last
        row.locator("select").first.select_option(role)
        row.locator("[data-column=down]").fill(down)
    expect(second.locator("svg.pitch-drawing")).to_be_visible()
    expect(second.locator("[data-column=guide_rope]").first).to_have_value("45")
    # An anchor below the foot is told at its cell, and nothing is lost.
    second.locator("[data-below]").last.locator("[data-column=down]").fill("60")
    expect(second.locator(".says .error")).to_contain_text("below the foot")
    expect(second.locator("[data-below]").last.locator("[data-column=down]")).to_have_attribute("aria-invalid", "true")
    second.locator("[data-below]").last.locator("[data-column=down]").fill("15")
    expect(second.locator(".says .error")).to_have_count(0)
    # Taken out and brought back; moved by Alt and an arrow.
    page.locator("tbody.pitch-row").first.get_by_role("button", name="Take this pitch out").click()
    expect(page.locator("tbody.pitch-row")).to_have_count(1)
    page.get_by_role("button", name="Bring back what was taken out").click()
    expect(page.locator("tbody.pitch-row")).to_have_count(2)
    page.locator("tbody.pitch-row").first.locator("[data-column=depth]").first.press("Alt+ArrowDown")
    expect(page.locator("tbody.pitch-row [data-column=name]").first).to_have_value("Big Drop")
    with page.expect_response("**/write-route/drawn"):
        page.locator("tbody.pitch-row").nth(1).locator("[data-column=depth]").first.press("Alt+ArrowUp")
    expect(page.locator("tbody.pitch-row [data-column=name]").first).to_have_value("Doorway")
    # A reload loses nothing.
    page.reload()
    page.get_by_role("button", name="Take it up again").click()
    expect(page.locator("tbody.pitch-row [data-column=name]").nth(1)).to_have_value("Big Drop")
    expect(page.locator(".says .capsule")).to_have_count(2)
    page.get_by_role("button", name="Keep this version").click()
    expect(page.locator(".told")).to_contain_text("Kept: Typed Hole.")
    page.get_by_role("link", name="1 version").click()
    expect(page.locator("main")).to_contain_text("written down with 2 pitches")


def plan(page: Page, address: str, route: str, day: str, name: str) -> None:
    page.goto(f"{address}/ug/trips/new")
    page.get_by_label(route).check()
    page.locator("input[name=first_day]").fill(day)
    page.locator("input[name=name]").fill(name)
    page.get_by_role("button", name="Choose the ropes").click()
    expect(page.get_by_role("button", name="Book these ropes")).to_be_visible(timeout=60_000)


def test_the_next_trip_begins_on_an_empty_paper(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    page.goto(f"{address}/ug/trips/new")
    page.locator("input[name=name]").fill("Half written")
    page.reload()
    expect(page.locator("input[name=name]")).to_have_value("Half written")  # nothing typed is lost
    plan(page, address, "Sallowlamp Pot", "2027-08-07", "Sallowlamp in August")
    page.goto(f"{address}/ug/trips/new")
    expect(page.locator("input[name=name]")).to_have_value("")
    expect(page.locator("input[name=first_day]")).to_have_value("")
    expect(page.get_by_label("Sallowlamp Pot")).not_to_be_checked()


def rows(page: Page) -> dict[str, str]:
    """Each rope of the plan with where it hangs."""
    found = {}
    for row in page.locator("table.uses tbody tr").all():
        found[row.locator("a.rope").first.inner_text()] = row.locator("td.wide").inner_text()
    return found


def needed(page: Page, pitch: str) -> float:
    row = page.locator("table.uses tbody tr", has_text=pitch).first
    return metres(row.locator("td.num").nth(1).inner_text())


def test_the_whole_story_and_the_next_plan_knows_better(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    write_route(page, address, "Story Pot")
    page.get_by_role("button", name="Keep this version").click()
    expect(page.locator(".told")).to_contain_text("Kept: Story Pot.")
    plan(page, address, "Story Pot", "2027-03-06", "Story in March")
    before = needed(page, "Big Drop")
    first = rows(page)
    # One wish changed: another rope takes the place.
    gone = next(rope for rope, where in first.items() if "Doorway" in where)
    page.get_by_role("button", name=f"Leave {gone} at home").click()
    expect(page.locator("table.uses a.rope", has_text=gone)).to_have_count(0, timeout=60_000)
    expect(page.get_by_text(f"{gone} stays at home")).to_be_visible()
    expect(page.get_by_role("button", name="Book these ropes")).to_be_visible(timeout=60_000)
    taken = rows(page)
    page.get_by_role("button", name="Book these ropes").click()
    expect(page.locator(".told")).to_contain_text("Booked for Story in March.")
    trip = page.url
    check(page, "a trip whose ropes are booked")
    picture(page, "trip-desk")
    # Packed on a telephone.
    phone = look_in(MEMBER, PHONE)
    phone.goto(f"{trip}/bags")
    check(phone, "bags on a telephone")
    picture(phone, "trip-bags-phone")
    ticks = phone.locator("button.tick")
    for number in range(ticks.count()):
        phone.locator("button.tick[aria-pressed=false]").first.click()
        expect(phone.locator("button.tick[aria-pressed=true]")).to_have_count(number + 1)
    phone.get_by_role("link", name="All is packed: take these out").click()
    phone.get_by_role("button", name="Take these out").click()
    expect(phone.locator(".told, [role=alert]").first).to_be_visible()
    if phone.get_by_role("button", name="Take these out all the same").count():
        phone.get_by_role("button", name="Take these out all the same").click()
    expect(phone.locator(".told")).to_contain_text("Taken out")
    # Back: much rope lay at the foot of the Big Drop.
    phone.goto(trip)
    check(phone, "a trip on a telephone")
    picture(phone, "trip-phone")
    phone.goto(f"{trip}/back")
    check(phone, "bringing back on a telephone")
    picture(phone, "trip-back-phone")
    page.goto(f"{trip}/back")
    rope = next(rope for rope, where in taken.items() if "Big Drop" in where)
    has = metres(page.locator(f"li:has(#id_{rope}-left_over_cm) .capsule").first.inner_text())
    page.locator(f"#id_{rope}-left_over_cm").fill(f"{has - (before - 6):.1f}")
    page.locator(f"#id_{rope}-changed").fill("the second bolt is loose")
    page.get_by_role("button", name="Record what happened").click()
    expect(page.locator(".told")).to_contain_text("the next plan goes by it")
    # The route says so, source by source, and the next plan needs less there.
    page.goto(f"{address}/ug/routes/story-pot")
    pitch = page.locator("section.pitch", has_text="Big Drop")
    expect(pitch).to_contain_text("the second bolt is loose")
    expect(pitch.locator("caption")).to_contain_text("by what each source says")
    plan(page, address, "Story Pot", "2027-05-01", "Story in May")
    after = needed(page, "Big Drop")
    assert before - 6 < after < before - 0.5


def test_two_browsers_book_the_same_rope_and_one_is_told(look_in: LookIn, address: str) -> None:
    one, other = look_in(KEEPER), look_in(COMPETENT)
    plan(one, address, "Sallowlamp Pot", "2027-06-05", "First in June")
    plan(other, address, "Sallowlamp Pot", "2027-06-05", "Second in June")
    other.get_by_role("button", name="Plan without it").click()
    expect(other.get_by_text("planned without First in June")).to_be_visible(timeout=60_000)
    expect(other.get_by_role("button", name="Book these ropes")).to_be_visible(timeout=60_000)
    one.reload()
    if one.get_by_role("button", name="Plan without it").count():
        one.get_by_role("button", name="Plan without it").click()
        expect(one.get_by_text("planned without Second in June")).to_be_visible(timeout=60_000)
    expect(one.get_by_role("button", name="Book these ropes")).to_be_visible(timeout=60_000)
    assert set(rows(one)) & set(rows(other)), "both were offered some rope"
    one.get_by_role("button", name="Book these ropes").click()
    expect(one.locator(".told")).to_contain_text("Booked for First in June.")
    other.get_by_role("button", name="Book these ropes").click()
    expect(other.locator(".told")).to_contain_text("Nothing is booked")
    expect(other.get_by_role("button", name="Book these ropes")).to_be_visible(timeout=60_000)
    assert not set(rows(one)) & set(rows(other))
    other.get_by_role("button", name="Book these ropes").click()
    expect(other.locator(".told")).to_contain_text("Booked for Second in June.")
