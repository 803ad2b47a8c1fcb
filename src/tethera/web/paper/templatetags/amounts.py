"""Money, shares and numbers as a sentence says them."""

import math

from django import template
from django.utils.translation import gettext as _

register = template.Library()


@register.filter
def in_pounds(pence: int | None) -> str:
    """Money: whole pounds where there are no pence.

    >>> in_pounds(31000), in_pounds(185), in_pounds(-250), in_pounds(None)
    ('£310', '£1.85', '−£2.50', '–')
    """
    if pence is None:
        return "–"
    return f"{'−' if pence < 0 else ''}£{abs(pence) / 100:,.2f}".removesuffix(".00")


@register.filter
def whole_pounds(pence: int) -> str:
    """Money of which only about so much is known.

    >>> whole_pounds(4081)
    '£41'
    """
    return in_pounds(round(pence / 100) * 100)


@register.filter
def thousands(number: int) -> str:
    """A whole number as it is written in words.

    >>> thousands(20000)
    '20,000'
    """
    return f"{number:,}"


@register.simple_tag
def pounds(pence: int | None) -> str:
    """Money, as in_pounds."""
    return in_pounds(pence)


@register.filter
def percent(share: float | None) -> str:
    """How sure: rounded down, and never all of it, however many draws say so.

    >>> percent(0.95), percent(0.9987), percent(1.0), percent(0.0), percent(0.043)
    ('95 %', '99.8 %', 'over 99.9 %', '0 %', '4 %')
    """
    if share is None:
        return "–"
    if share > 0.999:
        return _("over 99.9 %")
    tenths = math.floor(share * 1000 + 1e-9)
    return f"{tenths / 10:.1f} %".replace(".0 %", " %") if tenths >= 990 else f"{tenths // 10} %"


@register.filter
def as_loss(share: float) -> str:
    """A share of a length that is lost, to a tenth of a per cent.

    >>> as_loss(0.1034), as_loss(-0.002)
    ('10.3 %', '−0.2 %')
    """
    return f"{share * 100:.1f} %".replace("-", "−")


@register.simple_tag
def loss(share: float) -> str:
    """A share of a length that is lost, as as_loss."""
    return as_loss(share)


@register.filter
def percent_of(share: float) -> str:
    """A share that may be more than all, rounded up: what a load is of what held it.

    >>> percent_of(0.301), percent_of(1.2)
    ('31 %', '120 %')
    """
    return f"{math.ceil(share * 100 - 1e-9)} %"


@register.filter
def more_or_less(share: float) -> str:
    """A difference as a share, in words.

    >>> more_or_less(0.02), more_or_less(-0.02)
    ('2 % more', '2 % less')
    """
    words = _("{n} % less") if share < 0 else _("{n} % more")
    return words.format(n=f"{abs(share) * 100:g}")
