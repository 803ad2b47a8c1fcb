"""Reading marks in a browser: by its camera, from a photograph, and from a scanner that types."""

import base64
import io
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import segno
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from browser.conftest import DESKTOP, KEEPER, MEMBER, PHONE, READER, LookIn, chromium
from browser.test_every_page import check, picture

_WIDE, _HIGH = 640, 480
#: Few browsers of a desk read codes: one that does hands each frame it sees to the decoder of the tests.
_READER = """
window.BarcodeDetector = class {
  async detect(video) {
    const paper = document.createElement("canvas");
    [paper.width, paper.height] = [video.videoWidth, video.videoHeight];
    if (!paper.width) throw new Error("no frame");
    paper.getContext("2d").drawImage(video, 0, 0);
    return (await window.decoded(paper.toDataURL("image/png"))).map((rawValue) => ({ rawValue }));
  }
};
"""


def frame(said: str) -> Image.Image:
    """What a camera sees that looks at one mark."""
    out = io.BytesIO()
    segno.make(said, error="h", micro=False).save(out, kind="png", scale=8, border=4)
    seen = Image.new("L", (_WIDE, _HIGH), 170)
    seen.paste(Image.open(out).convert("L"), (200, 100))
    return seen


def film(into: Path, *said: str) -> None:
    """A film for the camera that shows one mark after the other, two seconds each, over and over."""
    colourless = bytes([128]) * (_WIDE * _HIGH // 2)
    with into.open("wb") as file:
        file.write(f"YUV4MPEG2 W{_WIDE} H{_HIGH} F10:1 Ip A1:1 C420jpeg\n".encode())
        for each in said:
            one = b"FRAME\n" + frame(each).tobytes() + colourless
            for _ in range(20):
                file.write(one)


@pytest.fixture(scope="module")
def browser(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser whose camera sees a mark of the store, one of another club, and a second of the store."""
    seen = tmp_path_factory.mktemp("film") / "marks.y4m"
    film(seen, "UG3", "FP12", "UG9")
    camera = ["--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={seen}"]
    launched = browser.browser_type.launch(executable_path=chromium(), args=camera)
    yield launched
    launched.close()


_CODES = {"Enter": 13, "Tab": 9}


def scan(page: Page, said: str, ends: str) -> None:
    """Keys as a hand scanner sends them, 5 ms apart by their own clock, however busy this machine is."""
    keys, at = page.context.new_cdp_session(page), time.time()
    for key in (*said, ends):
        at += 0.005
        text = {"Tab": "", "Enter": "\r"}.get(key, key)
        told = {"key": key, "code": key, "windowsVirtualKeyCode": _CODES.get(key, ord(key[0].upper())), "timestamp": at}
        keys.send("Input.dispatchKeyEvent", {"type": "keyDown" if text else "rawKeyDown", "text": text, **told})
        keys.send("Input.dispatchKeyEvent", {"type": "keyUp", **told})
    keys.detach()


def with_camera(page: Page, *, allowed: bool = True) -> None:
    """Give the page a camera that may be used, and a browser that reads codes."""

    def decoded(data: str) -> list[str]:
        seen = Image.open(io.BytesIO(base64.b64decode(data.partition(",")[2]))).convert("L")
        return [each.text for each in zxingcpp.read_barcodes(seen)]

    page.expose_function("decoded", decoded)
    page.add_init_script(_READER)
    if allowed:
        page.context.grant_permissions(["camera"])


def test_the_camera_opens_the_rope_whose_mark_it_sees(look_in: LookIn, address: str) -> None:
    page = look_in(READER, PHONE)
    with_camera(page)
    page.goto(f"{address}/ug")
    page.get_by_role("link", name="Read a mark with the camera").click()
    # Allowed before, it looks at once.
    page.wait_for_url(re.compile(r"/ug/ropes/UG(3|9)$"))


def test_the_camera_gathers_what_comes_back_and_says_what_is_another_clubs(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE)
    with_camera(page)
    page.goto(f"{address}/ug/out-and-back")
    page.locator("#back-numbers").fill("UG5")
    page.locator("#back").get_by_role("link", name="Read marks with the camera").click()
    expect(page.locator("main")).to_contain_text("So far: UG5")
    said = page.locator("[data-said]")
    expect(said).to_contain_text("FP12 is no rope of this store.")
    expect(said).to_contain_text("UG9")
    expect(said).to_contain_text("UG3")
    check(page, "read-mark with the camera")
    picture(page, "read-mark-camera-phone")
    page.get_by_role("link", name="Go on with these").click()
    page.wait_for_url(re.compile("/out-and-back/bring-back"))
    for number in ("UG5", "UG9", "UG3"):
        expect(page.locator(f"input[name=rope][type=hidden][value={number}]")).to_have_count(1)


def test_stopping_or_leaving_lets_the_camera_go(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    with_camera(page)
    page.goto(f"{address}/ug/read-mark?for=take")
    page.evaluate("window.seen = document.querySelector('#camera video')")
    expect(page.locator("#camera video")).to_be_visible()
    page.evaluate("window.tracks = window.seen.srcObject.getTracks()")
    assert page.evaluate("tracks.every((each) => each.readyState === 'live')")
    page.get_by_role("button", name="Stop the camera").click()
    assert page.evaluate("tracks.every((each) => each.readyState === 'ended')")
    expect(page.locator("#camera video")).to_be_hidden()
    page.get_by_role("button", name="Read with the camera").click()
    expect(page.locator("#camera video")).to_be_visible()
    page.evaluate("window.tracks = window.seen.srcObject.getTracks()")
    page.evaluate("window.dispatchEvent(new PageTransitionEvent('pagehide'))")
    assert page.evaluate("tracks.every((each) => each.readyState === 'ended')")


def test_a_camera_that_is_not_allowed_is_said_in_words(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    with_camera(page, allowed=False)
    page.goto(f"{address}/ug/read-mark")
    page.get_by_role("button", name="Read with the camera").click()
    expect(page.locator("[data-said]")).to_have_text("The camera was not allowed. A photograph works as well.")
    expect(page.get_by_role("button", name="Read with the camera")).to_be_visible()


@pytest.mark.parametrize(
    ("lacks", "said"),
    [
        ("Object.defineProperty(window, 'isSecureContext', { value: false })",
         "Over this address the browser gives no camera; a photograph works as well."),
        ("delete window.BarcodeDetector", "This browser reads no codes by itself; a photograph works as well."),
    ],
)  # fmt: skip
def test_where_there_is_no_camera_a_photograph_is_read(
    look_in: LookIn, address: str, tmp_path: Path, lacks: str, said: str
) -> None:
    page = look_in(READER, PHONE)
    page.add_init_script(lacks)
    page.goto(f"{address}/ug/read-mark")
    expect(page.locator("#no-camera")).to_have_text(said)
    expect(page.locator("#camera")).to_be_hidden()
    photo = tmp_path / "mark.jpg"
    frame("UG9").rotate(12, fillcolor=150).save(photo)
    # It is sent as soon as it is taken.
    page.get_by_label("Take a photograph of the mark").set_input_files(photo)
    page.wait_for_url(re.compile("/ug/ropes/UG9$"))


def test_without_script_a_photograph_is_sent_by_its_button(look_in: LookIn, address: str, tmp_path: Path) -> None:
    page = look_in(MEMBER, PHONE, script=False)
    page.goto(f"{address}/ug/read-mark?for=take&have=UG3")
    Image.new("L", (300, 200), 128).save(tmp_path / "nothing.png")
    page.get_by_label("Take a photograph of the mark").set_input_files(tmp_path / "nothing.png")
    page.get_by_role("button", name="Read the photograph").click()
    expect(page.get_by_role("alert")).to_contain_text("No code was read in that picture. Go nearer")
    frame("UG9").save(tmp_path / "mark.png")
    page.get_by_label("Take a photograph of the mark").set_input_files(tmp_path / "mark.png")
    page.get_by_role("button", name="Read the photograph").click()
    expect(page.locator("#id_ropes")).to_have_value("UG3 UG9")


def test_what_was_filled_in_before_reading_a_mark_is_there_afterwards(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER)
    page.goto(f"{address}/ug/out-and-back")
    page.locator("#id_ropes").fill("UG3")
    page.get_by_label("Trip").fill("Long Rake")
    page.locator("#take").get_by_role("link", name="Read marks with the camera").click()
    page.get_by_label("Or its number").fill("9")
    page.get_by_role("button", name="Go on").click()
    ropes = page.locator("#id_ropes")
    expect(ropes).to_have_value("UG3 UG9")
    expect(page.get_by_label("Trip")).to_have_value("Long Rake")
    expect(page.locator(".looked a.rope")).to_have_text(["UG3", "UG9"])
    # What is typed now is newer than what was read.
    ropes.fill("UG3 UG9 UG5")
    page.reload()
    expect(ropes).to_have_value("UG3 UG9 UG5")


@pytest.mark.parametrize("ends", ["Enter", "Tab"])
def test_a_scanner_takes_out_one_rope_after_the_other(look_in: LookIn, address: str, ends: str) -> None:
    page = look_in(MEMBER)
    page.goto(f"{address}/ug/out-and-back")
    field = page.locator("#id_ropes")
    field.click()
    for said in ("]Q1UG3", "]C0UG9", "ug5"):
        scan(page, said, ends)
    expect(field).to_be_focused()
    expect(page.locator(".looked a.rope")).to_have_text(["UG3", "UG9", "UG5"])
    # A hand that goes on with Tab leaves the box.
    page.wait_for_timeout(200)
    page.keyboard.press("Tab")
    expect(field).not_to_be_focused()


@pytest.mark.parametrize("ends", ["Enter", "Tab"])
def test_a_scanner_ticks_one_rope_after_the_other(look_in: LookIn, address: str, ends: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/stocktake")
    numbers = page.get_by_role("textbox", name="Numbers")
    numbers.click()
    for said in ("]Q1UG1", "ug2", "]C0UG5", "ZZ99"):
        scan(page, said, ends)
    for number in ("UG1", "UG2", "UG5"):
        expect(page.get_by_label(f"Saw {number}", exact=True)).to_be_checked()
    expect(numbers).to_be_focused()
    expect(numbers).to_have_value(re.compile(r"^ZZ99\s*$"))


@pytest.mark.parametrize("ends", ["Enter", "Tab"])
def test_a_scanner_opens_a_rope_from_the_head_and_to_measure(look_in: LookIn, address: str, ends: str) -> None:
    page = look_in(KEEPER)
    page.goto(f"{address}/ug/ropes")
    page.locator("#find").click()
    scan(page, "]Q1UG9", ends)
    page.wait_for_url(re.compile("/ug/ropes/UG9$"))
    page.goto(f"{address}/ug/measure")
    page.locator("#number").click()
    scan(page, "ug9", ends)
    page.wait_for_url(re.compile("/ug/measure/UG9$"))


def test_marks_read_at_the_stocktake_are_ticked_beside_those_ticked_before(look_in: LookIn, address: str) -> None:
    page = look_in(KEEPER, PHONE)
    page.goto(f"{address}/ug/stocktake")
    page.get_by_label("Saw UG1", exact=True).check()
    page.get_by_role("link", name="Read marks with the camera").click()
    page.get_by_label("Or its number").fill("2 5")
    page.get_by_role("button", name="Go on").click()
    for number in ("UG1", "UG2", "UG5"):
        expect(page.get_by_label(f"Saw {number}", exact=True)).to_be_checked()
    page.reload()
    expect(page.get_by_label("Saw UG5", exact=True)).to_be_checked()


@pytest.mark.parametrize(("size", "night"), [(DESKTOP, False), (PHONE, False), (DESKTOP, True), (PHONE, True)])
def test_the_page_is_whole_with_and_without_a_camera(
    look_in: LookIn, address: str, size: tuple[int, int], night: bool
) -> None:
    page = look_in(MEMBER, size, night=night)
    name = f"{'phone' if size == PHONE else 'desk'}-{'night' if night else 'day'}"
    page.goto(f"{address}/ug/read-mark?for=take&number=FP12")
    check(page, name)
    picture(page, f"read-mark-{name}")
    with_camera(page)
    page.goto(f"{address}/ug/read-mark?for=take")
    expect(page.get_by_role("link", name="Go on with these")).to_be_visible()
    check(page, f"{name} with a camera")
    picture(page, f"read-mark-camera-{name}")
