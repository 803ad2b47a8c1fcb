"""What is left of a rope when its damaged places are cut out."""

from collections.abc import Iterable

from tethera.store.rules import limit


def pieces_without(length_cm: int, places_cm: Iterable[int]) -> tuple[int, ...]:
    """Lengths [cm] of the pieces left when a rope is cut at each place along it [cm], in order along the rope.

    On either side of a place the stretch of `damaged_stretch` in tables/doubts.toml goes with it. Each piece is rounded
    down to whole metres; what is shorter than a metre is waste. A place beyond the rope's ends cuts nothing.

    >>> pieces_without(3000, [1240])
    (1200, 1700)
    >>> pieces_without(3000, [20])
    (2900,)
    """
    away = round(limit("damaged_stretch") * 100)
    pieces, start = [], 0
    for place in sorted(place for place in places_cm if 0 <= place <= length_cm):
        pieces.append(place - away - start)
        start = max(start, place + away)
    pieces.append(length_cm - start)
    return tuple(cm // 100 * 100 for cm in pieces if cm >= 100)
