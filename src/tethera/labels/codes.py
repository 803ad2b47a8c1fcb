"""The two codes of a mark, as black rectangles in modules: QR by ISO/IEC 18004 and Code 128 by ISO/IEC 15417.

Both say the rope's number and nothing else, so that a mark stays true whatever the store's pages are called.
"""

import re
from functools import cache
from typing import Any

#: A side of the smallest QR code, which holds 10 capitals or digits at level H [modules].
QR_SIDE = 21
#: Blank modules that must lie round a QR code, and before and after a Code 128.
QR_QUIET, CODE_128_QUIET = 4, 10

Runs = tuple[tuple[int, int, int], ...]


@cache
def qr_runs(number: str) -> Runs:
    """The black modules of the QR code of a rope's number as (column, row, how many in a row), level H.

    >>> qr_runs("UG41")[0]
    (0, 0, 7)
    """
    import segno

    _check(number)
    code = segno.make_qr(number, error="h", version=1, boost_error=False)
    runs = []
    for row, modules in enumerate(code.matrix):
        text = "".join("1" if module else "0" for module in modules)
        runs += [(found.start(), row, len(found[0])) for found in re.finditer("1+", text)]
    return tuple(runs)


@cache
def code_128_bars(number: str) -> tuple[tuple[tuple[int, int], ...], int]:
    """The bars of a Code 128 as (from, width), and how wide it is without its blank ends [modules].

    >>> code_128_bars("UG41")[1]
    79
    """
    from reportlab.graphics.barcode.code128 import Code128

    _check(number)
    code: Any = Code128(number, quiet=0)  # it says nothing of its types
    code.validate()
    code.encode()
    code.decompose()
    bars, at = [], 0
    # Capitals are bars and small letters gaps, A one module wide and D four.
    for letter in code.decomposed:
        width = ord(letter.upper()) - ord("A") + 1
        if letter.isupper():
            bars.append((at, width))
        at += width
    return tuple(bars), at


def _check(number: str) -> None:
    if not re.fullmatch(r"[A-Z0-9]{1,10}", number):
        raise ValueError(f"a code holds 1 to 10 capitals or digits, not “{number}”")
