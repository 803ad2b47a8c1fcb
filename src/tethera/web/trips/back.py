"""A trip comes back: what each rope did on its pitch, what was left over, what stays in the cave."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.store import Booked, BookingReleased, Event, LeftRigged, Returned, RopeState, SetAside, Used
from tethera.store.trips import same_trip
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.outback.bringing import HOW, HOW_WORDS
from tethera.web.outback.several import OfRope, OfVisit, offered
from tethera.web.paper.fields import LeftOverField, MaybeWhenField, WhenField
from tethera.web.paper.forms import when_doubts
from tethera.web.trips.models import Trip
from tethera.web.trips.views import trip_of

_NOT_USED, _BACK, _STAYS, _NOT_YET = "not used", "back", "stays", "not yet"


@dataclass(frozen=True)
class Placed:
    """Where a rope was to hang, as it was booked."""

    route: str
    pitches: tuple[str, ...]
    begins: str
    ends: str
    line: str

    @property
    def words(self) -> str:
        """As a line beside the rope."""
        where = f"{self.begins} → {self.ends}" if self.begins and self.ends else " + ".join(self.pitches)
        return f"{where} ({self.line})" if self.line else where


class AllBack(OfVisit):
    """What is said of all of them."""

    how = forms.ChoiceField(
        label=gettext_lazy("How they are"), widget=forms.RadioSelect, choices=HOW_WORDS, initial="muddy"
    )
    days = forms.IntegerField(
        label=gettext_lazy("Days of use"),
        min_value=1,
        max_value=1000,
        initial=1,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"}),
    )
    person = forms.CharField(
        label=gettext_lazy("Who brings them"),
        required=False,
        max_length=200,
        widget=forms.TextInput(attrs=offered("people")),
    )
    happened = WhenField()

    def __init__(self, *args: Any, visit: Visit, trip: Trip, **kwargs: Any) -> None:
        super().__init__(*args, visit=visit, **kwargs)
        self.fields["person"].initial = trip.leader
        self.fields["days"].initial = (trip.last_day - trip.first_day).days + 1


class OneBackFromTrip(OfRope):
    """What is said of one of them."""

    what = forms.ChoiceField(
        label=gettext_lazy("What became of it"),
        widget=forms.RadioSelect,
        initial=_BACK,
        choices=[
            (_BACK, gettext_lazy("used, and it is back")),
            (_NOT_USED, gettext_lazy("not used, and it is back")),
            (_STAYS, gettext_lazy("it stays rigged in the cave")),
            (_NOT_YET, gettext_lazy("not back yet")),
        ],
    )
    left_over_cm = LeftOverField(required=False)
    changed = forms.CharField(
        label=gettext_lazy("Rigged otherwise than the route says"),
        required=False,
        max_length=500,
        help_text=gettext_lazy("As: second bolt is loose, used the thread beside it. It is shown beside the pitch."),
    )
    look_again = MaybeWhenField(label=gettext_lazy("If it stays: look at it again by"), required=False)
    fall = forms.BooleanField(label=gettext_lazy("It held a fall"), required=False)
    chemical = forms.CharField(label=gettext_lazy("Chemical it met"), required=False, max_length=200)
    damage = forms.CharField(
        label=gettext_lazy("Damage seen"),
        required=False,
        max_length=500,
        help_text=gettext_lazy(
            "What, and where along the rope. It sets the rope aside until a competent person clears it."
        ),
    )

    def clean(self) -> dict[str, Any]:
        """A rope that was not used, or is not back, tells nothing of a pitch: what was typed is not dropped unsaid."""
        told = super().clean() or {}
        what = told.get("what")
        if what in (_NOT_USED, _NOT_YET):
            for name in ("left_over_cm", "changed"):
                if told.get(name) not in (None, ""):
                    self.add_error(name, _("This tells of a use. Choose that it was used, or leave this empty."))
        if what == _NOT_YET:
            for name in ("fall", "chemical", "damage"):
                if told.get(name):
                    self.add_error(name, _("Choose what became of it, or leave this empty until it is back."))
        return told

    def events(self, shared: dict[str, Any], person: str | None, trip: Trip, placed: Placed | None) -> list[Event]:
        """What to record of it."""
        told, when = self.cleaned_data, shared["happened"]
        events: list[Event] = []
        if told["what"] == _NOT_YET:
            return events
        if told["what"] != _NOT_USED:
            events.append(self._use(shared, placed))
        if told["what"] == _STAYS:
            where = placed.route if placed else trip.name
            pitch = " + ".join(placed.pitches) if placed else ""
            events.append(
                LeftRigged(rope=self.state.id, happened=when, route=where, pitch=pitch, look_again=told["look_again"])
            )
        else:
            clean, dry = HOW[shared["how"]]
            hurt = {"fall": told["fall"], "chemical": told["chemical"] or None} if told["what"] == _NOT_USED else {}
            note = "" if clean else shared["how"]
            events.append(
                Returned(rope=self.state.id, happened=when, person=person, clean=clean, dry=dry, note=note, **hurt)
            )
        if told["damage"]:
            events.append(SetAside(rope=self.state.id, happened=when, reason=told["damage"]))
        return events

    def _use(self, shared: dict[str, Any], placed: Placed | None) -> Used:
        told = self.cleaned_data
        where = placed or Placed("", (), "", "", "")
        return Used(
            rope=self.state.id,
            happened=shared["happened"],
            route=where.route,
            pitch=" + ".join(where.pitches),
            days=shared["days"],
            left_over_cm=told["left_over_cm"],
            pitches=where.pitches,
            begins=where.begins,
            ends=where.ends,
            line=where.line,
            changed=told["changed"],
            fall=told["fall"],
            chemical=told["chemical"] or None,
        )


def placed_of(visit: Visit, rope: str, trip: Trip) -> Placed | None:
    """Where a rope was to hang on a trip, by the booking that it still has for it."""
    held = {booking.number for booking in visit.rope(rope).bookings if same_trip(booking.trip, trip.name)}
    for entry in reversed(visit.register.events(rope)):
        event = entry.event
        if isinstance(event, Booked) and entry.number in held and event.route:
            return Placed(event.route, event.pitches, event.begins, event.ends, event.line)
    return None


@page(May.TAKE, post=May.TAKE)
def back(visit: Visit, number: int) -> HttpResponse:
    """The ropes that are out for the trip, each with what it did."""
    trip = trip_of(visit, number)
    out = [rope for rope in visit.ropes if same_trip(rope.out_trip, trip.name)]
    placed = {rope.id: placed_of(visit, rope.id, trip) for rope in out}
    sent = visit.request.POST if visit.request.method == "POST" else None
    form = AllBack(sent, visit=visit, trip=trip)
    each_form = [OneBackFromTrip(sent, visit=visit, state=rope) for rope in out]
    if sent is None or visit.sent_before:
        return _page(visit, trip, form, each_form, placed)
    if not all([form.is_valid(), *(each.is_valid() for each in each_form)]) or not out:
        return _page(visit, trip, form, each_form, placed, 422 if out else 200)
    if gone := sorted(set(sent.getlist("shown")) - {rope.id for rope in out}):
        for rope in gone:
            typed = "; ".join(
                filter(None, (sent.get(f"{rope}-{name}", "") for name in ("damage", "chemical", "changed")))
            )
            visit.tell_refused(_meanwhile(rope, typed))
        return _page(visit, trip, form, each_form, placed, 409)
    person = visit.person(form.cleaned_data["person"])
    events = [
        event for each in each_form for event in each.events(form.cleaned_data, person, trip, placed[each.state.id])
    ]
    here = [each.state for each in each_form if each.cleaned_data["what"] != _NOT_YET]
    findings = visit.record([*events, *_released(visit, trip, here)])
    if len(here) == len(out):
        Trip.objects.filter(pk=trip.pk).update(packed={}, over=True)
    visit.tell(_what_follows(each_form), (*findings, *when_doubts(form)))
    return redirect("trip", visit.store.slug, number)


def _meanwhile(rope: str, typed: str) -> str:
    """What is said of a rope that somebody else took back while the form was open; what was typed is shown again."""
    told = _("{rope} was taken back meanwhile by somebody else. Nothing is recorded yet; look, then send again.")
    if not typed:
        return told.format(rope=rope)
    more = _("What you typed of it, to be recorded on its own page: “{typed}”.")
    return f"{told.format(rope=rope)} {more.format(typed=typed)}"


def _released(visit: Visit, trip: Trip, out: Sequence[RopeState]) -> list[BookingReleased]:
    """Back before its last day, a rope is free for others."""
    today = PartialDate.of(visit.today)
    return [
        BookingReleased(rope=rope.id, happened=today, booking=booking.number)
        for rope in out
        for booking in rope.bookings
        if same_trip(booking.trip, trip.name)
    ]


def _what_follows(each_form: Sequence[OneBackFromTrip]) -> str:
    told = sum(each.cleaned_data["left_over_cm"] is not None for each in each_form)
    stay = [each.state.id for each in each_form if each.cleaned_data["what"] == _STAYS]
    said = [_("What happened to the ropes is recorded.")]
    if told:
        said.append(_("What was left over now tells what its pitches take: the next plan goes by it."))
    if stay:
        said.append(_("Left rigged: {ropes}.").format(ropes=", ".join(stay)))
    return " ".join(said)


def _page(
    visit: Visit,
    trip: Trip,
    form: AllBack,
    each_form: Sequence[OneBackFromTrip],
    placed: dict[str, Placed | None],
    status: int = 200,
) -> HttpResponse:
    rows = [(each, placed[each.state.id]) for each in each_form]
    return visit.page(
        "trips/back.html", {"trip": trip, "form": form, "rows": rows, "people": visit.known_names}, status
    )
