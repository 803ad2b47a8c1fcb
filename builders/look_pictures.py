"""Make the pictures of docs/look.md from the real pages, by day and by night: docs/look/*.png.

    python builders/look_pictures.py

It lays out the invented store in a folder of its own, serves it, and takes each element in Chromium. Pictures are
reduced to a few shades, so that all of them together stay small.
"""

import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Locator, Page, Route, sync_playwright

INTO = Path(__file__).parent.parent / "docs" / "look"
KEEPER = "Maud Ellerbeck"
DESK, PHONE = (1280, 900), (390, 844)
#: All pictures together [bytes].
MOST = 1_500_000
_PAD, _SHADES = 14, 24
_STATES = ("ready", "in-preparation", "out", "rigged", "set-aside", "missing", "retired")


@dataclass(frozen=True)
class Look:
    """One signed-in page at a size, by day or by night, and where its pictures go."""

    page: Page
    store: str
    night: bool

    def go(self, path: str) -> None:
        """Open a page of the store."""
        self.page.goto(f"{self.store}{path}")

    def take(self, name: str, *elements: Locator, height: float | None = None) -> None:
        """Take what encloses the elements, at most `height` px of it."""
        self.page.evaluate("window.scrollTo(0, 0); document.activeElement?.blur()")
        boxes = [box for each in elements if (box := each.bounding_box())]
        left, top = min(box["x"] for box in boxes), min(box["y"] for box in boxes)
        right, low = max(box["x"] + box["width"] for box in boxes), max(box["y"] + box["height"] for box in boxes)
        width = self.page.viewport_size["width"] if self.page.viewport_size else DESK[0]
        x, y = max(0.0, left - _PAD), max(0.0, top - _PAD)
        wide, high = min(width, right + _PAD) - x, min(low + _PAD - y, height or 1e6)
        self.keep(name, self.page.screenshot(clip={"x": x, "y": y, "width": wide, "height": high}, full_page=True))

    def keep(self, name: str, png: bytes) -> None:
        """Reduce a picture and write it."""
        picture = Image.open(BytesIO(png)).convert("RGB").quantize(_SHADES, dither=Image.Dither.NONE)
        picture.save(INTO / f"{name}{'-night' if self.night else ''}.png", optimize=True)


def narrowed(element: Locator) -> Locator:
    """The same, no wider than its words."""
    element.evaluate("each => { each.style.width = 'fit-content'; }")
    return element


def of_today(look: Look) -> None:
    """The head, entries of the ledger, doubts in the margin."""
    look.go("")
    page = look.page
    look.take("head", page.locator(".head"), page.locator("h1"))
    look.take("entry", page.locator(".entry.at-once").first, page.locator(".entry:not(.at-once)").first)
    look.take("doubt", page.locator(".margin .doubt").first, page.locator(".margin .doubt").nth(2))


def of_the_list(look: Look) -> None:
    """A table, and the sign of each state."""
    look.go("/ropes")
    rows = look.page.locator("table.list tbody tr")
    look.take("table", look.page.locator("table.list thead"), rows.nth(0), rows.nth(5))
    look.page.evaluate(
        """states => { const list = document.createElement('ul'); list.className = 'lines'; list.id = 'states';
        for (const state of states) { const item = document.createElement('li');
        item.append(document.querySelector('.state-' + state).cloneNode(true)); list.append(item); }
        document.querySelector('h1').after(list); list.style.width = '14rem'; }""",
        _STATES,
    )
    look.take("states", look.page.locator("#states"))


def of_one_rope(look: Look) -> None:
    """Its number and length, what it was told, its life, its length over time, the depths it reaches."""
    page = look.page
    look.go("/ropes/UG21")
    look.take("capsule", narrowed(page.locator("h1")))
    look.take("facts", page.locator("dl.facts dt").first, page.locator("dl.facts dd").nth(5))
    look.take("life-line", page.locator(".drawing.wide").first)
    look.take("length-chart", page.locator(".drawing.wide svg.length-chart, .drawing.wide .length-chart").last)
    reaches = page.locator("ul.lines > li:has(.depth)")
    look.take("depth", reaches.first.locator("b"), *reaches.first.locator(".reach").all())
    look.go("/ropes/UG29")
    look.take("band", narrowed(page.locator("h1")))
    page.goto(f"{look.store}/ropes/UG3/do/note")
    page.locator("main [name=note]").fill("New tape on one end")
    page.locator("main button").last.click()
    page.wait_for_url("**/ropes/UG3")
    look.take("told", narrowed(page.locator(".told")))
    look.take("life", page.locator("ol.life > li").first, page.locator("ol.life > li").nth(2))


