"""The rigging sheet: the paper people carry underground. A5, one page a side, black on white.

First the ropes in order of use with what to mind, then the whole route in elevation, then pitch by pitch, last the key.
What to mind stands before the key where the first side is full, and neither takes a side of its own without need.
On the back stand the loads of the anchors, the bad ones first, where the sheet has them.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from tethera.labels.days import spoken_date
from tethera.labels.drawing import draw_overview, scale_bar, scale_of_pitches
from tethera.labels.facts import Facts, extent_tokens, kit_words, metres_words, rigged_of, rope_words
from tethera.labels.flow import BODY, BOTTOM, HEADED, LEFT, RIGHT, TOP, UNDER_HEAD, Flow, title_block
from tethera.labels.fonts import printable
from tethera.labels.holds_no_more import holds_no_more
from tethera.labels.key import key
from tethera.labels.loads_page import loads_pages
from tethera.labels.overview import label_heights, overview_labels
from tethera.labels.page import THIN_SPACE, Page, Text, Token, break_lines, leading_mm, rich
from tethera.labels.pdf import pages_to_pdf
from tethera.labels.pitch_block import FIELD_WIDTH, TALLEST, TWO_ON_A_SIDE, pitch_block
from tethera.labels.rope_table import rope_table

_OVERVIEW_WIDTH, _LABELS, _FIELD_BOTTOM = 58.0, 80.0, 186.0


def rigging_sheet_pdf(sheet: Mapping[str, Any]) -> bytes:
    """The rigging sheet of a route as a PDF, the same bytes each time.

    `sheet` is the plain mapping `rigging.rigging_sheet` gives; anything in it may be None.
    ValueError names a character that can be neither drawn nor written in Latin letters.
    """
    title = printable(sheet.get("title") or "Route")
    return pages_to_pdf(sheet_pages(sheet), title=f"Rigging sheet: {title}", subject="Rigging sheet")


def sheet_pages(sheet: Facts) -> Sequence[Page]:
    """The pages before they become a file."""
    title = sheet.get("title") or "Route"
    flow = Flow(title)
    title_block(flow, title, _head_lines(sheet))
    holds_no_more(flow, sheet)
    rope_table(flow, list(sheet.get("ropes") or ()))
    _totals(flow, sheet)
    to_mind: list[Callable[[Flow], None]] = [partial(_cautions, sheet=sheet), partial(_doubts, sheet=sheet)]
    while to_mind and _height(to_mind[0]) <= flow.room:
        to_mind.pop(0)(flow)
    _elevation(flow, sheet)
    _pitches(flow, sheet)
    _back(flow, [*to_mind, partial(key, pitches=rigged_of(sheet))])
    loads_pages(flow, sheet.get("loads") or {})
    day = spoken_date(sheet.get("date"))
    return flow.finish(f"{day}{'. ' if day else ''}Estimates only: trained people decide.")


def _head_lines(sheet: Facts) -> list[str]:
    party, confidence = sheet.get("party"), sheet.get("confidence_percent")
    facts = [spoken_date(sheet.get("date")), sheet.get("store") or "", f"party of {party}" if party else ""]
    sure = ""
    if confidence is not None:
        sure = f"Needs at {confidence}{THIN_SPACE}% confidence."
    return [sheet.get("subtitle") or "", ", ".join(fact for fact in facts if fact), sure]


def _totals(flow: Flow, sheet: Facts) -> None:
    totals, kit = sheet.get("totals") or {}, sheet.get("kit") or {}
    tokens: list[Token] = []
    if totals.get("ropes") is not None:
        tokens += rich(f"{totals['ropes']} rope{'' if totals['ropes'] == 1 else 's'},", bold=True)
    if totals.get("length_cm") is not None:
        tokens += [*rich("together"), Token("capsule", rope_words(totals["length_cm"]))]
    if totals.get("mass_g") is not None:
        kilograms = -(-totals["mass_g"] // 100) / 10
        tokens += rich(f"{kilograms:g}{THIN_SPACE}kg dry")
    if totals.get("depth_m") is not None:
        tokens += [*rich("– route"), Token("depth", metres_words(totals["depth_m"]))]
    hung = kit_words(kit)
    if not (tokens or hung or kit.get("spare_note")):
        return
    flow.heading("To take", keep=14)
    flow.say(tokens, 11)
    flow.say(rich(hung, bold=True), 11)
    flow.say_words(kit.get("spare_note") or "")


def _elevation(flow: Flow, sheet: Facts) -> None:
    """The whole route drawn, as many pitches on a side as their labels leave room for; a way not rigged is named."""
    aside = _not_rigged(sheet)
    taken = len(break_lines(aside, RIGHT - LEFT, BODY)) * leading_mm(BODY)
    for number, (part, tight) in enumerate(_sides(sheet, rigged_of(sheet), _FIELD_BOTTOM - 31 - taken)):
        flow.turn()
        flow.say_words("Elevation, continued" if number else "Elevation: the whole route", 11)
        if aside and not number:
            flow.say(aside)
        top = flow.y + 2
        drawn = draw_overview(part, LEFT, top, _OVERVIEW_WIDTH, _FIELD_BOTTOM - top)
        labels, _ = overview_labels(sheet, part, drawn, (_LABELS, RIGHT, top, _FIELD_BOTTOM), tight=tight)
        flow.add(*drawn.primitives, *labels, *scale_bar(drawn.scale, LEFT, 195.0))
        if not drawn.true_along:
            flow.add(Text(86.0, 195.0, "depths to scale, way along not", 9))


def _not_rigged(sheet: Facts) -> list[Token]:
    """The pitches left out of the drawings, by name."""
    tokens: list[Token] = []
    for pitch in sheet.get("pitches") or ():
        if pitch.get("rigged") is False:
            tokens += [*rich(pitch.get("name") or "no name", bold=True), *extent_tokens(pitch)]
            tokens.append(Token("word", ",", glued=True))
    return [*rich("Not rigged on this plan:"), *tokens[:-1]] if tokens else []


def _sides(sheet: Facts, pitches: list[Facts], room: float) -> list[tuple[list[Facts], bool]]:
    """The pitches of each side, evenly shared, and whether their labels must be set tight."""
    heights = label_heights(sheet, pitches, RIGHT - _LABELS, tight=False)
    tight = sum(heights) > room
    if tight:
        heights = label_heights(sheet, pitches, RIGHT - _LABELS, tight=True)
    share = sum(heights) / max(1, -(-sum(heights) // room))
    sides: list[tuple[list[Facts], bool]] = []
    used = 0.0
    for pitch, height in zip(pitches, heights, strict=True):
        if not sides or used + height > room or used >= share:
            sides.append(([], tight))
            used = 0.0
        sides[-1][0].append(pitch)
        used += height
    return sides


def _pitches(flow: Flow, sheet: Facts) -> None:
    pitches = rigged_of(sheet)
    if not pitches:
        return
    scale = scale_of_pitches(
        pitches, FIELD_WIDTH, TALLEST if len(pitches) < 3 or _one_towers(pitches) else TWO_ON_A_SIDE
    )
    flow.turn()
    for pitch in pitches:
        pitch_block(flow, sheet, pitch, scale)


def _one_towers(pitches: Sequence[Facts]) -> bool:
    """Whether one pitch is so much deeper than most that it gets a side to itself, and the others a larger scale."""
    depths = sorted(pitch.get("depth_m") or 0.0 for pitch in pitches)
    return bool(depths[-1] > 2 * depths[len(depths) // 2])


def _height(act: Callable[[Flow], None]) -> float:
    """Room that what `act` prints takes, infinite when one side cannot hold it [mm]."""
    trial = Flow("")
    act(trial)
    if len(trial.pages) > 1:
        return math.inf
    return 0.0 if trial.y == TOP else max(trial.y - TOP, HEADED)


def _back(flow: Flow, acts: list[Callable[[Flow], None]]) -> None:
    """What is left to print, the key last: on this side if it fits whole, the key alone here if that saves a side."""
    *to_mind, signs = acts
    height, side = _height(signs), BOTTOM - UNDER_HEAD
    before = sum(_height(act) for act in to_mind)
    here = before + height > side and height <= flow.room
    if here:
        signs(flow)
    if before + height > flow.room:
        flow.turn()
    for act in to_mind:
        act(flow)
    if not here:
        flow.need(min(height, side))
        signs(flow)


def _cautions(flow: Flow, sheet: Facts) -> None:
    cautions = sheet.get("cautions") or ()
    if cautions:
        flow.heading("Mind")
    for caution in cautions:
        flow.say(rich(caution), 10)
        flow.gap(0.8)


def _doubts(flow: Flow, sheet: Facts) -> None:
    findings = sheet.get("findings") or ()
    if findings:
        flow.heading("Doubts")
    for finding in findings:
        words = [finding.get("message") or "", finding.get("way_out") or ""]
        where = rich(f"{finding['where']}:", bold=True) if finding.get("where") else []
        flow.say([*where, *rich(" ".join(word for word in words if word))], bar=True)
        flow.gap(1.0)
