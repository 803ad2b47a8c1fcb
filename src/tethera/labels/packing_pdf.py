"""The packing list: per caver and bag, in the order things go in, with the order they come out beside it."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.days import spoken_date
from tethera.labels.facts import Facts, kit_words, rope_tokens, said
from tethera.labels.flow import LEFT, RIGHT, Flow, title_block
from tethera.labels.fonts import printable, width_mm
from tethera.labels.holds_no_more import holds_no_more
from tethera.labels.page import MEDIUM, THIN, THIN_SPACE, Box, Page, Stroke, Text, Token, break_lines, leading_mm, rich
from tethera.labels.pdf import pages_to_pdf

_ITEM_PT, _NOTE_PT = 12.0, 9.5
_ITEM, _USE = LEFT + 10.0, RIGHT


def packing_list_pdf(packing: Mapping[str, Any]) -> bytes:
    """The packing list as a PDF, the same bytes each time; anything in the mapping may be None."""
    title = printable(packing.get("title") or "Trip")
    return pages_to_pdf(packing_pages(packing), title=f"Packing list: {title}", subject="Packing list")


def packing_pages(packing: Facts) -> Sequence[Page]:
    """The pages before they become a file."""
    title = packing.get("title") or "Trip"
    flow = Flow(f"{title}: packing")
    day = ", ".join(part for part in (spoken_date(packing.get("date")), packing.get("store") or "") if part)
    title_block(flow, title, ["Packing list", day])
    holds_no_more(flow, packing)
    flow.gap(3.0)
    flow.say(rich("Pack from the top of each list: what goes in first comes out last.", bold=True), 10.5)
    flow.say_words("Tie the stopper in the bottom end of each rope first, then feed it in from that end.", 10.5)
    for caver in packing.get("cavers") or ():
        _caver(flow, caver)
    kit = kit_words(packing.get("kit") or {})
    if kit:
        flow.heading("Kit in all")
        flow.say(rich(kit, bold=True), 11)
    for note in packing.get("notes") or ():
        flow.gap(1.0)
        flow.say(rich(note), bar=True)
    if packing.get("cautions"):
        flow.heading("Mind")
    for caution in packing.get("cautions") or ():
        flow.say_words(caution)
    return flow.finish(day or title)


def _load(facts: Facts) -> str:
    """Litres and kilograms: “17.3 of 20 l, 6.9 kg”."""
    litres, room, mass = facts.get("litres"), facts.get("capacity_litres"), facts.get("kg")
    said = []
    if litres is not None:
        of = f" of {room:g}" if room is not None else ""
        said.append(f"{litres:.1f}{of}{THIN_SPACE}litres")
    if mass is not None:
        said.append(f"{mass:.1f}{THIN_SPACE}kg")
    return ", ".join(said)


def _right(flow: Flow, words: str, baseline: float, size: float) -> None:
    flow.add(Text(RIGHT - width_mm(words, size), baseline, words, size))


def _caver(flow: Flow, caver: Facts) -> None:
    flow.need(45)
    flow.gap(4.0)
    flow.rule(0.95, 0.8)
    load = _load(caver)
    baseline = flow.baseline(14)
    name = str(caver.get("caver") or "not named")
    name = f"Caver {name}" if len(name) <= 2 else name
    _right(flow, load, baseline, 11)
    flow.say(rich(name, bold=True), 14, right=RIGHT - width_mm(load, 11) - 4)
    for bag in caver.get("bags") or ():
        _bag(flow, bag)


def _bag(flow: Flow, bag: Facts) -> None:
    flow.need(min(14.0 + 11.5 * len(bag.get("contents") or ()), 120.0))  # a bag is packed from one side of paper
    flow.gap(1.5)
    load = _load(bag)
    baseline = flow.baseline(12)
    _right(flow, load, baseline, 11)
    right = RIGHT - width_mm(load, 11) - 4
    tokens = rich(f"Bag {bag.get('bag') or ''}", bold=True)
    if bag.get("first_needed"):
        tokens += rich(f"– first needed at {bag['first_needed']}")
    flow.say(tokens, 12, right=right)
    flow.rule(MEDIUM, 0.6)
    contents = bag.get("contents") or ()
    for position, item in enumerate(contents):
        where = "bottom" if position == 0 else "top" if position == len(contents) - 1 else ""
        _item(flow, item, where)
    if not contents:
        flow.say_words("Nothing in this bag.")


def _item(flow: Flow, item: Facts, where: str) -> None:
    use, gone, rope = item.get("use_order"), item.get("gone"), item.get("rope")
    words = ", ".join(word for word in (where, f"used {_ordinal(use)}" if use is not None else "") if word)
    right = _USE - (width_mm(words, _NOTE_PT) + 4 if words else 0)
    # A rope that is gone has no box to tick and no length: nobody is to put it in.
    tokens = (
        rope_tokens(rope, None if gone else item.get("length_cm"))
        if rope
        else rich(item.get("kit") or "something not named")
    )
    warned = _warned(item)
    told = sum(len(break_lines(each, RIGHT - _ITEM - 3, _NOTE_PT)) for each in warned)
    lines = break_lines(tokens, right - _ITEM, _ITEM_PT)
    flow.need(len(lines) * leading_mm(_ITEM_PT) + (2 + told) * leading_mm(_NOTE_PT) + 2)
    top = flow.y
    flow.gap(0.7)
    if not gone:
        flow.add(Box(LEFT + 0.6, flow.y + 0.4, 4.6, 4.6, 0.0, 0.45, "tick box"))
    if words:
        _right(flow, words, flow.baseline(_ITEM_PT), _NOTE_PT)
    flow.say(tokens, _ITEM_PT, x=_ITEM, right=right)
    diameter = item.get("diameter_mm")
    details = [f"{diameter:g}{THIN_SPACE}mm" if diameter else "", f"for {item['for']}" if item.get("for") else ""]
    details.append("" if gone else item.get("note") or "")
    flow.say_words(", ".join(detail for detail in details if detail), x=_ITEM)
    for each in warned:
        flow.say(each, _NOTE_PT, x=_ITEM, bar=True)
    flow.y = max(flow.y, top + 6.5) + 0.5
    flow.add(Stroke(((LEFT, flow.y), (RIGHT, flow.y)), THIN))


def _warned(item: Facts) -> list[list[Token]]:
    """That a rope is not to be packed, what of it does not hold any more, and what is doubted of it."""
    gone, broken = item.get("gone"), item.get("broken")
    words = [said(f"Do not pack it: {gone.rstrip('.')}.", bold=True)] if gone else []
    words += [said(f"{broken[:1].upper()}{broken[1:].rstrip('.')}.", bold=True)] if broken else []
    return words + [said(doubt) for doubt in item.get("doubts") or ()]


def _ordinal(number: int) -> str:
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
