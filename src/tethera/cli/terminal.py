"""How the terminal speaks: 80 columns, the answer first, a length in a capsule, a depth behind its arrow."""

import os
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from typing import Literal

from tethera.basics import Finding, show_metres

WIDTH = 80
Align = Literal["left", "right"]
#: The narrowest that a column of words is made.
_NARROWEST = 12


def capsule(length_cm: int | None) -> str:
    """A rope length, never to be taken for a depth.

    >>> capsule(3000), capsule(2835), capsule(None)
    ('(30 m)', '(28.35 m)', '(? m)')
    """
    return f"({'?' if length_cm is None else show_metres(length_cm)} m)"


def depth(depth_m: float) -> str:
    """A depth, never to be taken for a rope length.

    >>> depth(22.0), depth(7.5)
    ('↓22 m', '↓7.5 m')
    """
    return f"↓{depth_m:.1f}".removesuffix(".0") + " m"


def kilograms(grams: int | None) -> str:
    """Kilograms to one decimal.

    >>> kilograms(6949)
    '6.9 kg'
    """
    return "? kg" if grams is None else f"{grams / 1000:.1f} kg"


def bold(text: str) -> str:
    """Bold where the terminal can; the words stand without it."""
    return f"\033[1m{text}\033[0m" if _has_style() else text


def _has_style() -> bool:
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def columns_of(text: str) -> int:
    """Columns a text takes: wide letters take two, marks over a letter none."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def table(head: Sequence[str], rows: Iterable[Sequence[str]], align: Sequence[Align], *, width: int = WIDTH) -> str:
    """Rows under a head, columns as wide as their longest cell; columns of words wrap to stay within `width`."""
    cells = [list(head), *([str(cell) for cell in row] for row in rows)]
    widths = _within([max(columns_of(row[i]) for row in cells) for i in range(len(head))], align, width)
    lines = []
    for number, row in enumerate(cells):
        wrapped = [_wrapped(cell, wide) for cell, wide in zip(row, widths, strict=True)]
        for part in range(max(len(cell) for cell in wrapped)):
            shown = [cell[part] if part < len(cell) else "" for cell in wrapped]
            lines.append("  ".join(_padded(cell, widths[i], align[i]) for i, cell in enumerate(shown)).rstrip())
        if number == 0:
            lines.append("  ".join("─" * w for w in widths))
    return "\n".join(lines)


def _within(widths: list[int], align: Sequence[Align], width: int) -> list[int]:
    """The widest columns of words made narrower until the table fits, none below what a word needs."""
    last = len(widths) - 1
    found = [*widths[:-1], max(widths[-1], _NARROWEST)]
    words = [i for i, side in enumerate(align) if side == "left" or i == last]
    while sum(found) + 2 * last > width:
        # Of columns equally wide the last one wraps.
        widest = max(words, key=lambda i: (found[i], i))
        if found[widest] <= _NARROWEST:
            break
        found[widest] -= 1
    return found


def _wrapped(cell: str, wide: int) -> list[str]:
    return [cell] if columns_of(cell) <= wide else textwrap.wrap(cell, wide) or [""]


def _padded(text: str, width: int, align: Align) -> str:
    space = " " * (width - columns_of(text))
    return space + text if align == "right" else text + space


def paragraph(text: str, *, indent: str = "", hanging: str | None = None) -> str:
    """Words wrapped to the page, later lines under the first word."""
    later = indent if hanging is None else hanging
    return textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=later)


def doubts(findings: Iterable[Finding]) -> str:
    """Findings as sentences with the way out, each told once."""
    seen = dict.fromkeys(str(finding) for finding in findings)
    return "\n".join(paragraph(words, indent="? ", hanging="  ") for words in seen)


def say(text: str = "") -> None:
    """Print to standard output, whatever the terminal can show."""
    try:
        print(text)
    except UnicodeEncodeError:
        encoding = sys.stdout.encoding or "ascii"
        print(text.replace("↓", "v").encode(encoding, "replace").decode(encoding))


def warn(text: str) -> None:
    """Say on standard error what the user should know beside the answer."""
    sys.stderr.write(paragraph(text) + "\n")


def progress(text: str) -> None:
    """Say on standard error what is being done, only to a person: in place on a terminal, nothing in a pipe."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r\033[K{text[: WIDTH - 1]}")
        sys.stderr.flush()


def progress_done() -> None:
    """Clear the progress line."""
    if sys.stderr.isatty():
        sys.stderr.write("\r\033[K")
        sys.stderr.flush()
