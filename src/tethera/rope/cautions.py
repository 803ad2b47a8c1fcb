"""What stands beside every answer about stretch and falls: plain sentences, and what looks bad."""

from tethera.rope.quantities import Band
from tethera.rope.tables import figure

ESTIMATE = "An estimate: it can say that something looks bad, never that it will hold. Trained people decide."
STRETCH_CAUTIONS = (
    "Tie a stopper knot. Rope that reaches the floor only under load leaves you hanging when you step off.",
    "Washed rope is meant. New rope is shorter after its first wash, and after years of use.",
    ESTIMATE,
)
FALL_CAUTIONS = (
    "The force can be off by a third. Slack is the number that matters: measure it.",
    "Cutting over an edge is not in it: a rub point is a reason to stop, whatever the force.",
    "New, dry rope of the named type and tight knots are meant, unless it says otherwise above.",
    "After any real fall the rope is set aside until a competent person has examined it.",
    "Nobody is to be used as the weight of a trial.",
    ESTIMATE,
)


def looks_bad(force_kn: Band) -> str:
    """What a band of force says at its hurting end, one sentence; empty below 4 kN.

    >>> looks_bad(Band(2.0, 2.5, 3.0))
    ''
    >>> looks_bad(Band(3.0, 4.0, 4.8))[:40]
    'Looks bad: this can pass 4 kN, from whic'
    """
    warn, ceiling = (figure("rope", "falls", key).value for key in ("warn_from", "ceiling"))
    if float(force_kn.low) >= ceiling:
        return f"Looks bad: even the least passes {ceiling:g} kN, the ceiling of the European standards for a person."
    if float(force_kn.high) >= ceiling:
        return f"Looks bad: this can pass {ceiling:g} kN, the ceiling of the European standards for a person."
    if float(force_kn.high) >= warn:
        return f"Looks bad: this can pass {warn:g} kN, from which we warn (our own proposal, no standard says it)."
    return ""
