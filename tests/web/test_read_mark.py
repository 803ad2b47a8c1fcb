"""Reading a mark: a number however it was typed or scanned, and a photograph of a strip."""

import io
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageFilter

from labels.strips_read import PRINTED_DPI, over_tape, printed
from labels.wrapped import Camera, photograph
from tethera.web.store.photos import photos_folder
from web.conftest import Club


@cache
def picture(number: str = "UG41", dark: float = 1.0, turned: int = 0) -> bytes:
    """A marked rope as a telephone takes it."""
    strip = printed(number, 10.0)
    taken = photograph(strip, PRINTED_DPI / 25.4, over_tape(number, 10.0), Camera(tilt_deg=6.0, px_per_mm=16.0), 3)
    shown = Image.fromarray((np.asarray(taken) * dark).astype(np.uint8)).rotate(turned, expand=True)
    out = io.BytesIO()
    shown.save(out, "JPEG", quality=88)
    return out.getvalue()


def sent(club: Club, content: bytes, what: str = "open", by: str = "reader", name: str = "mark.jpg"):  # type: ignore[no-untyped-def]
    photo = SimpleUploadedFile(name, content, "image/jpeg")
    return getattr(club, by).post(f"{club.address}/read-mark", {"photo": photo, "for": what})


@pytest.mark.parametrize(("dark", "turned"), [(1.0, 0), (0.35, 0), (1.0, 90), (1.0, 180)])
def test_a_photograph_of_a_strip_leads_to_its_rope(club: Club, dark: float, turned: int) -> None:
    club.ready("UG41", 30)
    answer = sent(club, picture(dark=dark, turned=turned))
    assert answer.status_code == 302
    assert answer.headers["Location"] == f"{club.address}/ropes/UG41"


@pytest.mark.parametrize(
    ("what", "leads"),
    [
        ("take", "/out-and-back?take=UG41#take"),
        ("back", "/out-and-back/bring-back?numbers=UG41"),
        ("measure", "/measure/UG41"),
        ("stocktake", "/stocktake?numbers=UG41"),
        ("marks", "/marks?rope=UG41"),
        ("no such thing", "/ropes/UG41"),
    ],
)
def test_it_leads_where_it_was_asked_for(club: Club, what: str, leads: str) -> None:
    club.ready("UG41", 30)
    location = club.keeper.get(f"{club.address}/read-mark", {"for": what, "number": "UG41"}).headers["Location"]
    assert location == club.address + leads
    assert sent(club, picture(), what).headers["Location"] == location


@pytest.mark.parametrize("said", ["UG41", "ug41", "41", " UG 41 ", "ug-41", "]C0UG41", "]Q1UG41", "UG41\r\n", "UG41\t"])
def test_a_number_is_read_however_it_was_typed_or_scanned(club: Club, said: str) -> None:
    club.ready("UG41", 30)
    for address, name in (("read-mark", "number"), ("find", "number")):
        answer = club.reader.get(f"{club.address}/{address}", {name: said})
        assert answer.headers["Location"] == f"{club.address}/ropes/UG41"
    shown = club.member.get(f"{club.address}/marks", {"more": said}).content.decode()
    assert 'value="UG41"' in shown
    club.ready("UG7", 30)
    listed = club.reader.get(f"{club.address}/ropes", {"q": said}).content.decode()
    assert 'href="/ug/ropes/UG41"' in listed
    assert 'href="/ug/ropes/UG7"' not in listed
    assert club.keeper.get(f"{club.address}/measure", {"number": said}).headers["Location"].endswith("/measure/UG41")
    looked = club.member.post(f"{club.address}/out-and-back", {"ropes": said, "look": "1"}).content.decode()
    assert 'href="/ug/ropes/UG41"' in looked
    back = club.member.get(f"{club.address}/out-and-back/bring-back", {"numbers": said}).content.decode()
    assert 'name="rope" value="UG41"' in back
    racks = club.keeper.post(f"{club.address}/stocktake", {"numbers": said, "act": "list"}).content.decode()
    assert 'value="UG41" checked' in racks


def test_a_mark_of_another_store_says_so(club: Club) -> None:
    club.ready("UG7", 30)
    answer = sent(club, picture())
    assert answer.status_code == 422
    assert "UG41 is no rope of this store." in answer.content.decode()


