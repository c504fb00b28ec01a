"""What is open on a mark, for the set's own pages, which know nothing of requests."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django import template

from changes.models import Ask, Hold
from changes.workflow.waiting import Waiting, kept_by_others, waiting
from trusses.analysis.words.phrases import copies as told_copies
from trusses.analysis.words.runs import above, at_height
from trusses.models import Truss
from trusses.words import runs
from trusses.words.copies import letter_runs

register = template.Library()

AFTER_A_SEAL = "Kept from the saw or from being set by requests, sealed or not"


@register.inclusion_tag("changes/_waiting.html")
def waiting_on(truss: Truss) -> dict[str, Any]:
    """The open requests and holds of one mark, in full; nothing where nothing is open."""
    return {"truss": truss, "open": waiting([truss]).get(truss.pk)}


@register.inclusion_tag("changes/_kept.html")
def kept_after_the_seal(trusses: Truss | Sequence[Truss]) -> dict[str, Any]:
    """What requests keep from the saw and from being set of marks, whatever seal their revisions get."""
    return {"kept": kept_by_others([trusses] if isinstance(trusses, Truss) else trusses), "heading": AFTER_A_SEAL}


@register.simple_tag
def waiting_on_all(lines: Iterable[dict[str, Any]]) -> dict[int, Waiting]:
    """Of a list of `{"truss": …}`, for `of_mark`."""
    return waiting([line["truss"] for line in lines])


@register.simple_tag
def held_for(truss: Truss, holds: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each hold that a refusal names, with its row; one query for all."""
    named = {one["request"]: one for one in holds}
    rows = Hold.objects.filter(truss=truss, request__in=named).select_related("request").order_by("pk")
    return [{**named[hold.request_id], "hold": hold} for hold in rows]


@register.filter
def of_mark(found: dict[int, Waiting], truss: Truss) -> Waiting | None:
    return found.get(truss.pk)


@register.filter
def copy_numbers(copies: Iterable[Any]) -> str:
    """1–3, 5."""
    return runs(copy.number for copy in copies)


@register.filter
def run_height(ask: Ask) -> str:
    """Of a run's ask, how high its middle is in these trusses, from where it was typed: 9'-0" above the wall plate."""
    if ask.run is None or not (high := sorted(one["height_in"] for one in (ask.wish or {}).get("crossings", ()))):
        return ""
    counts_from = above(ask.run.wish.get("datum", "bearing"), "floor")
    if high[-1] - high[0] < 1 / 32:
        return at_height(high[0], counts_from)
    return f"from {at_height(high[0], counts_from)} to {at_height(high[-1], counts_from)}"


@register.filter
def number_runs(numbers: Iterable[int]) -> str:
    """1–3, 5."""
    return runs(numbers)


register.filter(letter_runs)


@register.filter
def copies_called(numbers: Iterable[int]) -> str:
    """copies 1 and 3."""
    return told_copies(list(numbers))
