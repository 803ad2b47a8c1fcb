"""A rope to be marked: what both ends say, its strip, and the tube that goes over it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from tethera.labels.mark import EndMark
from tethera.labels.strip_pdf import diameter_over_tape, strip_size_mm
from tethera.rope import Tube, tube_batch_m, tube_cut_mm, tubes
from tethera.store import RopeState, band_of


@dataclass(frozen=True, slots=True)
class Marking:
    """What one rope's ends say and what goes over them; sizes are None where `lacks` says why [mm]."""

    rope: RopeState
    ends: tuple[EndMark, EndMark]
    band: str
    measured: bool
    over_mm: float | None = None
    strip_mm: tuple[float, float] | None = None
    tube: Tube | None = None
    lacks: str = ""

    @classmethod
    def of(
        cls, rope: RopeState, ends: tuple[EndMark, EndMark], bands: str, paper: str, measured_mm: float | None
    ) -> "Marking":
        """With the strip for that paper and the tube that fits best; `measured_mm` is the diameter over the tape."""
        band = band_of(ends[0].length_m, bands) or ""
        over_mm = strip_mm = tube = None
        try:
            over_mm = diameter_over_tape(ends[0], {} if measured_mm is None else {rope.id: measured_mm})
            strip_mm = strip_size_mm(ends, paper, over_mm)
            tube = next(iter(tubes(over_mm)), None)
        except ValueError as error:
            lacks = str(error)[:1].upper() + str(error)[1:]
            return cls(rope, ends, band, measured_mm is not None, over_mm, strip_mm, lacks=lacks)
        return cls(rope, ends, band, measured_mm is not None, over_mm, strip_mm, tube)

    @property
    def cut_mm(self) -> int | None:
        """How long the tube for one end is cut [mm]."""
        return None if self.tube is None or self.strip_mm is None else tube_cut_mm(self.strip_mm[0])

    @property
    def by_hand(self) -> tuple[str, ...]:
        """What to letter, the largest first; short forms, for a hand needs room."""
        end = self.ends[0]
        said = (f"{end.length_m} m", end.rope, end.kind_short, end.since_short, end.owner_short)
        return tuple(each for each in said if each)


def tubes_to_cut(marking: Sequence[Marking]) -> list[tuple[str, int, float]]:
    """Each size of tube with its pieces and metres, both ends of every rope counted."""
    cuts: dict[str, list[int]] = defaultdict(list)
    for each in marking:
        if each.tube is not None and each.cut_mm is not None:
            cuts[f"{each.tube.size} ({each.tube.kind})"].append(each.cut_mm)
    return [(size, 2 * len(each), tube_batch_m(each)) for size, each in cuts.items()]