def test_two_marks_in_one_picture_are_asked_about(club: Club) -> None:
    club.ready("UG41", 30)
    club.ready("UG42", 30)
    both = [Image.open(io.BytesIO(picture(number))) for number in ("UG41", "UG42")]
    joined = Image.new("L", (max(each.width for each in both), sum(each.height for each in both)), 140)
    joined.paste(both[0], (0, 0))
    joined.paste(both[1], (0, both[0].height))
    out = io.BytesIO()
    joined.save(out, "PNG")
    html = sent(club, out.getvalue()).content.decode()
    assert 'value="UG41">UG41</button>' in html
    assert 'value="UG42">UG42</button>' in html
    assert "All of them" not in html
    html = sent(club, out.getvalue(), "back").content.decode()
    assert "numbers=UG41+UG42" in html or "numbers=UG42+UG41" in html


def test_those_read_or_typed_before_go_on_with_it(club: Club) -> None:
    for number in ("UG7", "UG41", "UG42"):
        club.ready(number, 30)
    told = {"for": "take", "have": "7, ug 42 999", "number": "41"}
    leads = club.member.get(f"{club.address}/read-mark", told).headers["Location"]
    assert leads == f"{club.address}/out-and-back?take=UG7+UG42+999+UG41#take"
    shown = club.member.get(leads.partition("#")[0]).content.decode()
    assert "UG7 UG42 999 UG41</textarea>" in shown
    told = {"for": "stocktake", "number": "41 42", "have": ""}
    assert club.keeper.get(f"{club.address}/read-mark", told).headers["Location"].endswith("numbers=UG41+UG42")
    club.ready("UG4142", 30)
    assert club.keeper.get(f"{club.address}/read-mark", told).headers["Location"].endswith("numbers=UG41+UG42")
    # One rope is opened or measured, whatever was there before.
    told = {"for": "measure", "have": "UG7", "number": "41"}
    assert club.keeper.get(f"{club.address}/read-mark", told).headers["Location"].endswith("/measure/UG41")


def test_the_stocktake_has_what_was_read_in_its_box(club: Club) -> None:
    club.ready("UG41", 30)
    html = club.keeper.get(f"{club.address}/stocktake", {"numbers": 'UG41 <b>"'}).content.decode()
    assert "UG41 &lt;b&gt;&quot;</textarea>" in html
    assert 'data-told="numbers"' in html


def test_the_camera_is_answered_in_a_few_words(club: Club) -> None:
    club.ready("UG41", 30)
    asked = {"for": "back", "have": "UG9", "code": "UG41"}
    answer = club.reader.get(f"{club.address}/read-mark", asked).json()
    assert answer == {"rope": "UG41", "next": f"{club.address}/out-and-back/bring-back?numbers=UG9+UG41"}
    answer = club.reader.get(f"{club.address}/read-mark", {"code": "FP41"}).json()
    assert answer == {"told": "FP41 is no rope of this store."}
    assert club.stranger.get(f"{club.address}/read-mark", {"code": "UG41"}).status_code == 404


@pytest.mark.parametrize("said", ["41", "0041", "5012345600041", "https://elsewhere.invalid/41"])
def test_a_code_that_is_no_mark_is_not_taken_for_one(club: Club, said: str) -> None:
    club.ready("UG41", 30)
    assert "told" in club.reader.get(f"{club.address}/read-mark", {"code": said}).json()
    answer = sent(club, qr(said))
    assert answer.status_code == 422
    assert "is no rope of this store." in answer.content.decode()


def qr(said: str, scale: int = 8) -> bytes:
    """A photograph of nothing but one QR code."""
    out = io.BytesIO()
    segno.make(said, error="h", micro=False).save(out, kind="png", scale=scale, border=6)
    return out.getvalue()


def as_taken(change: Callable[[Image.Image], Image.Image]) -> bytes:
    """A mark in a worse picture."""
    out = io.BytesIO()
    change(Image.open(io.BytesIO(picture())).convert("L")).save(out, "JPEG", quality=80)
    return out.getvalue()


