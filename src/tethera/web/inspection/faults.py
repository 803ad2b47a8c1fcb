"""What was found along a rope: the rows of the form, the words of the record, the line they are drawn on."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera import labels
from tethera.basics import Finding, show_metres
from tethera.store import RopeState, pieces_without
from tethera.web.paper.fields import PlaceField
from tethera.web.paper.forms import in_units

#: In the trade's words; kept as they are said here.
_WHAT = (
    ("flat spot", gettext_lazy("flat spot")),
    ("soft", gettext_lazy("soft")),
    ("stiff", gettext_lazy("stiff")),
    ("glazed", gettext_lazy("glazed")),
    ("cut in the sheath", gettext_lazy("cut in the sheath")),
    ("worn sheath", gettext_lazy("worn or furry sheath")),
    ("core shows", gettext_lazy("core shows")),
    ("discoloured", gettext_lazy("discoloured")),
    ("other", gettext_lazy("other, in words")),
)
#: Rows shown from the start, of which those below the first empty one are folded away; and at most.
FEWEST, MOST = 12, 40


@dataclass(frozen=True)
class Fault:
    """One thing found: what, at which place [cm] from the end begun with, or None along the whole rope."""

    what: str
    at_cm: int | None
    words: str = ""

    def spoken(self) -> str:
        """As it stands in the record; places in metres, whatever unit they were typed in."""
        what = self.words if self.what == "other" and self.words else self.what
        more = f" ({self.words})" if self.words and self.words != what else ""
        return f"{what}{'' if self.at_cm is None else f' at {show_metres(self.at_cm)} m'}{more}"


class FaultForm(forms.Form):
    """One row: at so many metres, this."""

    at = PlaceField(
        label=gettext_lazy("At, metres"), required=False,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 8, "placeholder": " "}),
    )  # fmt: skip
    what = forms.ChoiceField(label=gettext_lazy("What"), required=False, choices=[("", "–"), *_WHAT])
    words = forms.CharField(
        label=gettext_lazy("In words"), required=False, max_length=300,
        widget=forms.TextInput(attrs={"autocomplete": "off", "placeholder": " "}),
    )  # fmt: skip

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_units(self, units)
        if units == "ft":
            self.fields["at"].label = _("At, feet")

    def clean(self) -> dict[str, Any]:
        """A place needs something at it, and what is only called other needs words."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        if told.get("at") is not None and not told.get("what") and not told.get("words"):
            self.add_error("what", _("Say what is there."))
        if told.get("what") == "other" and not told.get("words"):
            self.add_error("words", _("Say it in your own words."))
        return told

    def fault(self) -> Fault | None:
        """What the row says; None where it says nothing that can be read."""
        told = self.cleaned_data
        what, words = told.get("what") or "", (told.get("words") or "").strip()
        if not what and not words:
            return None
        return Fault(what or "other", told.get("at"), words)


def rows_of(told: Any, units: str, *, more: bool = False) -> list[FaultForm]:
    """The rows of the form that was sent, one more where it was asked for, or the first empty ones."""
    if told is None:
        return [FaultForm(prefix=f"f{at}", units=units) for at in range(FEWEST)]
    sent = str(told.get("rows", ""))
    count = min(int(sent) if sent.isdecimal() and len(sent) < 4 else FEWEST, MOST - 1)
    rows = [FaultForm(told, prefix=f"f{at}", units=units) for at in range(count)]
    return [*rows, FaultForm(prefix=f"f{count}", units=units)] if more else rows


def faults_of(rows: Sequence[FaultForm]) -> list[Fault]:
    """What was found, as far as it can be read, the places in order along the rope and the rest after them."""
    found = [fault for row in rows if row.is_bound and row.is_valid() and (fault := row.fault())]
    return sorted(found, key=lambda each: (each.at_cm is None, each.at_cm or 0))


@dataclass(frozen=True)
class Cut:
    """What a cut at one place, or at all of them, would leave [cm], and the address of the form that records it."""

    where: str
    places: int
    pieces: tuple[int, ...]
    query: str


@dataclass(frozen=True)
class Line:
    """The rope with what was found: drawn wide and narrow, numbered, and what lies beyond its end."""

    faults: tuple[tuple[int, Fault], ...]
    wide: SafeString
    narrow: SafeString
    beyond: tuple[Fault, ...]
    cuts: tuple[Cut, ...]


def line_of(state: RopeState, faults: Sequence[Fault]) -> Line:
    """Draw the faults along a rope, and propose where to cut it; a rope of unknown length is not drawn."""
    numbered = tuple(enumerate(faults, 1))
    if state.length_cm is None:
        return Line(numbered, SafeString(), SafeString(), (), ())
    facts = [
        {"number": number, "at_cm": each.at_cm, "what": each.what}
        for number, each in numbered
        if each.at_cm is not None
    ]
    wide, narrow = (
        mark_safe(labels.fault_line_svg(state.length_cm, facts, rope=state.id, wide=px, name=f"faults-{px}"))
        for px in (640, 340)
    )
    beyond = tuple(each for each in faults if each.at_cm is not None and each.at_cm > state.length_cm)
    return Line(numbered, wide, narrow, beyond, cuts_of(state, faults))


def cuts_of(state: RopeState, faults: Sequence[Fault]) -> tuple[Cut, ...]:
    """A cut at each place where something was found, and one at all of them where there are several."""
    placed = [each for each in faults if each.at_cm is not None and each.at_cm <= (state.length_cm or 0)]
    cuts = [_cut(state, [each]) for each in placed]
    return (*cuts, _cut(state, placed)) if len({each.at_cm for each in placed}) > 1 else tuple(cuts[:1])


def _cut(state: RopeState, faults: Sequence[Fault]) -> Cut:
    pieces = pieces_without(state.length_cm or 0, [each.at_cm for each in faults if each.at_cm is not None])
    places = [f"{show_metres(each.at_cm or 0)}\u202fm" for each in faults]
    where = _("{some} and {last}").format(some=", ".join(places[:-1]), last=places[-1]) if places[1:] else places[0]
    written = [f"{show_metres(cm)} m" for cm in pieces]
    told = {
        "piece_1": written[0] if written else "",
        "piece_2": written[1] if len(written) > 1 else "",
        "more": "\n".join(written[2:]),
        "reason": "; ".join(each.spoken() for each in faults),
    }
    return Cut(where, len(places), pieces, urlencode({name: value for name, value in told.items() if value}))


def beyond_the_end(state: RopeState, faults: Sequence[Fault]) -> list[Finding]:
    """A doubt for each place that lies beyond the rope's end."""
    return [
        Finding(
            "beyond-its-end",
            f"rope {state.id}",
            _("“{fault}” lies beyond its {length} m.").format(fault=each.spoken(), length=show_metres(state.length_cm)),
            _("Check the place, or measure the rope again."),
        )
        for each in faults
        if state.length_cm is not None and each.at_cm is not None and each.at_cm > state.length_cm
    ]


def fit_with_faults(state: RopeState, faults: Sequence[Fault], outcome: str) -> list[Finding]:
    """A doubt where a rope is said to be fit although something was named along it: both are recorded."""
    if outcome != "fit" or not faults:
        return []
    named = "; ".join(each.spoken() for each in faults)
    return [
        Finding(
            "fit-with-faults",
            f"rope {state.id}",
            _("“Fit to go back” stands beside what was found: {faults}.").format(faults=named),
            _("If that speaks against use, say “not fit” or “undecided”; else write down why it does not."),
        )
    ]
