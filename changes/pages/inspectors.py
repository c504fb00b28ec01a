"""Inspectors, as the people of the job see them: links handed out, corrections wanted and answered."""

from __future__ import annotations

from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from changes.inspection import links
from changes.models import Correction, InspectorLink
from trusses.analysis.words.phrases import sentence
from trusses.forms import refusing
from trusses.models import Job
from trusses.permissions import job_or_404, may, one_or_404, require
from trusses.refusals import Refused


class LinkForm(forms.Form):
    """A link to hand out."""

    for_whom = forms.CharField(
        label="For whom",
        max_length=120,
        help_text="Whoever has the address sees the job; this is for your record.",
        error_messages={"required": "Say for whom the link is."},
    )
    days = forms.IntegerField(
        label="Good for",
        initial=30,
        min_value=1,
        max_value=links.MOST_DAYS,
        error_messages=refusing(f"Say for how many days the link is good: 1 to {links.MOST_DAYS}."),
    )
    days.unit = "days"  # type: ignore[attr-defined]


class AnswerForm(forms.Form):
    says = forms.CharField(
        label="Answer",
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write an answer first."},
    )


@login_required
def inspectors(request: HttpRequest, job: int) -> HttpResponse:
    """The links of a job and what came by them; a builder or designer hands out one."""
    building = job_or_404(request.user, job)
    if request.method != "POST":
        return _page(request, building)
    require(request.user, links.HAND_OUT, building)
    form = LinkForm(request.POST)
    if not form.is_valid():
        return _page(request, building, form=form, status=422)
    link, token = links.hand_out(request.user, building, **form.cleaned_data)
    path = reverse("changes:inspect", args=[token])
    # shown in answer to the form itself: a reload asks before it makes another, and no page shows it again
    whole = f"{settings.PUBLIC_ADDRESS}{path}" if settings.PUBLIC_ADDRESS else request.build_absolute_uri(path)
    response = _page(request, building, made=link, address=whole)
    response["Cache-Control"] = "no-store"
    return response


@login_required
@require_POST
def end(request: HttpRequest, pk: int) -> HttpResponse:
    link = one_or_404(InspectorLink.objects.select_related("job"), request.user, pk=pk)
    links.end(request.user, link)
    messages.success(request, f"The link for {link.for_whom} is revoked: its address opens nothing any more.")
    return redirect("changes:inspectors", job=link.job_id)


@login_required
@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    correction = one_or_404(Correction.objects.select_related("link__job"), request.user, pk=pk)
    building = correction.link.job
    require(request.user, links.ANSWER, building)
    form, status = AnswerForm(request.POST, auto_id=f"answer-{pk}-%s"), 422
    if form.is_valid():
        try:
            links.answer(request.user, correction, form.cleaned_data["says"])
            messages.success(request, "Answered: the inspector sees it below what was to be corrected.")
            return redirect("changes:inspectors", job=building.pk)
        except Refused as refused:
            form.add_error("says", sentence(refused.says))
            status = 409
    return _page(request, building, status=status, answers={pk: form})


def _page(
    request: HttpRequest,
    building: Job,
    *,
    status: int = 200,
    form: LinkForm | None = None,
    answers: dict[int, AnswerForm] | None = None,
    **told: Any,
) -> HttpResponse:
    rows = Correction.objects.filter(link__job=building).select_related("link", "truss", "answered_by").order_by("-pk")
    may_answer, tried = may(request.user, links.ANSWER, building), answers or {}
    corrections = [
        {
            "row": one,
            "form": tried.get(one.pk)
            or (AnswerForm(auto_id=f"answer-{one.pk}-%s") if may_answer and not one.answered_at else None),
        }
        for one in rows
    ]
    page = {
        "job": building,
        "links": InspectorLink.objects.filter(job=building).select_related("made_by", "ended_by"),
        "corrections": corrections,
        "form": (form or LinkForm()) if may(request.user, links.HAND_OUT, building) else None,
        "troubles": [one for one in (form, *tried.values()) if one and one.errors],
        **told,
    }
    return render(request, "changes/inspectors.html", page, status=status)
