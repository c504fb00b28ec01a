"""The plan: every copy of a level where it stands, walls, openings and runs; a designer draws it there."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from trusses.analysis.runs.stood import Design
from trusses.models import Job, Placement, Truss, WallLine
from trusses.permissions import job_or_404, may, one_or_404, require, truss_or_404
from trusses.plan import placing
from trusses.plan.copies import Stands, designs_of, standing
from trusses.plan.forms import NorthForm, PlacementForm, WallForm
from trusses.plan.level import CopyLine, Level, Opening, Wall, draw
from trusses.plan.overlays import Path, drawn_on
from trusses.refusals import Refused

ZOOMS = (("", "to read"), ("whole", "all of it"), ("close", "close"))


@login_required
def plan(request: HttpRequest, job: int) -> HttpResponse:
    return plan_page(request, job_or_404(request.user, job))


def plan_page(request: HttpRequest, building: Job, **told: Any) -> HttpResponse:
    """One level of the plan; `told` brings back what was typed where it was refused."""
    levels = level_names(building)
    level = chosen_level(request, building, levels)
    here = standing(building).get(level, [])
    drawn = level_of(building, level, here, drawn_on(building, level))
    may_draw = may(request.user, placing.VERB, building)
    page = {
        "job": building,
        "level": level,
        "levels": levels,
        "picture": draw(drawn),
        "zoom": request.GET.get("zoom", "") if request.GET.get("zoom", "") in dict(ZOOMS) else "",
        "zooms": ZOOMS,
        "marks": _marks(here),
        "walls": [(line, _length(line.points)) for line in _walls(building, level)],
        "undrawn": [line for line in building.wall_lines.all() if not line.points],
        "may_draw": may_draw,
        "may_ask": may(request.user, "ask for a change", building),
        **(_drawing_forms(building, level) if may_draw else {}),
        **told,
    }
    return render(request, "trusses/plan.html", page, status=422 if told else 200)


def level_names(building: Job) -> list[str]:
    """The levels of the plan, those with the most trusses first."""
    there = standing(building)
    walls = set(building.wall_lines.exclude(level="").values_list("level", flat=True))
    return sorted({*there, *walls}, key=lambda name: (-len(there.get(name, ())), name))


def chosen_level(request: HttpRequest, building: Job, levels: Sequence[str]) -> str:
    wanted = request.POST.get("on") or request.GET.get("level", "")
    if wanted and wanted not in levels and request.method == "GET":
        raise Http404("Not found.")
    return wanted if wanted in levels else levels[0] if levels else ""


def level_of(building: Job, level: str, here: Sequence[Stands], paths: Sequence[Path] = ()) -> Level:
    designs = designs_of({one.sha256 for one in here})
    walls = [Wall(line.label, [(x, y) for x, y in line.points]) for line in _walls(building, level)]
    lines = [_line(building, one, designs[one.sha256]) for one in here]
    return Level(level, walls, lines, paths, building.north_deg)


def _walls(building: Job, level: str) -> list[WallLine]:
    return [line for line in building.wall_lines.all() if line.points and line.level == level]


def _line(building: Job, one: Stands, design: Design) -> CopyLine:
    span = design.right - design.left
    end = (one.x + span, one.y) if one.along == "x" else (one.x, one.y + span)
    openings = [
        Opening(held.centre[0] - design.left - held.size[0] / 2, held.centre[0] - design.left + held.size[0] / 2)
        for held in design.truss.openings
    ]
    stage = one.stage or "no copy yet"
    said = f"{one.name}, {stage}, number {one.order} to be set"
    href = f"{reverse('trusses:mark', args=(building.pk, one.truss))}#copies"
    return CopyLine(one.mark, one.number, one.order, (one.x, one.y), end, one.can_change, said, href, openings)


def _marks(here: Sequence[Stands]) -> list[dict[str, Any]]:
    """Each mark on the level: how many, in which order they are set."""
    found: dict[int, dict[str, Any]] = {}
    for one in here:
        held = found.setdefault(one.truss, {"truss": one.truss, "mark": one.mark, "copies": []})
        held["copies"].append(one)
    for held in found.values():
        orders = [one.order for one in held["copies"]]
        held |= {"count": len(orders), "first": min(orders), "last": max(orders)}
    return sorted(found.values(), key=lambda held: held["first"])


def _length(points: Sequence[Sequence[float]]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def _drawing_forms(building: Job, level: str) -> dict[str, Any]:
    rows = Placement.objects.filter(truss__job=building, level=level, truss__withdrawn_at__isnull=True)
    places = [
        (row, PlacementForm(initial=PlacementForm.said(row), prefix=f"place-{row.pk}"))
        for row in rows.select_related("truss").order_by("truss__mark", "pk")
    ]
    walls = [
        (
            line,
            WallForm(
                initial={"label": line.label, "level": line.level or level, "points": line.points},
                prefix=f"wall-{line.pk}",
            ),
        )
        for line in building.wall_lines.all()
        if line.level in ("", level) or not line.points
    ]
    return {
        "place_forms": places,
        "new_place": PlacementForm(
            initial={"level": level, "direction": "y", "spacing_in": 24, "count": 1}, prefix="new"
        ),
        "trusses": Truss.objects.filter(job=building, current__isnull=False, withdrawn_at__isnull=True).order_by(
            "mark"
        ),
        "wall_forms": walls,
        "new_wall": WallForm(initial={"level": level}, prefix="new-wall"),
        "north": NorthForm(initial={"north_deg": building.north_deg}),
        "snaps": snaps(building, level),
    }


def snaps(building: Job, level: str) -> dict[str, list[float]]:
    """What a tap is drawn to: walls' corners, bearings, and the middles of bays."""
    xs: set[float] = set()
    ys: set[float] = set()
    for line in _walls(building, level):
        xs |= {x for x, _ in line.points}
        ys |= {y for _, y in line.points}
    here = standing(building).get(level, [])
    for along, marks in (("y", xs), ("x", ys)):
        across = sorted({one.x if along == "y" else one.y for one in here if one.along == along})
        marks |= {(a + b) / 2 for a, b in itertools.pairwise(across) if b - a < 60}
    return {"xs": sorted(xs), "ys": sorted(ys)}


