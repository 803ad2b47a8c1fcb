"""Any route that a route file can say, for what must hold whatever is written."""

from hypothesis import strategies as st

from tethera.rigging import Anchor, Edition, Measure, Pitch, Route, Together, Totals
from tethera.rigging.route import DIRECTIONS, KINDS, KNOWN_BY, ROLES, exactly
from tethera.rigging.route_text import goes_on

_LETTERS = st.characters(codec="utf-8", exclude_categories=("C", "Z"))
WORDS = (
    st.text(_LETTERS | st.sampled_from([" ", '"', "\\", "'", "#", "=", ";", "\x00", "\x7f"]), min_size=1, max_size=20)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)
CM = st.integers(1, 20_000).map(lambda cm: cm / 100)
#: What a key that names its unit may give: depth_ft = 72 is no whole centimetre.
ODD = st.integers(1, 600).map(lambda feet: round(feet * 0.3048, 6)) | st.floats(0.001, 200.0)
LENGTH = CM | ODD


@st.composite
def measures(draw: st.DrawFn) -> Measure:
    """One number, a choice, a sum; perhaps in doubt."""
    about = draw(st.booleans())
    match draw(st.integers(0, 3)):
        case 0:
            metres = draw(CM)
            return Measure(metres, metres, about)
        case 1:
            low, high = sorted(draw(st.tuples(CM, CM)))
            return Measure(low, high, about)
        case 2:
            return exactly(draw(ODD))
    pieces = tuple(draw(st.lists(CM, min_size=2, max_size=12)))
    total = round(sum(pieces), 2)
    return Measure(total, total, about, pieces)


@st.composite
def anchors(draw: st.DrawFn) -> Anchor:
    """One anchor; up, or level with the one before, so that none lies below the foot."""
    role = draw(st.sampled_from(ROLES))
    return Anchor(
        role=role,
        kind=draw(st.sampled_from(KINDS)),
        along_m=draw(st.just(0.0) | LENGTH),
        down_m=-draw(st.just(0.0) | LENGTH),
        bolts=draw(st.integers(2 if role == "y-hang" else 1, 4)),
        loop_m=draw(st.none() | LENGTH),
        leg_m=draw(st.none() | LENGTH),
        apart_m=draw(st.none() | LENGTH),
        sling_m=draw(st.none() | LENGTH),
        rub=draw(st.booleans()),
        min_diameter_mm=draw(st.none() | st.floats(5, 20)),
        knot=draw(st.none() | st.sampled_from(["bowline", "butterfly"])),
        note=draw(st.just("") | WORDS),
    )


@st.composite
def pitches(draw: st.DrawFn, name: str, main: tuple[str, ...] = ()) -> Pitch:
    """One pitch that can be; it may stand for some of these of the main way."""
    to_next = draw(st.none() | st.just(0.0) | LENGTH)
    traverse = draw(st.just(0.0) | LENGTH)
    depth = exactly(0.0) if traverse and draw(st.booleans()) else draw(measures())
    pulled = draw(st.booleans())
    counts = st.none() | st.integers(0, 12)
    return Pitch(
        name=name,
        depth=depth,
        depth_known_by=draw(st.sampled_from(KNOWN_BY)),
        depth_spread_m=draw(st.none() | st.just(0.0) | LENGTH),
        direction="down" if pulled else draw(st.sampled_from(DIRECTIONS)),
        traverse_m=traverse,
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
        instead_of=draw(st.just(()) | st.just(main[-2:])),
        rope_above_floor_m=draw(st.just(0.0) | st.just(depth.low_m / 2)),
        min_diameter_mm=draw(st.none() | st.floats(5, 20)),
        type_a_only=draw(st.booleans()),
        max_g_per_m=draw(st.none() | st.floats(20, 200)),
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
    made: list[Pitch] = []
    for name in names:
        made.append(draw(pitches(name, tuple(each.name for each in made if not each.instead_of))))
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