def of_a_form(look: Look) -> None:
    """A field with its help, with its error, choices, ticks, and the three buttons."""
    page = look.page
    look.go("/new-ropes")
    look.take("field", page.locator(".field:has(#id_length)"))
    look.take("choices", page.locator("fieldset.choices").first)
    look.take("tick", narrowed(page.locator(".field.tick").first))
    page.locator("#id_length").fill("thirty-ish")
    page.get_by_role("button", name="Write them down").click()
    look.take("stopped", page.locator("[role=alert]").first, page.locator(".field:has(#id_length)"))
    page.locator("#id_length").fill("50")
    page.locator("#id_into").fill("30, 30")
    page.get_by_role("button", name="Write them down").click()
    sure = page.get_by_role("button", name="Write them down all the same")
    look.take("button-hand", sure, page.get_by_role("button", name="Show what it comes to"))
    look.go("/new-ropes")
    look.take("buttons", page.get_by_role("button", name="Write them down"), page.locator(".acts button.quiet").last)


def of_the_year(look: Look) -> None:
    """The years, and long work on its way."""
    page = look.page
    look.go("/year")
    look.take("years", page.locator("figure.drawing").first)
    # The work's page as it is at its beginning, before it asks how far it is.
    page.route("**/under-way/*", _held)
    page.get_by_role("button", name="Make the record of the whole store").click()
    page.wait_for_url("**/under-way/*")
    page.locator("progress").evaluate("bar => { bar.value = 62; }")
    page.locator("#work .num").evaluate("told => { told.textContent = '62 %'; }")
    look.take("progress", page.locator("#work"))
    page.unroute("**/under-way/*")


def _held(route: Route) -> None:
    if "hx-request" in route.request.headers:
        route.fulfill(status=204)
    else:
        route.continue_()


def of_an_empty_store(look: Look) -> None:
    """What a page says before there is anything."""
    page = look.page
    page.goto(f"{look.store.rpartition('/')[0]}/stores/new")
    letters = "EN" if look.night else "EM"
    for field in page.locator("main input[type=text]").all():
        name = field.get_attribute("name") or ""
        field.fill(letters if "code" in name else f"Sallowlamp Centre {letters}")
    page.get_by_role("button", name="Open the store").click()
    look.take("empty", page.locator(".empty"))


def of_a_phone(look: Look) -> None:
    """The head with its pages unfolded, a folded table, and the counter."""
    page = look.page
    look.go("/ropes")
    rows = page.locator("table.list tbody tr")
    look.take("folded", rows.nth(9), rows.nth(12))
    page.get_by_role("button", name="Pages").click()
    look.take("pages", page.locator(".head"))
    look.go("/measure/UG3")
    for _ in range(7):
        page.get_by_role("button", name="+ 1 metre").click()
        page.wait_for_timeout(400)  # a second touch at once is taken for a slip
    page.evaluate("document.activeElement?.blur()")
    page.mouse.move(0, 0)
    look.keep("measure", page.screenshot())


_ON_A_DESK: tuple[Callable[[Look], None], ...] = (
    *(of_today, of_the_list, of_one_rope, of_a_form, of_the_year, of_an_empty_store),
)


@contextmanager
def served() -> Iterator[str]:
    """The address of the invented store's pages."""
    with tempfile.TemporaryDirectory() as folder:
        tethera = [sys.executable, "-m", "tethera.cli.main"]
        subprocess.run([*tethera, "demo", "--into", folder], check=True, stdout=subprocess.DEVNULL)
        command = [*tethera, "serve", "--store", f"{folder}/store", "--listen", "127.0.0.1:0"]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        try:
            found = re.search(r"http://\S+", process.stdout.readline() if process.stdout else "")
            if found is None:
                raise SystemExit("the pages did not open")
            yield found[0].rstrip("/")
        finally:
            process.terminate()
            process.wait(timeout=20)


def pictures(browser: Browser, address: str, *, night: bool) -> None:
    """All pictures by day or by night."""
    for size, parts in ((DESK, _ON_A_DESK), (PHONE, (of_a_phone,))):
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme="dark" if night else "light",
            device_scale_factor=1.5,
            locale="en-GB",
        )
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.goto(f"{address}/sign-in")
        page.get_by_role("button", name=f"Look in as {KEEPER}").first.click()
        page.wait_for_url(lambda url: "sign-in" not in url)  # with a second store, to the list of stores
        for part in parts:
            part(Look(page, f"{address}/ug", night))
        context.close()


def main() -> None:
    """Write them all, and say how much they take."""
    INTO.mkdir(parents=True, exist_ok=True)
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    with served() as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium)
        for night in (False, True):
            pictures(browser, address, night=night)
        browser.close()
    sizes = [each.stat().st_size for each in INTO.glob("*.png")]
    print(f"{len(sizes)} pictures, {sum(sizes) / 1000:.0f} kB")
    if sum(sizes) > MOST:
        raise SystemExit(f"that is more than {MOST / 1000:.0f} kB")


if __name__ == "__main__":
    main()
