"""The site lead's pages for setting: every copy of a level by its number in order, and what is fixed beside a mark."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.db.models import Q, prefetch_related_objects
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from trusses import pictures
from trusses.analysis.runs.stood import Design
from trusses.analysis.words.phrases import sentence
from trusses.copies import disputed, looks, old_ones, undoing
from trusses.copies.forms import photos_of
from trusses.copies.models import Fixed
from trusses.forms import number_of
from trusses.marks.stages_page import TAPS
from trusses.models import CHANGEABLE_STAGES, Copy, Job, MarkEvent, Revision, Role, Stage, Truss
from trusses.once import once
from trusses.permissions import job_or_404, may, next_stage, one_or_404, role_in, truss_or_404
from trusses.plan import on_walls
from trusses.plan.copies import Stands, designs_of, standing
from trusses.plan.from_walls import Measure, beside
from trusses.plan.on_walls import Number
from trusses.plan.page import chosen_level, level_names
from trusses.plan.shown import places
from trusses.plan.under import walls_of as under_walls
from trusses.plan.where import walls_of
from trusses.production import kept_off, never, what_is_open, without_seal
from trusses.refusals import NotAllowed, Refused
from trusses.sheets import fixing, sheet
from trusses.sheets.closing import closing
from trusses.sheets.tape import marked_bearing
from trusses.variants.homes import root

BARS = ("kept_off", "wall_moves", "wall_comes", "old_one", "fails", "unsealed", "open")
"""What of a row is read, and said, before its copy is set: not by one tap there."""


@login_required
def setting(request: HttpRequest, job: int) -> HttpResponse:
    """In which order the copies of a level are set, where each stands and with which end where."""
    building = job_or_404(request.user, job)
    prefetch_related_objects([building], "wall_lines")
    levels = level_names(building)
    level = chosen_level(request, building, levels)
    here = standing(building).get(level, [])
    rows = _rows(building, here)
    told: dict[str, Any] = {"job": building, "level": level, "levels": levels, "rows": rows}
    role = role_in(request.user, building)
    _tap(rows, role, looks.newest(building.pk))
    _just(rows, request.user, role, number_of(request.GET.get("ticked")) or 0)
    if rows and all(row["stands"].stage == Stage.SET for row in rows):
        copies = Copy.objects.filter(pk__in=[row["stands"].copy for row in rows])
        mine = list(copies.select_related("truss__job", "truss__current").order_by("truss", "number"))
        told["closing"] = closing(building, mine, f"on {level}")
    return render(request, "trusses/setting.html", told)


def _rows(building: Job, here: Sequence[Stands]) -> list[dict[str, Any]]:
    """Each copy in the order of setting, with what its marked end stands on and whether something keeps it off."""
    old = {(truss.pk, number) for truss in _marks(here) for one in old_ones.there(truss) for number in one.copies}
    designs = designs_of({one.sha256 for one in here})
    ends = _ends(building, here, designs)
    measured = _measured(building, here, designs)
    # what isn't cut has nothing to be set yet
    cut = Copy.objects.filter(pk__in=[one.copy for one in here if one.copy]).exclude(stage__in=CHANGEABLE_STAGES)
    light = ("truss__current__document", "truss__current__analysis")
    copies = list(cut.select_related("truss__job", "truss__current").defer(*light))
    marks = {copy.truss_id: copy.truss for copy in copies}
    kept = list(kept_off(copies))
    off: dict[int, list[str]] = {}
    codes: dict[int, set[str]] = {}
    for one in kept:
        if not one.asks:
            says = sentence(one.why.says)
            for copy in one.copies:
                off.setdefault(copy.pk, []).append(says)
                codes.setdefault(copy.pk, set()).add(one.why.code)
    hurt = {copy.pk for one in kept if one.harm for copy in one.copies}
    asked = what_is_open([copy for copy in copies if copy.stage == Stage.DELIVERED])
    fail, bare = _not_as_drawn([copy for copy in copies if copy.stage != Stage.SET])
    wanted = disputed.each(building)
    walls: dict[bool, dict[tuple[int, int], bool]] = {False: {}, True: {}}
    for move in on_walls.moving(building):
        for at in ((bears.truss, copy.number) for bears in move.others for copy in bears.copies):
            walls[move.comes][at] = move.decided or walls[move.comes].get(at, False)
    return [
        {
            "stands": one,
            "truss": marks.get(one.truss),
            "measured": measure,
            "from": measure.of(_place(one)),
            "end": end,
            "corrections": disputed.says(disputed.on_copy(one.truss, one.number, wanted)),
            "kept_off": off.get(one.copy or 0, ()),
            "for_seal": (why := codes.get(one.copy or 0, set())) == {"not-sealed"},
            "wall_moves": _wall(walls[False], one, "moves", "may move"),
            "wall_comes": _wall(walls[True], one, "comes", "may come"),
            "hurt": one.copy in hurt,
            "old_one": (one.truss, one.number) in old,
            "fails": one.copy in fail,
            "unsealed": one.copy in bare - fail,
            "unsealed_besides": one.copy in bare - fail and "not-sealed" not in why,
            "open": () if one.copy in hurt else asked.get(one.copy or 0, ()),
        }
        for one, measure, end in zip(here, measured, ends, strict=True)
    ]


def _wall(walls: Mapping[tuple[int, int], bool], one: Stands, does: str, may: str) -> str:
    """What the wall under a copy does, which is only asked for where it is not decided; empty where it stays."""
    decided = walls.get((one.truss, one.number))
    return "" if decided is None else does if decided else may


def _not_as_drawn(copies: Sequence[Copy]) -> tuple[set[int], set[int]]:
    """Of some copies of a job that are cut, by id: those that are built to a revision that fails where nobody can
    accept it, and those to whose revision no sealed drawing lets them be set."""
    built = Revision.objects.filter(pk__in={copy.built_to_id for copy in copies}, analysis__passes=False)
    failing = {one.pk for one in built.defer("document") if never(one)}
    fail = {copy.pk for copy in copies if copy.built_to_id in failing}
    return fail, {copy.pk for copy in without_seal(copies, Stage.SET)}


def _tap(rows: Sequence[dict[str, Any]], role: Role | None, known: int) -> None:
    """Adds to each row what one tap of the person says of its copy; nothing where something keeps it off, or has to be
    said or read first. `known` is the newest look that the page is of."""
    stood = places(one.copy for row in rows if (one := row["stands"]).copy)
    for row in rows:
        one, bars = row["stands"], any(row[name] for name in BARS)
        to = next_stage(one.stage, role) if one.copy and not row["hurt"] else None
        if to and to in TAPS and not (to == Stage.SET and bars):
            row |= {"to": to, "says": TAPS[to], "known": known}
            place = stood[one.copy or 0] if to == Stage.SET else ""
            row["copy"] = {"pk": one.copy, "number": one.number, "stood": place}


def _just(rows: Sequence[dict[str, Any]], user: Any, role: Role | None, ticked: int) -> None:
    """In the row of the copy that the person just ticked stands what was said, and how it is taken back: another tap on
    the same spot says nothing more of it."""
    copy = Copy.objects.select_related("truss").defer(*sheet.HEAVY).filter(pk=ticked).first()
    row = next((row for row in rows if copy and row["stands"].copy == copy.pk), None)
    if copy and row and (just := undoing.just_said(user, role, copy)):
        row.pop("to", None)
        row |= {"just": just, "copy": {"pk": copy.pk, "number": copy.number}}


def _measured(building: Job, here: Sequence[Stands], designs: Mapping[str, Design]) -> list[Measure]:
    """Of each copy what it is measured from: of those of a mark that stand in one row the same."""
    walls = walls_of(building)
    found: dict[int, Measure] = {}
    by: dict[Any, list[Stands]] = {}
    for one in here:
        by.setdefault((one.truss, one.along, _end(one)), []).append(one)
    for (_, along, end), row in by.items():
        span = designs[row[0].sha256].right - designs[row[0].sha256].left
        measure = beside(walls.get(row[0].level, ()), along, [_place(one) for one in row], (end, end + span))
        found |= {one.order: measure for one in row}
    return [found[one.order] for one in here]


def _place(one: Stands) -> float:
    return one.y if one.along == "x" else one.x


def _end(one: Stands) -> float:
    return one.x if one.along == "x" else one.y


def _of_level(here: Sequence[Stands]) -> Sequence[Truss]:
    pks = frozenset(one.truss for one in here)
    return once(("marks of a level", pks), lambda: list(Truss.objects.filter(pk__in=pks)))


def _marks(here: Sequence[Stands]) -> Iterable[Truss]:
    """The marks of a level of which copies were made anew, in any of their variants."""
    roots = {root(truss): truss for truss in _of_level(here)}
    anew = MarkEvent.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), code=MarkEvent.Code.ANEW)
    with_any = {of or pk for pk, of in anew.values_list("truss", "truss__variant_of")}
    return [truss for truss in _of_level(here) if root(truss) in with_any]


def _ends(building: Job, here: Sequence[Stands], designs: Mapping[str, Design]) -> list[str]:
    """What the marked end of each copy stands on, as far as somebody said so."""
    marks = {truss.pk: truss for truss in _of_level(here)}
    shas = list({(one.truss, one.sha256): designs[one.sha256].truss for one in here}.items())
    under = under_walls(building, [(marks[pk], design.document) for (pk, _), design in shas])
    walls = {which: found for (which, _), found in zip(shas, under, strict=True)}
    return [
        walls[one.truss, one.sha256].called(
            marked_bearing(designs[one.sha256].truss).joint, Number(root(marks[one.truss]), one.number)
        )
        for one in here
    ]


@login_required
def fixed(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    return _fixed(request, truss_or_404(request.user, truss, job=job))


def _fixed(request: HttpRequest, mark: Truss, **told: Any) -> HttpResponse:
    """Restraint, hangers and ties of a mark, each with its tick."""
    page = {
        "job": mark.job,
        "truss": mark,
        "listed": (listed := fixing.listed(mark)),
        "alike": fixing.rows_alike(listed),
        "said_last": fixing.said_last(listed),
        "may_tick": may(request.user, fixing.VERB, mark.job),
        **told,
    }
    if page.get("here") not in {one.item.key for one in listed}:
        page["here"] = ""
    return render(request, "trusses/fixed.html", page, status=422 if told else 200)


@login_required
@require_POST
def tick_fixed(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """A row, hanger or tie ticked off, several rows of one anchor together, or the tick taken back."""
    mark = truss_or_404(request.user, truss, job=job)
    keys = [key.replace("\x00", "")[:120] for key in request.POST.getlist("item")[:200]] or [""]
    anchored, together = request.POST.get("anchored", "").replace("\x00", ""), "together" in request.POST
    try:
        done, photos = "undo" not in request.POST, photos_of(request)
        with transaction.atomic():  # all of them or none
            changed = [
                fixing.tick(request.user, mark, key, done=done, anchored=anchored, photos=photos) for key in keys
            ]
    except NotAllowed:
        raise
    except Refused as trouble:
        typed = {"items": keys, "anchored": anchored, "together": together}
        told = {"trouble": sentence(trouble.says), "typed": typed, "here": "" if together else keys[0]}
        return _fixed(request, mark, **told)
    messages.success(request, "Kept." if any(changed) else "That was ticked so already.")
    at = next((one.slug for one in fixing.items(mark) if one.key == keys[0]), "")
    return redirect(f"{reverse('trusses:fixed', args=(job, truss))}{'' if together else f'#{at}'}")


@login_required
@cache_control(private=True, max_age=3600, immutable=True)
def fixed_photo(request: HttpRequest, pk: int, number: int) -> FileResponse:
    """A photo of a tick. What isn't of a job of the person's is the same 404 as what isn't there."""
    tick = one_or_404(Fixed.objects.select_related("truss"), request.user, pk=pk)
    return pictures.opened(tick.truss.job_id, tick.photos, number)
