"""Pages to PDF: the same bytes for the same pages, and no scaling by the printer's dialogue."""

from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from tethera.labels.fonts import BOLD, MM_PER_POINT, REGULAR, font
from tethera.labels.page import Blocks, Box, Page, Picture, Primitive, Ring, Stroke, Text

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


def pages_to_pdf(pages: Sequence[Page], *, title: str, subject: str, places: Sequence[tuple[str, int]] = ()) -> bytes:
    """The pages as a PDF; byte for byte the same each time, since it carries no date and a fixed identity.

    `places` are words for the list of contents a reader shows beside the pages, each with its page counted from 0.
    """
    from reportlab.pdfgen.canvas import Canvas

    font(False), font(True)
    out = BytesIO()
    canvas = Canvas(out, pagesize=(0, 0), invariant=1, pageCompression=1, lang="en-GB")
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setCreator("Tethera")
    canvas.setViewerPreference("PrintScaling", "None")
    for number, page in enumerate(pages):
        for words, _ in (place for place in places if place[1] == number):
            canvas.bookmarkPage(f"{number}-{words}")
            canvas.addOutlineEntry(words, f"{number}-{words}")
        canvas.setPageSize((page.width / MM_PER_POINT, page.height / MM_PER_POINT))
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        _draw(canvas, page.primitives, page.height)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _draw(canvas: "Canvas", primitives: Iterable[Primitive], height: float) -> None:
    from reportlab.lib.utils import ImageReader

    pt = 1 / MM_PER_POINT
    for item in primitives:
        if isinstance(item, Text):
            canvas.setFont(BOLD if item.bold else REGULAR, item.size)
            canvas.drawString(item.x * pt, (height - item.y) * pt, item.words)
            continue
        if isinstance(item, Picture):
            bottom = height - item.y - item.height
            sides = (item.x * pt, bottom * pt, item.width * pt, item.height * pt)
            canvas.drawImage(ImageReader(BytesIO(item.jpeg)), *sides)
            continue
        if isinstance(item, Blocks):
            shape = canvas.beginPath()
            for x, y, width, tall in item.rectangles:
                shape.rect(x * pt, (height - y - tall) * pt, width * pt, tall * pt)
            canvas.drawPath(shape, stroke=0, fill=1)
            continue
        canvas.setLineWidth(item.weight * pt)
        if isinstance(item, Stroke):
            _draw_stroke(canvas, item, height)
        elif isinstance(item, Ring):
            canvas.setFillGray(0 if item.fill else 1)
            canvas.circle(item.x * pt, (height - item.y) * pt, item.radius * pt, stroke=1, fill=1)
            canvas.setFillGray(0)
        elif isinstance(item, Box):
            bottom = height - item.y - item.height
            canvas.setFillGray(1 if item.paper else 0)
            sides = (item.x * pt, bottom * pt, item.width * pt, item.height * pt)
            if item.radius:
                canvas.roundRect(*sides, item.radius * pt, stroke=1, fill=int(item.paper))
            else:
                canvas.rect(*sides, stroke=1, fill=int(item.paper))
            canvas.setFillGray(0)


def _draw_stroke(canvas: "Canvas", stroke: Stroke, height: float) -> None:
    pt = 1 / MM_PER_POINT
    path = canvas.beginPath()
    for index, (x, y) in enumerate(stroke.points):
        (path.lineTo if index else path.moveTo)(x * pt, (height - y) * pt)
    if stroke.fill:
        path.close()
    if stroke.dashed:
        canvas.setDash([2.2 * pt, 1.8 * pt])
    canvas.drawPath(path, stroke=int(not stroke.fill), fill=int(stroke.fill))
    if stroke.dashed:
        canvas.setDash()
