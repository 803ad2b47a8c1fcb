"""The facts of a sheet, read once from the plain mapping and made whole where something is not known."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tethera.labels.page import THIN_SPACE, Token, rich

Facts = Mapping[str, Any]
_WORD_FOR_ROLE = {"y-hang": "Y-hang"}


@dataclass(frozen=True, slots=True)
class AnchorFacts:
    """An anchor; distances from the pitch head [m]."""

    number: str
    kind: str
    role: str
    along_m: float
    down_m: float
    bolts: int
    sling_m: float | None
    rub: bool
    rope: str
    change: bool
    note: str
    place_known: bool

    @property
    def words(self) -> str:
        """Kind, number and role, as the sheet says them."""
        kind = f"{self.bolts} {self.kind}s" if self.bolts > 1 else self.kind
        return f"{kind}, {self.words_of_role}" if self.role else kind

    @property
    def words_of_role(self) -> str:
        """What it does in the rig."""
        return _WORD_FOR_ROLE.get(self.role, self.role)


def anchor_facts(anchor: Facts, position: int) -> AnchorFacts:
    """An anchor of the mapping; what is missing counts as at the pitch head."""
    along, down = anchor.get("along_m"), anchor.get("down_m")
    return AnchorFacts(
        number=str(anchor.get("number") or position),
        kind=anchor.get("kind") or "anchor",
        role=anchor.get("role") or "",
        along_m=float(along or 0.0),
        down_m=float(down or 0.0),
        bolts=int(anchor.get("bolts") or 1),
        sling_m=anchor.get("sling_m"),
        rub=bool(anchor.get("rub")),
        rope=anchor.get("rope") or "",
        change=bool(anchor.get("change")),
        note=anchor.get("note") or "",
        place_known=along is not None or down is not None,
    )


def anchors_of(pitch: Facts) -> tuple[AnchorFacts, ...]:
    """The anchors of a pitch, numbered from 1 at its head."""
    return tuple(anchor_facts(anchor, i) for i, anchor in enumerate(pitch.get("anchors") or (), 1))


def drawn_depth_m(pitch: Facts) -> float:
    """Metres of the pitch to draw: its depth, or down to its lowest anchor when that is all we know."""
    depth = pitch.get("depth_m")
    lowest = max((anchor.down_m for anchor in anchors_of(pitch)), default=0.0)
    return max(float(depth) if depth is not None else lowest, 0.0)


def rigged_of(sheet: Facts) -> list[Facts]:
    """The pitches to draw: those of a way that is not rigged on this plan are not among them."""
    return [pitch for pitch in _each(sheet, "pitches") if pitch.get("rigged") is not False]


def along_m(pitch: Facts) -> float:
    """Metres the pitch leads sideways: to its last anchor, or its traverse where no anchors are listed."""
    listed = [anchor.along_m for anchor in anchors_of(pitch) if anchor.role != "deviation"]
    return max(listed) if listed else float(pitch.get("traverse_m") or 0.0)


def is_traverse(pitch: Facts) -> bool:
    """Whether the pitch leads along only: it has no depth to dimension."""
    return pitch.get("depth_m") == 0 and along_m(pitch) > 0


def extent_words(pitch: Facts) -> str:
    """What a traverse or a climb measures, in words; empty for a drop, whose depth has its own sign.

    >>> extent_words({"depth_m": 0.0, "traverse_m": 14}), extent_words({"depth_m": 7.0, "direction": "up"})
    ('14\\xa0m along', '7\\xa0m up')
    """
    if is_traverse(pitch):
        return f"{metres_words(along_m(pitch))} along"
    if pitch.get("direction") == "up" and pitch.get("depth_m") is not None:
        return f"{metres_words(pitch['depth_m'])} up"
    return ""


def extent_tokens(pitch: Facts) -> list[Token]:
    """How far a pitch goes, down or along, as it is set."""
    words = extent_words(pitch)
    return rich(words) if words else depth_token(pitch.get("depth_m"))


def need_up(need_cm: int, length_cm: int | None) -> bool:
    """A need is rounded up to the decimetre, but not past the decimetre of a rope that reaches it by centimetres."""
    return not need_cm <= (length_cm or 0) < -(-need_cm // 10) * 10


def lengths_of(sheet: Facts) -> dict[str, int | None]:
    """The length of each rope of a sheet by its number [cm]."""
    return {rope["rope"]: rope.get("length_cm") for rope in _each(sheet, "ropes") if rope.get("rope")}


def _each(facts: Facts, key: str) -> Sequence[Facts]:
    return facts.get(key) or ()


def metres_words(metres: float) -> str:
    """A number of metres for a line of text, to the decimetre at most.

    >>> metres_words(22.0), metres_words(7.25)
    ('22\\xa0m', '7.3\\xa0m')
    """
    tenths = math.floor(metres * 10 + 0.5 + 1e-9)
    whole, tenth = divmod(abs(tenths), 10)
    return f"{'−' if tenths < 0 else ''}{whole}{f'.{tenth}' if tenth else ''}{THIN_SPACE}m"


def rope_words(length_cm: int, *, up: bool = False, decimal: bool = False) -> str:
    """A length of rope in metres, to the decimetre: a need rounds up, what there is rounds down.

    >>> rope_words(4213, up=True), rope_words(287), rope_words(4500)
    ('42.2\\xa0m', '2.8\\xa0m', '45\\xa0m')
    """
    tenths = -(-length_cm // 10) if up else length_cm // 10
    whole, tenth = divmod(tenths, 10)
    return f"{whole}{f'.{tenth}' if tenth or decimal else ''}{THIN_SPACE}m"


def rope_tokens(rope: str, length_cm: int | None) -> list[Token]:
    """A rope's number in bold and its length in a capsule."""
    tokens = rich(rope, bold=True)
    return tokens if length_cm is None else [*tokens, Token("capsule", rope_words(length_cm))]


