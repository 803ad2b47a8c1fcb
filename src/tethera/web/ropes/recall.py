"""A maker calls ropes back: every rope and piece of the batch, who has each, and all of them set aside at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from django import forms
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from tethera.store import RopeState, SetAside, by_number
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import say_plainly, when_doubts
from tethera.web.paper.offered import said_of
from tethera.web.ropes.list_many import together
from tethera.web.ropes.list_rows import Row

#: Numbers named one by one; of more only how many.
_NAMED = 24
_TEXTS = ("maker", "product", "batch")
#: What is read for one another on a worn inner tape, or typed for one another.
_ALIKE = str.maketrans("OQILSZB", "0011528")
#: So much of two words must be the same, from 0 to 1, where nothing is found by what was typed.
_NEAR = 0.75


class CalledBackForm(forms.Form):
    """What the maker's notice names; what it does not name stays empty."""

    maker = forms.CharField(label=gettext_lazy("Maker"), required=False, max_length=200)
    product = forms.CharField(label=gettext_lazy("Product"), required=False, max_length=200)
    batch = forms.CharField(label=gettext_lazy("Batch or serial"), required=False, max_length=200)
    year_made = forms.IntegerField(
        label=gettext_lazy("Made in"),
        required=False,
        min_value=1900,
        max_value=2200,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "size": 6}),
        help_text=gettext_lazy("Four digits, as 2021."),
    )

    def __init__(self, address: QueryDict | None, *, ropes: Sequence[RopeState]) -> None:
        super().__init__(address)
        known = said_of(ropes, (*_TEXTS, "year_made"))
        known["year_made"].reverse()
        self.suggestions = {name: words for name, words in known.items() if words}
        for name in self.suggestions:
            self.fields[name].widget.attrs |= {"list": f"known_{name}", "autocomplete": "off"}
        say_plainly(self)

    def named(self) -> dict[str, Any]:
        """What the notice names."""
        return {name: value for name, value in self.cleaned_data.items() if value not in ("", None)}


class SetAsideAllForm(forms.Form):
    """Why, for all of them, and since when."""

    reason = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=500,
        help_text=gettext_lazy("What the notice is called and what it says, so that whoever clears them finds it."),
    )
    happened = WhenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_plainly(self)


@dataclass(frozen=True)
class Called:
    """A rope the notice speaks of; `known_as` is an older rope it was cut from."""

    row: Row
    cut_from: tuple[str, ...]

    @property
    def away(self) -> bool:
        """Whether somebody must be called, or the cave be visited."""
        return self.row.state.state in ("out", "rigged")


@page(May.READ, post=May.KEEP)
def recall(visit: Visit) -> HttpResponse:
    """Find them, then set them aside."""
    asked = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    notice = CalledBackForm(asked if any(asked.get(name) for name in CalledBackForm.base_fields) else None,
                            ropes=visit.ropes)  # fmt: skip
    found = _called(visit, notice) if notice.is_valid() and notice.named() else []
    if visit.request.method != "POST":
        form = SetAsideAllForm(initial={"reason": _reason(notice)})
        return _page(visit, notice, form, found)
    form = SetAsideAllForm(asked)
    if not form.is_valid() or not found:
        return _page(visit, notice, form, found, status=400)
    states = [each.row.state for each in found]
    findings = visit.record([SetAside(rope=each.id, **form.cleaned_data) for each in states])
    told = ngettext("%(n)d rope is set aside.", "%(n)d ropes are set aside.", len(states)) % {"n": len(states)}
    away = [each.row.id for each in found if each.away]
    if away:
        told += " " + _("Not in the store, call for them: {ropes}.").format(ropes=", ".join(away))
    visit.tell(told, (*together(findings), *when_doubts(form)))
    query = QueryDict(mutable=True)
    query.update({name: str(value) for name, value in notice.named().items()})
    return HttpResponseRedirect(f"{reverse('recall', args=[visit.store.slug])}?{query.urlencode()}")


