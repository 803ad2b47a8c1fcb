"""Real Chromium against a real `tethera serve` over the invented store."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

KEEPER, COMPETENT, MEMBER, READER = "Maud Ellerbeck", "Tobias Quarmby", "Ines Ravel", "Bronwen Skail"
DESKTOP, PHONE = (1280, 900), (390, 844)
_QUIET = ["--disable-background-networking", "--disable-component-update", "--no-first-run", "--disable-sync"]

#: One more context for each person of the invented store; closed when the test ends.
LookIn = Callable[..., Page]


def chromium() -> str | None:
    """Where the browser lies."""
    return next(
        (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if chromium() is None:
        skip = pytest.mark.skip(reason="NO CHROMIUM HERE: the pages were not tried in a browser")
        for item in items:
            if Path(__file__).parent in item.path.parents:
                item.add_marker(skip)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for the run."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium(), args=_QUIET)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented store as `make demo` leaves it."""
    into = tmp_path_factory.mktemp("demo")
    subprocess.run([sys.executable, "-m", "tethera.cli.main", "demo", "--into", str(into)], check=True, timeout=120,
                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
    return into


def serve(folder: Path, log: Path, environment: dict[str, str] | None = None) -> tuple[subprocess.Popen[str], str]:
    """Start the pages over a store's folder; the process and the address it told."""
    command = [sys.executable, "-m", "tethera.cli.main", "serve", "--store", str(folder), "--listen", "127.0.0.1:0"]
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))}
    with log.open("w") as errors:
        process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=errors, text=True, env=clean | (environment or {})
        )
    assert process.stdout is not None
    said = process.stdout.readline()
    found = re.search(r"http://\S+", said)
    assert found, f"{said}\n{log.read_text()}"
    return process, found[0].rstrip("/")


@pytest.fixture(scope="module")
def address(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Where the pages of this module's own copy of the invented store are."""
    into = tmp_path_factory.mktemp("served") / "demo"
    shutil.copytree(demo_folder, into)
    process, address = serve(into / "store", into / "serve.log")
    yield address
    process.terminate()
    process.communicate(timeout=20)  # closes its pipe as well
    told = (into / "serve.log").read_text()
    assert "Traceback" not in told, told


@pytest.fixture
def look_in(browser: Browser, address: str) -> Iterator[LookIn]:
    """`look_in(KEEPER)` is a page signed in as somebody; it fails the test if the page's console complains."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def look(name: str, size: tuple[int, int] = DESKTOP, *, night: bool = False, script: bool = True) -> Page:
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme="dark" if night else "light",
            java_script_enabled=script,
            has_touch=size == PHONE,
            locale="en-GB",
        )
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.set_default_timeout(10_000)
        page.goto(f"{address}/sign-in")
        page.get_by_role("button", name=f"Look in as {name}").click()
        page.wait_for_url(f"{address}/ug")
        return page

    yield look
    for context in contexts:
        context.close()
    # A browser says so of every answer that is no success, of a dead signal, and of a request on its way when the page
    # is left: tests that ask for one see to it.
    usual = r"status of 4\d\d|ERR_INTERNET_DISCONNECTED|htmx:(afterRequest|send(Error|Abort))"
    assert [each for each in complaints if not re.search(usual, each)] == []
