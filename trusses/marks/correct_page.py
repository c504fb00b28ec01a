"""The page on which a designer corrects or withdraws a mark's first design."""

from __future__ import annotations

import json
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.marks.correcting import LONGEST_REASON, VERB, stops_correcting, withdraw
from trusses.marks.submissions import send_correction
from trusses.models import Submission, Truss
from trusses.permissions import one_or_404, require, revision_or_404, truss_or_404
from trusses.refusals import Refused


class CorrectionForm(forms.Form):
    """The whole truss document as it should have been, and why; without it the mark is withdrawn."""

    document = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "false"}),
        label="Truss document",
    )
    reason = forms.CharField(max_length=LONGEST_REASON, widget=forms.Textarea(attrs={"rows": 3}), label="Why")
    accepts = forms.MultipleChoiceField(
        required=False,
        choices=[(rule, rule) for rule in sorted(SERVICEABILITY)],
        widget=forms.CheckboxSelectMultiple,
        label="Accept although it fails, for the reason above",
    )


@login_required
def correct_mark(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    mark = truss_or_404(request.user, truss, job=job)
    require(request.user, VERB, mark.job)
    form = CorrectionForm(request.POST or None, initial=_initial(request, mark), label_suffix="")
    if request.method == "POST" and form.is_valid() and (to := _done(request, mark, form)):
        return to
    page = {"job": mark.job, "truss": mark, "form": form, "stops": stops_correcting(mark)}
    return render(request, "trusses/correct.html", page, status=422 if form.errors else 200)


def _initial(request: HttpRequest, mark: Truss) -> dict[str, Any]:
    """Today's document, or what was sent before (`?sent=`) and came to nothing."""
    document, said = mark.current.document, {}
    if (sent := request.GET.get("sent", "")).isdecimal():
        rows = Submission.objects.filter(kind=Submission.Kind.CORRECTION, truss=mark)
        before = one_or_404(rows, request.user, pk=int(sent))
        document, said = before.document, before.said
    written = json.dumps(document, indent=1, ensure_ascii=False)
    return {"document": written, "reason": said.get("reason", ""), "accepts": said.get("accepts", ())}


def _done(request: HttpRequest, mark: Truss, form: CorrectionForm) -> HttpResponse | None:
    """Where it goes on; None where it was refused, and the form says why."""
    typed = form.cleaned_data
    try:
        seen = revision_or_404(request.user, pk=request.POST["seen"], truss=mark) if request.POST.get("seen") else None
        if "withdraw" in request.POST:
            withdraw(request.user, mark, typed["reason"], seen)
            messages.success(request, "Withdrawn from the set. The record stays.")
            return redirect("trusses:mark", job=mark.job_id, truss=mark.pk)
        sent = send_correction(request.user, mark, typed["document"], typed["reason"], seen, typed["accepts"])
    except Refused as trouble:
        form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
        return None
    return redirect("changes:submission", pk=sent.pk)