#: A length as a sentence writes it: no place "at 12.4 m", and none that is set already, in brackets or behind an arrow.
_LENGTH_SAID = re.compile(r"(?<!\bat )(?<![\d.,(↓])(\d+(?:\.\d+)?)\sm\b")


def said(words: str, bold: bool = False) -> list[Token]:
    """A sentence about ropes, each length of rope in it in its capsule.

    >>> [token.kind for token in said("has 52 m now")]
    ['word', 'capsule', 'word']
    """
    return rich(_LENGTH_SAID.sub(r"(\1 m)", words), bold=bold)


def broken_at(sheet: Facts, pitch: Facts) -> list[Facts]:
    """Of the ropes of a sheet that do not hold any more, those that were to hang on a pitch."""
    return [each for each in _each(sheet, "broken") if pitch.get("name") in _each(each, "pitches")]


def broken_lines(sheet: Facts, pitch: Facts) -> list[list[Token]]:
    """That a pitch is without the rope it was to have, or what its rope falls short of, and why."""
    lines = []
    for each in broken_at(sheet, pitch):
        lead = f"no rope: {each.get('rope')}" if each.get("gone") else f"{each.get('rope')}:"
        lines.append([*rich(lead, bold=True), *said(f"{(each.get('why') or '').rstrip('.')}.")])
    return lines


def depth_token(metres: float | None) -> list[Token]:
    """A depth [m] behind its arrow."""
    return rich("depth not known") if metres is None else [Token("depth", metres_words(metres))]


def kit_words(kit: Facts) -> str:
    """What hangs the ropes, counted, in one line.

    >>> kit_words({"hangers": 4, "maillons": 1, "slings": None})
    '4 hangers, 1 maillon'
    """
    counted = []
    for name in ("hangers", "maillons", "karabiners", "slings"):
        count = kit.get(name)
        if count:
            counted.append(f"{count} {name[:-1] if count == 1 else name}")
    return ", ".join(counted)
