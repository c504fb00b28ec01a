"""The page of what a designer sent to the set and the worker computes: how far that is, then what it has become, or why
it came to nothing."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from changes.computations import ring_if_due
from trusses.models import Submission
from trusses.permissions import one_or_404, require

Kind = Submission.Kind

BECAME = {
    Kind.NEW_MARK: "{mark} is in the set, as revision {number}.",
    Kind.CORRECTION: "Corrected: revision {number} of {mark} is current.",
    Kind.LOADS: "Written: {mark} revision {number}, and what carries it.",
}
NOTHING = {
    Kind.NEW_MARK: "It is not in the set.",
    Kind.CORRECTION: "Nothing was corrected.",
    Kind.LOADS: "Nothing was written.",
}


def _page(request: HttpRequest, pk: int) -> dict[str, Any]:
    rows = Submission.objects.select_related("job", "computation", "truss", "revision")
    sent = one_or_404(rows, request.user, pk=pk)
    require(request.user, "add a mark", sent.job)
    working = sent.computation if sent.waits else None
    again = reverse("changes:submission", args=[pk])
    return {"job": sent.job, "sent": sent, "working": working, "again": again, "progress": f"{again}progress/"}


@login_required
@never_cache
def submission(request: HttpRequest, pk: int) -> HttpResponse:
    page = _page(request, pk)
    sent: Submission = page["sent"]
    kind = Kind(sent.kind)
    if sent.truss and sent.revision:
        messages.success(request, BECAME[kind].format(mark=sent.truss.mark, number=sent.revision.number))
        return redirect("trusses:mark", job=sent.job_id, truss=sent.truss.pk)
    page |= {"nothing": NOTHING[kind], "back": _back(sent)}
    return render(request, "changes/submission.html", page)


def _back(sent: Submission) -> tuple[str, str]:
    """Where what was sent can be sent otherwise, with all that was typed, and what that place is called."""
    if sent.kind == Kind.CORRECTION and sent.truss:
        where = reverse("trusses:correct", args=[sent.job_id, sent.truss.pk])
        return f"{where}?sent={sent.pk}", "Back to the correction as it was typed"
    if sent.kind == Kind.LOADS and sent.truss:
        return reverse("trusses:mark", args=[sent.job_id, sent.truss.pk]), f"Back to {sent}"
    if typed := sent.said.get("typed"):
        return (
            f"{reverse('trusses:new-truss', args=[sent.job_id])}?{urlencode(typed)}",
            "Back to the form as it was typed",
        )
    return reverse("trusses:upload-truss", args=[sent.job_id]), "Upload another document"


@login_required
def submission_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The fragment that polls; asking rings again as well."""
    page = _page(request, pk)
    if page["working"] is None:
        return HttpResponse(status=286, headers={"HX-Refresh": "true"})
    ring_if_due(page["working"])
    return render(request, "changes/_progress.html", page)
