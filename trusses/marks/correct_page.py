"""The page on which a designer corrects or withdraws a mark's first design."""

from __future__ import annotations

import json

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.marks.correcting import LONGEST_REASON, VERB, correct, stops_correcting, withdraw
from trusses.models import Truss
from trusses.permissions import require, revision_or_404, truss_or_404
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
    initial = {"document": json.dumps(mark.current.document, indent=1, ensure_ascii=False)}
    form = CorrectionForm(request.POST or None, initial=initial, label_suffix="")
    if request.method == "POST" and form.is_valid() and _done(request, mark, form):
        return redirect("trusses:mark", job=job, truss=truss)
    page = {"job": mark.job, "truss": mark, "form": form, "stops": stops_correcting(mark)}
    return render(request, "trusses/correct.html", page, status=422 if form.errors else 200)


def _done(request: HttpRequest, mark: Truss, form: CorrectionForm) -> bool:
    typed = form.cleaned_data
    try:
        seen = revision_or_404(request.user, pk=request.POST["seen"], truss=mark) if request.POST.get("seen") else None
        if "withdraw" in request.POST:
            withdraw(request.user, mark, typed["reason"], seen)
            messages.success(request, "Withdrawn from the set. The record stays.")
        else:
            issued = correct(request.user, mark, typed["document"], typed["reason"], seen, typed["accepts"])
            messages.success(request, f"Corrected: revision {issued.number} is current.")
    except Refused as trouble:
        form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
        return False
    return True
