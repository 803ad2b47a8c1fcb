"""Photographs of a rope: small, upright, without a word of where they were taken; shown to members only."""

import io
import threading
from pathlib import Path
from typing import IO, Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from tethera.store import DocumentAttached
from tethera.web.ropes import one_photos, one_pictures
from tethera.web.ropes.one_pictures import ABOUT_BYTES, LONGEST_SIDE_PX, NoPicture, Picture, keep, read_picture
from tethera.web.store.models import Photo
from tethera.web.store.opened import held
from tethera.web.store.photos import place_of
from web.conftest import DAY, Club

_ORIENTATION, _MAKE, _GPS = 0x0112, 0x010F, 0x8825


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, settings: Any) -> Path:
    """A folder of the test's own."""
    settings.FOLDER = tmp_path
    return tmp_path / "photos"


def photo(size: tuple[int, int] = (300, 200), kind: str = "JPEG", colour: str = "red", **more: Any) -> bytes:
    """A picture whose left half is of a colour, its right half black, with all that a camera writes beside it."""
    image = Image.new("RGB", size)
    image.paste(colour, (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[_MAKE] = "Maker of Cameras"
    exif[_ORIENTATION] = more.pop("orientation", 1)
    exif.get_ifd(_GPS).update({1: "N", 2: (54.0, 9.0, 30.0), 3: "W", 4: (2.0, 24.0, 0.0)})
    out = io.BytesIO()
    image.save(out, kind, exif=exif, **({"comment": b"taken at home"} if kind == "JPEG" else {}), **more)
    return out.getvalue()


def send(club: Club, who: Client, *files: tuple[str, bytes], **told: str) -> Any:
    sent = [SimpleUploadedFile(name, data, "image/jpeg") for name, data in files]
    told = {"happened": "2024-06-01"} | told
    return who.post(f"{club.address}/ropes/UG1/photos", told | ({"photos": sent} if sent else {}))


def attached(club: Club) -> list[DocumentAttached]:
    return [each for each in club.log() if isinstance(each, DocumentAttached)]


def test_the_place_and_the_camera_are_gone_from_what_is_kept(club: Club, folder: Path) -> None:
    club.ready("UG1")
    sent = photo()
    with Image.open(io.BytesIO(sent)) as image:
        assert image.getexif().get_ifd(_GPS)
        assert image.getexif()[_MAKE] == "Maker of Cameras"
    assert send(club, club.member, ("IMG_1.jpg", sent), title="worn sheath").status_code == 302
    (event,) = attached(club)
    kept = place_of(folder, event.sha256).read_bytes()
    with Image.open(io.BytesIO(kept)) as image:
        assert image.format == "JPEG"
        assert dict(image.getexif()) == {}
        assert not image.getexif().get_ifd(_GPS)
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
    for word in (b"Exif", b"Maker of Cameras", b"taken at home", b"http://ns.adobe.com"):
        assert word not in kept


def test_it_is_kept_under_the_sum_of_what_is_kept(club: Club, folder: Path) -> None:
    import hashlib

    club.ready("UG1")
    send(club, club.keeper, ("a.jpg", photo()), title="worn sheath")
    (event,) = attached(club)
    (path,) = (each for each in folder.rglob("*") if each.is_file())
    assert path == folder / event.sha256[:2] / f"{event.sha256}.jpg"
    assert hashlib.sha256(path.read_bytes()).hexdigest() == event.sha256
    row = Photo.objects.get(store=club.store)
    assert (row.sha256, row.width, row.height, row.size) == (event.sha256, 300, 200, path.stat().st_size)


def test_who_may_take_may_attach_several_and_a_reader_may_not(club: Club) -> None:
    club.ready("UG1")
    files = (("a.jpg", photo(colour="red")), ("b.png", photo(kind="PNG", colour="blue")))
    for who, status in ((club.reader, 403), (club.stranger, 404)):
        assert send(club, who, *files).status_code == status
        assert who.get(f"{club.address}/ropes/UG1/photos").status_code == status
    assert attached(club) == []
    number = len(club.log()) - 1
    assert send(club, club.member, *files, title="both ends", to_event=str(number)).status_code == 302
    assert [(each.title, each.to_event) for each in attached(club)] == [("both ends", number)] * 2
    assert club.keeper.put(f"{club.address}/ropes/UG1/photos").status_code == 405


def test_a_photo_is_shown_to_members_of_the_store_only(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG2")
    send(club, club.keeper, ("a.jpg", photo()))
    sha256 = attached(club)[0].sha256
    address = f"{club.address}/ropes/UG1/photo/{sha256}.jpg"
    shown = club.reader.get(address)
    assert shown.status_code == 200
    assert shown["Content-Type"] == "image/jpeg"
    assert shown["X-Content-Type-Options"] == "nosniff"
    assert "private" in shown["Cache-Control"]
    assert Image.open(io.BytesIO(shown.content)).size == (300, 200)
    assert address in club.reader.get(f"{club.address}/ropes/UG1").content.decode()
    assert club.stranger.get(address).status_code == 404
    assert club.nobody.get(address).status_code == 302
    assert club.keeper.get(address.replace("UG1", "UG2")).status_code == 404
    for name in ("0" * 64, "..%2f..%2fsecret-key", "secret-key"):
        assert club.keeper.get(f"{club.address}/ropes/UG1/photo/{name}.jpg").status_code == 404


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("notes.txt", b"the rope is fine", "notes.txt is not a picture"),
        ("evil.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "evil.svg is not a picture"),
        ("short.jpg", photo((1200, 900))[:3000], "short.jpg is damaged"),
        ("moving.gif", b"GIF89a" + bytes(40), "moving.gif is not a picture"),
        ("empty.jpg", b"", "That file is empty"),
    ],
)
def test_a_file_that_is_no_picture_is_named_beside_the_field(club: Club, name: str, data: bytes, said: str) -> None:
    club.ready("UG1")
    before = club.events()
    answer = send(club, club.keeper, (name, data), title="worn sheath")
    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert 'value="worn sheath"' in page
    assert club.events() == before


def test_of_several_the_good_ones_are_kept_and_the_bad_one_is_named(club: Club) -> None:
    club.ready("UG1")
    answer = send(club, club.keeper, ("good.jpg", photo()), ("bad.jpg", b"no"))
    page = answer.content.decode()
    assert "bad.jpg is not a picture" in page
    assert "UG1: 1 photo kept." in page
    assert len(attached(club)) == 1


def test_no_file_too_many_and_too_large_are_said(club: Club, settings: Any) -> None:
    club.ready("UG1")
    assert "No file was chosen." in send(club, club.keeper).content.decode()
    many = [(f"{n}.jpg", photo((10, 10))) for n in range(13)]
    assert "At most 12 at once." in send(club, club.keeper, *many).content.decode()
    settings.LARGEST_UPLOAD_BYTES = 500
    assert "a.jpg is larger than 0 MB." in send(club, club.keeper, ("a.jpg", photo())).content.decode()
    assert attached(club) == []


def test_the_same_photo_hangs_on_a_rope_once(club: Club) -> None:
    club.ready("UG1")
    for _ in range(2):
        send(club, club.keeper, ("a.jpg", photo()), once="token")
    assert len(attached(club)) == 1
    answer = send(club, club.keeper, ("a.jpg", photo()), once="another")
    assert "here already" in club.keeper.get(answer.headers["Location"]).content.decode()
    assert len(attached(club)) == 1


def read(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(read_picture(io.BytesIO(data), "a.jpg").jpeg))


def test_a_photo_taken_on_its_side_stands_upright() -> None:
    image = read(photo((300, 200), orientation=6))  # the camera was turned: show it a quarter to the right
    assert image.size == (200, 300)
    top, foot = image.getpixel((100, 40)), image.getpixel((100, 260))
    assert isinstance(top, tuple)
    assert isinstance(foot, tuple)
    assert top[0] > 200 > 60 > foot[0]


def test_a_large_photo_becomes_small_and_a_noisy_one_too() -> None:
    import random

    assert read(photo((4000, 3000))).size == (LONGEST_SIDE_PX, 1200)
    noise = Image.frombytes("RGB", (1600, 1600), random.Random(1).randbytes(1600 * 1600 * 3))
    out = io.BytesIO()
    noise.save(out, "PNG")
    assert len(read_picture(io.BytesIO(out.getvalue()), "noise.png").jpeg) <= ABOUT_BYTES


def test_a_picture_that_would_burst_is_not_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.BytesIO()
    Image.new("1", (9000, 9000)).save(out, "PNG")
    assert len(out.getvalue()) < 20_000
    with pytest.raises(NoPicture, match="81 million pixels"):
        read_picture(io.BytesIO(out.getvalue()), "bomb.png")
    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    with pytest.raises(NoPicture, match="larger than any photograph"):
        read_picture(io.BytesIO(out.getvalue()), "bomb.png")


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "I;16", "CMYK"])
def test_every_kind_of_pixels_becomes_plain_colour(mode: str) -> None:
    out = io.BytesIO()
    kind = "JPEG" if mode == "CMYK" else "PNG"
    Image.new(mode, (40, 30)).save(out, kind)
    assert read(out.getvalue()).mode == "RGB"


