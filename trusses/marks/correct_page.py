"""The page on which a designer corrects or withdraws a mark's first design."""

from __future__ import annotations

import json
from collections.abc import Collection
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.forms import AloneForm, number_of
from trusses.marks.correcting import LONGEST_REASON, VERB, stops_correcting, withdraw
from trusses.marks.submissions import send_correction
from trusses.models import Submission, Truss
from trusses.permissions import one_or_404, require, revision_or_404, truss_or_404
from trusses.refusals import Refused


class CorrectionForm(AloneForm):
    """The whole truss document as it should have been, and why; without it the mark is withdrawn."""

    document = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "false"}),
        label="Truss document",
    )
    reason = forms.CharField(
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Why",
        error_messages={"required": "Say why; the record keeps it."},
    )
    accepts = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Accept although it fails, for the reason above",
    )

    def __init__(self, typed: Any, *, initial: dict[str, Any], fails: Collection[str]) -> None:
        """`fails` are the checks of serviceability that fail, as far as is known before the worker has looked."""
        super().__init__(typed, initial=initial, label_suffix="")
        cast(forms.MultipleChoiceField, self.fields["accepts"]).choices = [(rule, rule) for rule in sorted(fails)]
        if not fails:
            del self.fields["accepts"]


@login_required
def correct_mark(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    mark = truss_or_404(request.user, truss, job=job)
    require(request.user, VERB, mark.job)
    sent = _sent_before(request, mark)
    form = CorrectionForm(request.POST or None, initial=_initial(mark, sent), fails=_fails(mark, sent))
    if request.method == "POST" and form.is_valid() and (to := _done(request, mark, form)):
        return to
    page = {"job": mark.job, "truss": mark, "form": form, "stops": stops_correcting(mark)}
    return render(request, "trusses/correct.html", page, status=422 if form.errors else 200)


def _sent_before(request: HttpRequest, mark: Truss) -> Submission | None:
    """What was sent before (`?sent=`) and came to nothing."""
    if (sent := number_of(request.GET.get("sent"))) is None:
        return None
    rows = Submission.objects.filter(kind=Submission.Kind.CORRECTION, truss=mark)
    return one_or_404(rows, request.user, pk=sent)


def _fails(mark: Truss, sent: Submission | None) -> set[str]:
    """Which checks of serviceability fail: of today's design, and of what was sent before."""
    fails = {check["rule"] for check in mark.current.analysis["checks"] if not check["passes"]}
    if sent:
        fails |= {*sent.said["accepts"], (sent.trouble or {}).get("values", {}).get("rule", "")}
    return fails & set(SERVICEABILITY)


def _initial(mark: Truss, sent: Submission | None) -> dict[str, Any]:
    document, said = (sent.document, sent.said) if sent else (mark.current.document, {})
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
        sent = send_correction(request.user, mark, typed["document"], typed["reason"], seen, typed.get("accepts", ()))
    except Refused as trouble:
        form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
        return None
    return redirect("changes:submission", pk=sent.pk)
