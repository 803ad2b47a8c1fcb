"""The words that both ends of a rope carry beside its length."""

from datetime import date

from tethera.store import RopeState

_TYPES = {"A": "type A", "B": "type B", "dynamic": "dynamic", "cord": "accessory cord"}


def mark_words(rope: RopeState, owner: str, on: date) -> str:
    """What an end says after its length: the rope's number, what it is, since when in service, whose.

    What nobody declared is left out: an end must not guess a type. A new rope will be from `on`; one
    older than this record says the year it was first used or bought, or none.

    >>> mark_words(RopeState("UG3", diameter_mm=10.0, rope_type="A"), "Ulvergarth Caving Club", date(2026, 11, 25))
    'UG3 · 10 mm type A · since 2026 · Ulvergarth Caving Club'
    """
    diameter = "" if rope.diameter_mm is None else f"{rope.diameter_mm:g} mm"
    what = " ".join(part for part in (diameter, _TYPES.get(rope.rope_type or "", "")) if part)
    if rope.as_found:
        # A rope older than this record did not begin when it was put back into service: else its mark says no year.
        since = rope.first_used or rope.bought
        year = since.year if since else None
    else:
        year = rope.since.year if rope.since else on.year
    words = (rope.id, what, f"since {year}" if year else "", rope.owner or owner)
    return " · ".join(part for part in words if part)
