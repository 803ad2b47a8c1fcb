"""Reading a mark: a number however it was typed or scanned, and a photograph of a strip."""

import io
from functools import cache

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from labels.strips_read import PRINTED_DPI, over_tape, printed
from labels.wrapped import Camera, photograph
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
        ("take", "/out-and-back?take=UG41"),
        ("back", "/out-and-back/back?numbers=UG41"),
        ("measure", "/measure/UG41"),
        ("marks", "/marks?rope=UG41"),
        ("no such thing", "/ropes/UG41"),
    ],
)
def test_it_leads_where_it_was_asked_for(club: Club, what: str, leads: str) -> None:
    club.ready("UG41", 30)
    location = club.keeper.get(f"{club.address}/read-mark", {"for": what, "number": "UG41"}).headers["Location"]
    assert location.split("?")[-1] == leads.split("?")[-1] or location.endswith(leads)


@pytest.mark.parametrize("said", ["UG41", "ug41", "41", " UG 41 ", "ug-41", "]C0UG41", "]Q1UG41", "UG41\r\n", "UG41\t"])
def test_a_number_is_read_however_it_was_typed_or_scanned(club: Club, said: str) -> None:
    club.ready("UG41", 30)
    for address, name in (("read-mark", "number"), ("find", "number")):
        answer = club.reader.get(f"{club.address}/{address}", {name: said})
        assert answer.headers["Location"] == f"{club.address}/ropes/UG41"
    shown = club.member.get(f"{club.address}/marks", {"more": said}).content.decode()
    assert 'value="UG41"' in shown


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
    assert club.reader.get(f"{club.address}/read-mark").status_code == 200
