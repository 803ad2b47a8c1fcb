"""How to cut reels at hand into wanted lengths: the question, and the plan as it is told."""

from dataclasses import dataclass
from typing import Literal

from tethera.planning.buy_chance import Habit


@dataclass(frozen=True, slots=True)
class ReelAtHand:
    """A reel or rope that is to be cut.

    Parameters
    ----------
    length_cm : its length now: as sold, or as measured where it is `soaked`
    damaged_cm : damaged places along it, from its outer end; they are cut around
    soaked : washed and measured already, so that its pieces lose nothing more
    """

    name: str
    length_cm: int
    damaged_cm: tuple[int, ...] = ()
    soaked: bool = False

    def __post_init__(self) -> None:
        if self.length_cm < 100:
            raise ValueError(f"{self.name}: a reel to be cut is 1 m or longer")
        if any(not 0 <= place <= self.length_cm for place in self.damaged_cm):
            raise ValueError(f"{self.name}: a damaged place lies between 0 and {self.length_cm / 100:g} m")


@dataclass(frozen=True, slots=True)
class CutDone:
    """A piece cut off a reel already: where it ended along the reel, its length, and what it has left once measured."""

    reel: str
    until_cm: int
    cut_cm: int
    left_cm: int | None = None


@dataclass(frozen=True)
class CutQuestion:
    """What is wanted, and from what.

    Parameters
    ----------
    wanted_cm : lengths that must be left after the wash, each as often as it stands here
    confidence : that all of them come out long enough, together
    done : pieces cut already; those measured sharpen what is expected of the rest
    off_cut_from_cm : off-cuts from this length on are kept; None for the shortest wanted length
    """

    reels: tuple[ReelAtHand, ...]
    wanted_cm: tuple[int, ...]
    habit: Habit = "cut-then-soak"
    confidence: float = 0.95
    step_cm: int = 100
    off_cut_from_cm: int | None = None
    done: tuple[CutDone, ...] = ()

    def __post_init__(self) -> None:
        names = [reel.name for reel in self.reels]
        if not names or len(set(names)) < len(names):
            raise ValueError("name each reel that is to be cut, once")
        if not self.wanted_cm or any(length < 100 for length in self.wanted_cm):
            raise ValueError("name the lengths that are wanted, each 1 m or more")
        if not 0.5 <= self.confidence <= 0.999:
            raise ValueError(f"a confidence lies between 0.5 and 0.999, not {self.confidence:g}")
        if not 1 <= self.step_cm <= 1000:
            raise ValueError(f"pieces are cut in steps of 1 cm to 10 m, not {self.step_cm} cm")
        if len({reel.soaked for reel in self.reels}) > 1:
            raise ValueError("cut reels that are soaked already and reels that are not in two goes")
        if self.done and self.habit == "soak-then-cut" and not self.reels[0].soaked:
            raise ValueError(
                "a reel that is soaked first is cut once it is soaked and measured: give its measured length"
            )
        for each in self.done:
            reel = next((reel for reel in self.reels if reel.name == each.reel), None)
            if reel is None:
                raise ValueError(f"{each.reel}: there is no such reel among those to be cut")
            if not 0 < each.cut_cm <= each.until_cm <= reel.length_cm:
                raise ValueError(f"{each.reel}: a piece cut off it lies within its {reel.length_cm / 100:g} m")


@dataclass(frozen=True, slots=True)
class CutStep:
    """One cut, in order: from where to where along the reel, and what is expected of the piece.

    `mark_before` is what to letter on the wet or new piece, `mark_after` the whole metres its mark may say once it is
    measured, if it comes out as counted. `confidence` is how sure it has what is wanted.
    """

    reel: str
    from_cm: int
    until_cm: int
    wanted_cm: int
    counted_cm: int
    typical_cm: int
    confidence: float
    mark_before: str
    mark_after: int
    first_of_reel: bool = False

    @property
    def cut_cm(self) -> int:
        """Length off the reel."""
        return self.until_cm - self.from_cm


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a reel where nothing is cut: an off-cut to keep, or waste, and why."""

    reel: str
    from_cm: int
    until_cm: int
    kept: bool
    why: str = ""

    @property
    def length_cm(self) -> int:
        """Its length."""
        return self.until_cm - self.from_cm


@dataclass(frozen=True)
class CutPlan:
    """Cuts in order, what is left, what cannot be cut, and how sure all of it is.

    status : "optimal" (proven: fewest lengths missing, then least waste), "feasible", "impossible" (some lengths in
    `missing_cm` do not come out of these reels), "unknown"

    `holds` is how often every piece had its length in `draws` draws, None where nothing more can shrink. `per_rope` is
    the confidence each piece is cut for. `saves_cm` is what measuring the first piece is worth if it comes out as half
    of them do: so much less is then cut for the others.
    """

    status: Literal["optimal", "feasible", "impossible", "unknown"]
    habit: Habit
    steps: tuple[CutStep, ...] = ()
    rests: tuple[Rest, ...] = ()
    missing_cm: tuple[int, ...] = ()
    waste_cm: int = 0
    confidence: float = 0.95
    holds: float | None = None
    draws: int = 0
    per_rope: float = 0.0
    saves_cm: int = 0
    met_cm: tuple[int, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def found(self) -> bool:
        """Whether every wanted length comes out."""
        return self.status in ("optimal", "feasible")

    def pieces_cm(self, reel: str) -> tuple[int, ...]:
        """Ropes a reel becomes, in order: cuts and off-cuts that are kept (what `store.Cutting` wants as `into_cm`)."""
        places = [(each.from_cm, each.cut_cm) for each in self.steps if each.reel == reel]
        places += [(each.from_cm, each.length_cm) for each in self.rests if each.reel == reel and each.kept]
        return tuple(length for _, length in sorted(places))


def cut_faults(question: CutQuestion, plan: CutPlan) -> list[str]:
    """What is wrong with a plan, from the question alone: a second judge that shares nothing with the planner."""
    from tethera.store import sound_stretches

    wrong = []
    for reel in question.reels:
        start = max([0, *(done.until_cm for done in question.done if done.reel == reel.name)])
        parts = [(each.from_cm, each.until_cm) for each in plan.steps if each.reel == reel.name]
        sound = sound_stretches(reel.length_cm, reel.damaged_cm)
        wrong += [
            f"{reel.name}: a piece from {a} to {b} cm goes through a damaged place"
            for a, b in parts
            if not any(begin <= a and b <= end for begin, end in sound)
        ]
        whole = sorted([*parts, *((each.from_cm, each.until_cm) for each in plan.rests if each.reel == reel.name)])
        ends = [start, *(until for _, until in whole)]
        if [begin for begin, _ in whole] != ends[:-1] or (ends[-1] != reel.length_cm and start < reel.length_cm):
            wrong.append(f"{reel.name}: cuts, off-cuts and waste do not add up to the reel")
    counted = sorted([*(each.wanted_cm for each in plan.steps), *plan.missing_cm, *plan.met_cm])
    wrong += [] if counted == sorted(question.wanted_cm) else ["the lengths are not those that were wanted"]
    wrong += [f"{each.counted_cm} cm for {each.wanted_cm}" for each in plan.steps if each.counted_cm < each.wanted_cm]
    waste = sum(each.length_cm for each in plan.rests if not each.kept)
    return wrong if waste == plan.waste_cm else [*wrong, f"{plan.waste_cm} cm of waste said, {waste} counted"]
