"""Every page of the invented store at the size of a desk and of a phone, by day and by night."""

import os
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from browser.conftest import COMPETENT, DESKTOP, KEEPER, MEMBER, PHONE, READER, LookIn

#: Set to a folder to keep pictures of all pages, to be looked at.
PICTURES = os.environ.get("TETHERA_PICTURES")


def check(page: Page, where: str) -> None:
    """Nothing hinders a screen reader, and nothing sticks out sideways."""
    found = Axe().run(page)
    violations = [
        f"{each['id']}: {each['nodes'][0]['html'][:200]} {each['nodes'][0].get('failureSummary', '')}"
        for each in found.response["violations"]
    ]
    assert violations == [], where
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{where} sticks out by {wide} px"


def picture(page: Page, name: str) -> None:
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=f"{PICTURES}/{name}.png", full_page=True)


def links(page: Page) -> list[str]:
    """Every address of this store that the page leads to, once for each kind of page."""
    found = page.eval_on_selector_all("a[href^='/']", "all => all.map(a => a.getAttribute('href'))")
    return [each for each in dict.fromkeys(found) if each.startswith("/ug") or each in ("/me", "/stores/new")]


def kind_of_page(link: str) -> str:
    plain = link.split("?")[0].split("#")[0]
    return re.sub(r"/routes/[^/]+(?=/|$)", "/routes/R", re.sub(r"/(UG)?\d+(?=/|$)", "/N", plain))


def walk(page: Page, address: str, prefix: str) -> list[str]:
    """Open one page of each kind that can be reached, check it, and say which were seen."""
    to_see, seen = ["/ug"], {}
    while to_see:
        link = to_see.pop(0)
        kind = kind_of_page(link)
        if kind in seen or re.search(r"\.(pdf|xlsx|csv|jsonl|zip|ics|jpg|toml)$|/photo", kind):
            continue
        answer = page.request.get(address + link, max_redirects=0)
        if "text/html" not in answer.headers.get("content-type", "text/html"):
            continue
        answered = page.goto(address + link)
        assert answered is not None
        assert answered.ok, f"{link}: {answered.status}"
        seen[kind] = link
        check(page, f"{prefix} {link}")
        picture(page, prefix + kind.replace("/", "-"))
        to_see += links(page)
    return list(seen)


@pytest.mark.parametrize(
    ("who", "size", "night"),
    [(KEEPER, DESKTOP, False), (KEEPER, PHONE, True), (COMPETENT, PHONE, False), (MEMBER, PHONE, False),
     (READER, DESKTOP, True)],
)  # fmt: skip
def test_every_page_that_can_be_reached_is_whole(
    look_in: LookIn, address: str, who: str, size: tuple[int, int], night: bool
) -> None:
    page = look_in(who, size, night=night)
    seen = walk(page, address, f"{who.split()[0]}-{'phone' if size == PHONE else 'desk'}-{'night' if night else 'day'}")
    assert "/ug" in seen
    expected = {"/ug/ropes", "/ug/ropes/N", "/ug/out-and-back", "/ug/inspect", "/ug/year", "/me"}
    expected |= {
        "/ug/routes",
        "/ug/routes/R",
        "/ug/routes/R/versions",
        "/ug/trips",
        "/ug/marks",
        "/ug/read-mark",
        "/ug/rigged",
    }
    if who == KEEPER:
        expected |= {"/ug/new-ropes", "/ug/preparation", "/ug/stocktake", "/ug/import", "/ug/settings", "/ug/people"}
    assert expected <= set(seen)


def test_signing_in_is_whole(look_in: LookIn, address: str) -> None:
    for size in (DESKTOP, PHONE):
        page = look_in(KEEPER, size)
        page.context.clear_cookies()
        page.goto(f"{address}/sign-in")
        check(page, "sign-in")
        picture(page, f"sign-in-{size[0]}")
