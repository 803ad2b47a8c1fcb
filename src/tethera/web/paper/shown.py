"""Lengths, kinds, days and moments as people say them, for pages and for sentences."""

from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.basics import PartialDate, show_metres, spoken_days, whole_feet
from tethera.store import RopeState


def shown_length(cm: int | None, units: str = "m") -> str:
    """A length as it is shown, rounded down: "28.6 m", or in feet "93 ft".

    >>> shown_length(2860), shown_length(2860, "ft"), shown_length(None)
    ('28.6\\u202fm', '93\\u202fft', '?')
    """
    if cm is None:
        return "?"
    if units == "ft":
        return f"{whole_feet(cm)}\u202fft"
    return f"{show_metres(cm)}\u202fm"


def kind(state: RopeState) -> str:
    """Diameter and type as far as declared."""
    diameter = "" if state.diameter_mm is None else f"{state.diameter_mm:g}\u202fmm"
    what = {"A": _("type A"), "B": _("type B"), "dynamic": _("dynamic"), "cord": _("cord")}.get(state.rope_type or "")
    return " ".join(part for part in (diameter, what or "") if part) or "?"


def day(value: PartialDate | date | datetime | None) -> str:
    """A day, month or year as people say it."""
    if value is None:
        return "–"
    if isinstance(value, PartialDate):
        return value.spoken()
    if isinstance(value, datetime):
        value = timezone.localtime(value).date()
    return PartialDate.of(value).spoken()


def shown_days(first: date, last: date) -> str:
    """The days from one to another as people say them: 5 to 6 Dec 2026."""
    return spoken_days(first, last)


def moment(value: datetime) -> str:
    """A moment as people say it: today 14:00, yesterday 14:00, 3 Nov 2026 14:00."""
    local = timezone.localtime(value)
    clock = date_format(local, "H:i")
    ago = (timezone.localdate() - local.date()).days
    if ago == 0:
        return _("today {clock}").format(clock=clock)
    if ago == 1:
        return _("yesterday {clock}").format(clock=clock)
    return f"{day(local.date())} {clock}"


def since(value: PartialDate | date | None) -> str:
    """How long ago a day was, said shortly: today, yesterday, 5 days ago, since Nov 2024."""
    if value is None:
        return ""
    when = value if isinstance(value, PartialDate) else PartialDate.of(value)
    if when.earliest != when.latest:
        return when.spoken()
    days = (timezone.localdate() - when.latest) // timedelta(days=1)
    if days == 0:
        return _("today")
    if days == 1:
        return _("yesterday")
    if 1 < days < 60:
        return ngettext("%(n)d day ago", "%(n)d days ago", days) % {"n": days}
    return when.spoken()


def lasting(value: PartialDate | date | None) -> str:
    """How long something has lasted: since today, since yesterday, for 5 days, since Nov 2024."""
    if value is None:
        return ""
    when = value if isinstance(value, PartialDate) else PartialDate.of(value)
    days = (timezone.localdate() - when.latest).days
    if when.earliest == when.latest and 1 < days < 60:
        return ngettext("for %(n)d day", "for %(n)d days", days) % {"n": days}
    return _("since {day}").format(day=since(when))


def so_long(days: int) -> str:
    """How long something has lasted, in the largest unit that says it.

    >>> so_long(1), so_long(70), so_long(800)
    ('1 day', '2 months', '2 years')
    """
    if days < 60:
        return ngettext("%(n)d day", "%(n)d days", days) % {"n": days}
    if days < 730:
        months = days * 12 // 365
        return ngettext("%(n)d month", "%(n)d months", months) % {"n": months}
    return ngettext("%(n)d year", "%(n)d years", days // 365) % {"n": days // 365}


def age_words(years: tuple[int, int] | None) -> str:
    """How old a rope is, of its whole years at least and at most.

    >>> [age_words(each) for each in ((0, 0), (1, 1), (1, 2), (9, 9), None)]
    ['under a year', '1 year', '1–2 years', '9 years', '?']
    """
    if years is None:
        return "?"
    low, high = years
    if high == 0:
        return _("under a year")
    if low == high:
        return ngettext("%(n)d year", "%(n)d years", high) % {"n": high}
    return _("{low}–{high} years").format(low=low, high=high)
