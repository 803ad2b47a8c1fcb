"""A rope's whole life as one line, as a rope lies there: from where it was bought to today, or to its end.

The line is heavy while the rope is in service and thin while it is being prepared. It lifts while the rope is out and
hangs in a bow while it is rigged; it has a gap while the rope is set aside and dots while it is missing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from tethera.labels import life_signs
from tethera.labels.days import middle_of, span_of, spoken_date
from tethera.labels.figure import (
    FINE,
    Area,
    Days,
    Part,
    capsule_in,
    capsule_size,
    figure,
    free,
    key_lines,
    metres,
    words,
)
from tethera.labels.life_signs import Turn
from tethera.labels.page import Primitive, Stroke, Text, spread

Facts = Mapping[str, Any]
#: One stretch of the line is at least this long [px], so that a weekend out can be seen in ten years.
_CELL = 4.0
#: The line is never shorter in days, so that a month begins in it.
_FEWEST_DAYS = 75.0
#: Of several states in one stretch the one that matters most is drawn.
_WORTH = ("set aside", "missing", "rigged", "out", "ready", "in preparation", "retired")
_LINE_Y, _LEVEL, _LEVELS = 112.0, 28.0, 3
_WIDE, _NARROW, _LINE_X = 1000.0, 360.0, 96.0


@dataclass(frozen=True, slots=True)
class _Life:
    """What is drawn: the days shown, states from day to day, moments in order, and how it ended."""

    days: Days
    periods: tuple[tuple[float, float, str], ...]
    moments: tuple[tuple[float, Facts], ...]
    begins: float
    ends: float
    ended: str

    def along(self, day: float) -> float:
        return self.days.at(min(max(day, self.begins), self.ends))

    def ticks(self, room: float) -> list[tuple[float, str]]:
        return [(day, said) for day, said in self.days.ticks(room) if day <= self.ends]


def life_svg(life: Facts, today: date, *, narrow: bool = False, name: str = "life") -> str:
    """The life of a rope, 1,000 px wide lying, or with `narrow` 360 px wide and hanging down, for a telephone.

    `life` is {rope, begins, begins_with, ends, ended, periods, moments}. `begins_with` is a word as "bought"; `ends` is
    None while it lasts and `ended` says "retired" or "cut". A period is {state, begins, ends}, `ends` None until the
    next one begins. A moment is {kind, date, length_cm}; kinds with a sign: washed, measured, inspected, cut; others
    are left out. Dates may be partial. `name` keeps the ids of two drawings on one page apart.
    """
    read = _read(life, today, narrow)
    parts, size = (_hanging if narrow else _lying)(life, read)
    title = f"The life of {life.get('rope') or 'the rope'}"
    return figure(
        "life life-hanging" if narrow else "life life-lying", name, title, _told(life, read, today), size, parts
    )


def _read(life: Facts, today: date, narrow: bool) -> _Life:
    begins = float(span_of(life["begins"])[0].toordinal())
    over = life.get("ends")
    ends = max(float((span_of(over)[1] if over else today).toordinal()), begins + 1)  # a day can be seen
    moments = sorted(((middle_of(m["date"]), m) for m in life.get("moments") or ()), key=lambda pair: pair[0])
    first, last = begins, max(ends, begins + _FEWEST_DAYS)
    years = (last - first) / 365.25
    start, end = (34.0, 34.0 + min(max(320.0, 60.0 * years), 900.0)) if narrow else (40.0, _WIDE - 70.0)
    return _Life(
        Days(first, last, start, end), tuple(_periods(life, ends)), tuple(moments), begins, ends,
        (life.get("ended") or "retired") if over else "",
    )  # fmt: skip


def _periods(life: Facts, ends: float) -> Iterable[tuple[float, float, str]]:
    told = sorted(life.get("periods") or (), key=lambda period: span_of(period["begins"])[0])
    starts = [float(span_of(period["begins"])[0].toordinal()) for period in told]
    for period, start, following in zip(told, starts, [*starts[1:], ends], strict=False):
        until = float(span_of(period["ends"])[1].toordinal()) if period.get("ends") else following
        yield start, max(until, start), period["state"]


def _stretches(life: _Life) -> list[tuple[float, float, str]]:
    """The line cut into stretches of one state each [px along the line]; none is too short to be seen."""
    start, end = life.along(life.begins), life.along(life.ends)
    count = max(1, round((end - start) / _CELL))
    cells = ["in preparation"] * count
    worth = [len(_WORTH)] * count
    width = (end - start) / count or 1.0
    for begins, ends, state in life.periods:
        first = int((life.along(begins) - start) / width)
        last = int((life.along(ends) - start) / width - 1e-9)
        rank = _WORTH.index(state) if state in _WORTH else len(_WORTH) - 1
        for cell in range(max(0, min(first, count - 1)), min(max(first, last), count - 1) + 1):
            if rank < worth[cell]:
                cells[cell], worth[cell] = state, rank
    found: list[tuple[float, float, str]] = []
    for cell, state in enumerate(cells):
        if found and found[-1][2] == state:
            found[-1] = (found[-1][0], start + (cell + 1) * width, state)
        else:
            found.append((start + cell * width, start + (cell + 1) * width, state))
    return found


def _drawn_line(life: _Life, turn: Turn) -> list[Primitive]:
    return [part for begins, ends, state in _stretches(life) for part in life_signs.stretch(state, begins, ends, turn)]


def _apart(life: _Life, kind: str, room: float) -> Iterable[tuple[float, int]]:
    """Places of the moments of a kind [px], those nearer than `room` taken together with their number."""
    places = [life.along(day) for day, moment in life.moments if moment["kind"] == kind]
    while places:
        first = places[0]
        together = [place for place in places if place - first < room]
        yield sum(together) / len(together), len(together)
        places = places[len(together) :]


def _signs(life: _Life, turn: Turn) -> list[Primitive]:
    drawn: list[Primitive] = []
    for place, _ in _apart(life, "washed", 5.0):
        drawn += life_signs.wash(place, turn)
    for place, count in _apart(life, "inspected", 38.0):
        drawn += life_signs.look(place, turn)
        if count > 1:
            x, y = turn(place, life_signs.LOOK_ASIDE)
            drawn.append(words(x + 9, y + 5, f"×{count}"))
    for place, _ in _apart(life, "cut", 8.0):
        drawn += life_signs.knot(place, turn)
    return drawn


def _ends(life: _Life, turn: Turn) -> list[Primitive]:
    begin, end = life.along(life.begins), life.along(life.ends)
    stop = life_signs.end_stop(end, turn) if life.ended else life_signs.going_on(end, turn)
    return [*life_signs.beginning(begin, turn), *stop]


def _lying(life: Facts, read: _Life) -> tuple[list[Part], tuple[float, float]]:
    turn: Turn = lambda along, aside: (along, _LINE_Y + aside)  # noqa: E731 - two words of geometry
    capsules, top = _capsules_above(read)
    years: list[Primitive] = []
    base = _LINE_Y + 62
    taken: list[Area] = []
    first = words(max(2.0, read.along(read.begins) - 20), base + 22, _beginning_words(life))
    last_words = _end_words(life, read)
    last = words(min(read.along(read.ends) + 20, _WIDE - 2), base + 22, last_words, at="end")
    if first.x + first.width + 8 > last.x:
        last = Text(last.x, last.y + 20, last.words, last.size)
    taken += [first.box, last.box]
    for day, said in read.ticks(64.0):
        x = read.days.at(day)
        tick = words(x, base - 4, said, at="middle")
        years += [Stroke(((x, _LINE_Y + 46), (x, _LINE_Y + 40)), FINE), tick]
    key, bottom = key_lines(life_signs.key(_used(read)), 4.0, _WIDE - 4, max(first.y, last.y) + 14)
    parts = [
        Part("years", years),
        Part("line", _drawn_line(read, turn)),
        Part("ends", [*_ends(read, turn), first, last]),
        Part("signs", _signs(read, turn)),
        Part("lengths", capsules),
        Part("key", key),
    ]
    return _lifted(parts, top), (_WIDE, bottom - top)


def _lifted(parts: list[Part], top: float) -> list[Part]:
    """The drawing moved up where the upper levels stay empty."""
    return [Part(part.name, [life_signs.moved(item, -top) for item in part.drawn]) for part in parts]


def _capsules_above(life: _Life) -> tuple[list[Primitive], float]:
    """Measured lengths in capsules over the line on up to three levels, newest first, and where the drawing begins."""
    drawn: list[Primitive] = []
    taken: list[Area] = []
    measured = [(life.along(d), m) for d, m in life.moments if _shows_length(m)]
    for place, _ in measured:
        drawn += life_signs.count_tick(place, lambda along, aside: (along, _LINE_Y + aside))
    highest = 0
    for place, moment in reversed(measured):
        text = metres(moment["length_cm"])
        width, height = capsule_size(text)
        left = min(max(place - width / 2, 1.0), _WIDE - width - 1)
        for level in range(_LEVELS):
            top = _LINE_Y - 50 - level * _LEVEL
            if free((left - 3, top, left + width + 3, top + height), taken) and free(
                (place - 2, top + height, place + 2, _LINE_Y - 22), taken
            ):
                drawn += [*capsule_in(left, top, text), Stroke(((place, top + height), (place, _LINE_Y - 7)), FINE)]
                # The line down to the rope is kept clear as well as the capsule.
                taken += [(left - 3, top, left + width + 3, top + height), (place - 3, top, place + 3, _LINE_Y - 22)]
                highest = max(highest, level)
                break
    return drawn, _LEVEL * (_LEVELS - 1 - highest)


def _hanging(life: Facts, read: _Life) -> tuple[list[Part], tuple[float, float]]:
    turn: Turn = lambda along, aside: (_LINE_X + aside, along)  # noqa: E731 - two words of geometry
    years: list[Primitive] = []
    for day, said in read.ticks(50.0):
        y = read.days.at(day)
        years += [words(2, y + 5, said), Stroke(((_LINE_X - 40, y), (_LINE_X - 34, y)), FINE)]
    labels = _labels_beside(life, read, turn)
    bottom = max([read.along(read.ends) + 24, *(text.box[3] for text in labels if isinstance(text, Text))])
    key, bottom = key_lines(life_signs.key(_used(read)), 4.0, _NARROW - 4, bottom + 10)
    parts = [
        Part("years", years),
        Part("line", _drawn_line(read, turn)),
        Part("ends", _ends(read, turn)),
        Part("signs", _signs(read, turn)),
        Part("lengths", labels),
        Part("key", key),
    ]
    return parts, (_NARROW, bottom)


def _labels_beside(life: Facts, read: _Life, turn: Turn) -> list[Primitive]:
    """Lengths and ends in a column beside the hanging line, as many as have room, each with its leader."""
    said: list[tuple[float, str, str]] = [(read.along(read.begins), "", _beginning_words(life))]
    for day, moment in read.moments:
        if _shows_length(moment):
            said.append((read.along(day), metres(moment["length_cm"]), spoken_date(moment["date"])))
    said.append((read.along(read.ends), "", _end_words(life, read)))
    height = 27.0
    room = int((read.along(read.ends) - read.along(read.begins)) / height) + 1
    if len(said) > room:  # the oldest measurements give way: the drawing tells them in words
        said = [said[0], *said[len(said) - max(room - 1, 1) :]]
    tops = spread([place for place, _, _ in said], [height] * len(said), 4.0, read.days.end + 20)
    drawn = [tick for d, m in read.moments if m["kind"] == "measured"
             for tick in life_signs.count_tick(read.along(d), turn)]  # fmt: skip
    x = _LINE_X + 88
    for (place, length, text), top in zip(said, tops, strict=True):
        middle = top + height / 2
        drawn.append(Stroke(((_LINE_X + 64, place), (x - 10, middle), (x - 4, middle)), FINE))
        right = x
        if length:
            width, tall = capsule_size(length)
            drawn += capsule_in(x, middle - tall / 2, length)
            right = x + width + 8
        drawn.append(words(right, middle + 5, text))
    return drawn


def _beginning_words(life: Facts) -> str:
    return f"{life.get('begins_with') or 'begins'} {spoken_date(life['begins'])}"


def _end_words(life: Facts, read: _Life) -> str:
    return f"{read.ended} {spoken_date(life['ends'])}" if read.ended else "today"


def _used(life: _Life) -> list[str]:
    """What the key must explain, in its order."""
    return [*{state: None for _, _, state in _stretches(life)}, *{m["kind"]: None for _, m in life.moments}]


def _told(life: Facts, read: _Life, today: date) -> str:
    """The life in words for a screen reader; the whole list of what happened is the page's."""
    said = [f"{_capital(_beginning_words(life))}."]
    for state, word in (("rigged", "Rigged"), ("set aside", "Set aside"), ("missing", "Missing")):
        spans = [f"{_day_words(begins)} to {_day_words(ends)}" for begins, ends, held in read.periods if held == state]
        said += [f"{word} {', '.join(spans)}."] if spans else []
    counts = [("Out", sum(state == "out" for _, _, state in read.periods))]
    for kind, word in (("washed", "Washed"), ("inspected", "Examined"), ("cut", "Cut")):
        counts.append((word, sum(moment["kind"] == kind for _, moment in read.moments)))
    said += [f"{word} {'once' if count == 1 else f'{count} times'}." for word, count in counts if count]
    lengths = [f"{metres(m['length_cm'])} on {spoken_date(m['date'])}" for _, m in read.moments if _shows_length(m)]
    said += [f"Measured: {', '.join(lengths)}."] if lengths else []
    return " ".join(
        [*said, f"{_capital(_end_words(life, read))}." if read.ended else f"Today is {spoken_date(today)}."]
    )


def _capital(said: str) -> str:
    return said[:1].upper() + said[1:]


def _day_words(day: float) -> str:
    return spoken_date(date.fromordinal(int(day)))


def _shows_length(moment: Facts) -> bool:
    return bool(moment.get("length_cm")) and moment["kind"] == "measured"
