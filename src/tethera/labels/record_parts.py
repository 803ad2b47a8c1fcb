"""The parts of one rope's record: what it is, doubts, examinations, its life, photographs."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from io import BytesIO
from itertools import zip_longest
from typing import Any

from tethera.labels import symbols
from tethera.labels.columns import Column, Table
from tethera.labels.days import spoken_date
from tethera.labels.facts import Facts
from tethera.labels.figure import metres
from tethera.labels.flow import A4, BODY, Flow
from tethera.labels.fonts import MM_PER_POINT, printable, width_mm
from tethera.labels.page import (
    Picture,
    Text,
    Token,
    break_lines,
    leading_mm,
    rich,
    set_line,
    set_token,
    token_width,
)

NOT_RECORDED = "not recorded"
_OUTCOMES = {"fit": "fit to go back", "not fit": "not fit", "undecided": "undecided"}
#: Broken lines of tokens.
Lines = list[list[tuple[float, Token]]]
_NUMBER_PT, _LENGTH_PT = 26.0, 17.0
_FACT_PT, _GUTTER, _LABEL = 9.5, 8.0, 33.0
_PHOTO, _PHOTO_GAP = 83.0, 8.0
_MOST_PIXELS = 64_000_000


def rope_record(flow: Flow, record: Facts, printed_on: date) -> None:
    """All of a rope's record."""
    _identity(flow, record, printed_on)
    _lacking(flow, record)
    _doubts(flow, record)
    _facts(flow, record.get("facts") or ())
    _examinations(flow, record.get("examinations") or ())
    _life(flow, record.get("life") or ())
    _photos(flow, record.get("photos") or ())


def length_tokens(length_cm: int | None) -> list[Token]:
    """A length in its capsule, or that it is not known."""
    return rich("not known") if length_cm is None else [Token("capsule", metres(length_cm))]


def _identity(flow: Flow, record: Facts, printed_on: date) -> None:
    baseline = flow.y + 9.5
    number = printable(str(record.get("rope") or "no number"))
    flow.add(Text(A4.left, baseline, number, _NUMBER_PT, True))
    at = A4.left + width_mm(number, _NUMBER_PT, True) + 6
    length = record.get("length_cm")
    if length is not None:
        token = Token("capsule", metres(length))
        flow.add(*set_token(token, at, baseline, _LENGTH_PT, 0.6))
        at += token_width(token, _LENGTH_PT) + 6
    else:
        flow.add(Text(at, baseline, "length not known", 12))
        at += width_mm("length not known", 12) + 6
    state = printable(str(record.get("state") or "state not known"))
    if state in symbols.STATES:
        flow.add(*symbols.state(state, at + 3.2, baseline - 1.8))
        at += 9
    flow.add(Text(at, baseline, state, 13))
    flow.y = baseline + 4.5
    marked = record.get("marked_m")
    says = rich(f"Both ends say ({marked} m)." if marked else "No mark is recorded.")
    flow.say([*says, *rich(f"Equipment record of {flow.running_head}, printed {spoken_date(printed_on)}.")], 10.5)


def _lacking(flow: Flow, record: Facts) -> None:
    lacking = [str(each) for each in record.get("lacking") or ()]
    if lacking:
        flow.gap(1.5)
        flow.say([*rich("Not recorded:", bold=True), *rich(f"{', '.join(lacking)}.")], bar=True)


def _doubts(flow: Flow, record: Facts) -> None:
    findings = record.get("findings") or ()
    if findings:
        flow.heading("Doubts")
    for finding in findings:
        flow.say(rich(" ".join(finding.get(part) or "" for part in ("message", "way_out"))), bar=True)
        flow.gap(1.0)


