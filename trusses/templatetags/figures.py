"""Figures as a page writes them: each with its unit, the minus sign a real one, nothing where there is nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from django import template

from trusses.analysis.words import checks, phrases
from trusses.analysis.words.lengths import feet_inches

register = template.Library()
NOTHING = "—"


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return None
    return float(value)


@register.filter
def feet(value: object) -> str:
    """Inches as feet, inches and sixteenths: 12'-3 1/2". What would round to nothing says so."""
    number = _number(value)
    if number is None:
        return NOTHING
    return 'less than 1/16"' if 0 < abs(number) < 1 / 32 else feet_inches(number)


@register.filter
def pounds(value: object) -> str:
    number = _number(value)
    return NOTHING if number is None else phrases.pounds(number)


@register.filter
def signed_pounds(value: object) -> str:
    number = _number(value)
    if number is None:
        return NOTHING
    return "0 lb" if abs(number) < 0.5 else f"{number:+,.0f} lb".replace("-", "−")


@register.filter
def decimal_inches(value: object) -> str:
    number = _number(value)
    return NOTHING if number is None else f"{number:.2f} in.".replace("-", "−")


@register.filter
def percent(value: object) -> str:
    """A ratio of demand to capacity in percent of what is allowed; the per cent sign is its unit."""
    number = _number(value)
    return NOTHING if number is None else f"{100 * number:,.0f}%"


@register.filter
def worst(analysis: Mapping[str, Any]) -> str:
    """The worst ratio of an analysis document in percent of what is allowed, with what happens there."""
    says = percent(analysis["worst_ratio"])
    return f"{says} (it buckles)" if checks.worst_buckles(analysis) else says


@register.filter
def rule(check: Mapping[str, Any]) -> str:
    """A check's rule where its ratio is told, with what happens there."""
    return checks.rule(check)


@register.filter
def board_feet(value: object) -> str:
    number = _number(value)
    return NOTHING if number is None else f"{number:,.1f} bd ft"


@register.filter
def more_money(price: Any) -> str:
    """What a change costs more or less than today's truss, by a `pricing.Price`: $12.40 more."""
    if price is None or price.more is None:
        return NOTHING
    return (
        f"{price.currency}{abs(price.more):,.2f} {'more' if price.more > 0 else 'less'}" if price.more else "as today"
    )


@register.filter
def force(value: object) -> str:
    """An axial force in words: 1,240 lb tension."""
    number = _number(value)
    if number is None:
        return NOTHING
    if abs(number) < 0.5:
        return "0 lb"
    return f"{abs(number):,.0f} lb {'tension' if number > 0 else 'compression'}"
