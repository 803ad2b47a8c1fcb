"""The house mark and the signs of a rope's state as small SVG for running text, in the colour of the text."""

from tethera.labels import symbols
from tethera.labels.page import Primitive
from tethera.labels.svg import elements

#: Heavier than on paper: a sign stands in text of 18 px, not at 6 mm.
_BOLDER = 1.5


def state_sign_svg(state: str) -> str:
    """The sign of a state, for beside its word: hidden from a screen reader, which reads the word."""
    return _inline(symbols.state(state, 3.5, 3.0), 7.0, 6.0, "sign")


def mark_svg() -> str:
    """The house mark: three ticks across a line."""
    return _inline(symbols.mark(0.5, 5.2, 9.0), 10.0, 7.0, "mark")


def _inline(parts: list[Primitive], width: float, height: float, name: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{name}" width="{width / height:.3g}em" height="1em" '
        f'viewBox="0 0 {width:g} {height:g}" aria-hidden="true" focusable="false" fill="none" '
        f'stroke="currentColor" stroke-linecap="round" stroke-linejoin="round">'
        f"{''.join(elements(parts, _BOLDER))}</svg>"
    )
