"""The one typeface of everything printed, its widths, and which characters it can draw.

Atkinson Hyperlegible (OFL) from its package, static files, so that a sheet is the same on every machine.
"""

import unicodedata
from collections.abc import Mapping
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD = "TetheraRegular", "TetheraBold"
#: Printer's point, exact: 1/72 of an inch of 25.4 mm.
MM_PER_POINT = 25.4 / 72

#: Height of a capital or a digit [em], from the typeface's own table (OS/2 sCapHeight, both weights).
CAP_HEIGHT = 0.668

#: Characters whose ASCII form Unicode does not give by decomposition.
_IN_WORDS = {"→": "to", "←": "from", "↑": "up", "✓": "yes", "✗": "no", "ð": "d", "þ": "th", "≡": "="}
#: Drawn by us as a path, so they may stand in text although the typeface has none.
DRAWN = frozenset("↓")


@cache
def font(bold: bool) -> "TTFont":
    """The registered font file; loaded at the first use, since loading it takes a tenth of a second."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    style = "Bold" if bold else "Regular"
    files = resources.files("fontpkg_atkinson_hyperlegible") / "files"
    with resources.as_file(files / f"AtkinsonHyperlegible-{style}.ttf") as path:
        loaded = TTFont(BOLD if bold else REGULAR, str(path))
    pdfmetrics.registerFont(loaded)
    return loaded


def width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a line of text [mm] set at `size_pt` [pt], without kerning as the PDF sets it."""
    return float(font(bold).stringWidth(text, size_pt)) * MM_PER_POINT


def printable(text: str) -> str:
    """The text in characters the typeface has; ValueError names the one that has no ASCII form either.

    >>> printable("Ḧuge\\nhole")
    'Huge hole'
    """
    return "".join(_printable_character(character) for character in text)


def legible(text: str) -> str:
    """The text with each letter that cannot be printed as a question mark in square brackets, so that it is missed.

    For records, which must be printed whatever somebody is called; a sheet asks for Latin letters instead.

    >>> legible("Ana 山田, 9 m")
    'Ana [??], 9 m'
    """
    pieces: list[str] = []
    missing = 0
    for character in text:
        try:
            said = _printable_character(character)
        except ValueError:
            missing += 1
            continue
        if missing:
            pieces.append(f"[{'?' * missing}]")
            missing = 0
        pieces.append(said)
    return "".join(pieces) + (f"[{'?' * missing}]" if missing else "")


def legible_values(value: Any) -> Any:
    """The same values in letters the typeface has."""
    if isinstance(value, str):
        return legible(value)
    if isinstance(value, Mapping):
        return {name: legible_values(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(legible_values(each) for each in value)
    return value


@cache
def _printable_character(character: str) -> str:
    if character.isspace():
        return "\u00a0" if character in "\u2009\u202f\u00a0" else " "
    if character in DRAWN or ord(character) in font(False).face.charToGlyph:
        return character
    if unicodedata.category(character) in {"Cc", "Cf", "Mn", "Me", "Cs", "Co", "Cn"} or character in "\ufe0f":
        return ""
    plain = _IN_WORDS.get(character) or unicodedata.normalize("NFKD", character).encode("ascii", "ignore").decode()
    if plain:
        return plain
    name = unicodedata.name(character, "no name")
    raise ValueError(
        f"“{character}” (U+{ord(character):04X}, {name.lower()}) is not in the typeface and has no plain letter. "
        "Write it in Latin letters."
    )
