"""The table of a route on a telephone: every cell can be read and touched, and says what it is."""

import pytest

from browser.conftest import DESKTOP, MEMBER, PHONE, LookIn
from browser.test_every_page import check

#: How many cells or buttons of one row lie over each other.
_OVER_EACH_OTHER = """() => {
  const over = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  let count = 0;
  for (const row of document.querySelectorAll(".pitches > tbody > tr:first-child, [data-below]")) {
    const cells = [...row.querySelectorAll("input:not([type=hidden]), select, button")];
    const boxes = cells.map((cell) => cell.getBoundingClientRect());
    boxes.forEach((box, at) => { count += boxes.slice(at + 1).filter((other) => over(box, other)).length; });
  }
  return count;
}"""


@pytest.mark.parametrize("size", [PHONE, (360, 740), (700, 900), (1000, 800), DESKTOP])
def test_no_cell_of_a_pitch_lies_over_another(look_in: LookIn, address: str, size: tuple[int, int]) -> None:
    page = look_in(MEMBER, size)
    page.goto(f"{address}/ug/routes/cold-barrow-hole/change")
    assert page.locator("tbody.pitch-row").count() > 1
    assert page.evaluate(_OVER_EACH_OTHER) == 0
    check(page, f"the table of a route at {size}")


def test_on_a_telephone_each_cell_of_a_pitch_has_its_name_above_it(look_in: LookIn, address: str) -> None:
    page = look_in(MEMBER, PHONE)
    page.goto(f"{address}/ug/routes/cold-barrow-hole/change")
    for cell in ("name", "depth", "guide_rope", "anchors", "traverse", "to_next"):
        words = page.locator(f"label[for='p0.{cell}']").bounding_box()
        typed = page.locator(f"[id='p0.{cell}']").bounding_box()
        assert words is not None
        assert typed is not None
        assert words["width"] > 20
        assert words["y"] + words["height"] <= typed["y"] + 1
