"""What a rope's life tells of shrinkage: its length before and after its first washes, and what it lost in use.

Before is the length on the reel's label, as cut, or as counted; after is the last count between the first wash and the
first use. What a later count shows is lost in use. A rope taken over from an older record tells nothing of its first
wash. Corrections have been worked in by the fold.
"""

import functools
import math
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources

from tethera.store import events as e
from tethera.store.limits import limit
from tethera.store.rope_state import RopeState
from tethera.store.state import Entry

_TAKEN_INTO_USE = (e.PutIntoService, e.TakenOut, e.Used, e.LeftRigged)


@dataclass(frozen=True, slots=True, order=True)
class KindOfRope:
    """Ropes that shrink alike, by what was declared: material, diameter, type and product; empty is not known."""

    material: str = ""
    diameter_mm: float = 0.0
    rope_type: str = ""
    product: str = ""

    @classmethod
    def of(cls, state: RopeState) -> "KindOfRope":
        """The kind of a rope; letters' case and blanks do not count, and a product goes with its maker."""
        told = (state.material, state.rope_type, product_of(state))
        plain = (" ".join((each or "").casefold().split()) for each in told)
        material, rope_type, product = plain
        return cls(material, state.diameter_mm or 0.0, rope_type, product)


def product_of(state: RopeState) -> str:
    """A rope's product with its maker, as far as declared.

    >>> product_of(RopeState("UG1", maker="Maker A", product="Nine")), product_of(RopeState("UG1", maker="Maker A"))
    ('Maker A Nine', 'Maker A')
    """
    maker, product = state.maker or "", state.product or ""
    return product if product.casefold().startswith(maker.casefold()) and product else f"{maker} {product}".strip()


def kind_in_words(state: RopeState) -> str:
    """What shrinks alike, in words, by one rope of it.

    >>> kind_in_words(RopeState("UG1", diameter_mm=9.5, rope_type="A", material="polyamide", product="Nine"))
    '9.5 mm A, polyamide, Nine'
    """
    diameter = "" if state.diameter_mm is None else f"{state.diameter_mm:g} mm"
    size = " ".join(each for each in (diameter, state.rope_type or "") if each)
    return ", ".join(each for each in (size, state.material or "", product_of(state)) if each) or "not declared"


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """One rope before and after its first washes [cm]; `before_by` is bought, cut or measured; `number` the count's."""

    rope: str
    kind: KindOfRope
    before_cm: int
    before_by: str
    after_cm: int
    number: int
    sd: float

    @property
    def share_left(self) -> float:
        """Length after by length before."""
        return self.after_cm / self.before_cm


@dataclass(frozen=True, slots=True)
class InUse:
    """What a rope lost after its first washes, from its first count to its last, in so many days of use [cm]."""

    rope: str
    first_cm: int
    last_cm: int
    days: int


@dataclass(frozen=True, slots=True)
class Life:
    """What one rope's life tells: its first washes, or why it tells nothing of them, and what it lost in use."""

    first: BeforeAfter | None = None
    why_not: str = ""
    in_use: InUse | None = None


def life_of(rope: str, state: RopeState, entries: Iterable[Entry]) -> Life:
    """What a rope's life tells of shrinkage, from what happened to it in order, before a cut included."""
    told = _Telling(rope, state)
    for entry in entries:
        told.take(entry)
    return told.life()


class _Telling:
    """One rope's life, read once from its beginning."""

    def __init__(self, rope: str, state: RopeState) -> None:
        self.rope, self.state = rope, state
        self.before: tuple[int, str, float] | None = None
        self.counted: tuple[int, int, float] | None = None
        self.last_cm = 0
        self.washed = self.damp = self.used = False
        self.days = 0
        self.why_not = ""

    def take(self, entry: Entry) -> None:
        match entry.event:
            case e.Bought(length_cm=cm):
                self.before = (cm, "bought", _sd("bought", cm))
            case e.RecordedAsFound():
                self.before = None
            case e.Cut(into=pieces) as cut if any(piece.rope == self.rope for piece in pieces):
                self._cut(cut)
            case e.Washed():
                self.washed = self.damp = True
            case e.Dried():
                self.damp = False
            case e.Measured() as event if event.rope == self.rope or not self.washed:
                self._measured(event, entry.number)
            case e.Used(days=days):
                self.days += days
        if isinstance(entry.event, _TAKEN_INTO_USE):
            if not self.used and self.counted is None and self.before is not None:
                self.why_not = "it was used before it was counted after a wash"
                self.before = None
            self.used = True

    def _cut(self, cut: e.Cut) -> None:
        """A piece of unwashed rope begins anew with its own length; of washed rope, it tells nothing of the wash."""
        own_cm = next(piece.length_cm for piece in cut.into if piece.rope == self.rope)
        if self.washed or self.before is None:
            self.before, self.counted = None, None
            return
        whole_cm, _by, sd = self.before
        spread = _sd("cut", own_cm)
        rest = cut.into[-1].rope == self.rope and sum(piece.length_cm for piece in cut.into) == whole_cm
        if rest:
            # What is left of a reel was worked out, not counted: whatever its label got wrong lies in this piece.
            spread = math.hypot(spread, sd * whole_cm / own_cm)
        self.before = (own_cm, "cut", spread)

    def _measured(self, event: e.Measured, number: int) -> None:
        name = "counted_twice" if len(event.counts_cm) >= 2 and _agree(event) else "counted_once"
        cm = event.length_cm
        self.last_cm = cm
        if not self.washed:
            if not self.used and self.before is not None:
                self.before = (cm, "measured", _sd(name, cm))
        elif self.damp and not self.used:
            self.why_not = "it was counted before it was dry"
        elif not self.used or self.counted is None:
            self.counted = (cm, number, _sd(name, cm))
            self.days = 0

    def life(self) -> Life:
        in_use = None
        if self.counted is not None and self.days and self.last_cm:
            in_use = InUse(self.rope, self.counted[0], self.last_cm, self.days)
        if self.before is None or self.counted is None:
            return Life(None, self.why_not, in_use)
        (before_cm, by, before_sd), (after_cm, number, after_sd) = self.before, self.counted
        if not 0.2 <= after_cm / before_cm <= 2.0:
            return Life(None, "its two lengths cannot be of one rope", in_use)
        kind, sd = KindOfRope.of(self.state), min(math.hypot(before_sd, after_sd), 1.0)
        return Life(BeforeAfter(self.rope, kind, before_cm, by, after_cm, number, sd), "", in_use)


def _agree(event: e.Measured) -> bool:
    return max(event.counts_cm) - min(event.counts_cm) <= limit("counts_agree") * 100


@functools.cache
def _spreads() -> dict[str, tuple[float, float]]:
    text = resources.files("tethera.store").joinpath("tables/before_after.toml").read_text("utf-8")
    return {name: (row["metres"], row["share"]) for name, row in tomllib.loads(text).items()}


def _sd(name: str, length_cm: int) -> float:
    """How exactly a length is known, as a share of it."""
    metres, share = _spreads()[name]
    return metres * 100 / length_cm + share
