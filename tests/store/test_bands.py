"""A store's own bands of tape: read as people write them, none built in."""

import pytest

from tethera.store import StoreDescribed, band_of, read_bands


@pytest.mark.parametrize("line", ["30 to 39 m: yellow", "30-39: yellow", "30 – 39 m = yellow", "30 m to 39 m : yellow"])
def test_a_band_is_read_however_it_is_written(line: str) -> None:
    assert [(each.from_m, each.to_m, each.words) for each in read_bands(line)] == [(30, 39, "yellow")]
    assert band_of(30, line) == band_of(39, line) == "yellow"
    assert band_of(29, line) is None
    assert band_of(40, line) is None


def test_a_single_length_has_a_band_too() -> None:
    assert band_of(25, "25 m: two red rings") == "two red rings"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("yellow", "Line 1, “yellow”: write lengths"),
        ("10 to 19: red\n39 to 30: blue", "Line 2: 39 to 30 m runs backwards"),
        ("10 to 19: red\n\n15 to 25: blue", "Line 3: 15 m has a band already, red"),
    ],
)
def test_a_line_that_cannot_be_right_is_named(text: str, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        read_bands(text)


def test_no_band_is_built_in() -> None:
    assert StoreDescribed.__dataclass_fields__["bands"].default == ""
    assert all(band_of(metres, "") is None for metres in range(1, 200))