@pytest.mark.parametrize(
    "change",
    [
        lambda image: image.filter(ImageFilter.GaussianBlur(2.5)),
        lambda image: image.rotate(37, Image.Resampling.BICUBIC, expand=True, fillcolor=120),
        lambda image: image.point(lambda value: 20 + value // 8),
        lambda image: image.resize((image.width // 2, image.height // 2)),
    ],
    ids=["out of focus", "askew", "in the dark", "from afar"],
)
def test_a_bad_picture_is_read_all_the_same(club: Club, change: Callable[[Image.Image], Image.Image]) -> None:
    club.ready("UG41", 30)
    assert sent(club, as_taken(change)).headers.get("Location") == f"{club.address}/ropes/UG41"


def test_another_code_beside_the_mark_does_not_hide_it(club: Club) -> None:
    club.ready("UG41", 30)
    mark, other = Image.open(io.BytesIO(picture())).convert("L"), Image.open(io.BytesIO(qr("LOT 5"))).convert("L")
    joined = Image.new("L", (mark.width + other.width, max(mark.height, other.height)), 160)
    joined.paste(other, (0, 0))
    joined.paste(mark, (other.width, 0))
    out = io.BytesIO()
    joined.save(out, "WEBP")
    assert sent(club, out.getvalue()).headers["Location"] == f"{club.address}/ropes/UG41"


def test_a_picture_of_too_many_pixels_or_bytes_is_turned_away(club: Club, settings: Any) -> None:
    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    answer = sent(club, out.getvalue())
    assert answer.status_code == 422
    assert "larger than any photograph" in answer.content.decode() or "million pixels" in answer.content.decode()
    settings.LARGEST_UPLOAD_BYTES = 1000
    assert "larger than any photograph" in sent(club, picture()).content.decode()


def test_nothing_of_a_photograph_is_kept(club: Club) -> None:
    club.ready("UG41", 30)
    before = club.log()
    there = set(photos_folder().rglob("*"))
    assert sent(club, picture()).status_code == 302
    assert club.log() == before
    assert set(photos_folder().rglob("*")) == there


def test_only_this_page_may_show_what_a_camera_sees(club: Club) -> None:
    club.ready("UG41", 30)
    rules = club.reader.get(f"{club.address}/read-mark").headers["Content-Security-Policy"]
    assert "media-src mediastream:" in rules
    assert "unsafe" not in rules
    assert "media-src" not in club.reader.get(f"{club.address}/ropes").headers["Content-Security-Policy"]


@pytest.mark.parametrize("content", [b"not a picture", b"\xff\xd8\xff\xe0 cut short", b""])
def test_what_is_no_picture_is_said_in_words(club: Club, content: bytes) -> None:
    answer = sent(club, content)
    assert answer.status_code == 422
    assert "Traceback" not in answer.content.decode()


def test_a_picture_without_a_code_says_what_helps(club: Club) -> None:
    out = io.BytesIO()
    Image.new("L", (400, 300), 128).save(out, "JPEG")
    assert "Go nearer" in sent(club, out.getvalue()).content.decode()


def test_a_rope_that_was_cut_leads_to_what_became_of_it(club: Club) -> None:
    from tethera.store import Cut, Piece
    from web.conftest import DAY

    club.ready("UG41", 30)
    club.did(Cut(rope="UG41", happened=DAY, into=(Piece(rope="UG42", length_cm=1400),)))
    answer = club.reader.get(f"{club.address}/find", {"number": "UG41"}, follow=True)
    assert "UG42" in answer.content.decode()


def test_who_reads_nothing_here_and_who_is_not_signed_in(club: Club) -> None:
    assert club.stranger.get(f"{club.address}/read-mark").status_code == 404
    assert club.nobody.get(f"{club.address}/read-mark").status_code == 302
    assert club.nobody.post(f"{club.address}/read-mark").headers["Location"].startswith("/sign-in")
    for anybody in (club.reader, club.member, club.competent, club.keeper):
        assert anybody.get(f"{club.address}/read-mark").status_code == 200
    assert club.stranger.post(f"{club.address}/read-mark", {"number": "UG41"}).status_code == 404
    assert club.reader.put(f"{club.address}/read-mark").status_code == 405


def test_without_a_photograph_it_says_what_to_do(club: Club) -> None:
    answer = club.reader.post(f"{club.address}/read-mark", {"for": "open"})
    assert answer.status_code == 422
    assert "Take a photograph of the mark first, or type its number." in answer.content.decode()


def test_a_wrong_number_stays_where_it_was_typed(club: Club) -> None:
    answer = club.reader.get(f"{club.address}/read-mark", {"for": "take", "have": "UG7", "number": "FP41"})
    assert answer.status_code == 422
    assert 'value="FP41"' in answer.content.decode()
    assert 'name="have" value="UG7"' in answer.content.decode()
