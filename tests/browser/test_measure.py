"""Counting off a rope on a phone: wet hands, a page left in the middle, a dead signal."""

import re

import pytest
from playwright.sync_api import Page, expect

from browser.conftest import COMPETENT, DESKTOP, KEEPER, PHONE, LookIn
from browser.test_every_page import check

#: Longer than the time within which a second tap is taken for a drop of water.
A_PULL_MS = 230
#: Ropes of the invented store, one a test, so that no test stands on another.
ROPES = iter(f"UG{number}" for number in (1, 2, 3, 4, 5, 6, 7, 9, 10, 11, 15, 17, 19, 20, 22))


@pytest.fixture
def rope() -> str:
    """A rope nobody else counts."""
    return next(ROPES)


def begin(page: Page, address: str, rope: str) -> None:
    page.goto(f"{address}/ug/measure/{rope}")
    expect(page.locator("#counter")).to_be_visible()


def pull(page: Page, metres: int, tens: int = 0) -> None:
    for _ in range(metres):
        page.locator(".plus").click()
        page.wait_for_timeout(A_PULL_MS)
    for _ in range(tens):
        page.get_by_role("button", name="+ 10 cm").click()
        page.wait_for_timeout(A_PULL_MS)


def done(page: Page) -> None:
    page.get_by_role("button", name=re.compile("count done")).click()
    page.wait_for_timeout(A_PULL_MS)


def count_twice(page: Page, metres: int = 3) -> None:
    for _ in range(2):
        pull(page, metres)
        done(page)


def counted(page: Page) -> str:
    return page.locator("[data-count]").inner_text()


def measured(page: Page, address: str, rope: str) -> int:
    """How often the store has recorded a measurement of 3 m for this rope."""
    body = re.sub(r"<[^>]+>", "", page.request.get(f"{address}/ug/ropes/{rope}").text())
    return len(re.findall(r"Measured 3\u202fm; counts 3\u202fm, 3\u202fm\.\s+written down", body))


