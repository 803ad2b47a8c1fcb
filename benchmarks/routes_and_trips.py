"""How long a route takes from the key to its drawing, and a trip from the press to its ropes, in the page itself.

    python benchmarks/routes_and_trips.py [--keys 40] [--limit 75]

A real server over an invented store and a real Chromium. A key is timed from its press to the new drawing on the
page, the 120 ms that the page waits for more keys included; the share of the server stands beside it. A trip is timed
from the press on "Choose the ropes" to the button that books them.
"""

import argparse
import random
import re
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "benchmarks")]

from pages import _FILL, clean, python, served  # noqa: E402
from playwright.sync_api import Page, expect, sync_playwright  # noqa: E402

from tethera.basics import PartialDate  # noqa: E402
from tethera.rigging import Anchor, Pitch, Route, write_route  # noqa: E402
from tethera.rigging.route import exactly  # noqa: E402

BEGAN = datetime(2026, 1, 7, 19, tzinfo=UTC)
_STORE = """
from datetime import UTC, datetime
import json, sys
from tethera.basics import PartialDate
from tethera.store import RecordedAsFound, Recorded, RouteWritten, StoreDescribed
def events(ropes, total):
    began = datetime(2026, 1, 7, 19, tzinfo=UTC)
    yield Recorded(StoreDescribed(happened=PartialDate(2026), code="UG", owner="An invented store"), began, "p1")
    for number, length_cm in enumerate(json.load(open(LENGTHS)), start=1):
        yield Recorded(RecordedAsFound(rope=f"UG{number}", happened=PartialDate(2026), length_cm=length_cm,
                       known_by="measured", diameter_mm=9.5, rope_type="A"), began, "p1")
    for key, text in json.load(open(ROUTES)).items():
        yield Recorded(RouteWritten(happened=PartialDate(2026), key=key, text=text), began, "p1")
"""


def route(pitches: int, seed: int = 3, fine: bool = False) -> Route:
    """A cave of so many pitches, every other one known anchor by anchor where `fine`."""
    chance = random.Random(seed)
    made = []
    for number in range(1, pitches + 1):
        depth = round(chance.uniform(6, 45))
        anchors: tuple[Anchor, ...] = ()
        if fine and number % 2:
            anchors = (
                Anchor("backup"),
                Anchor("y-hang", along_m=2.0, down_m=0.5),
                *(Anchor("rebelay", down_m=depth / 3) for _ in range(depth // 20)),
            )
        guide = exactly(float(5 * round((depth * 1.2 + 6) / 5)))
        made.append(
            Pitch(f"Pitch {number}", exactly(float(depth)), guide_rope=guide, anchor_count=3 + depth // 10,
                  anchors=anchors, to_next_m=8.0 if number % 3 else None, rope_goes_on=bool(number % 3))
        )  # fmt: skip
    return Route(f"Cave of {pitches}", tuple(made))


def lengths_cm(ropes: int, seed: int = 5) -> list[int]:
    """Ropes as a club has them."""
    chance = random.Random(seed)
    return [
        round(chance.choice((12, 18, 22, 28, 32, 38, 45, 52, 60, 75)) * 100 + chance.uniform(-80, 80))
        for _ in range(ropes)
    ]


def fill(folder: Path, ropes: int) -> dict[str, object]:
    """A store of so many ropes, its routes, and somebody who is signed in."""
    import json

    (folder / "lengths.json").write_text(json.dumps(lengths_cm(ropes)))
    texts = {f"cave-{n}": write_route(route(n)) for n in (6, 15, 40)} | {"fine": write_route(route(15, fine=True))}
    (folder / "routes.json").write_text(json.dumps(texts))
    module = folder / "big_store.py"
    module.write_text(f"LENGTHS={str(folder / 'lengths.json')!r}\nROUTES={str(folder / 'routes.json')!r}\n{_STORE}")
    script = _FILL.format(benchmarks=str(folder), folder=str(folder / "store"), ropes=ropes, events=0, people=1)
    return dict(json.loads(python(script, clean())))


def keys(page: Page, address: str, count: int) -> tuple[list[float], list[float]]:
    """Milliseconds from a key to the drawing that knows of it, and what the server took of them."""
    page.goto(f"{address}/routes/fine/change")
    cell = page.locator("[id='p7.depth']")
    cell.click()
    times, server = [], []
    for number in range(count):
        value = 20 + number % 9
        with page.expect_response("**/write-route/drawn") as caught:
            began = time.perf_counter()
            cell.press("Control+a")
            page.keyboard.insert_text(str(value))
            expect(
                page.locator("#drawn svg.elevation text", has_text=re.compile(rf"^{value}\s*m$")).first
            ).to_be_visible()
            times.append(1000 * (time.perf_counter() - began))
        timing = caught.value.request.timing
        server.append(timing["responseStart"] - timing["requestStart"])
    return times, server


def trips(page: Page, address: str, limit: float) -> Iterator[tuple[int, float, str]]:
    """For each route seconds from the press to the ropes, and what the page then says."""
    for pitches in (6, 15, 40):
        page.goto(f"{address}/trips/new")
        page.get_by_label(f"Cave of {pitches}", exact=True).first.check()
        page.locator("input[name=first_day]").fill(f"2027-0{3 + (pitches > 6) + (pitches > 15)}-06")
        began = time.perf_counter()
        page.get_by_role("button", name="Choose the ropes").click()
        book = page.get_by_role("button", name="Book these ropes")
        cannot = page.get_by_role("heading", name="This store cannot rig it")
        try:
            expect(book.or_(cannot).first).to_be_visible(timeout=1000 * limit)
        except AssertionError:
            yield pitches, limit, "no plan in time"
            continue
        took = time.perf_counter() - began
        said = "cannot" if cannot.count() else page.locator(".answer + p .small").first.inner_text()[:60]
        yield pitches, took, said


def spread(times: list[float]) -> str:
    """The middle and the slow end [ms]."""
    return f"p50 {statistics.median(times):.0f} ms, p95 {statistics.quantiles(times, n=20)[18]:.0f} ms"


def main() -> None:
    """Print both tables."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--keys", type=int, default=40)
    asked.add_argument("--limit", type=float, default=75.0)
    words = asked.parse_args()
    print(f"made {PartialDate.of(datetime.now(UTC).date()).spoken()}")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        for ropes in (40, 120, 300):
            with tempfile.TemporaryDirectory() as made:
                folder = Path(made)
                told = fill(folder, ropes)
                with served(folder / "store", clean()) as (port, _pid, _started):
                    context = browser.new_context(viewport={"width": 1280, "height": 900}, locale="en-GB")
                    cookie = str(told["cookies"][0])  # type: ignore[index]
                    context.add_cookies([{"name": "sessionid", "value": cookie, "url": f"http://127.0.0.1:{port}"}])
                    page = context.new_page()
                    page.set_default_timeout(20_000)
                    address = f"http://127.0.0.1:{port}/{told['slug']}"
                    if ropes == 40:
                        times, server = keys(page, address, words.keys)
                        print(f"key to drawing, 15 pitches: {spread(times)}; of that the server {spread(server)}")
                    for pitches, took, said in trips(page, address, words.limit):
                        print(f"{ropes:4d} ropes, {pitches:2d} pitches: {took:5.1f} s  {said}", flush=True)
                    context.close()
        browser.close()


if __name__ == "__main__":
    main()
