"""Strips for both ends of many ropes, true to scale: on sheets of A4 or Letter paper, or on tape.

Each sheet and each run of tape begins with a line of 100 mm to lay a ruler on before anything is cut.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from tethera.labels.flow import fitted
from tethera.labels.mark import PAPERS, EndMark
from tethera.labels.page import THIN, Page, Primitive, Stroke, Text
from tethera.labels.pdf import pages_to_pdf
from tethera.labels.strip import Strip, sheet_strip, sizes_mm, tape_pieces
from tethera.labels.svg import elements
from tethera.rope import over_tape_mm

#: The line to lay a ruler on [mm].
CHECK_MM = 100.0
#: Sides of a sheet lying on its long side [mm]; Letter is 11 by 8.5 inches.
_SHEETS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
_EDGE, _GAP, _CAPTION, _HEAD = 8.0, 5.0, 4.5, 13.0
_PT, _CUT = 8.0, 0.1

Ends = tuple[EndMark, EndMark]


@dataclass(frozen=True, slots=True)
class Placed:
    """A strip with its top left corner on a page, counted from 0 [mm]."""

    strip: Strip
    page: int
    left: float
    top: float


@dataclass(slots=True)
class Laid:
    """Pages with the strips upon them."""

    pages: list[Page] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)


def strips_pdf(marks: Sequence[Ends], paper: str, *, diameters_mm: Mapping[str, float] | None = None) -> bytes:
    """The strips for both ends of these ropes as a PDF, the same bytes each time.

    `paper` is one of PAPERS. `diameters_mm` are diameters over the tape by rope, where somebody measured them [mm];
    else a rope's declared diameter and its tape are taken. ValueError says which rope has none, or what does not fit.
    """
    laid = lay(marks, paper, diameters_mm or {})
    ropes = [ends[0].rope for ends in marks]
    title = f"Marks for {ropes[0]}" if len(ropes) == 1 else f"Marks for {len(ropes)} ropes"
    return pages_to_pdf(laid.pages, title=title, subject="Marks for both ends, print at 100 %")


def strip_size_mm(ends: Ends, paper: str, diameter_mm: float) -> tuple[float, float]:
    """How long the strip of one end is along the rope, and how far round with its edge underneath [mm]."""
    sizes = [sizes_mm(_pieces(mark, paper, diameter_mm)) for mark in ends]
    return max(along for along, _ in sizes), max(round_ for _, round_ in sizes)


def strip_svg(mark: EndMark, diameter_mm: float) -> str:
    """The strip unrolled, for a page on a screen, with its words for a screen reader; in mm."""
    strip = sheet_strip(mark, diameter_mm, _longest("a4"))
    width, height = strip.length_mm, strip.around_mm
    said = f"({mark.length_m} m) {mark.words}{f', end {mark.end}' if mark.end else ''}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="strip" role="img" aria-label="{_escaped(said)}" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" fill="none" stroke="currentColor" '
        f'font-family="Atkinson Hyperlegible, sans-serif">{"".join(elements(strip.primitives(0.0, 0.0)))}</svg>\n'
    )


def diameter_over_tape(mark: EndMark, diameters_mm: Mapping[str, float]) -> float:
    """A rope's diameter over the tape [mm]: measured, or as declared with its tape; ValueError where neither is."""
    if mark.rope in diameters_mm:
        return diameters_mm[mark.rope]
    if mark.diameter_mm is None:
        raise ValueError(f"Nobody declared the diameter of {mark.rope}. Measure it over the tape, and say so.")
    return over_tape_mm(mark.diameter_mm)


def lay(marks: Sequence[Ends], paper: str, diameters_mm: Mapping[str, float]) -> Laid:
    """Place both ends of each rope on pages, in the order given."""
    if paper not in PAPERS:
        raise ValueError(f"paper is one of {', '.join(PAPERS)}, not “{paper}”")
    if not marks:
        raise ValueError("Name at least one rope.")
    both = [(mark, diameter_over_tape(mark, diameters_mm)) for ends in marks for mark in ends]
    if paper in _SHEETS:
        return _on_sheets([sheet_strip(mark, wide, _longest(paper)) for mark, wide in both], paper)
    return _on_tape([_pieces(mark, paper, wide) for mark, wide in both], _tape_mm(paper))


def _pieces(mark: EndMark, paper: str, diameter_mm: float) -> tuple[Strip, ...]:
    if paper in _SHEETS:
        return (sheet_strip(mark, diameter_mm, _longest(paper)),)
    return tape_pieces(mark, diameter_mm, _tape_mm(paper))


def _tape_mm(paper: str) -> int:
    return int(paper.removeprefix("tape-"))


def _longest(paper: str) -> float:
    return _SHEETS[paper][0] - 2 * _EDGE