def test_two_counts_are_recorded_and_the_first_is_not_shown_during_the_second(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    pull(page, 4, 3)
    assert counted(page) == "4.3"
    done(page)
    assert counted(page) == "0"
    assert "4.3" not in page.locator("#counter").inner_text()
    pull(page, 4, 3)
    done(page)
    expect(page.locator("[data-result]")).to_have_text("4.3\u202fm")
    check(page, "the result")
    page.get_by_role("button", name="Record this length").click()
    page.wait_for_url(f"{address}/ug/measure?done={rope}")
    assert f"{rope} measures 4.3\u202fm." in page.locator(".told").inner_text()
    # The next count of the same rope begins from nothing.
    begin(page, address, rope)
    assert counted(page) == "0"


def test_the_button_fills_the_lower_half_of_a_phone_and_the_whole_count_stands_above_it(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, (360, 640))
    begin(page, address, rope)
    box = page.locator(".plus").bounding_box()
    assert box is not None
    assert box["height"] >= 200
    assert box["y"] + box["height"] / 2 > 320
    finish = page.get_by_role("button", name="First count done").bounding_box()
    assert finish is not None
    assert finish["y"] + finish["height"] <= box["y"]
    pull(page, 1)
    check(page, "counting on a small phone")
    for button in page.locator("#counter button:visible").all():
        size = button.bounding_box()
        assert size is not None
        assert size["height"] >= 48


def test_a_count_survives_a_reload_the_back_button_and_a_closed_page(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    pull(page, 3)
    page.reload()
    assert counted(page) == "3"
    done(page)
    pull(page, 2)
    page.goto(f"{address}/ug")
    page.go_back()
    expect(page.locator("[data-phase='1']")).to_be_visible()
    assert counted(page) == "2"
    context = page.context
    page.close()
    again = context.new_page()
    begin(again, address, rope)
    assert counted(again) == "2"


def test_a_double_tap_is_one_metre_and_undo_takes_back_one_step_at_a_time(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    page.locator(".plus").dblclick()
    assert counted(page) == "1"
    page.wait_for_timeout(A_PULL_MS)
    pull(page, 1, 1)
    assert counted(page) == "2.1"
    undo = page.get_by_role("button", name="Undo")
    undo.click()
    assert counted(page) == "2"
    done(page)
    undo.click()
    expect(page.locator("[data-phase='0']")).to_be_visible()
    assert counted(page) == "2"
    undo.click()
    undo.click()
    assert counted(page) == "0"
    expect(undo).to_be_disabled()
    expect(page.get_by_role("button", name="First count done")).to_be_disabled()


def test_space_enter_and_plus_count_and_a_key_held_down_counts_once(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, DESKTOP)
    begin(page, address, rope)
    page.locator("body").press("Space")
    page.wait_for_timeout(A_PULL_MS)
    page.keyboard.press("+")
    page.wait_for_timeout(A_PULL_MS)
    page.locator(".plus").focus()
    page.keyboard.press("Enter")
    page.wait_for_timeout(A_PULL_MS)
    page.keyboard.press("Space")
    page.wait_for_timeout(A_PULL_MS)
    assert counted(page) == "4"
    for _ in range(5):
        page.keyboard.down("Enter")
        page.wait_for_timeout(A_PULL_MS)
    page.keyboard.up("Enter")
    assert counted(page) == "5"


def test_where_two_do_not_agree_a_third_decides(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    for metres in (3, 4):
        pull(page, metres)
        done(page)
    expect(page.locator("[data-phase='2']")).to_be_visible()
    pull(page, 3)
    done(page)
    assert "The first and the third agree." in page.locator("[data-say]").inner_text()
    expect(page.locator("[data-result]")).to_have_text("3\u202fm")
    page.get_by_role("button", name="Record this length").click()
    page.wait_for_url(re.compile("done="))
    assert "the first and the third agree" in page.locator(".told").inner_text()


def test_with_a_dead_signal_the_counts_wait_and_are_sent_once_when_it_is_back(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    page.context.set_offline(True)
    count_twice(page)
    page.get_by_role("button", name="Record this length").click()
    expect(page.get_by_role("heading", name="Kept on this phone, not recorded yet")).to_be_visible()
    assert f"{rope}: counted 3\u202fm, 3\u202fm. Waits for a signal." in page.locator("#kept").inner_text()
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#kept")).to_be_visible()
    page.context.set_offline(False)
    expect(page.locator("#sent")).to_contain_text(f"{rope} measures (3\u202fm).")
    expect(page.locator("#kept")).to_be_hidden()
    assert measured(page, address, rope) == 1


def test_an_answer_that_was_lost_on_the_way_back_makes_no_second_measurement(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    count_twice(page)
    lost = []

    def lose(route: object) -> None:
        # The store gets it and records it; the phone never hears of it.
        lost.append(route.fetch().status)  # type: ignore[attr-defined]
        route.abort("internetdisconnected")  # type: ignore[attr-defined]

    page.route(re.compile(f"/measure/{rope}$"), lose, times=1)
    page.get_by_role("button", name="Record this length").click()
    expect(page.locator("#kept")).to_be_visible()
    assert lost == [200]
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#sent")).to_contain_text(f"{rope} measures (3\u202fm).")
    assert measured(page, address, rope) == 1


def test_kept_counts_are_sent_from_the_list_of_ropes_too(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    count_twice(page)
    page.context.set_offline(True)
    page.get_by_role("button", name="Record this length").click()
    expect(page.locator("#kept")).to_be_visible()
    page.route(re.compile(f"/measure/{rope}$"), lambda route: route.abort("internetdisconnected"), times=1)
    page.context.set_offline(False)
    page.goto(f"{address}/ug/measure")
    expect(page.locator("#sent")).to_contain_text(f"{rope} measures (3\u202fm).")
    begin(page, address, rope)
    assert counted(page) == "0"


def test_who_was_signed_out_meanwhile_keeps_the_counts_and_signs_in_to_send_them(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    begin(page, address, rope)
    count_twice(page)
    page.context.clear_cookies()
    page.get_by_role("button", name="Record this length").click()
    expect(page.locator("#kept")).to_contain_text("You are signed out. Your counts are kept")
    page.locator("#kept").get_by_role("link", name="Sign in").click()
    # Somebody else signs in on this phone: the counts are not recorded as theirs.
    page.get_by_role("button", name=f"Look in as {COMPETENT}").click()
    page.goto(f"{address}/ug/measure")
    expect(page.locator("#kept")).to_contain_text(f"{KEEPER} counted this.")
    page.context.clear_cookies()
    page.goto(f"{address}/sign-in")
    page.get_by_role("button", name=f"Look in as {KEEPER}").click()
    page.goto(f"{address}/ug/measure")
    expect(page.locator("#sent")).to_contain_text(f"{rope} measures (3\u202fm).")


def test_without_any_script_the_counts_are_written(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, PHONE, script=False)
    page.goto(f"{address}/ug/measure/{rope}")
    expect(page.locator("#counter")).to_be_hidden()
    page.get_by_label("First count").fill("12.40")
    page.get_by_label("Second count").fill("12.42")
    page.get_by_role("button", name="Record these counts").click()
    assert f"{rope} measures 12.4\u202fm." in page.locator(".told").inner_text()


def test_the_screen_stays_awake_while_counting_and_again_after_it_was_dark(
    look_in: LookIn, address: str, rope: str
) -> None:
    page = look_in(KEEPER, PHONE)
    page.add_init_script("""
        window.woken = 0;
        Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
          window.woken += 1;
          const lock = new EventTarget();
          lock.release = () => lock.dispatchEvent(new Event("release"));
          window.lock = lock;
          return lock;
        } } });
    """)
    begin(page, address, rope)
    assert page.evaluate("woken") == 0
    pull(page, 2)
    assert page.evaluate("woken") == 1
    # A phone lets go of it when the screen is dark; coming back, the page asks anew.
    page.evaluate("lock.release(); document.dispatchEvent(new Event('visibilitychange'))")
    page.wait_for_timeout(50)
    assert page.evaluate("woken") == 2


def test_a_phone_that_keeps_nothing_says_so_and_still_records(look_in: LookIn, address: str, rope: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.add_init_script("Storage.prototype.setItem = () => { throw new Error('full'); };")
    begin(page, address, rope)
    pull(page, 1)
    expect(page.get_by_role("alert").first).to_contain_text("This phone keeps nothing")
    pull(page, 2)
    done(page)
    pull(page, 3)
    done(page)
    page.get_by_role("button", name="Record this length").click()
    page.wait_for_url(f"{address}/ug/measure?done={rope}")
    assert measured(page, address, rope) == 1