def test_what_is_seen_through_is_white_and_a_colour_profile_is_followed() -> None:
    from PIL import ImageCms

    out = io.BytesIO()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(out, "PNG")
    assert read(out.getvalue()).getpixel((5, 5)) == (255, 255, 255)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 30, 30)).save(out, "PNG", icc_profile=profile)
    colour = read(out.getvalue()).getpixel((5, 5))
    assert isinstance(colour, tuple)
    assert abs(colour[0] - 200) < 5
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 30, 30)).save(out, "PNG", icc_profile=b"no profile at all")
    assert read(out.getvalue()).mode == "RGB"


def test_nothing_half_written_stays_when_the_disk_is_full(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    picture = read_picture(io.BytesIO(photo()), "a.jpg")

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(one_pictures.os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        keep(folder, picture)
    assert [each for each in folder.rglob("*") if each.is_file()] == []


@pytest.mark.parametrize("named", ["../elsewhere", "a\x00b", "", "AB" * 32])
def test_an_event_of_others_that_names_no_photo_reads_no_file_and_shuts_no_page(
    club: Club, folder: Path, named: str
) -> None:
    club.ready("UG1")
    folder.mkdir()
    (folder.parent.parent / "elsewhere.jpg").write_bytes(photo())
    club.did(DocumentAttached(rope="UG1", happened=DAY, title="a paper", sha256=named))
    page = club.reader.get(f"{club.address}/ropes/UG1")
    assert page.status_code == 200
    assert "a paper" in page.content.decode()
    pdf = club.reader.get(f"{club.address}/ropes/UG1/record.pdf")
    assert pdf.status_code == 200
    assert b"/DCTDecode" not in pdf.content


def test_others_use_the_store_while_photographs_are_decoded(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another thread asks for the store in the middle of the decoding, and gets it."""
    club.ready("UG1", 30)
    read, got = one_photos.read_picture, list[bool]()

    def slowly(file: IO[bytes], name: str) -> Picture:
        def ask() -> None:
            with held(club.store.pk):
                got.append(True)

        other = threading.Thread(target=ask)
        other.start()
        other.join(timeout=20)
        return read(file, name)

    monkeypatch.setattr(one_photos, "read_picture", slowly)
    assert send(club, club.member, ("a.jpg", photo())).status_code == 302
    assert got == [True]
