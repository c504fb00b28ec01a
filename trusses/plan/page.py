"""The plan: every copy of a level where it stands, walls, openings and runs; a designer draws it there."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import prefetch_related_objects
from django.db.models.fields.json import KeyTextTransform
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from trusses import kept_drawings
from trusses.analysis.runs.stood import Design
from trusses.analysis.words.phrases import as_counted, sentence
from trusses.copies import harmed
from trusses.copies.words import by_stage, to_revision
from trusses.forms import number_of
from trusses.models import Copy, Job, Placement, Truss, WallLine
from trusses.permissions import job_or_404, may, one_or_404, require, truss_or_404
from trusses.plan import on_walls, placing, shown
from trusses.plan.copies import Stands, designs_of, standing
from trusses.plan.forms import NorthForm, PlacementForm, WallForm
from trusses.plan.level import CopyLine, Level, Opening, Wall
from trusses.plan.overlays import Path, drawn_on
from trusses.refusals import Refused
from trusses.sealing.seals import Seal, SealState, seal_state, seals_of
from trusses.words import runs

Seals = Mapping[int, Seal]
"""By the revision that they are of."""
ZOOMS = (("", "To read"), ("whole", "All of it"), ("close", "Close up"))


@login_required
def plan(request: HttpRequest, job: int) -> HttpResponse:
    return plan_page(request, job_or_404(request.user, job))


def plan_page(request: HttpRequest, building: Job, **told: Any) -> HttpResponse:
    """One level of the plan; `told` brings back what was typed where it was refused."""
    here, may_draw = told_of(request, building), may(request.user, placing.VERB, building)
    page = {
        **here,
        "undrawn": [line for line in building.wall_lines.all() if not line.points],
        "may_draw": may_draw,
        "may_ask": may(request.user, "ask for a change", building),
        **(
            _drawing_forms(request, building, here["level"], told.get("edit") or request.GET.get("edit", ""))
            if may_draw
            else {}
        ),
        **told,
    }
    return render(request, "trusses/plan.html", page, status=422 if told else 200)


def told_of(request: HttpRequest, building: Job, address: Callable[[int], str] | None = None) -> dict[str, Any]:
    """The level of a plan that was chosen: drawn, with what stands there and which walls a request moves. `address`:
    where the page of a mark is, by its id, for whoever doesn't see the job's own, nor the runs that are asked for."""
    prefetch_related_objects([building], "wall_lines")
    levels = level_names(building)
    level = chosen_level(request, building, levels)
    here = standing(building).get(level, [])
    seals = seals_of(building, {one.revision for one in here if one.revision})
    trusses = {one.pk: one for one in Truss.objects.filter(job=building, pk__in={one.truss for one in here})}
    for one in trusses.values():
        one.job = building
    hurt = _hurt(trusses, here)
    runs = drawn_on(building, level) if address is None else ()
    moves: dict[int, list[on_walls.Moving]] = {}
    for move in on_walls.moving(building):
        if not move.comes:
            moves.setdefault(move.wall, []).append(move)
    zoom = request.GET.get("zoom", "")
    return {
        "job": building,
        "level": level,
        "levels": levels,
        "picture": kept_drawings.level(level_of(building, level, here, runs, seals, hurt, address)),
        "zoom": zoom if zoom in dict(ZOOMS) else "",
        "zooms": ZOOMS,
        "marks": _marks(trusses.values(), here, seals, hurt),
        "hurt": bool(hurt),
        "behind": any(one.behind for one in here),
        "walls": [(line, _length(line.points), moves.get(line.pk, ())) for line in _walls(building, level)],
        "walls_move": [line.label for line in _walls(building, level) if line.pk in moves],
        "walls_come": [move for move in on_walls.moving(building) if move.comes and move.level == level],
    }


def level_names(building: Job) -> list[str]:
    """The levels of the plan, those with the most trusses first."""
    there = standing(building)
    walls = {line.level for line in building.wall_lines.all() if line.level}
    return sorted({*there, *walls}, key=lambda name: (-len(there.get(name, ())), name))


def chosen_level(request: HttpRequest, building: Job, levels: Sequence[str]) -> str:
    wanted = request.POST.get("on") or request.GET.get("level", "")
    if wanted and wanted not in levels and request.method == "GET":
        raise Http404("Not found.")
    first = levels[0] if levels else ""
    if (
        not wanted
        and request.GET.get("edit") == "place-new"
        and (mark := _mark_of(building, request.GET.get("mark", "")))
    ):
        wanted = _level_for(mark, first)
    return wanted if wanted in levels else first


def _hurt(marks: Mapping[int, Truss], here: Sequence[Stands]) -> frozenset[tuple[int, int]]:
    """(mark's id, number) of the copies that are damaged; they are known from where they stand."""
    copies = [
        Copy(
            pk=one.copy,
            truss=marks[one.truss],
            number=one.number,
            stage=one.stage,
            built_to_id=None if one.can_change else one.revision,
        )
        for one in here
        if one.copy
    ]
    return frozenset(pair for one in harmed.off(copies) for pair in one.each)


def level_of(
    building: Job,
    level: str,
    here: Sequence[Stands],
    paths: Sequence[Path] = (),
    seals: Seals | None = None,
    hurt: Set[tuple[int, int]] = frozenset(),
    address: Callable[[int], str] | None = None,
) -> Level:
    """With `seals`, of the revisions that copies are built to, each copy says whether its own counts. `hurt`: what is
    damaged, each by its mark's id and its number. `address` as `told_of` has it."""
    at = address or (lambda truss: f"{reverse('trusses:mark', args=(building.pk, truss))}#copies")
    designs = designs_of({one.sha256 for one in here})
    walls = [Wall(line.label, [(x, y) for x, y in line.points]) for line in _walls(building, level)]
    lines = [_line(one, designs[one.sha256], seals, (one.truss, one.number) in hurt, at(one.truss)) for one in here]
    return Level(level, walls, lines, paths, building.north_deg)


def _walls(building: Job, level: str) -> list[WallLine]:
    return [line for line in building.wall_lines.all() if line.points and line.level == level]


def _line(one: Stands, design: Design, seals: Seals | None, hurt: bool, at: str) -> CopyLine:
    span = design.right - design.left
    start, end = (one.x, one.y), (one.x + span, one.y) if one.along == "x" else (one.x, one.y + span)
    if one.turned:
        start, end = end, start
    openings = [
        Opening(held.centre[0] - design.left - held.size[0] / 2, held.centre[0] - design.left + held.size[0] / 2)
        for held in design.truss.openings
    ]
    stage = one.stage or "no copy yet"
    end_for_end = ", turned end for end" if one.turned else ""
    behind = ", an earlier one" if one.behind else ""
    to = "" if one.built_to is None else to_revision(stage, f"revision {one.built_to}{behind}")
    seal = seals.get(one.revision or 0) if seals is not None else None
    sealed = "" if seals is None else f", {seal_state(seal).says}"
    harm = ", damaged: keep off" if hurt else ""
    said = f"{one.name}{harm}, {stage}{to}{sealed}, number {one.order} to be set{end_for_end}"
    return CopyLine(
        one.mark,
        one.number,
        one.order,
        start,
        end,
        one.can_change,
        said,
        at,
        openings,
        behind=one.behind,
        hurt=hurt,
        sealed=seals is None or (seal is not None and seal.counts),
    )


def _marks(
    trusses: Iterable[Truss], here: Sequence[Stands], seals: Seals, hurt: Set[tuple[int, int]]
) -> list[dict[str, Any]]:
    """Each mark on the level: how many, in which order they are set, where its copies are and to which revision."""
    stands = by_stage(trusses)
    found: dict[int, dict[str, Any]] = {}
    for one in here:
        held = found.setdefault(one.truss, {"truss": one.truss, "mark": one.mark, "copies": []})
        held["copies"].append(one)
    for held in found.values():
        orders = [one.order for one in held["copies"]]
        states: dict[SealState, list[int]] = {}
        for one in held["copies"]:
            states.setdefault(seal_state(seals.get(one.revision or 0)), []).append(one.number)
        off = [one.number for one in held["copies"] if (one.truss, one.number) in hurt]
        held["off"] = harmed.Off(tuple(off), "") if off else None
        held["seals"] = [(state, runs(numbers) if len(states) > 1 else "") for state, numbers in states.items()]
        held |= {"stands": stands[held["truss"]], "count": len(orders), "first": min(orders), "orders": runs(orders)}
    return sorted(found.values(), key=lambda held: held["first"])


def _length(points: Sequence[Sequence[float]]) -> float:
    return sum(math.dist(a, b) for a, b in itertools.pairwise(points))


def _drawing_forms(request: HttpRequest, building: Job, level: str, edit: str) -> dict[str, Any]:
    """What a designer can set on this level, and the form of the one thing that is opened: a place, a wall, north."""
    rows = Placement.objects.filter(truss__job=building, level=level, truss__withdrawn_at__isnull=True)
    places = list(rows.select_related("truss").order_by("truss__mark", "pk"))
    walls = [line for line in building.wall_lines.all() if line.level in ("", level) or not line.points]
    kind, _, which = edit.partition("-")
    opened: dict[str, Any] = {}
    if edit == "place-new":
        opened = _new_place(building, level, request.POST.get("truss") or request.GET.get("mark", ""))
    elif edit == "wall-new":
        opened = {"form": WallForm(initial={"level": level})}
    elif edit == "north":
        opened = {"form": NorthForm(initial={"north_deg": building.north_deg})}
    elif kind == "place" and (row := _place(building, places, which)):
        opened = {"form": PlacementForm(initial=PlacementForm.said(row)), "row": row, "shown": shown.row(row)}
    elif kind == "wall" and (line := next((one for one in building.wall_lines.all() if str(one.pk) == which), None)):
        said = {"label": line.label, "level": line.level or level, "points": line.points}
        opened = {"form": WallForm(initial=said), "row": line, "shown": shown.wall(line)}
    if not opened:
        edit = ""
    return {
        "places": places,
        "set_walls": walls,
        "edit": edit,
        "edits": edit.partition("-")[0],
        **opened,
        "snaps": snaps(building, level),
    }


def _place(building: Job, places: Iterable[Placement], which: str) -> Placement | None:
    """A place that is opened; what was moved to another level meanwhile is none of `places`."""
    if row := next((one for one in places if str(one.pk) == which), None):
        return row
    rows = Placement.objects.filter(truss__job=building, truss__withdrawn_at__isnull=True).select_related("truss")
    return rows.filter(pk=number).first() if (number := number_of(which)) else None


def _new_place(building: Job, level: str, wanted: str) -> dict[str, Any]:
    """The form of a new place, of the mark whose id is wanted, or was chosen before: its copies that stand nowhere."""
    every = Truss.objects.filter(job=building, current__isnull=False, withdrawn_at__isnull=True)
    marks = sorted(every, key=lambda one: as_counted(one.mark))
    mark = _mark_of(building, wanted)
    start = {"level": level, "direction": "y", "spacing_in": 24, "count": 1}
    if mark and mark.current:
        start |= {"level": _level_for(mark, level)}
        start |= {"spacing_in": mark.current.document["spacing_in"]}
        start |= {"count": mark.copies.filter(placement=None).count() or 1}
    return {"form": PlacementForm(initial=start), "trusses": marks, "of_mark": mark}


def _mark_of(building: Job, wanted: str) -> Truss | None:
    """The mark of an id as an address or a form brings it; None where the job has none such that can be placed."""
    every = Truss.objects.filter(job=building, current__isnull=False, withdrawn_at__isnull=True)
    pk = number_of(wanted)
    return every.select_related("current").filter(pk=pk).first() if pk is not None else None


def _level_for(mark: Truss, shown: str) -> str:
    """On which level a place of a mark begins: where its others stand, else that on show, or another, where trusses of
    its use stand; empty where there is none, so that nobody has a floor on the roof unasked."""
    use = mark.current.document.get("use", "roof")
    rows = Placement.objects.filter(truss__job=mark.job_id, truss__withdrawn_at=None, truss__current__isnull=False)
    rows = rows.annotate(use=KeyTextTransform("use", "truss__current__document")).order_by("pk")
    levels: dict[str, None] = {}
    for truss, level, other in rows.values_list("truss", "level", "use"):
        if truss == mark.pk:
            return str(level)
        if (other or "roof") == use:
            levels[level] = None
    return shown if shown in levels else next(iter(levels), shown if use == "roof" else "")


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
    rows = Placement.objects.select_related("truss__job")
    if row and "truss" in request.POST and not rows.filter(pk=row).exists():
        return _gone(request, building)
    held = one_or_404(rows, request.user, pk=row, truss__job=building) if row else None
    seen = request.POST.get("shown", "")
    if held and "away" in request.POST:
        return _done(request, building, lambda: placing.take_away(request.user, held, seen), "The place is taken away.")
    form = PlacementForm(request.POST)
    truss = held.truss if held else truss_or_404(request.user, request.POST.get("truss") or 0, job=job)

    def act() -> None:
        placing.place(request.user, truss, held, form.cleaned_data, seen)

    return _done(request, building, act, f"{truss.mark} stands there now.", f"place-{row or 'new'}", form)


def _gone(request: HttpRequest, building: Job) -> HttpResponse:
    """A place that was opened and isn't there any more: what was typed of it comes back as a new one."""
    truss, form = truss_or_404(request.user, request.POST["truss"], job=building.pk), PlacementForm(request.POST)

    def act() -> None:
        raise Refused("place-gone", mark=truss.mark)

    return _done(
        request,
        building,
        act,
        "",
        "" if "away" in request.POST else "place-new",
        None if "away" in request.POST else form,
    )


@login_required
@require_POST
def set_wall(request: HttpRequest, job: int, row: int = 0) -> HttpResponse:
    """A wall line drawn, new or another than it was; or it goes."""
    building = job_or_404(request.user, job)
    require(request.user, placing.VERB, building)
    held = one_or_404(WallLine, request.user, pk=row, job=building) if row else None
    seen = request.POST.get("shown", "")
    if held and "away" in request.POST:
        return _done(request, building, lambda: placing.take_down(request.user, held, seen), f"{held.label} is gone.")
    form = WallForm(request.POST)

    def act() -> None:
        said = form.cleaned_data
        placing.wall(request.user, building, held, said["label"], said["level"], said["points"], seen)

    return _done(request, building, act, "The wall is drawn.", f"wall-{row or 'new'}", form)


@login_required
@require_POST
def set_north(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    require(request.user, placing.VERB, building)
    form = NorthForm(request.POST)

    def act() -> None:
        placing.turn_north(request.user, building, form.cleaned_data["north_deg"])

    return _done(request, building, act, "North is set.", "north", form)


def _done(
    request: HttpRequest,
    building: Job,
    act: Callable[[], None],
    says: str,
    edit: str = "",
    form: forms.Form | None = None,
) -> HttpResponse:
    """Does it and goes back to the plan; where it is refused, the form says why, with what was typed."""
    told_now = False
    if form is None or form.is_valid():
        try:
            act()
        except Refused as trouble:
            if form is None:
                messages.error(request, sentence(trouble.says))
                return _back(request, building)
            form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
            told_now = trouble.code in ("place-otherwise", "wall-otherwise")
        else:
            messages.success(request, says)
            return _back(request, building)
    # who wasn't told how it stands by now saw no more of it than before
    seen = {} if told_now else {"shown": request.POST.get("shown", "")}
    return plan_page(request, building, edit=edit, form=form, **seen)


def _back(request: HttpRequest, building: Job) -> HttpResponse:
    on = request.POST.get("on", "")
    return redirect(reverse("trusses:plan", args=(building.pk,)) + (f"?{urlencode({'level': on})}" if on else ""))
