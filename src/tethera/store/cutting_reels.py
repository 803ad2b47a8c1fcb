"""Reels as they were bought and what each is cut into, before anything is written down."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tethera.basics import PartialDate, measured_cm
from tethera.rope import Loss, published_loss
from tethera.store.events import Bought, Cut, Event, Piece


@dataclass(frozen=True, slots=True)
class CutLength:
    """A piece as it comes off the reel, and what may be left of it after its first washes [cm]."""

    length_cm: int
    shortest_cm: int
    longest_cm: int
    off_cut: bool = False


@dataclass(frozen=True)
class Cutting:
    """Reels or pieces bought [cm], and what each of them is cut into; nothing where they stay whole.

    `loss` is what their first washes may take; all that was published of any rope, where nobody says.

    >>> Cutting((10_000,), (5000, 4000)).pieces_cm
    (5000, 4000, 1000)
    """

    reels_cm: tuple[int, ...]
    into_cm: tuple[int, ...] = ()
    keep_off_cut: bool = True
    loss: Loss | None = None

    @property
    def left_cm(self) -> int:
        """Left over of each reel, below zero where the pieces are more than it has."""
        return self.reels_cm[0] - sum(self.into_cm) if self.into_cm else 0

    @property
    def too_much(self) -> bool:
        """Whether the pieces make more than the reel's label says."""
        return self.left_cm < 0

    @property
    def over_cm(self) -> int:
        """By how much."""
        return max(0, -self.left_cm)

    @property
    def total_cm(self) -> int:
        """All pieces of one reel together."""
        return sum(self.into_cm)

    @property
    def pieces_cm(self) -> tuple[int, ...]:
        """What each reel gives, the off-cut last."""
        off_cut = (self.left_cm,) if self.into_cm and self.left_cm > 0 and self.keep_off_cut else ()
        return (*self.into_cm, *off_cut)

    @property
    def lines(self) -> tuple[CutLength, ...]:
        """Every rope there is afterwards from one reel, or the reels themselves, longest first."""
        kept = self.pieces_cm or self.reels_cm
        loss = self.loss or published_loss()
        lines = [
            CutLength(cm, *_washed(cm, loss), off_cut=number >= len(self.into_cm) > 0) for number, cm in enumerate(kept)
        ]
        return tuple(sorted(lines, key=lambda line: (line.off_cut, -line.length_cm)))

    @property
    def numbers(self) -> int:
        """How many new rope numbers this takes: a reel has one too, though it ends with the cut."""
        return len(self.reels_cm) * (1 + len(self.pieces_cm))

    @property
    def seal(self) -> str:
        """The same for the same lengths only: who says yes to a doubt says it to what was shown."""
        return f"{self.reels_cm[0]}:{self.total_cm}"

    def events(self, numbers: Sequence[str], bought: Bought, cut_on: PartialDate) -> list[Event]:
        """What to record. `bought` is one reel as a pattern; numbers go to the reels first, then to their pieces."""
        reels, rest = numbers[: len(self.reels_cm)], list(numbers[len(self.reels_cm) :])
        events: list[Event] = [
            replace(bought, rope=reel, length_cm=cm) for reel, cm in zip(reels, self.reels_cm, strict=True)
        ]
        for reel in reels if self.into_cm else ():
            mine, rest = rest[: len(self.pieces_cm)], rest[len(self.pieces_cm) :]
            into = tuple(Piece(rope=rope, length_cm=cm) for rope, cm in zip(mine, self.pieces_cm, strict=True))
            events.append(Cut(rope=reel, happened=cut_on, into=into))
        return events


def _washed(length_cm: int, loss: Loss) -> tuple[int, int]:
    shortest, longest = loss.left_m(length_cm / 100)
    return measured_cm(shortest), measured_cm(longest)
