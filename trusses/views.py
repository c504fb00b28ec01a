"""The set's pages."""

from __future__ import annotations

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.permissions import job_or_404


@login_required
def job(request: HttpRequest, job: int) -> HttpResponse:
    return render(request, "trusses/job.html", {"job": job_or_404(request.user, job)})
