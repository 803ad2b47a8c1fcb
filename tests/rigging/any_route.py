"""Any route that a route file can say, for what must hold whatever is written."""

from hypothesis import strategies as st

from tethera.rigging import Anchor, Edition, Measure, Pitch, Route, Together, Totals
from tethera.rigging.route import DIRECTIONS, KINDS, KNOWN_BY, ROLES
from tethera.rigging.route_text import goes_on

_LETTERS = st.characters(codec="utf-8", exclude_categories=("C", "Z"))
WORDS = (
    st.text(_LETTERS | st.sampled_from([" ", '"', "\\", "'", "#", "="]), min_size=1, max_size=20)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)
CM = st.integers(1, 20_000).map(lambda cm: cm / 100)


@st.composite
def measures(draw: st.DrawFn) -> Measure:
    """One number, a choice, a sum; perhaps in doubt."""
    about = draw(st.booleans())
    match draw(st.integers(0, 2)):
        case 0:
            metres = draw(CM)
            return Measure(metres, metres, about)
        case 1:
            low, high = sorted(draw(st.tuples(CM, CM)))
            return Measure(low, high, about)
    pieces = tuple(draw(st.lists(CM, min_size=2, max_size=3)))
    return Measure(sum(pieces), sum(pieces), about, pieces)


@st.composite
def anchors(draw: st.DrawFn) -> Anchor:
    """One anchor; how far down is set by the pitch."""
    role = draw(st.sampled_from(ROLES))
    return Anchor(
        role=role,
        kind=draw(st.sampled_from(KINDS)),
        along_m=draw(st.just(0.0) | CM),
        bolts=draw(st.integers(2 if role == "y-hang" else 1, 4)),
        loop_m=draw(st.none() | CM),
        leg_m=draw(st.none() | CM),
        sling_m=draw(st.none() | CM),
        rub=draw(st.booleans()),
        min_diameter_mm=draw(st.none() | st.sampled_from([8.0, 9.5])),
        knot=draw(st.none() | st.sampled_from(["bowline", "butterfly"])),
        note=draw(st.just("") | WORDS),
    )


@st.composite
def pitches(draw: st.DrawFn, name: str) -> Pitch:
    """One pitch that can be."""
    to_next = draw(st.none() | CM)
    depth = draw(measures())
    pulled = draw(st.booleans())
    counts = st.none() | st.integers(0, 12)
    return Pitch(
        name=name,
        depth=depth,
        depth_known_by=draw(st.sampled_from(KNOWN_BY)),
        depth_spread_m=draw(st.none() | CM),
        direction="down" if pulled else draw(st.sampled_from(DIRECTIONS)),
        traverse_m=draw(st.just(0.0) | CM),
        guide_rope=draw(st.none() | measures()),
        anchor_count=draw(counts),
        rebelays=draw(counts),
        deviations=draw(counts),
        naturals=draw(counts),
        anchors=tuple(draw(st.lists(anchors(), max_size=3))),
        to_next_m=to_next,
        rope_goes_on=draw(st.just(goes_on(to_next)) | st.booleans()),
        pull_through=pulled,
        left_in_place=False if pulled else draw(st.booleans()),
        second_line=draw(st.none() | WORDS),
        min_diameter_mm=draw(st.none() | st.sampled_from([8.0, 10.0])),
        type_a_only=draw(st.booleans()),
        max_g_per_m=draw(st.none() | st.sampled_from([60.0, 72.5])),
        notes=tuple(draw(st.lists(WORDS, max_size=2))),
        editions=tuple(
            draw(
                st.lists(
                    st.builds(
                        Edition,
                        source=WORDS,
                        depth=st.none() | measures(),
                        guide_rope=st.none() | measures(),
                        anchors=counts,
                        note=st.just("") | WORDS,
                    ),
                    max_size=2,
                )
            )
        ),
    )


@st.composite
def routes(draw: st.DrawFn) -> Route:
    """A route of one to four pitches."""
    names = draw(st.lists(WORDS, min_size=1, max_size=4, unique=True))
    made = [draw(pitches(name)) for name in names]
    together: tuple[Together, ...] = ()
    if len(names) > 1 and draw(st.booleans()):
        together = (Together((names[0], names[1]), draw(measures())),)
    totals = draw(st.just(Totals()) | st.builds(Totals, rope=measures(), depth=st.none() | measures()))
    return Route(
        name=draw(WORDS),
        pitches=tuple(made),
        team_size=draw(st.none() | st.integers(1, 9)),
        notes=tuple(draw(st.lists(WORDS, max_size=2))),
        together=together,
        stated_totals=totals,
    )
