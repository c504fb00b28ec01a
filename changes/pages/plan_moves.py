"""The page on which a designer moves on the plan what an approved passage moves: before, after, one confirmed act."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from changes import workflow
from changes.models import Request
from changes.workflow.on_the_plan import Shift, shifts_of
from trusses.analysis.words.phrases import sentence
from trusses.permissions import one_or_404, require
from trusses.plan.copies import standing
from trusses.plan.level import CopyLine, Level, draw, paper
from trusses.plan.page import level_of
from trusses.plan.placing import VERB
from trusses.plan.shifting import refuse_when_moved
from trusses.variants.moving import rows_of


@login_required
def plan_moves(request: HttpRequest, pk: int) -> HttpResponse:
    """Before and after on the plan; a designer confirms."""
    change = one_or_404(Request.objects.select_related("job"), request.user, pk=pk)
    require(request.user, VERB, change.job)
    page: dict[str, Any] = {"change": change, "job": change.job}
    if request.method == "POST":
        try:
            workflow.move_on_the_plan(request.user, change)
            messages.success(request, "The plan has them there now.")
            return redirect("changes:request", pk=pk)
        except workflow.Conflict as refused:  # another hand moved all of it
            messages.error(request, sentence(refused.says))
            return redirect("changes:request", pk=pk)
        except workflow.Refused as refused:
            page["trouble"] = refused.says
    wanted = shifts_of(change)
    if not wanted:
        raise Http404("Not found.")
    page["shifts"] = [_told(one) for one in wanted]
    return render(request, "changes/plan_moves.html", page, status=409 if "trouble" in page else 200)


def _told(one: Shift) -> dict[str, Any]:
    family, job = one.family, one.ask.on_truss.job
    marks = {truss.mark for truss in family}
    trouble = ""
    try:
        refuse_when_moved([row for truss in family for row in rows_of(truss)], one.stood)
    except workflow.Refused as refused:
        trouble = sentence(refused.says)
    pictures, called = [], dict.fromkeys((*one.moved, *one.out), one.ask.on_truss.mark)
    for level, here in standing(job).items():
        called |= {stands.number: stands.mark for stands in here if stands.mark in marks and stands.number in called}
        if any(stands.mark in marks and stands.number in one.stood for stands in here):
            before = level_of(job, level, here)
            before = _told_apart(before, marks, {*one.moved, *one.out})
            after = replace(before, copies=list(_after(before.copies, marks, one.moved, one.out)))
            scale = min(paper(before).scale, paper(after).scale)
            drawn = [draw(replace(each, scale=scale)) for each in (before, after)]
            pictures.append({"level": level, "before": drawn[0], "after": drawn[1]})
    moved = [(called[number], number, by) for number, by in sorted(one.moved.items())]
    out = [(called[number], number) for number in one.out]
    return {"mark": one.ask.on_truss.mark, "moved": moved, "out": out, "pictures": pictures, "trouble": trouble}


def _told_apart(level: Level, marks: set[str], numbers: set[int]) -> Level:
    """The level with those that move or go drawn heavier, and nothing that leads away."""
    copies = [replace(one, href="", chosen=one.mark in marks and one.number in numbers) for one in level.copies]
    return replace(level, copies=copies)


def _after(
    copies: Iterable[CopyLine], marks: set[str], moved: Mapping[int, float], out: Iterable[int]
) -> Iterable[CopyLine]:
    for one in copies:
        if one.mark not in marks:
            yield one
        elif one.number not in set(out):
            by = moved.get(one.number, 0.0)
            upright = one.start[0] == one.end[0]  # its span runs along y, so that copies step along x
            dx, dy = (by, 0.0) if upright else (0.0, by)
            ends = [(x + dx, y + dy) for x, y in (one.start, one.end)]
            yield replace(one, start=ends[0], end=ends[1])
