"""Numbers with their units, as people on site read them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django import template
from django.forms import BoundField, ChoiceField
from django.utils.html import format_html

from trusses.analysis.words import lengths as units
from trusses.analysis.words import phrases
from trusses.plan.ways import side_of_plan
from trusses.sheets import sheet, sheet_facts
from trusses.words.findings import at_once

register = template.Library()
register.filter(at_once)
_PARTED = re.compile(r"(?<=\d) (?=\d+/\d)| (?=×)")


@register.filter
def feet_inches(inches: float | None) -> str:
    """147.5 → 12'-3 1/2\"; a dash where there is nothing."""
    return "—" if inches is None else units.feet_inches(inches)


@register.filter
def toward(inches: float, ways: str) -> str:
    """A length with its direction in words, of "up down" the second where it is negative: −96 → 8'-0" down."""
    up, down = ways.split()
    return f"{units.feet_inches(abs(inches))} {down if inches < 0 else up}"


@register.filter
def tape_inches(inches: float | None) -> str:
    """147.5 → 147 1/2\"."""
    return "—" if inches is None else units.tape_inches(inches)


@register.filter
def signed_inches(inches: float) -> str:
    """A length with its direction, with a minus sign and no hyphen: −4 1/2\"."""
    return f"{'−' if inches < 0 else '+'}{units.tape_inches(abs(inches))}"


@register.filter
def unbroken(text: str) -> str:
    """Lengths in a text that no line's end may part: 46 1/8" × 30 3/4" breaks at its × alone."""
    return _PARTED.sub("\N{NO-BREAK SPACE}", text)


@register.filter
def sentence(says: object) -> str:
    """What was refused, as it stands by itself."""
    return phrases.sentence(str(says))


@register.filter
def called(members: Iterable[str], names: Mapping[str, str]) -> str:
    """The names of members, as people say them: T1.1 and W2."""
    return " and ".join(names.get(member, member) for member in members)


@register.filter
def panels_of(panels: Iterable[Iterable[str]]) -> str:
    """T1, T2, T3; T4, T5, T6: the members that alike pieces are in the computation."""
    return "; ".join(", ".join(those) for those in panels)


@register.filter
def understood(field: BoundField) -> str:
    """How a length that was typed was read; empty where it couldn't be, is no length, or was typed just so."""
    read = "" if field.errors else getattr(field.form, "understood", {}).get(field.name, "")
    return "" if read == str(field.value() or "").strip() else read


@register.filter
def missing(field: BoundField) -> str:
    """What is said of a field that is left empty; nothing where it may be, or where something is always chosen."""
    asked = field.field
    choices: Any = asked.choices if isinstance(asked, ChoiceField) else [("", "")]
    if not asked.required or all(value != "" for value, _ in choices):
        return ""
    return str(asked.error_messages["required"])


@register.filter
def case_words(case: str, document: dict[str, Any]) -> str:
    """snow/left → Snow, left, of a truss document."""
    return sheet_facts.case_words(case, document)


@register.filter
def whole(name: str) -> str:
    """The name of a mark, which no line's end parts at its hyphen: R2-b."""
    return format_html('<span class="nowrap">{}</span>', name) if "-" in name else name


@register.filter
def plan_side(side: str, north_deg: float | None) -> str:
    """bottom → the south (the bottom of the plan)."""
    return side_of_plan(side, north_deg)


@register.filter
def names_elsewhere(document: Mapping[str, Any]) -> str:
    """The numbers of openings that the names on this drawing leave out, such as 1–3."""
    return sheet.names_elsewhere(one["id"] for one in document.get("openings", ()))


@register.filter
def abs_in(inches: float) -> float:
    """A length without its direction."""
    return abs(inches)
