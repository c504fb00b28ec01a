"""The sealed drawings of several revisions in one form: what is said of the sealer once, and a PDF for each.

Each is attached for itself, by the same verb as alone: what is refused of one keeps none of the others out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from trusses.analysis.words.phrases import as_counted, listed, sentence
from trusses.forms import number_of
from trusses.models import Job, Revision
from trusses.permissions import job_or_404, may, require, visible
from trusses.refusals import Refused
from trusses.sealing import recording, same_file, seals
from trusses.sealing.forms import OneOfSeveralForm, SealerForm
from trusses.sealing.records_page import address as records_at

MOST = 24
"""Drawings in one form: every PDF is judged while the sender waits."""
_TOGETHER = f"All that is sent at once has {settings.UPLOAD_MAX_BYTES // 1024**2} MB at most: else send some later."
_OF_ONE = "sealed-before-it"
"""The one refusal of a day that is of a revision, not of the sealer's data."""


@dataclass
class Row:
    """One revision of the form. `seal`: what stands for it already; `also_of`: what else that very file is on record
    for."""

    revision: Revision
    seal: seals.Seal | None
    form: OneOfSeveralForm
    also_of: list[str] = field(default_factory=list)

    @property
    def called(self) -> str:
        return _called(self.revision)

    @property
    def late(self) -> str:
        """Why nothing is attached here any more, as a sentence: an address is kept while others decide."""
        truss, number = self.revision.truss, self.revision.number
        if truss.withdrawn_at:
            return Refused("sealed-withdrawn-mark", mark=truss.mark).says
        if not self.revision.is_current and truss.current:
            return Refused("sealed-late", mark=truss.mark, number=number, current=truss.current.number).says
        return ""


def _called(revision: Revision) -> str:
    return f"{revision.truss.mark} revision {revision.number}"


def address(user: Any, job: Job, revisions: Iterable[Revision]) -> str:
    """Where the sealed drawings of some revisions are attached together; empty where fewer than two wait for theirs, or
    by another's hand."""
    current = [one for one in revisions if one.is_current and not one.truss.withdrawn_at]
    standing = seals.seals_of(job, [one.pk for one in current])
    bare = [one.pk for one in current if one.pk not in standing]
    if not 1 < len(bare) <= MOST or not may(user, seals.ATTACH, job):
        return ""
    return f"{reverse('trusses:attach-seals', args=[job.pk])}?{urlencode({'revision': bare}, doseq=True)}"


@login_required
@never_cache
def attach_several(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    require(request.user, seals.ATTACH, building)
    wanted = [one for sent in request.GET.getlist("revision")[:MOST] if (one := number_of(sent)) is not None]
    found = visible(Revision, request.user).filter(pk__in=wanted, truss__job=building)
    revisions = sorted(
        found.select_related("truss__job", "truss__current"), key=lambda one: (as_counted(one.truss.mark), one.number)
    )
    if not revisions:
        raise Http404("Not found.")
    sends = request.method == "POST"
    sealer = SealerForm(request.POST if sends else None, job=building, initial=seals.last_said(request.user, building))
    rows = _rows(building, revisions, (request.POST, request.FILES) if sends else ())
    done: list[Revision] = []
    if sends:
        done = _attached(request.user, sealer, rows)
        if done:
            messages.success(request, f"Attached: {listed([_called(one) for one in done])}.")
        if not any(form.errors for form in (sealer, *(row.form for row in rows))):
            return redirect(request.get_full_path())
        standing = seals.seals_of(building, [one.pk for one in revisions])
        rows = [Row(row.revision, standing.get(row.revision.pk), row.form) for row in rows]
    also = same_file.others_each(building, [row.seal.drawing for row in rows if row.seal])
    for row in rows:
        row.also_of = also[row.seal.drawing.pk] if row.seal else []
    page = {
        "job": building,
        "rows": rows,
        "trusses": [one.truss for one in revisions if one.is_current],
        "open": [row for row in rows if row.seal is None and not row.late],
        "late": [row for row in rows if row.late],
        "sealer": sealer,
        "record_together": records_at(request.user, building, revisions),
        "each_is": f"Each is a PDF that shows its truss, {OneOfSeveralForm.A_FILE} {_TOGETHER}",
        "covers": OneOfSeveralForm.COVERS,
        "forms": [sealer, *(row.form for row in rows)],
        "refused": sends,
        "done": done,
    }
    return render(request, "trusses/seal_several.html", page, status=422 if sends else 200)


def _rows(job: Job, revisions: Iterable[Revision], sent: tuple[Any, ...]) -> list[Row]:
    revisions = list(revisions)
    standing = seals.seals_of(job, [one.pk for one in revisions])
    return [
        Row(one, standing.get(one.pk), OneOfSeveralForm(*sent, shows=_called(one), prefix=f"of-{one.pk}"))
        for one in revisions
    ]


def _attached(user: Any, sealer: SealerForm, rows: list[Row]) -> list[Revision]:
    """Attaches each drawing that was sent, and answers of which revisions; what is refused stands in its form."""
    sound = [row for row in rows if row.form.is_valid() and row.form.cleaned_data["drawing"]]
    if not sound and not any(row.form.errors for row in rows):
        sealer.add_error(None, "Choose at least one PDF.")
    if not sealer.is_valid():
        return []
    done = []
    for row in sound:
        typed = row.form.cleaned_data
        if row.late:
            row.form.add_error(None, row.late)
            continue
        try:
            recording.attach(
                user,
                row.revision,
                typed["drawing"],
                typed["drawing"].size,
                covers=typed["covers"],
                also_shows=typed["also_shows"],
                **sealer.cleaned_data,
            )
        except Refused as refused:
            if refused.field in sealer.fields and refused.code != _OF_ONE:
                sealer.add_error(refused.field, sentence(refused.says))  # it would be the same of each
                break
            if refused.code == "sealed-already":
                standing = seals.seal_of(row.revision)
                if standing and standing.drawing.sha256 == _sha256(typed["drawing"]):
                    done.append(row.revision)  # sent twice
                else:
                    row.form.add_error(None, _by_another(row.revision, standing))
                continue
            row.form.add_error(refused.field if refused.field in row.form.fields else "drawing", sentence(refused.says))
        else:
            done.append(row.revision)
    return done


def _sha256(sent: Any) -> str:
    sent.seek(0)
    return hashlib.file_digest(sent, "sha256").hexdigest()


def _by_another(revision: Revision, standing: seals.Seal | None) -> str:
    by = standing.drawing.attached_by if standing else None
    named = (by.get_full_name() or by.username) if by else "somebody else"
    return Refused("sealed-by-another", mark=revision.truss.mark, number=revision.number, by=named).says