@login_required
@require_POST
def set_place(request: HttpRequest, job: int, row: int = 0) -> HttpResponse:
    """A row of places, new or another than it was; or it goes."""
    building = job_or_404(request.user, job)
    require(request.user, placing.VERB, building)
    held = (
        one_or_404(Placement.objects.select_related("truss__job"), request.user, pk=row, truss__job=building)
        if row
        else None
    )
    prefix = f"place-{row}" if row else "new"
    if held and "away" in request.POST:
        return _done(request, building, lambda: placing.take_away(request.user, held), "The place is taken away.", {})
    form = PlacementForm(request.POST, prefix=prefix)
    truss = held.truss if held else truss_or_404(request.user, request.POST.get("truss") or 0, job=job)
    bring = {"open_place": row or "new", "refused_place": form}
    if not form.is_valid():
        return plan_page(request, building, **_typed(building, request, bring))
    said = form.cleaned_data
    return _done(
        request,
        building,
        lambda: placing.place(request.user, truss, held, said),
        f"{truss.mark} stands there now.",
        bring,
        form,
    )


@login_required
@require_POST
def set_wall(request: HttpRequest, job: int, row: int = 0) -> HttpResponse:
    """A wall line drawn, new or another than it was; or it goes."""
    building = job_or_404(request.user, job)
    require(request.user, placing.VERB, building)
    held = one_or_404(WallLine, request.user, pk=row, job=building) if row else None
    if held and "away" in request.POST:
        return _done(request, building, lambda: placing.take_down(request.user, held), f"{held.label} is gone.", {})
    form = WallForm(request.POST, prefix=f"wall-{row}" if row else "new-wall")
    bring = {"open_wall": row or "new", "refused_wall": form}
    if not form.is_valid():
        return plan_page(request, building, **_typed(building, request, bring))
    said = form.cleaned_data
    return _done(
        request,
        building,
        lambda: placing.wall(request.user, building, held, said["label"], said["level"], said["points"]),
        f"{said['label']} is drawn.",
        bring,
        form,
    )


@login_required
@require_POST
def set_north(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    require(request.user, placing.VERB, building)
    form = NorthForm(request.POST)
    if not form.is_valid():
        return plan_page(request, building, north=form)
    degrees = form.cleaned_data["north_deg"]
    return _done(
        request,
        building,
        lambda: placing.turn_north(request.user, building, degrees),
        "North is set.",
        {"north": form},
        form,
    )


def _typed(building: Job, request: HttpRequest, bring: Mapping[str, Any]) -> dict[str, Any]:
    """The page's forms with the refused one in its place."""
    levels = level_names(building)
    page = _drawing_forms(building, chosen_level(request, building, levels))
    for kind, forms_of, new in (("place", "place_forms", "new_place"), ("wall", "wall_forms", "new_wall")):
        opened, form = bring.get(f"open_{kind}"), bring.get(f"refused_{kind}")
        if opened == "new":
            page[new] = form
        elif opened:
            page[forms_of] = [(row, form if row.pk == opened else held) for row, held in page[forms_of]]
    return {**page, **bring}


def _done(
    request: HttpRequest, building: Job, act: Any, says: str, bring: Mapping[str, Any], form: forms.Form | None = None
) -> HttpResponse:
    try:
        act()
    except Refused as trouble:
        if form is None:
            messages.error(request, trouble.says)
        else:
            form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
            return plan_page(request, building, **_typed(building, request, bring))
    else:
        messages.success(request, says)
    on = request.POST.get("on", "")
    return redirect(reverse("trusses:plan", args=(building.pk,)) + (f"?{urlencode({'level': on})}" if on else ""))
