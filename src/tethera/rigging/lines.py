"""Where ropes may begin and end along a route, and the metres of every run between two such places."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from tethera.rigging.knots import KnotLengths
from tethera.rigging.metres import Item, depth_share, item_of, rope_need
from tethera.rigging.parts import Part, Step, step_shares, steps_of
from tethera.rigging.route import Pitch, Route, in_a_choice

#: Choices ("or") one rope may run across; more only multiplies paths.
_MOST_CHOICES = 4


@dataclass(frozen=True, slots=True)
class Place:
    """A place where a rope may begin or end; `changes` is 1 where that means swapping ropes on the rope.

    `anchor` is the number of the anchor within its pitch, from 1; None at a head or foot.
    """

    index: int
    label: str
    pitch: int
    changes: int
    depth_m: float
    anchor: int | None = None


@dataclass(frozen=True, slots=True)
class Joint:
    """A leg long enough to hold a knot in mid-drop: metres of the run above its top and from its foot on."""

    leg: str
    leg_m: float
    above_m: float
    below_m: float


@dataclass(frozen=True, slots=True)
class Run:
    """One rope from one place to another: metres it takes, and what the rope must be.

    Two runs may have the same ends, by different branches of a choice; `pitches` tells them apart.
    """

    begin: int
    end: int
    mean_m: float
    sd_m: float
    pitches: tuple[int, ...]
    min_diameter_mm: float | None = None
    type_a_only: bool = False
    max_g_per_m: float | None = None
    joints: tuple[Joint, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """Places in order and the runs between them; first to last place must be covered by a path of runs."""

    name: str
    places: tuple[Place, ...]
    runs: tuple[Run, ...]


@dataclass(slots=True)
class _Edge:
    """A step between two places of a line, with its sums."""

    begin: int
    end: int
    pitch_index: int
    pitch: Pitch
    step: Step
    share: float
    #: Its share in what its pitch takes, and the variance of that pitch on a rope of its own.
    part: float = 1.0
    alone: float = 0.0
    mean: float = field(init=False)
    var: float = field(init=False)
    grows: float = field(init=False)
    start: tuple[float, float] = field(init=False)
    finish: tuple[float, float] = field(init=False)
    onward: tuple[float, float] | None = field(init=False)

    def __post_init__(self) -> None:
        self.mean, self.var = _sums(self.step.parts)
        self.grows = sum(part.grows_m for part in self.step.parts)
        self.start, self.finish = _sums(self.step.starting), _sums(self.step.ending)
        self.onward = None if self.step.passing is None else _sums(self.step.passing)


def _sums(parts: tuple[Part, ...]) -> tuple[float, float]:
    return sum(part.metres for part in parts), sum(part.sd_m**2 for part in parts)


@dataclass(slots=True)
class _Graph:
    name: str
    places: list[Place]
    edges: list[list[_Edge]]

    def add_place(self, label: str, pitch: int, changes: int, depth_m: float, anchor: int | None = None) -> int:
        self.places.append(Place(len(self.places), label, pitch, changes, depth_m, anchor))
        self.edges.append([])
        return len(self.places) - 1


def rope_lines(route: Route, *, longest_m: float, knots: KnotLengths | None = None) -> tuple[Line, ...]:
    """The main way, cut where ropes are left in place, then one line for each second line outside a choice.

    Parameters
    ----------
    longest_m : runs that need more than this on average are left out [m]
    """
    if not (math.isfinite(longest_m) and longest_m > 0):
        raise ValueError(f"longest_m must be a length above 0 m, not {longest_m}")
    graphs = _graphs(route, knots or KnotLengths.default())
    return tuple(Line(g.name, tuple(g.places), tuple(_runs(g, longest_m))) for g in graphs)


def explain_run(route: Route, line: Line, run: Run, knots: KnotLengths | None = None) -> tuple[Item, ...]:
    """The account of one run, item by item; the metres add up to its mean."""
    graph = next((g for g in _graphs(route, knots or KnotLengths.default()) if g.name == line.name), None)
    path = None if graph is None else _path(graph, run)
    if path is None:
        raise ValueError(f"the line “{line.name}” has no run from place {run.begin} to {run.end}")
    if path[0].pitch.pull_through:
        path = [max(path, key=lambda edge: edge.mean)]
    items = [item_of(part, 0.0) for part in path[0].step.starting]
    for edge, following in zip(path, [*path[1:], None], strict=True):
        items += [item_of(part, edge.share) for part in edge.step.parts]
        last = edge.step.ending if following is None else edge.step.passing or ()
        items += [item_of(part, 0.0) for part in last]
    return tuple(items)


def _path(graph: _Graph, run: Run) -> list[_Edge] | None:
    stack: list[list[_Edge]] = [[edge] for edge in graph.edges[run.begin]]
    while stack:
        path = stack.pop()
        if path[-1].pitch_index not in run.pitches or path[-1].end > run.end:
            continue
        if path[-1].end == run.end:
            return path
        stack.extend([*path, edge] for edge in graph.edges[path[-1].end])
    return None


def _graphs(route: Route, knots: KnotLengths) -> list[_Graph]:
    numbered = list(enumerate(route.pitches))
    graphs: list[_Graph] = []
    stretch: list[tuple[int, Pitch]] = []
    for index, pitch in [*numbered, (-1, None)]:
        if pitch is not None and pitch.instead_of:
            continue
        if pitch is None or pitch.left_in_place:
            if stretch:
                name = "main" if not graphs else f"main, from {stretch[0][1].name}"
                graphs.append(_chain(name, stretch, _branches(numbered, stretch), knots))
            stretch = []
        else:
            stretch.append((index, pitch))
    return graphs + [_chain(name, group, {}, knots, second_line=True) for name, group in _second_lines(numbered)]


def _second_lines(numbered: list[tuple[int, Pitch]]) -> Iterator[tuple[str, list[tuple[int, Pitch]]]]:
    """Neighbouring pitches with the same second line share it.

    Lines are chosen apart, so that a second line cannot wait for the way its pitch is on: on a way of a choice it is
    left out, and `route_findings` says so.
    """
    choice = in_a_choice([pitch for _, pitch in numbered])
    group: list[tuple[int, Pitch]] = []
    seen: set[str] = set()
    for index, pitch in [*numbered, (-1, None)]:
        words = None if pitch is None or pitch.name in choice else pitch.second_line
        if group and words != group[0][1].second_line:
            name = f"{group[0][1].second_line} on {group[0][1].name}"
            yield (name if name not in seen else f"{name} (pitch {group[0][0] + 1})"), group
            seen.add(name)
            group = []
        if pitch is not None and words is not None:
            group.append((index, replace(pitch, learnt=None)))


_Branches = dict[int, list[tuple[int, list[tuple[int, Pitch]]]]]


def _branches(numbered: list[tuple[int, Pitch]], stretch: list[tuple[int, Pitch]]) -> _Branches:
    """Alternatives by the position at which they join the chain again: {end: [(begin, pitches), ...]}."""
    position = {pitch.name: k for k, (_, pitch) in enumerate(stretch)}
    grouped: dict[tuple[str, ...], list[tuple[int, Pitch]]] = {}
    for index, pitch in numbered:
        if pitch.instead_of and not pitch.left_in_place:
            grouped.setdefault(pitch.instead_of, []).append((index, pitch))
    branches: _Branches = {}
    for names, pitches in grouped.items():
        spots = [position[name] for name in names if name in position]
        if len(spots) == len(names):
            branches.setdefault(max(spots) + 1, []).append((min(spots), pitches))
    return branches


def _chain(
    name: str, stretch: list[tuple[int, Pitch]], branches: _Branches, knots: KnotLengths, *, second_line: bool = False
) -> _Graph:
    graph = _Graph(name, [], [])
    first_index, first = stretch[0]
    boundary = [graph.add_place(f"head of {first.name}", first_index, 0, 0.0)]
    for k, (index, pitch) in enumerate(stretch):
        ways = [(k, [(index, pitch)]), *branches.get(k + 1, [])]
        loose = [_string(graph, boundary[begin], pitches, knots, second_line) for begin, pitches in ways]
        onward = "" if k + 1 == len(stretch) else f", head of {stretch[k + 1][1].name}"
        end = graph.add_place(f"foot of {pitch.name}{onward}", index, 0, pitch.depth_m)
        boundary.append(end)
        for edge in loose:
            edge.end = end
    return graph


def _string(
    graph: _Graph, begin: int, pitches: list[tuple[int, Pitch]], knots: KnotLengths, second_line: bool
) -> _Edge:
    """Add the steps of pitches in a row; the last edge is returned with its end still open."""
    at = begin
    steps = [each for i, p in pitches for each in _steps(i, p, knots, second_line)]
    for position, (index, pitch, step, part, alone) in enumerate(steps):
        edge = _Edge(at, -1, index, pitch, step, depth_share(pitch), part, alone)
        graph.edges[at].append(edge)
        if position + 1 < len(steps):
            inside = steps[position + 1][0] == index
            at = edge.end = graph.add_place(step.label, index, 1 if inside else 0, step.depth_m, step.anchor)
    return edge


def _steps(
    index: int, pitch: Pitch, knots: KnotLengths, second_line: bool
) -> Iterator[tuple[int, Pitch, Step, float, float]]:
    steps = steps_of(pitch, knots, second_line=second_line)
    alone = 0.0 if pitch.learnt is None else rope_need(pitch, knots).sd_m ** 2
    for step, part in zip(steps, step_shares(steps), strict=True):
        yield index, pitch, step, part, alone


@dataclass(slots=True)
class _Walk:
    """A rope part of the way: sums up to and including the last edge, before what ends or passes there."""

    edge: _Edge
    mean: float
    left: float  # variance of pitches already left, and of the passages between them
    var: float  # of the independent parts of the pitch it is in
    grows: float  # metres carrying the depth error of the pitch it is in
    part: float  # share of that pitch it has gone through
    pitches: tuple[int, ...]
    thickest: float | None
    type_a: bool
    lightest: float | None
    legs: tuple[tuple[str, float, float], ...]
    choices: int


def _runs(graph: _Graph, longest_m: float) -> Iterator[Run]:
    for begin in range(len(graph.places)):
        stack = [_begin(edge) for edge in reversed(graph.edges[begin])]
        while stack:
            walk = stack.pop()
            run = _close(begin, walk)
            if run.mean_m <= longest_m:
                yield run
            edge = walk.edge
            # Metres before the end only grow; what ends a rope is all that may still be saved.
            if edge.onward is None or walk.mean > longest_m:
                continue
            following = graph.edges[edge.end]
            choices = walk.choices + (len(following) > 1)
            if choices <= _MOST_CHOICES:
                stack.extend(
                    _go_on(walk, step, choices)
                    for step in following
                    if step.pitch.pull_through == edge.pitch.pull_through
                )


def _begin(edge: _Edge) -> _Walk:
    pitch, (mean, var) = edge.pitch, edge.start
    legs = tuple((leg.label, leg.metres, mean + leg.above_m) for leg in edge.step.legs)
    return _Walk(
        edge, mean + edge.mean, 0.0, var + edge.var, edge.grows, edge.part, (edge.pitch_index,),
        edge.step.min_diameter_mm, pitch.type_a_only, pitch.max_g_per_m, legs, 0,
    )  # fmt: skip


def _var_left(edge: _Edge, sums: _Walk | _Edge, more: float = 0.0) -> float:
    """Variance of what a rope takes of the pitch of `edge`, once that is behind it [m²].

    Its depth error is no longer shared. Trips tell of a pitch as a whole: of a part of it they tell no more than that
    part has to do with the whole, so that its spread shrinks less.
    """
    var = sums.var + more + (edge.share * sums.grows) ** 2
    if edge.pitch.learnt is None or edge.pitch.pull_through:
        return var
    kept = edge.pitch.learnt.spread_share**2
    before, alone = var / kept, edge.alone / kept
    return max(before - (1 - kept) * sums.part**2 * alone, var)


def _go_on(walk: _Walk, edge: _Edge, choices: int) -> _Walk:
    """The walk with one more edge.

    A rope pulled down and carried on needs the most that any of its pitches takes, not their sum. Which pitch that is
    depends on the margin: one known worse may need more though it is shorter. The largest mean goes with the largest
    spread, also when they are of different pitches: at every margin z >= 0, whatever the spread of the rope itself, the
    run then needs no less than any of its pitches alone, so it errs only on the careful side. The margin holds for
    each pitch, as it does for ropes of their own.
    """
    assert walk.edge.onward is not None
    pitch = edge.pitch
    same = edge.pitch_index == walk.edge.pitch_index
    pitches = walk.pitches if same else (*walk.pitches, edge.pitch_index)
    thickest = max((d for d in (walk.thickest, edge.step.min_diameter_mm) if d is not None), default=None)
    lightest = min((g for g in (walk.lightest, pitch.max_g_per_m) if g is not None), default=None)
    type_a = walk.type_a or pitch.type_a_only
    if pitch.pull_through:
        mean, var = max(walk.mean, edge.mean), max(_var_left(walk.edge, walk), _var_left(edge, edge))
        return _Walk(edge, mean, 0.0, var, 0.0, 1.0, pitches, thickest, type_a, lightest, (), choices)
    base, more = walk.mean + walk.edge.onward[0], walk.edge.onward[1]
    left = walk.left if same else walk.left + _var_left(walk.edge, walk) + more
    var = walk.var + more + edge.var if same else edge.var
    part = walk.part + edge.part if same else edge.part
    legs = walk.legs
    if edge.step.legs:
        legs = (*legs, *((leg.label, leg.metres, base + leg.above_m) for leg in edge.step.legs))
    grows = walk.grows + edge.grows if same else edge.grows
    mean = base + edge.mean
    return _Walk(edge, mean, left, var, grows, part, pitches, thickest, type_a, lightest, legs, choices)


def _close(begin: int, walk: _Walk) -> Run:
    mean = walk.mean + walk.edge.finish[0]
    sd = math.sqrt(walk.left + _var_left(walk.edge, walk, walk.edge.finish[1]))
    joints = tuple(Joint(label, leg, above, max(mean - above - leg, 0.0)) for label, leg, above in walk.legs)
    return Run(
        begin, walk.edge.end, mean, sd, walk.pitches, walk.thickest, walk.type_a, walk.lightest, joints
    )  # fmt: skip
