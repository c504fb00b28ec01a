"""The page of a new mark that waits for the worker: how far its analysis is, then the mark, or why there is none."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from changes.computations import ring_if_due
from trusses.models import NewMark
from trusses.permissions import one_or_404, require


def _page(request: HttpRequest, pk: int) -> dict[str, Any]:
    waiting = one_or_404(NewMark.objects.select_related("job", "computation"), request.user, pk=pk)
    require(request.user, "add a mark", waiting.job)
    working = waiting.computation if waiting.waits else None
    return {"job": waiting.job, "new_mark": waiting, "working": working}


@login_required
@never_cache
def new_mark(request: HttpRequest, pk: int) -> HttpResponse:
    page = _page(request, pk)
    if truss := page["new_mark"].truss_id:
        return redirect("trusses:mark", job=page["job"].pk, truss=truss)
    return render(request, "changes/new_mark.html", page)


@login_required
def new_mark_progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The fragment that polls; asking rings again as well."""
    page = _page(request, pk)
    if page["working"] is None:
        return HttpResponse(status=286, headers={"HX-Refresh": "true"})
    ring_if_due(page["working"])
    return render(request, "changes/_progress.html", page)
