"""The set's pages: a job's marks, one mark, the sheets."""

from __future__ import annotations

import re
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from trusses import kept_drawings, verdicts
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.bearings import links, standing
from trusses.job import surroundings
from trusses.models import Copy, Job, Placement, PlateTable, Revision, Role, Stage, Truss
from trusses.permissions import designers, job_or_404, may, next_stage, revision_or_404, role_in, truss_or_404
from trusses.plan import rows
from trusses.production import FOUND_FIELDS, furthest_behind, move, never, stage_counts
from trusses.revisions import Refused
from trusses.sheets import cautions, paper, record, required, sheet, sheet_facts, tape, words

MARKS_A_PAGE = 50
_HEAVY = ("built_to__document", "built_to__analysis")
_BEFORE_THE_SAW = (Stage.RELEASED, Stage.CUT)


@login_required
def job(request: HttpRequest, job: int) -> HttpResponse:
    """The set as a list of marks: small elevations, how many, where they stand, until when they can change."""
    building = job_or_404(request.user, job)
    page = marks_of(building, request)
    counts = stage_counts(page)
    rows = [
        {"truss": truss, "counts": counts[truss.pk].items(), "quantity": sum(counts[truss.pk].values())}
        for truss in page
    ]
    told = {
        "job": building,
        "rows": rows,
        "page": page,
        "sought": _sought(request),
        "today": building.today(),
        "total": Copy.objects.filter(truss__job=building, truss__current__isnull=False).count(),
        "may_add": may(request.user, "add a mark", building),
    }
    return render(request, "trusses/job.html", told)


def marks_of(building: Job, request: HttpRequest) -> Page[Truss]:
    """One page of the job's marks with their current revisions, without the analyses; each mark's job is there already.
    `mark` in the address seeks those whose mark begins so."""
    every = Truss.objects.filter(job=building, current__isnull=False)
    sought = every.filter(mark__istartswith=_sought(request))
    in_order = [pk for _, pk in sorted((_as_counted(mark), pk) for pk, mark in sought.values_list("pk", "mark"))]
    page = Paginator(in_order, MARKS_A_PAGE).get_page(request.GET.get("page"))
    rows = every.select_related("job", "current").defer("current__analysis").in_bulk(page.object_list)
    page.object_list = [rows[pk] for pk in page.object_list]
    return page


def _sought(request: HttpRequest) -> str:
    return request.GET.get("mark", "").replace("\x00", "").strip()[:20]


