"""How things are shown: a rope length in its capsule, a depth with its arrow, a state by sign and word."""

import functools
import re
import secrets
from typing import Any

from django import template
from django.forms import BoundField
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from tethera.store import RopeState, length_band_cm
from tethera.web.accounts.models import Account
from tethera.web.paper.shown import day, kind, lasting, moment, shown_days, shown_length, since

register = template.Library()
register.filter("until", shown_days)
for shown in (kind, day, moment, since, lasting):
    register.filter(shown)
#: A doubt about a length that is smaller than this is not worth a reader's time [cm].
_WORTH_SAYING_CM = 50


def _units(context: Any) -> str:
    user = getattr(context.get("request"), "user", None)
    return user.units if isinstance(user, Account) else "m"


@register.simple_tag(takes_context=True)
def length(context: Any, cm: int | None, column: bool = False) -> SafeString:
    """A rope length, always in its capsule; in a `column` its decimal point stands under the others."""
    return _capsule(shown_length(cm, _units(context)), column)


def _capsule(text: str, column: bool = False) -> SafeString:
    places = len(text.split("\u202f")[0].partition(".")[2])
    after = f" places-{places}" if column and text.endswith("m") else ""
    return format_html('<span class="capsule{}">{}</span>', after, text)


#: A length as a finding writes it; depths never stand in one, and what is "at 12.4 m" is a place, not a length.
_LENGTH_SAID = re.compile(r"(?<!\bat )(?<![\d.,])(\d+(?:\.\d+)?)[ \u202f]m\b")


@register.simple_tag(takes_context=True)
def said(context: Any, message: str) -> SafeString:
    """A finding's words, each rope length in them in its capsule.

    >>> said({}, "Its mark says 63 m but it has 54.47 m.")
    'Its mark says <span class="capsule">63\u202fm</span> but it has <span class="capsule">54.47\u202fm</span>.'
    """
    units = _units(context)
    told = _LENGTH_SAID.split(str(message))
    shown = (
        _capsule(shown_length(round(float(part) * 100), units)) if place % 2 else part
        for place, part in enumerate(told)
    )
    return format_html_join("", "{}", ((each,) for each in shown))


@register.simple_tag(takes_context=True)
def metres(context: Any, cm: int | None) -> str:
    """A total of metres in running text, whole: not one rope's length, so without the capsule and its centimetres."""
    return shown_length(None if cm is None else cm // 100 * 100, _units(context))


@register.simple_tag(takes_context=True)
def band(context: Any, state: RopeState, column: bool = False) -> SafeString:
    """A rope's length with its doubt, where it has one worth saying; `column` as for a length."""
    capsule = length(context, state.length_cm, column)
    if state.length_cm is None or state.known_by == "measured":
        return capsule
    low_cm, high_cm = length_band_cm(state.length_cm, state.known_by)
    if high_cm - state.length_cm < _WORTH_SAYING_CM:
        return capsule
    low, high = (shown_length(cm, _units(context)) for cm in (low_cm, high_cm))
    return format_html('{} <span class="doubtful">({} {} {})</span>', capsule, low, _("to"), high)


@register.simple_tag(takes_context=True)
def along(context: Any, cm: int | None) -> str:
    """A place along a reel, or what is reckoned of a length: no rope's own length, so without the capsule."""
    return shown_length(cm, _units(context))


@register.simple_tag
def depth(m: float | None) -> SafeString:
    """A depth, always with its arrow."""
    return format_html('<span class="depth">↓\u202f{}\u202fm</span>', "?" if m is None else f"{m:g}")


@register.simple_tag(takes_context=True)
def rope(context: Any, number: str) -> SafeString:
    """A rope's number, leading to its page."""
    address = reverse("rope", args=[context["store"].slug, number])
    return format_html('<a class="rope" href="{}">{}</a>', address, number)


#: The words a translator finds for states.
_STATES = tuple(map(gettext_noop, ("ready", "in preparation", "out", "rigged", "set aside", "missing", "retired")))


@functools.cache
def _sign(state: str) -> SafeString:
    from tethera import labels

    return mark_safe(labels.state_sign_svg(state))


@register.simple_tag
def state(name: str | RopeState) -> SafeString:
    """A state: its sign and its word."""
    word = name.state if isinstance(name, RopeState) else name
    return format_html('<span class="state state-{}">{} {}</span>', word.replace(" ", "-"), _sign(word), _(word))


@register.simple_tag
def once() -> SafeString:
    """A token that makes a form sent twice count once."""
    return format_html('<input type="hidden" name="once" value="{}">', secrets.token_urlsafe(16))


@register.simple_tag
def field(bound: BoundField, hint: str = "") -> SafeString:
    """A form field: its label above, help and error beside it, read out with it."""
    widget, name = bound.field.widget, bound.auto_id
    told = [f"{name}_help"] if bound.help_text or hint else []
    told += [f"{name}_error"] if bound.errors else []
    attrs: dict[str, str | bool] = {"aria-describedby": " ".join(told)} if told else {}
    if bound.errors:
        attrs["aria-invalid"] = "true"
        # Whoever sent it is brought to the first field that is wrong, however far down it stands.
        if bound.name == next((name for name in bound.form.fields if name in bound.form.errors), None):
            attrs["autofocus"] = True
    # What is missing is said beside the field in our own words, not by the browser in its.
    bound.form.use_required_attribute = False
    if bound.field.required and getattr(widget, "input_type", "") not in ("radio", "checkbox"):
        attrs["aria-required"] = "true"
    help_text = format_html('<span class="help" id="{}_help">{}</span>', name, bound.help_text or hint)
    errors = format_html(
        '<span class="error" id="{}_error">{}</span>', name, format_html_join(" ", "{}", ((e,) for e in bound.errors))
    )
    is_tick = getattr(widget, "input_type", "") == "checkbox" and not getattr(widget, "allow_multiple_selected", False)
    shape = '<p class="field tick">{3} {1}{2}{0}</p>' if is_tick else '<p class="field">{1} {3} {2}{0}</p>'
    if getattr(widget, "input_type", "") in ("radio", "checkbox") and not is_tick:
        shape = '<fieldset class="field choices"><legend>{1}</legend> {3} {2}{0}</fieldset>'
        label = format_html("{}", bound.label)
    else:
        label = format_html('<label for="{}">{}</label>', bound.id_for_label, bound.label)
    help_shown = help_text if bound.help_text or hint else ""
    return format_html(shape, errors if bound.errors else "", label, help_shown, bound.as_widget(attrs=attrs))


@register.simple_tag
def house_mark() -> SafeString:
    """The mark: three ticks across a line."""
    from tethera import labels

    return mark_safe(labels.mark_svg())


@register.filter
def get(mapping: Any, key: Any) -> Any:
    """A value of a mapping by a key that is itself a value."""
    return mapping.get(key)


@register.simple_tag(takes_context=True)
def person(context: Any, key: str | None) -> str:
    """What to call a person of the log."""
    return str(context["visit"].name(key)) if key else ""
