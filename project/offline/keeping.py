"""What of a job a phone keeps for when there is no signal."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Max
from django.http import HttpRequest, JsonResponse
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache

from changes.models import Correction, CorrectionWord
from project.offline.whose import whose
from trusses.job.page import MARKS_A_PAGE
from trusses.models import BearingLink, Copy, Job, PaperCode, PlateTable, Revision, Role, Truss
from trusses.permissions import job_or_404, role_in
from trusses.plan.page import level_names
from trusses.sealing.models import SealedDrawing, SealRecord, SealRule
from trusses.sheets import sheet


@login_required
@never_cache
def kept(request: HttpRequest, job: int) -> JsonResponse:
    """`pages` to keep, each with a `version` that changes with what it shows; `files`, sealed drawings, which never
    change; `sheets`: of each revision of each mark the codes on its paper and, where it is dead, which one is current
    or that its mark is withdrawn; the `zone` in which the job's moments are told.

    A page is fetched anew after an hour all the same: what its version leaves out is no older than that."""
    building = job_or_404(request.user, job)
    told = {"who": whose(request.user), "job": building.pk, "zone": building.time_zone, "sheets": _sheets(building)}
    return JsonResponse(told | {"pages": _pages(building, role_in(request.user, building)), "files": _files(building)})


def _pages(job: Job, role: Role | None) -> list[dict[str, str]]:
    """For those on the deck and in the house; at a desk nothing is kept but what was opened."""
    if role not in (Role.SITE_LEAD, Role.BUILDER):
        return []
    marks = list(
        Truss.objects.filter(job=job, current__isnull=False)
        .annotate(
            event=Max("events"),
            seal=Max("current__sealed_drawings"),
            record=Max("current__sealed_drawings__records"),
            tick=Max("fixed"),
        )
        .only("mark", "job_id", "current_id", "can_change_until", "withdrawn_at", "variant_of_id")
        .order_by("pk")
    )
    stands: dict[int, list[Any]] = {}
    rows = Copy.objects.filter(truss__in=marks).order_by("pk")
    for truss, *state in rows.values_list("truss", "number", "stage", "released_to__number", "built_to__number"):
        stands.setdefault(truss, []).append(state)
    counts = [kind.objects.filter(job=job).aggregate(last=Max("pk"))["last"] for kind in (SealRule, PlateTable)]
    # what an inspector wants corrected stands on every page of its mark, until one accepts it
    counts += [Correction.objects.filter(link__job=job).aggregate(last=Max("pk"))["last"]]
    counts += [CorrectionWord.objects.filter(correction__link__job=job).aggregate(last=Max("pk"))["last"]]
    told = [(one.pk, one.current_id, one.event, one.seal, one.record, str(one.withdrawn_at)) for one in marks]
    of_job = _version([counts, told])
    walls = list(job.wall_lines.order_by("pk").values_list("label", "plate", "level", "points"))
    of_plan = _version([of_job, walls, job.north_deg])
    above, below = _standing_on(marks), _stood_on(marks)
    family: dict[int, int] = {}  # an old truss of a copy is told on whichever variant the copy is of
    for one in marks:
        root = one.variant_of_id or one.pk
        family[root] = max(family.get(root, 0), one.event or 0)
    pages = [(reverse("device"), "")]
    for name in ("job", "sheets"):
        address = reverse(f"trusses:{name}", args=[job.pk])
        more = range(2, Paginator(marks, MARKS_A_PAGE).num_pages + 1)
        pages += [(address, of_job), *((f"{address}?page={number}", of_job) for number in more)]
    plan = reverse("trusses:plan", args=[job.pk])
    pages += [(plan, of_plan), *((f"{plan}?{urlencode({'level': level})}", of_plan) for level in level_names(job))]
    if role == Role.SITE_LEAD:
        setting, in_order = reverse("trusses:setting", args=[job.pk]), _version([of_plan, list(stands.values())])
        pages += [(setting, in_order)]
        pages += [(f"{setting}?{urlencode({'level': level})}", in_order) for level in level_names(job)]
    numbers = dict(Truss.objects.filter(pk__in=[one.pk for one in marks]).values_list("pk", "current__number"))
    marks_own, told_of = [], []
    for one in marks:
        here = stands.get(one.pk, [])
        own = [one.current_id, family[one.variant_of_id or one.pk], one.seal, one.record, str(one.withdrawn_at)]
        around = [job.sheathing_km, below.get(one.pk, []), *above[one.pk]]
        version = _version([*own, here, counts, *around])
        built = {number for _, _, *those in here for number in those if number is not None}
        pages += [
            (reverse("trusses:sheet", args=[job.pk, one.pk, number]), version)
            for number in sorted({numbers[one.pk], *built}, reverse=True)
        ]
        marks_own.append((reverse("trusses:mark", args=[job.pk, one.pk]), version))
        told_of.append((reverse("changes:ask-kind", args=[job.pk, one.pk, "damage"]), _version([one.current_id])))
        if role == Role.SITE_LEAD:
            ticked = _version([version, one.tick])
            marks_own.append((reverse("trusses:fixed", args=[job.pk, one.pk]), ticked))
    pages += [*marks_own, *told_of]  # sheets first: a signal may not last
    return [{"url": url, "version": version} for url, version in pages]


def _stood_on(marks: Sequence[Any]) -> dict[int, list[Any]]:
    """{mark: what its bearings stand on}, with the wall plates that their loads press on."""
    rows = BearingLink.objects.filter(truss__in=[one.pk for one in marks]).order_by("pk")
    found: dict[int, list[Any]] = {}
    for truss, *what in rows.values_list("truss", "joint", "wall__label", "wall__plate", "carrier"):
        found.setdefault(truss, []).append(what)
    return found


def _standing_on(marks: Sequence[Any]) -> dict[int, list[Any]]:
    """{mark: what stands on it and on that}, with all by which its loads may be others than its drawing has."""
    is_now = {one.pk: (one.current_id, one.event) for one in marks}
    family = {one.pk: one.variant_of_id or one.pk for one in marks}  # a link to one of a family is a link to all
    rows = BearingLink.objects.filter(carrier__in=is_now, truss__withdrawn_at=None).order_by("pk")
    on: dict[int, list[Any]] = {}
    for carrier, carried, *how in rows.values_list("carrier", "truss", "joint", "hung"):
        on.setdefault(family[carrier], []).append((carried, carrier, how, is_now.get(carried)))
    found = {}
    for mark, first in family.items():
        reached, here = [first], []
        for one in reached:
            for row in on.get(one, ()):
                here.append(row)
                if (next_one := family.get(row[0])) and next_one not in reached:
                    reached.append(next_one)
        found[mark] = here
    return found


def _sheets(job: Job) -> list[dict[str, Any]]:
    rows = Revision.objects.filter(truss__job=job, truss__current__isnull=False).select_related("truss__current")
    papers = dict(PaperCode.objects.filter(revision__truss__job=job, ended_at=None).values_list("revision", "token"))
    heavy = ("analysis", "document", "truss__current__analysis", "truss__current__document")
    told = []
    for one in rows.defer(*heavy):
        address = reverse("trusses:sheet", args=[job.pk, one.truss_id, one.number])
        says = f"{one.truss.mark} revision {one.number}"
        dead: dict[str, Any] = {} if one.pk == one.truss.current_id else {"dead_by": one.truss.current.number}
        if one.truss.withdrawn_at is not None:
            dead = {"withdrawn": one.truss.mark}
        codes = {"code": sheet.code(one).replace(" ", ""), "paper": papers.get(one.pk, "")}
        told.append({"url": address, "says": says, **codes, **dead})
    return told


def _files(job: Job) -> list[str]:
    withdrawn = SealRecord.objects.filter(kind=SealRecord.Kind.WITHDRAWN).values("drawing")
    drawings = SealedDrawing.objects.filter(truss__job=job, replaced_by=None).exclude(pk__in=withdrawn)
    return [reverse("trusses:seal-pdf", args=[pk]) for pk in drawings.values_list("pk", flat=True)]


def _version(of: Any) -> str:
    return hashlib.sha256(json.dumps(of, default=str).encode()).hexdigest()[:12]