def _as_counted(mark: str) -> list[tuple[int, str]]:
    """R2 before R10."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"(\d+)", mark)]


@login_required
def mark(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    return _mark_page(request, truss_or_404(request.user, truss, job=job))


def _mark_page(request: HttpRequest, truss: Truss, **told: Any) -> HttpResponse:
    """One mark; `told` brings back what was typed when moving its copies was refused."""
    role = role_in(request.user, truss.job)
    copies = list(truss.copies.select_related("built_to").defer(*_HEAVY))
    revisions = truss.revisions.select_related("issued_by", "issue__decision").defer("document", "analysis")
    page = {
        "job": truss.job,
        "truss": truss,
        "revision": truss.current,
        "design": sheet.design_of(truss.current),
        "today": truss.job.today(),
        "role": role,
        # what else may stand in the way, the page behind the link says
        "may_correct": role == Role.DESIGNER and all(copy.stage == Stage.DESIGNING for copy in copies),
        "may_ask": may(request.user, "ask for a change", truss.job),
        "closed": truss.past_change,
        "asks": designers(truss.job),
        "revisions": revisions.order_by("-number"),
        "copies": copies,
        "record": record.lines(truss.events.select_related("by")),
        "stages": _stages(copies, role, truss.current),
        "furthest_behind": furthest_behind({copy.stage: 1 for copy in copies}),
        **_where(truss),
        "feet": standing.feet(truss),
        "carries": standing.carried(truss),
        "may_link": may(request.user, links.VERB, truss.job),
        "not_current": _by_revision(sheet.copies_of(truss.current, copies)[1]),
        **told,
    }
    return render(request, "trusses/mark.html", page, status=422 if told else 200)


def _where(truss: Truss) -> dict[str, Any]:
    """Where its copies stand in plan, beside everything else on those levels."""
    placements = list(truss.placements.all())
    everyone = Placement.objects.filter(truss__job=truss.job_id).select_related("truss__current")
    everyone = everyone.defer("truss__current__document", "truss__current__analysis")
    levels = sheet.levels(placements, everyone if placements else ())
    return {"placements": placements, "levels": levels}


def _stages(copies: list[Copy], role: str | None, current: Revision) -> list[dict[str, Any]]:
    """The copies by stage, with the stage to which this person moves them on, if any, and what to know before. Those
    that are released to an earlier revision stand by themselves: they are released to the current one first."""
    groups = []
    for stage in Stage:
        here = [copy for copy in copies if copy.stage == stage]
        old = [copy for copy in here if stage == Stage.RELEASED and copy.released_to_id != current.pk]
        for group in (old, [copy for copy in here if copy not in old]):
            to = next_stage(stage, role)
            if group is old and to:
                to = Stage.RELEASED
            if group:
                numbers = sheet.numbers(group)
                told = {"asks_found": to in FOUND_FIELDS, "warns": _warns(to, current), "never": _never(to, current)}
                groups.append(
                    {"stage": stage, "copies": group, "numbers": numbers, "to": to, "anew": group is old, **told}
                )
    return groups


def _warns(to: Stage | None, current: Revision) -> str:
    """What whoever lets a mark go to the saw must know, where the current revision fails a check; else empty."""
    if to not in _BEFORE_THE_SAW or current.analysis["passes"] or never(current):
        return ""
    return f"{sheet.fails_say(current)} Once {to} it may be built like this; ask the designer first."


def _never(to: Stage | None, current: Revision) -> str:
    """Why nothing of the current revision is released or cut; else empty."""
    worst = never(current) if to in _BEFORE_THE_SAW else None
    if worst is None:
        return ""
    place = f"{worst['rule']} of {worst['of']} {worst['id']}".strip()
    return f"{place[0].upper()}{place[1:]} stands at {worst['ratio']:.0%} of what is allowed: it can't be {to}."


def _by_revision(copies: list[Copy]) -> list[tuple[int, str]]:
    """(revision, numbers of the copies built to it), the oldest first."""
    revisions = sorted({copy.built_to.number for copy in copies if copy.built_to})
    return [
        (number, sheet.numbers([copy for copy in copies if copy.built_to and copy.built_to.number == number]))
        for number in revisions
    ]


@login_required
@require_POST
def move_copies(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """Tick copies on to their next stage: some that were chosen, or all of a stage."""
    mark = truss_or_404(request.user, truss, job=job)
    to, found = request.POST.get("to", ""), request.POST.get("found", "").replace("\x00", "").strip()
    if sure := _sure(request, mark, to, found):
        return sure
    chosen = mark.copies.filter(stage=request.POST.get("all")) if request.POST.get("all") else None
    try:
        ids = map(int, request.POST.getlist("copy")) if chosen is None else chosen.values_list("pk", flat=True)
        seen = revision_or_404(request.user, pk=request.POST["seen"], truss=mark) if request.POST.get("seen") else None
        moved = move(request.user, mark, ids, to, found=found, seen=seen)
    except ValueError as trouble:
        says = trouble.says if isinstance(trouble, Refused) else "Choose copies from the list."
        return _mark_page(request, mark, trouble=says, typed={"to": to, "found": found})
    now = f"{moved} cop{'y is' if moved == 1 else 'ies are'} {to} now." if moved else f"They were {to} already."
    messages.success(request, now)
    return redirect(reverse("trusses:mark", args=(job, truss)) + "#copies")


def _sure(request: HttpRequest, mark: Truss, to: str, found: str) -> HttpResponse | None:
    """The page that asks whether all copies of a stage are meant, and sends them by name; None where they were chosen
    one by one, and for what is refused anyway, which then says so."""
    stage, role = request.POST.get("all"), role_in(request.user, mark.job)
    seen, longest = request.POST.get("seen"), Copy._meta.get_field("found_at_delivery").max_length or 0
    refused = len(found) > longest or (seen and seen != str(mark.current.pk))
    copies = list(mark.copies.filter(stage=stage)) if stage and not refused else []
    if stage == Stage.RELEASED:  # to the current revision once more, or to the saw: never both in one
        copies = [copy for copy in copies if (copy.released_to_id != mark.current.pk) == (to == Stage.RELEASED)]
    groups = _stages(copies, role, mark.current)
    group = next((one for one in groups if (one["stage"], one["to"]) == (stage, to)), None)
    if group is None or group["never"]:
        return None
    page = {"job": mark.job, "truss": mark, "revision": mark.current, "group": group, "found": found}
    return render(request, "trusses/sure.html", {**page, "seen": request.POST.get("seen", "")})


@login_required
def sheets(request: HttpRequest, job: int) -> HttpResponse:
    """What is current for the whole job; a code read from a printed sheet leads to that sheet."""
    building = job_or_404(request.user, job)
    asked = request.GET.get("code", "")
    if asked and (found := _by_code(building, asked)):
        return redirect("trusses:sheet", job=building.pk, truss=found.truss_id, number=found.number)
    page = marks_of(building, request)
    counts = stage_counts(page)
    lines = [{"truss": truss, "code": sheet.code(truss.current), "counts": counts[truss.pk].items()} for truss in page]
    told = {"job": building, "lines": lines, "page": page, "sought": _sought(request)}
    return render(request, "trusses/sheets.html", {**told, "asked": asked[:20]})


def _by_code(building: Job, asked: str) -> Revision | None:
    figures = "".join(figure for figure in asked if figure.isdecimal())
    revisions = Revision.objects.filter(truss__job=building).defer("document", "analysis").order_by("-number")
    return next((revision for revision in revisions if sheet.code(revision).replace(" ", "") == figures), None)


@login_required
def one_sheet(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The sheet of one revision: whether to build from it in its first line, then all that whoever sets it needs."""
    mark = truss_or_404(request.user, truss, job=job)
    revision = get_object_or_404(
        Revision.objects.select_related("issued_by", "issue__decision__by"), truss=mark, number=number
    )
    revision.truss = mark
    before = mark.revisions.filter(number=number - 1).first()
    design = sheet.design_of(revision)
    table = PlateTable.of_job(mark.job)
    facts = sheet_facts.facts(design, revision.analysis, table, surroundings.of_mark(mark))
    on_it = standing.carried(mark)
    four = sheet.answers(verdicts.of_revision(revision, facts.table, on_it.behind))
    mine, others = sheet.copies_of(revision, list(mark.copies.select_related("built_to").defer(*_HEAVY)))
    page = {
        "job": mark.job,
        "truss": mark,
        "revision": revision,
        "before": before,
        "design": design,
        "status": sheet.status(revision, mark.current),
        "verdict": sheet.verdict(revision, mark.current, four),
        "answers": four,
        "notice": cautions.STANDING_NOTICE,
        "cautions": cautions.cautions(design.span_in),
        "dimensions": (dimensions := tape.dimensions(design)),
        "measured": [web for one in dimensions for web in one.webs],
        "marked": tape.marked_bearing(design),
        "restraints": words.restraints(design),
        "loads": words.loads(design, taken_up=TakenUp.read(revision.taken_up)),
        "facts": facts,
        "row_notes": rows.notes(mark, revision),
        "required": required.required(revision, design, facts),
        "besides": required.besides(design, facts),
        "pieces": sheet.pieces(design),
        "accepted": sheet.accepted(revision),
        "changed": sheet.what_changed(before, revision) if before else [],
        "mine": mine,
        "mine_numbers": sheet.numbers(mine),
        "others": _by_revision(others),
        "spaces": sheet.spaces(revision),
        **_where(mark),
        "feet": standing.feet(mark),
        "carries": on_it,
        "code": sheet.code(revision),
        "address": request.build_absolute_uri(request.path),
    }
    return render(request, "trusses/sheet.html", page)


@login_required
@cache_control(private=True, no_cache=True)
def sheet_margins(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The stylesheet that repeats on each printed page which sheet it is of and whether to build from it."""
    revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    behind = standing.carried(revision.truss).behind
    four = sheet.answers(verdicts.of_revision(revision, behind=behind))
    verdict = sheet.verdict(revision, revision.truss.current, four)
    status = sheet.status(revision, revision.truss.current)
    return HttpResponse(paper.margins(revision, status, verdict), content_type="text/css; charset=utf-8")


@login_required
@cache_control(private=True, max_age=31_536_000, immutable=True)
def print_edges(request: HttpRequest) -> HttpResponse:
    """The stylesheet for the edges of any other printed page; it says only what its own address says."""
    named, job, foot = (request.GET.get(name, "")[:200] for name in ("named", "of", "foot"))
    return HttpResponse(paper.edges(named, job, foot), content_type="text/css; charset=utf-8")


@login_required
@cache_control(private=True, max_age=31_536_000, immutable=True)
def small_elevation(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """The small drawing of a list. A revision never changes, so a phone fetches it once."""
    revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    picture = kept_drawings.elevation(revision.document, detail="thumb", width_px=320, prefix="thumb")
    return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")