def _called(visit: Visit, notice: CalledBackForm) -> list[Called]:
    """The ropes of the notice: first those for which somebody must be called."""
    numbers = visit.register.recall(**notice.named(), on=visit.today)
    rows = [Row(visit.rope(each), visit.names, visit.today) for each in numbers]
    called = [Called(row, visit.register.lineage(row.id, visit.today)[:-1]) for row in rows]
    return sorted(called, key=lambda each: not each.away)


def _perhaps(visit: Visit, notice: CalledBackForm, found: Sequence[Called]) -> list[str]:
    """Ropes that the notice may speak of: what it names is not known of them, and the rest fits."""
    named, there = notice.named(), {each.row.id for each in found}
    by_known: dict[frozenset[str], list[str]] = {}
    for rope in visit.ropes:
        known = frozenset(name for name in named if getattr(rope, name))
        if rope.retired is None and rope.id not in there and len(known) < len(named):
            by_known.setdefault(known, []).append(rope.id)
    perhaps: list[str] = []
    for known, ropes in by_known.items():
        alike = visit.register.recall(**{name: named[name] for name in known}, on=visit.today) if known else ropes
        perhaps += [each for each in ropes if each in set(alike)]
    return sorted(perhaps, key=by_number)


@dataclass(frozen=True)
class Near:
    """What the store has instead of a word of the notice: in which field, how many ropes, and where it is asked."""

    field: str
    word: str
    ropes: int
    query: str


def _near(visit: Visit, notice: CalledBackForm, found: Sequence[Called]) -> Iterator[Near]:
    """Words of the store nearly the same as one of the notice, where with them ropes are found that are not shown.

    Letters read for figures always; other differences only where nothing was found.
    """
    named, there = notice.named(), {each.row.id for each in found}
    for name in (each for each in _TEXTS if each in named):
        for word in notice.suggestions.get(name, ()):
            if _plain(word) == _plain(named[name]) or not _alike(word, named[name], close=not found):
                continue
            asked = {**named, name: word}
            ropes = [each for each in visit.register.recall(**asked, on=visit.today) if each not in there]
            if ropes:
                query = QueryDict(mutable=True)
                query.update({field: str(value) for field, value in asked.items()})
                yield Near(str(notice.fields[name].label), word, len(ropes), query.urlencode())


def _plain(word: str) -> str:
    return "".join(word.split()).upper()


def _alike(one: str, other: str, *, close: bool) -> bool:
    a, b = ("".join(c for c in _plain(word) if c.isalnum()).translate(_ALIKE) for word in (one, other))
    return bool(a) and (a == b or (close and SequenceMatcher(None, a, b).ratio() >= _NEAR))


def _reason(notice: CalledBackForm) -> str:
    """A beginning for the reason, from what the notice names."""
    if not notice.is_bound or not notice.is_valid() or not notice.named():
        return ""
    return _("Maker's notice: {what}").format(what=" ".join(str(each) for each in notice.named().values()))


def _page(
    visit: Visit, notice: CalledBackForm, form: SetAsideAllForm, found: Sequence[Called], status: int = 200
) -> HttpResponse:
    asked = notice.is_bound and notice.is_valid() and bool(notice.named())
    perhaps = _perhaps(visit, notice, found) if asked else []
    told = {
        "notice": notice,
        "form": form,
        "found": found,
        "asked": asked,
        "near": list(_near(visit, notice, found))[:_NAMED] if asked else [],
        "perhaps": perhaps[:_NAMED],
        "perhaps_more": max(0, len(perhaps) - _NAMED),
        "away": [each for each in found if each.away],
        "open": [each for each in found if each.row.state.state != "set aside"],
        "button": ngettext("Set aside %(n)d rope", "Set aside all %(n)d ropes", len(found)) % {"n": len(found)},
    }
    return visit.page("ropes/recall.html", told, status)