def _facts(flow: Flow, facts: Sequence[tuple[str, Any]]) -> None:
    """Two facts side by side, down the page as they are read: left, then right."""
    if not facts:
        return
    flow.heading("What it is")
    half = -(-len(facts) // 2)
    width = (A4.right - A4.left - _GUTTER) / 2
    for pair in zip_longest(facts[:half], facts[half:]):
        sides = [_fact_lines(fact, width) for fact in pair if fact is not None]
        lead = leading_mm(_FACT_PT)
        for number in range(max(len(lines) for side in sides for lines in side)):
            flow.need(lead)
            for at, side in zip((A4.left, A4.left + width + _GUTTER), sides, strict=False):
                _place_fact(flow, at, side, number)
            flow.gap(lead)
        flow.gap(0.6)


def _fact_lines(fact: tuple[str, Any], width: float) -> list[Lines]:
    label, value = fact
    said = rich(NOT_RECORDED if value in (None, "") else _value_words(value))
    return [break_lines(rich(str(label)), _LABEL - 3, _FACT_PT), break_lines(said, width - _LABEL, _FACT_PT)]


def _value_words(value: Any) -> str:
    return value if isinstance(value, str) else spoken_date(value) or str(value)


def _place_fact(flow: Flow, at: float, side: list[Lines], number: int) -> None:
    for x, lines in zip((at, at + _LABEL), side, strict=True):
        if number < len(lines):
            flow.add(*set_line(lines[number], x, flow.baseline(_FACT_PT), _FACT_PT))


def _examinations(flow: Flow, examinations: Sequence[Facts]) -> None:
    flow.heading("Examinations")
    if not examinations:
        flow.say(rich("No examination is recorded."))
        return
    table = Table(flow, _EXAMINATIONS)
    for each in examinations:
        day = spoken_date(each.get("date"))
        outcome = each.get("outcome") or NOT_RECORDED
        found = [rich(str(each.get(part))) for part in ("found", "details") if each.get(part)]
        cells = [
            [rich(day or NOT_RECORDED)],
            [rich(str(each.get("reason") or NOT_RECORDED))],
            found or [rich(NOT_RECORDED)],
            [rich(_OUTCOMES.get(outcome, outcome))],
            [rich(spoken_date(each.get("next_due")) or NOT_RECORDED)],
        ]
        table.row(cells, under=_signature(each, day))


def _signature(examination: Facts, day: str) -> list[Token]:
    person = examination.get("person")
    if not person:
        return rich("Not signed: no name of a competent person is recorded.")
    on = f"on {day}" if day else "on a day that is not recorded"
    return [*rich("signed (electronically recorded) by"), *rich(str(person), bold=True), *rich(on)]


def _life(flow: Flow, lines: Sequence[Facts]) -> None:
    flow.heading("What happened")
    if not lines:
        flow.say(rich("Nothing is recorded."))
        return
    table = Table(flow, _LIFE)
    for line in lines:
        table.row(
            [_when(line), _what(line), [rich(spoken_date(line.get("recorded")))], [rich(str(line.get("by") or "–"))]]
        )


def _when(line: Facts) -> list[list[Token]]:
    day, was = spoken_date(line.get("date")), spoken_date(line.get("was_date"))
    if line.get("struck"):
        return [_through(day or was)]
    return [*([_through(was)] if was and was != day else []), rich(day or NOT_RECORDED)]


def _what(line: Facts) -> list[list[Token]]:
    """What stands, under what was written before it was corrected, with who corrected it and why."""
    words, was = str(line.get("words") or ""), str(line.get("was") or "")
    if not (line.get("struck") or was):
        return [rich(words)]
    told = "Struck out" if line.get("struck") else "Corrected"
    who = " ".join(
        part
        for part in (
            spoken_date(line.get("corrected")),
            f"by {line['corrected_by']}" if line.get("corrected_by") else "",
        )
        if part
    )
    reason = f"{told}{f' {who}' if who else ''}: {line.get('reason') or 'no reason is recorded'}"
    stands = [] if line.get("struck") else [rich(words)]
    return [_through(was or words), *stands, rich(reason)]


def _through(words: str) -> list[Token]:
    return [replace(token, struck=True) for token in rich(words)]


def _photos(flow: Flow, photos: Sequence[Facts]) -> None:
    if not photos:
        return
    flow.heading("Photographs", keep=70)
    for index in range(0, len(photos), 2):
        pair = [(photo, _readable(photo.get("jpeg"))) for photo in photos[index : index + 2]]
        captions = [break_lines(rich(_caption(photo)), _PHOTO, BODY) for photo, _ in pair]
        tall = max(
            _height(found) + len(caption) * leading_mm(BODY) + 4
            for (_, found), caption in zip(pair, captions, strict=True)
        )
        flow.need(tall)
        for place, ((_, found), caption) in enumerate(zip(pair, captions, strict=True)):
            _photo(flow, A4.left + place * (_PHOTO + _PHOTO_GAP), flow.y, found, caption)
        flow.gap(tall)


def _photo(flow: Flow, x: float, top: float, found: tuple[bytes, int, int] | None, caption: Lines) -> None:
    if found:
        height = _height(found)
        wide = height * found[1] / found[2]
        flow.add(Picture(x, top, wide, height, found[0]))
    else:
        flow.add(Text(x, top + 5, "This photograph cannot be read.", BODY))
    for number, line in enumerate(caption):
        baseline = top + _height(found) + 1.5 + number * leading_mm(BODY) + BODY * MM_PER_POINT
        flow.add(*set_line(line, x, baseline, BODY))


def _height(found: tuple[bytes, int, int] | None) -> float:
    """Height of a photograph within a square of the column [mm]."""
    if found is None:
        return 8.0
    _, width, height = found
    return _PHOTO * min(1.0, height / width)


def _caption(photo: Facts) -> str:
    return ", ".join(part for part in (photo.get("title") or "", spoken_date(photo.get("date"))) if part)


def _readable(jpeg: bytes | None) -> tuple[bytes, int, int] | None:
    """A photograph as JPEG in plain colours with its size [px]; None when it is damaged or no picture at all."""
    from PIL import Image

    try:
        with Image.open(BytesIO(jpeg or b"")) as image:
            if image.width * image.height > _MOST_PIXELS:
                return None
            image.load()
            if image.format == "JPEG" and image.mode in ("RGB", "L"):
                return jpeg or b"", image.width, image.height
            out = BytesIO()
            image.convert("RGB").save(out, "JPEG", quality=86)
            return out.getvalue(), image.width, image.height
    except (OSError, SyntaxError, ValueError, EOFError, Warning, Image.DecompressionBombError):
        return None


_EXAMINATIONS = (
    Column("Date", A4.left, 43.0),
    Column("Reason", 45.0, 74.0),
    Column("Found", 76.0, 140.0),
    Column("Outcome", 142.0, 171.0),
    Column("Next due", 173.0, A4.right),
)
_LIFE = (
    Column("When", A4.left, 43.0),
    Column("What happened", 45.0, 130.0),
    Column("Recorded", 132.0, 161.5),
    Column("By", 163.5, A4.right),
)
