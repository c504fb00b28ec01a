"""The job's page: its set as a list of marks, a page of them at a time."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.analysis.words.phrases import as_counted
from trusses.copies import harmed
from trusses.copies.words import by_stage
from trusses.models import Copy, Job, Truss
from trusses.permissions import job_or_404, may
from trusses.production import all_cut, stage_counts
from trusses.sheets import closing

MARKS_A_PAGE = 50


@login_required
def job(request: HttpRequest, job: int) -> HttpResponse:
    """The set as a list of marks: small elevations, how many, where they stand, until when they can change."""
    building = job_or_404(request.user, job)
    page = page_of_marks(building, request)
    counts, stands, hurt = stage_counts(page), by_stage(page), hurt_of(page)
    rows = [
        {
            "truss": truss,
            "stands": stands[truss.pk],
            "quantity": sum(counts[truss.pk].values()),
            "all_cut": all_cut(counts[truss.pk]),
            "off": hurt.get(truss.pk),
        }
        for truss in page
    ]
    told = {
        "job": building,
        "rows": rows,
        "page": page,
        "sought": sought(request),
        "today": building.today(),
        "total": Copy.objects.filter(truss__job=building, truss__current__isnull=False).count(),
        "closing": closing.of_job(building),
        "may_add": may(request.user, "add a mark", building),
    }
    return render(request, "trusses/job.html", told)


def hurt_of(marks: Iterable[Truss]) -> dict[int, harmed.Off]:
    """Of each mark that has any, the copies that are damaged."""
    by_id = {truss.pk: truss for truss in marks}
    copies = list(Copy.objects.filter(truss__in=by_id))
    for copy in copies:
        copy.truss = by_id[copy.truss_id]
    numbers: dict[int, set[int]] = {}
    for one in harmed.off(copies):
        numbers.setdefault(one.truss, set()).update(one.copies)
    return {pk: harmed.Off(tuple(sorted(those)), "", pk) for pk, those in numbers.items()}


def page_of_marks(building: Job, request: HttpRequest) -> Page[Truss]:
    """One page of the job's marks with their current revisions, without the analyses; each mark's job is there already.
    `mark` in the address seeks those whose mark begins so."""
    every = Truss.objects.filter(job=building, current__isnull=False)
    found = every.filter(mark__istartswith=sought(request))
    in_order = [pk for _, pk in sorted((as_counted(mark), pk) for pk, mark in found.values_list("pk", "mark"))]
    page: Page[Any] = Paginator(in_order, MARKS_A_PAGE).get_page(request.GET.get("page"))
    rows = every.select_related("job", "current", "variant_of").defer("current__analysis").in_bulk(page.object_list)
    page.object_list = [rows[pk] for pk in page.object_list]
    return page


def sought(request: HttpRequest) -> str:
    return request.GET.get("mark", "").replace("\x00", "").strip()[:20]
