"""Labels for the copies of a mark: which truss it is and which of its ends is marked, several on a printed page.

A label is no leave to cut, build or set; that is the sheet's to say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.copies import harmed, old_ones
from trusses.copies.old_ones import Old
from trusses.designs import design_of
from trusses.models import Copy, Stage, Truss
from trusses.permissions import truss_or_404
from trusses.plan.copies import Stands, standing
from trusses.sheets.sheet import HEAVY
from trusses.sheets.tape import marked_bearing


@dataclass(frozen=True)
class Label:
    """One copy's. `revision` is what it is cut or built to, or else released to; None where it is neither; `made` is
    what has been done to that, empty before the saw. `stays`: a designer said that it stays by a superseded one.
    `toward` is the side of the plan toward which its marked end goes, `level` that level; both empty where it has no
    place in plan."""

    mark: str
    number: int
    came_from: str
    revision: int | None
    made: str
    superseded: bool
    stays: bool
    toward: str = ""
    level: str = ""
    of: str = ""
    """The mark of that revision, where it is another's."""
    off: bool = False
    """It is damaged."""
    repaired: bool = False
    old: Old | None = None
    """An old truss that bears the same number and isn't used."""


def labels(truss: Truss) -> list[Label]:
    """Of all copies, by their numbers."""
    there = {one.copy: one for level in standing(truss.job).values() for one in level if one.truss == truss.pk}
    copies = truss.copies.select_related("released_to__truss", "built_to__truss").defer(
        *HEAVY, "released_to__document", "released_to__analysis"
    )
    old = {number: one for one in old_ones.there(truss) for number in one.copies}
    rows = list(copies.order_by("number"))
    off, mended = ({n for one in those for n in one.copies} for those in (harmed.off(rows), harmed.repaired(rows)))
    said = {copy: {"off": copy.number in off, "repaired": copy.number in mended} for copy in rows}
    return [_label(truss, copy, there, old=old.get(copy.number), **said[copy]) for copy in rows]


def _label(truss: Truss, copy: Copy, there: Mapping[int | None, Stands], **said: Any) -> Label:
    revision = copy.built_to or copy.released_to
    stands = there.get(copy.pk)
    place = (stands.marked_end, stands.level) if stands else ("", "")
    came_from = truss.variant_of.mark if truss.variant_of else ""
    superseded = revision is not None and revision.pk != truss.current_id
    number = None if revision is None else revision.number
    said["of"] = revision.truss.mark if revision is not None and revision.truss_id != truss.pk else ""
    made = "" if copy.built_to is None else "Cut" if copy.stage == Stage.CUT else "Built"
    stays = copy.earlier == Copy.Earlier.STAYS and copy.earlier_for_id == truss.current_id
    return Label(truss.mark, copy.number, came_from, number, made, superseded, stays, *place, **said)


@login_required
def page(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    mark = truss_or_404(request.user, truss, job=job)
    told = {
        "job": mark.job,
        "truss": mark,
        "labels": labels(mark),
        "marked": marked_bearing(design_of(mark.current.document)).joint,
    }
    return render(request, "trusses/labels.html", told)
