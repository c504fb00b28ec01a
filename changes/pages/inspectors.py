"""Inspectors, as the people of the job see them: links handed out, corrections wanted and answered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST

from changes.inspection import corrections, links
from changes.models import Correction, CorrectionWord, InspectorLink
from trusses import pictures
from trusses.analysis.words.phrases import sentence
from trusses.copies.forms import photos_of
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


def _words(label: str, wanted: str) -> forms.CharField:
    """A field for what is said; `wanted` where nothing is."""
    area = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=label, max_length=2000, widget=area, error_messages={"required": wanted})


class SayForm(forms.Form):
    """What somebody here says of a correction, and the address that it goes `to`."""

    says: forms.CharField
    to: str


class AnswerForm(SayForm):
    """What was done of a correction."""

    says = _words("What was done", "Write an answer first.")
    to = "changes:answer-correction"


class CloseForm(SayForm):
    """Why one is closed without the inspector's word."""

    says = _words(
        "Why it is closed without the inspector’s word",
        "Say why: your name stands with it, for every inspector to read.",
    )
    to = "changes:close-correction"


PHOTOGRAPHED = {
    "corrections": Correction.objects.select_related("link"),
    "words": CorrectionWord.objects.select_related("correction__link"),
}


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
    """What was done of a correction, with photos; it waits for the inspector then."""
    correction = one_or_404(Correction.objects.select_related("link__job"), request.user, pk=pk)
    require(request.user, corrections.ANSWER, correction.link.job)
    form = AnswerForm(request.POST, auto_id=f"answer-{pk}-%s")
    says = "Answered: it stays open until the inspector accepts it."
    return _said(
        request,
        correction,
        form,
        says,
        lambda text: corrections.answer(request.user, correction, text, photos_of(request)),
    )


@login_required
@require_POST
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """Closes one that no inspector's link is left for, by name."""
    correction = one_or_404(Correction.objects.select_related("link__job"), request.user, pk=pk)
    require(request.user, corrections.CLOSE, correction.link.job)
    form = CloseForm(request.POST, auto_id=f"close-{pk}-%s")
    says = "Closed by your name, without the inspector’s word."
    return _said(request, correction, form, says, lambda text: corrections.close(request.user, correction, text))


def _said(
    request: HttpRequest, correction: Correction, form: SayForm, done: str, say: Callable[[str], None]
) -> HttpResponse:
    building, status = correction.link.job, 422
    if form.is_valid():
        try:
            say(form.cleaned_data["says"])
            messages.success(request, done)
            return redirect(corrections.address(correction))
        except Refused as refused:
            form.add_error("says", sentence(refused.says))
            status = 409
    return _page(request, building, status=status, tried={correction.pk: form})


@login_required
@cache_control(private=True, max_age=3600, immutable=True)
def photo(request: HttpRequest, of: str, pk: int, number: int) -> FileResponse:
    """A photo of a correction or of a word on one, for the people of its job."""
    if of not in PHOTOGRAPHED:
        raise Http404("Not found.")
    row = one_or_404(PHOTOGRAPHED[of], request.user, pk=pk)
    correction = row if isinstance(row, Correction) else row.correction
    return pictures.opened(correction.link.job_id, row.photos, number)


def _page(
    request: HttpRequest,
    building: Job,
    *,
    status: int = 200,
    form: LinkForm | None = None,
    tried: dict[int, SayForm] | None = None,
    **told: Any,
) -> HttpResponse:
    typed = tried or {}

    def at(of: str, pk: int, number: int) -> str:
        return reverse("changes:correction-photo", args=[of, pk, number])

    told_of_each = [
        {**corrections.told_of_one(one, at), "form": typed.get(one.pk) or _form(request.user, building, one)}
        for one in sorted(corrections.of_job(building), key=lambda one: (not one.waits, not one.is_open))
    ]
    page = {
        "job": building,
        "links": InspectorLink.objects.filter(job=building).select_related("made_by", "ended_by"),
        "corrections": told_of_each,
        "unanswered": corrections.unanswered(building),
        "form": (form or LinkForm()) if may(request.user, links.HAND_OUT, building) else None,
        "troubles": [one for one in (form, *typed.values()) if one and one.errors],
        **told,
    }
    return render(request, "changes/inspectors.html", page, status=status)


def _form(user: Any, building: Job, correction: Correction) -> SayForm | None:
    """What the person may say of a correction now."""
    if correction.waits and may(user, corrections.ANSWER, building):
        return AnswerForm(auto_id=f"answer-{correction.pk}-%s")
    if may(user, corrections.CLOSE, building) and corrections.may_be_closed(correction):
        return CloseForm(auto_id=f"close-{correction.pk}-%s")
    return None