def _on_sheets(strips: Sequence[Strip], paper: str) -> Laid:
    laid = Laid()
    width, height = _SHEETS[paper]
    left, top, row = width, height, 0.0
    for strip in strips:
        tall = strip.around_mm + strip.tab_mm + _CAPTION
        if left + strip.length_mm > width - _EDGE + 1e-6:
            left, top, row = _EDGE, top + row, 0.0
        if top + tall > height - _EDGE:
            laid.pages.append(Page(width, height, list(_sheet_head(paper))))
            left, top, row = _EDGE, _EDGE + _HEAD, 0.0
        laid.placed.append(Placed(strip, len(laid.pages) - 1, left, top))
        laid.pages[-1].add(*_cut_out(strip, left, top))
        left, row = left + strip.length_mm + _GAP, max(row, tall + _GAP / 2)
    for number, page in enumerate(laid.pages):
        page.add(*_doubts([each.strip.mark for each in laid.placed if each.page == number], width - 2 * _EDGE))
    return laid


def _doubts(marks: Sequence[EndMark], wide: float) -> Iterator[Primitive]:
    """Below the ruler, why strips of a sheet say less than was counted last."""
    why = {mark.rope: mark.doubt for mark in marks if mark.doubt}
    if not why:
        return
    ropes = ", ".join(why)
    told = f"In doubt, until counted again: {ropes}. Their strips say no more than the lower length allows."
    if len(why) == 1:
        told = f"{ropes}: {why[ropes]}"
    yield Text(_EDGE, _EDGE + _HEAD - 3.0, fitted(told, wide, _PT), _PT)


def _sheet_head(paper: str) -> Iterator[Primitive]:
    name = "A4" if paper == "a4" else "Letter"
    yield from _ruler(_EDGE, _EDGE + 4.0, along=True)
    told = f"100 mm. Lay a ruler on it before you cut. {name}, print at 100 %, not fitted to the page."
    yield Text(_EDGE + CHECK_MM + 4.0, _EDGE + 5.0, told, _PT)


def _ruler(x: float, y: float, *, along: bool) -> Iterator[Primitive]:
    """A line of exactly 100 mm between its end ticks."""
    line = ((x, y), (x + CHECK_MM, y)) if along else ((x, y), (x, y + CHECK_MM))
    yield Stroke(line, THIN, role="check line")
    for at_x, at_y in line:
        yield Stroke(((at_x, at_y - 2), (at_x, at_y + 2)) if along else ((at_x - 2, at_y), (at_x + 2, at_y)), THIN)


def _cut_out(strip: Strip, left: float, top: float) -> Iterator[Primitive]:
    """The outline to cut along, the edge that goes underneath, what is printed, and below it what it is for."""
    right, bottom = left + strip.length_mm, top + strip.around_mm + strip.tab_mm
    edge = top + strip.around_mm
    outline = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    yield Stroke(outline, _CUT, role="cut")
    yield Stroke(((left, edge), (right, edge)), _CUT, dashed=True, role="edge")
    yield Text(left + 2.0, edge + 2.0, "goes underneath", 5.0)
    yield from strip.primitives(left, top)
    end = f" end {strip.mark.end}" if strip.mark.end else ""
    told = f"{strip.mark.rope}{end}: wind round {strip.diameter_mm:g} mm, rope and tape"
    yield Text(left, bottom + 3.4, told, _PT)


def _on_tape(ends: Sequence[Sequence[Strip]], tape_mm: int) -> Laid:
    """One page for the ruler, then one for each end; its pieces follow each other with a line to cut between."""
    laid = Laid([Page(float(tape_mm), CHECK_MM + 8.0, list(_tape_head(tape_mm)))])
    for pieces in ends:
        page = Page(float(tape_mm), sum(each.around_mm + each.tab_mm for each in pieces))
        laid.pages.append(page)
        top = 0.0
        for piece in pieces:
            if top:
                page.add(Stroke(((0.0, top), (float(tape_mm), top)), _CUT, role="cut"))
            laid.placed.append(Placed(piece, len(laid.pages) - 1, 0.0, top))
            page.add(*piece.primitives(0.0, top))
            top += piece.around_mm + piece.tab_mm
            if piece.tab_mm:
                edge = top - piece.tab_mm
                page.add(Stroke(((0.0, edge), (float(tape_mm), edge)), _CUT, dashed=True, role="edge"))
    return laid


def _tape_head(tape_mm: int) -> Iterator[Primitive]:
    middle = tape_mm / 2
    yield from _ruler(middle - 2.5, 4.0, along=False)
    yield Text(middle - 1.0, 4.0 + CHECK_MM / 2, "100", _PT, True)
    yield Text(middle - 1.0, 4.0 + CHECK_MM / 2 + 3.2, "mm", _PT)


def _escaped(words: str) -> str:
    from html import escape

    return escape(words, quote=True)
