"""Numbers with their units, as people on site read them."""

from __future__ import annotations

from typing import Any

from django import template
from django.forms import BoundField

from trusses.analysis.format import lengths as units
from trusses.sheets import sheet_facts

register = template.Library()


@register.filter
def feet_inches(inches: float | None) -> str:
    """147.5 → 12'-3 1/2\"; a dash where there is nothing."""
    return "–" if inches is None else units.feet_inches(inches)


@register.filter
def tape_inches(inches: float | None) -> str:
    """147.5 → 147 1/2\"."""
    return "–" if inches is None else units.tape_inches(inches)


@register.filter
def pounds(force: float | None) -> str:
    """1422.4 → 1,422 lb."""
    return "–" if force is None else f"{force:,.0f} lb"


@register.filter
def understood(field: BoundField) -> str:
    """How a length that was typed was read; empty where it couldn't be, or is no length."""
    return "" if field.errors else getattr(field.form, "understood", {}).get(field.name, "")


@register.filter
def case_words(case: str, document: dict[str, Any]) -> str:
    """snow/left → Snow, left, of a truss document."""
    return sheet_facts.case_words(case, document)
