"""What both ends of a rope say: the words of a mark, which never say more metres than were measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from tethera.basics import PartialDate, label_m, show_metres
from tethera.store import RopeState, StoreDescribed, initials

End = Literal["", "A", "B"]
_TYPES = {"A": "type A", "B": "type B", "dynamic": "dynamic", "cord": "accessory cord"}
_SHORT_TYPES = {"A": "A", "B": "B", "dynamic": "dyn", "cord": "cord"}
#: The paper a strip is printed on: sheets, and tape by its width.
PAPERS = ("a4", "letter", "tape-12", "tape-18", "tape-24")


class NoMark(ValueError):
    """No mark can be made for this rope; says why, and what to do first."""

    def __init__(self, rope: str, why: str, way_out: str) -> None:
        super().__init__(f"No mark for {rope}: {why} {way_out}")
        self.rope, self.why, self.way_out = rope, why, way_out


@dataclass(frozen=True, slots=True)
class EndMark:
    """What one end of a rope says; empty is not known, and left out.

    `length_m` are whole metres, never more than were measured. Where there is little room, `kind_short`,
    `since_short` and `owner_short` say the same. `diameter_mm` is the rope's declared diameter [mm]. `doubt` is why it
    says less than was counted last; that is told beside the mark, never on it.
    """

    rope: str
    length_m: int
    kind: str = ""
    kind_short: str = ""
    since: str = ""
    since_short: str = ""
    owner: str = ""
    owner_short: str = ""
    end: End = ""
    diameter_mm: float | None = None
    doubt: str = ""

    @property
    def words(self) -> str:
        """What it says after its length, as one line for the record."""
        return " · ".join(each for each in (self.rope, self.kind, self.since, self.owner) if each)

    def mapping(self) -> Mapping[str, object]:
        """The same as plain values, for machines."""
        return {name: getattr(self, name) for name in ("rope", "length_m", "kind", "since", "owner", "end")}


def end_marks(
    rope: RopeState, rules: StoreDescribed, on: date, *, owner: str = "", length_m: int | None = None
) -> tuple[EndMark, EndMark]:
    """What both ends of a rope say, by the store's rules; NoMark when nothing true can be said.

    `owner` is the store's name where its rules name no owner. `length_m` [m] says less than may be said, if wished.

    >>> rope = RopeState("UG3", 2940, "measured", diameter_mm=10.0, rope_type="A", since=PartialDate(2026, 9))
    >>> rules = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarth Caving Club")
    >>> mark, _ = end_marks(rope, rules, date(2026, 11, 25))
    >>> mark.length_m, mark.words, mark.owner_short
    (29, 'UG3 · 10 mm type A · in service Sep 2026 · Ulvergarth Caving Club', 'UCC')
    """
    may_say_m = most_m(rope, rules)
    if length_m is not None and not 1 <= length_m <= may_say_m:
        measured = show_metres(rope.length_cm or 0)
        raise NoMark(
            rope.id, f"it measures {measured} m, so its mark may say 1 to {may_say_m} m, not {length_m}.", "Say less."
        )
    ends: tuple[End, End] = ("A", "B") if rules.ends_lettered else ("", "")
    first, second = (_end_mark(rope, rules, on, owner, length_m or may_say_m, end) for end in ends)
    return first, second


def most_m(rope: RopeState, rules: StoreDescribed) -> int:
    """The most whole metres [m] that a mark may say; NoMark when that is not known or the rope is no more."""
    if rope.retired is not None:
        raise NoMark(rope.id, f"it is {rope.why_not}.", "A retired rope is cut up, not marked.")
    if rope.length_doubt and rope.known_by != "measured":
        raise NoMark(rope.id, f"its length is in doubt. {rope.length_doubt}", "Count it again; is it this rope?")
    if rope.length_cm is None or rope.known_by != "measured":
        raise NoMark(rope.id, "nobody has measured it.", "Count it off twice and record the length.")
    try:
        return label_m(rope.length_cm, rules.label_keeps_back_percent)
    except ValueError:
        had = show_metres(rope.length_cm)
        raise NoMark(rope.id, f"its {had} m leave no whole metre.", "Keep it without a mark, or retire it.") from None


def mark_words(rope: RopeState, owner: str, on: date) -> str:
    """What an end says after its length: the rope's number, what it is, since when in service, whose.

    What nobody declared is left out: an end must not guess a type. A new rope will be from `on`; one
    older than this record says when it was first used or bought, or nothing.

    >>> mark_words(RopeState("UG3", diameter_mm=10.0, rope_type="A"), "Ulvergarth Caving Club", date(2026, 11, 25))
    'UG3 · 10 mm type A · in service Nov 2026 · Ulvergarth Caving Club'
    """
    words = (rope.id, _kind(rope, _TYPES), _since_words(rope, on), rope.owner or owner)
    return " · ".join(part for part in words if part)


def _end_mark(rope: RopeState, rules: StoreDescribed, on: date, owner: str, length_m: int, end: End) -> EndMark:
    whose = rope.owner or rules.owner or owner
    short = rules.owner_short if rules.owner_short and whose == (rules.owner or owner) else initials(whose)
    since = _since(rope, on)
    return EndMark(
        rope=rope.id,
        length_m=length_m,
        kind=_kind(rope, _TYPES),
        kind_short=_kind(rope, _SHORT_TYPES),
        since=_since_words(rope, on),
        since_short=_in_figures(since) if since else "",
        owner=whose,
        owner_short=short,
        end=end,
        diameter_mm=rope.diameter_mm,
        doubt=rope.length_in_doubt,
    )


def _kind(rope: RopeState, types: Mapping[str, str]) -> str:
    diameter = "" if rope.diameter_mm is None else f"{rope.diameter_mm:g} mm"
    return " ".join(part for part in (diameter, types.get(rope.rope_type or "", "")) if part)


def _since(rope: RopeState, on: date) -> PartialDate | None:
    """The month or year from which it is in service; None where nobody knows."""
    # A rope older than this record did not begin when it was put back into service: else its mark says nothing.
    known = (rope.first_used or rope.bought) if rope.as_found else (rope.since or PartialDate.of(on))
    return PartialDate(known.year, known.month) if known else None


def _since_words(rope: RopeState, on: date) -> str:
    since = _since(rope, on)
    return f"in service {since.spoken()}" if since else ""


def _in_figures(since: PartialDate) -> str:
    """As short as it can be read in one way only: 09/2026."""
    return f"{since.month:02d}/{since.year}" if since.month else str(since.year)
