"""The paper's colours, sizes and targets, read from the style sheets themselves.

Contrast is that of the Web Content Accessibility Guidelines (WCAG) 2.1, W3C Recommendation 5 June 2018,
https://www.w3.org/TR/WCAG21/: section 6, terms "relative luminance" and "contrast ratio". Its success criteria ask
for 4.5 between text and ground (1.4.3, level AA), 7 (1.4.6, level AAA) and 3 for lines that carry meaning (1.4.11).
Ink must pass at 7: a rope store is often read in sunlight.
"""

import re
from pathlib import Path

import pytest

import tethera.web

DOCS = Path(__file__).parents[2] / "docs"
STATIC = Path(tethera.web.__file__).parent / "static" / "tethera"
SHEETS = sorted(STATIC.glob("*.css"))
#: In the order in which paper.css has them.
PAPERS = ("day", "night of the device", "night", "contrast by day", "contrast by night", "contrast by the device")
_NAMED = r"white|black|red|orange|yellow|green|blue|grey|gray|brown|silver|purple|pink|navy|maroon"


def bare(sheet: Path) -> str:
    """A style sheet without its comments."""
    return re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)


def blocks(css: str, inside: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], str]]:
    """Each rule as (the media around it and its selector, its declarations)."""
    found, start, place = [], 0, 0
    while (opens := css.find("{", place)) >= 0:
        depth, closes = 1, opens + 1
        while depth:
            depth += {"{": 1, "}": -1}.get(css[closes], 0)
            closes += 1
        head, body = css[start:opens].rpartition(";")[2].strip(), css[opens + 1 : closes - 1]
        if "{" in body:
            found += blocks(body, (*inside, head))
        else:
            found.append(((*inside, head), body))
        start = place = closes
    return found


def declared(body: str) -> list[tuple[str, str]]:
    """Properties and their values."""
    parts = (one.partition(":") for one in body.split(";"))
    return [(name.strip(), value.strip()) for name, colon, value in parts if colon]


def papers() -> dict[str, dict[str, str]]:
    """The colours of each paper by the name of their variable."""
    found = [{name: value for name, value in declared(body) if value.startswith("#")}
             for _, body in blocks(bare(STATIC / "paper.css")) if "--ground" in dict(declared(body))]  # fmt: skip
    return dict(zip(PAPERS, found, strict=True))


