"""The copies of several marks released to their current revisions in one form: all that are chosen, or none of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode

from trusses.copies import onward
from trusses.forms import number_of
from trusses.marks.stages_page import before_the_saw
from trusses.models import Copy, Job, Revision, Role, Stage, Truss
from trusses.permissions import STAGE_MOVES, job_or_404, role_in
from trusses.production import move
from trusses.refusals import NotAllowed, Refused
from trusses.words import runs

_BY = STAGE_MOVES[Stage.DESIGNING, Stage.RELEASED]


@dataclass
class Row:
    """One revision of the form with the copies that it would release, what to know before, and why not."""

    revision: Revision
    copies: Sequence[Copy]
    chosen: bool
    warns: str = ""
    trouble: str = ""

    @property
    def numbers(self) -> str:
        return runs(copy.number for copy in self.copies)


def address(user: Any, job: Job, revisions: Iterable[Revision], back: str) -> str:
    """Where copies are released to some revisions together; empty where fewer than two wait for it, or by another's
    hand. `back` is where it leads afterwards."""
    if role_in(user, job) != _BY:
        return ""
    marks = [one.pk for one in revisions if one.is_current and not one.truss.withdrawn_at]
    waits = [row.revision.pk for row in (_rows(job, marks) if len(marks) > 1 else ()) if row.copies]
    said = urlencode([*(("revision", pk) for pk in waits), ("back", back)])
    return f"{reverse('trusses:release-together', args=[job.pk])}?{said}" if len(waits) > 1 else ""


def _rows(job: Job, asked: Iterable[int]) -> list[Row]:
    found = Revision.objects.filter(pk__in=list(asked), truss__job=job).select_related("truss__job", "truss__current")
    rows = []
    for one in found.prefetch_related("truss__copies").order_by("truss__mark"):
        here = sorted(one.truss.copies.all(), key=lambda copy: copy.number)
        copies = onward.to_release(here, one) if one.is_current else []
        rows.append(Row(one, copies, bool(copies)))
    return rows


@login_required
def release_together(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    if role_in(request.user, building) != _BY:
        raise NotAllowed("stage-role", role=Role(_BY).label, to=Stage.RELEASED.value)
    sent = request.POST if request.method == "POST" else request.GET
    rows = _rows(building, [pk for one in sent.getlist("revision") if (pk := number_of(one)) is not None])
    back = sent.get("back", "")
    back = back if back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None) else ""
    for row in rows:
        row.warns = before_the_saw(Stage.RELEASED, row.revision)
    page: dict[str, Any] = {"job": building, "rows": rows, "back": back}
    if request.method != "POST":
        return render(request, "trusses/release_several.html", page)
    named = {number_of(one) for one in request.POST.getlist("release")}
    only = {number_of(one) for one in request.POST.getlist("copy")}
    for row in rows:
        row.chosen = row.revision.pk in named
    if not any(row.chosen for row in rows):
        page["trouble"] = Refused("release-none").says
    elif (moved := _release(request.user, rows, only)) is not None:
        messages.success(request, f"{moved} cop{'y is' if moved == 1 else 'ies are'} released now.")
        return redirect(back or reverse("trusses:job", args=[job]))
    return render(request, "trusses/release_several.html", page, status=422)


def _release(user: Any, rows: Sequence[Row], only: set[int | None]) -> int | None:
    """How many copies are released; None where one mark's aren't, and then none is: each row says why its own."""
    moved = 0
    with transaction.atomic():
        for row in rows:
            if not row.chosen:
                continue
            truss: Truss = row.revision.truss
            those = [pk for pk in truss.copies.values_list("pk", flat=True) if pk in only]
            try:
                with transaction.atomic():
                    moved += move(user, truss, those, Stage.RELEASED, seen=row.revision)
            except Refused as refused:
                row.trouble = refused.says
        if any(row.trouble for row in rows):
            transaction.set_rollback(True)
            return None
    return moved
