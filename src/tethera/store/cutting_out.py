"""What is left of a rope when its damaged places are cut out."""

from collections.abc import Iterable

from tethera.store.limits import limit


def pieces_without(length_cm: int, places_cm: Iterable[int]) -> tuple[int, ...]:
    """Lengths [cm] of the pieces left when a rope is cut at each place along it [cm], in order along the rope.

    On either side of a place the stretch of `damaged_stretch` in tables/doubts.toml goes with it. Each piece is rounded
    down to whole metres; what is shorter than a metre is waste. A place beyond the rope's ends cuts nothing.

    >>> pieces_without(3000, [1240])
    (1200, 1700)
    >>> pieces_without(3000, [20])
    (2900,)
    """
    stretches = sound_stretches(length_cm, places_cm)
    return tuple((end - start) // 100 * 100 for start, end in stretches if end - start >= 100)


def sound_stretches(length_cm: int, places_cm: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Where along a rope [cm] the stretches between its damaged places begin and end, those of no length left out.

    >>> sound_stretches(3000, [1240, 20])
    ((50, 1210), (1270, 3000))
    """
    away = round(limit("damaged_stretch") * 100)
    stretches, start = [], 0
    for place in sorted(place for place in places_cm if 0 <= place <= length_cm):
        stretches.append((start, place - away))
        start = max(start, place + away)
    stretches.append((start, length_cm))
    return tuple((begin, end) for begin, end in stretches if end > begin)