def relative_luminance(colour: str) -> float:
    """Of sRGB, 0 black to 1 white: WCAG 2.1, section 6, "relative luminance"."""
    digits = colour.removeprefix("#")
    digits = "".join(each * 2 for each in digits) if len(digits) == 3 else digits
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = [each / 12.92 if each <= 0.03928 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """1 to 21: WCAG 2.1, section 6, "contrast ratio"."""
    lighter, darker = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_formula_gives_the_ends_the_recommendation_names() -> None:
    """ "Contrast ratios can range from 1 to 21": black on white is the one end, a colour on itself the other."""
    assert contrast("#fff", "#000") == pytest.approx(21)
    assert contrast("#a83a00", "#a83a00") == pytest.approx(1)
    # 0.2126, 0.7152 and 0.0722 are what red, green and blue alone weigh.
    assert [relative_luminance(each) for each in ("#f00", "#0f0", "#00f")] == pytest.approx([0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("ground", ["--ground", "--faint"])
@pytest.mark.parametrize(("text", "least"), [("--ink", 7.0), ("--soft", 4.5), ("--hand", 4.5)])
def test_text_can_be_read(paper: str, ground: str, text: str, least: float) -> None:
    colours = papers()[paper]
    assert contrast(colours[text], colours[ground]) >= least


@pytest.mark.parametrize("paper", PAPERS)
def test_words_on_a_filled_button_can_be_read(paper: str) -> None:
    colours = papers()[paper]
    assert contrast(colours["--ground"], colours["--ink"]) >= 7
    assert contrast(colours["--on-hand"], colours["--hand"]) >= 4.5


@pytest.mark.parametrize("paper", PAPERS)
def test_rules_can_be_seen(paper: str) -> None:
    """Rows are told apart by them, and a button that waits has nothing else."""
    colours = papers()[paper]
    assert contrast(colours["--rule"], colours["--ground"]) >= 3


@pytest.mark.parametrize("paper", PAPERS)
def test_the_accent_is_told_from_ink(paper: str) -> None:
    """By more than hue: whoever sees no colours sees it lighter, or bold beside it."""
    colours = papers()[paper]
    assert contrast(colours["--hand"], colours["--ink"]) >= 1.5


def test_night_is_the_same_whether_asked_for_or_taken_from_the_device() -> None:
    colours = papers()
    assert colours["night"] == colours["night of the device"]
    assert colours["contrast by night"] == colours["contrast by the device"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_colour_stands_outside_the_variables(sheet: Path) -> None:
    literal = re.compile(rf"#[0-9a-f]{{3,8}}\b|\b(rgb|hsl|lab|lch|oklch|color)a?\(|\b({_NAMED})\b", re.IGNORECASE)
    for where, body in blocks(bare(sheet)):
        for name, value in declared(body):
            assert name.startswith("--") or not literal.search(value), (where, name, value)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_only_the_paper_names_colours(sheet: Path) -> None:
    variables = {name for _, body in blocks(bare(sheet)) for name, value in declared(body) if value.startswith("#")}
    assert variables == set() or sheet.name in ("paper.css", "print.css")


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_there_are_three_sizes_and_what_is_read_from_a_rope_s_length_away(sheet: Path) -> None:
    allowed = {"var(--small)", "var(--text)", "var(--large)", "inherit", "100%"}
    if sheet.name in ("measuring.css", "marks.css"):
        allowed.add("var(--count)")
    for where, body in blocks(bare(sheet)):
        if where[-1] == "@font-face":
            continue
        for name, value in declared(body):
            if name == "font-size":
                assert value in allowed, (where, value)
            if name == "font":
                assert value == "inherit" or value.startswith("var(--text)/"), (where, value)


def test_no_size_is_smaller_than_what_a_browser_takes_for_plain_text() -> None:
    sizes = [value for _, body in blocks(bare(STATIC / "paper.css")) for name, value in declared(body)
             if name in ("--small", "--text", "--large")]  # fmt: skip
    assert len(sizes) >= 3
    assert all(value.endswith("rem") and float(value.removesuffix("rem")) >= 1 for value in sizes)


def least_height(selector: str) -> int:
    """Of what a selector names in paper.css, in px; 0 when nothing is said of it."""
    heights = [
        int(value.removesuffix("px"))
        for where, body in blocks(bare(STATIC / "paper.css"))
        if len(where) == 1 and selector in [re.sub(r"\s+", " ", each.strip()) for each in where[0].split(",")]
        for name, value in declared(body)
        if name == "min-height" and value.endswith("px")
    ]
    return max(heights, default=0)


@pytest.mark.parametrize(
    "selector",
    ["button", ".act", "input:not([type])", "input[type=text]", "input[type=date]", "input[type=file]", "select",
     "details > summary", ".menu a", ".head .home", ".choices label", ".field.tick > label"],
)  # fmt: skip
def test_what_is_pressed_is_as_high_as_a_wet_thumb_needs(selector: str) -> None:
    assert least_height(selector) >= 48


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_room_makes_its_targets_lower(sheet: Path) -> None:
    """A height said in px is one to be pressed; on paper nothing is pressed."""
    for where, body in blocks(bare(sheet)):
        if where[0] != "@media print" and sheet.name != "print.css":
            for name, value in declared(body):
                if name == "min-height" and value.endswith("px"):
                    assert int(value.removesuffix("px")) >= 48, where


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_nothing_moves_for_whoever_asked_for_stillness(sheet: Path) -> None:
    for where, body in blocks(bare(sheet)):
        if any(name in ("animation", "transition", "scroll-behavior") for name, _ in declared(body)):
            assert any("prefers-reduced-motion: no-preference" in each for each in where), where


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_outline_is_taken_away_from_what_can_be_reached_by_keyboard(sheet: Path) -> None:
    """The page's own frame takes the focus of the skip link, and needs no outline; results read out need none."""
    for where, body in blocks(bare(sheet)):
        if ("outline", "none") in declared(body) or ("outline", "0") in declared(body):
            assert where[-1] == "main:focus", where


def test_every_picture_of_the_look_is_shown_by_day_and_by_night() -> None:
    shown = set(re.findall(r"\]\(look/([\w-]+\.png)\)", (DOCS / "look.md").read_text()))
    assert shown == {each.name for each in (DOCS / "look").iterdir()}
    assert {each.replace(".png", "-night.png") for each in shown if "-night" not in each} <= shown


def test_the_pictures_of_the_look_are_small() -> None:
    assert sum(each.stat().st_size for each in (DOCS / "look").iterdir()) < 1_500_000
