"""The page on which a designer starts a revision that no builder asked for."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from changes import permissions, workflow
from trusses import words
from trusses.forms import AloneForm
from trusses.permissions import truss_or_404


class RevisionForm(AloneForm):
    """Why, until when, and the truss document where it is drawn elsewhere."""

    reason = forms.CharField(
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Why it is revised",
        error_messages={"required": "Say why the truss is revised; the record keeps it."},
    )
    needed_by = forms.DateField(
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        label="Decision needed by",
        help_text="Empty: a week from today.",
    )
    document = forms.CharField(
        required=False,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
        label="Truss document, if it is drawn elsewhere",
        help_text="Empty: today's truss, to be edited on the request's page.",
    )


@login_required
@never_cache
def start_revision(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    mark = truss_or_404(request.user, truss, job=job)
    permissions.require(request.user, "start", mark.job)
    if request.method != "POST" and (closed := words.closed(mark.all_cut)):  # what was typed before that comes back
        return render(request, "changes/closed.html", {"job": mark.job, "truss": mark, "closed": closed, "own": True})
    form = RevisionForm(request.POST or None, label_suffix="")
    if request.method == "POST" and form.is_valid() and (change := _start(request.user, mark, form)):
        return redirect("changes:request", pk=change.pk)
    page = {"job": mark.job, "truss": mark, "form": form}
    return render(request, "changes/start_revision.html", page, status=422 if form.errors else 200)


def _start(user: Any, mark: Any, form: RevisionForm) -> Any:
    typed = form.cleaned_data
    try:
        return workflow.start_revision(
            user, mark, reason=typed["reason"], needed_by=typed["needed_by"], document=typed["document"].strip() or None
        )
    except (workflow.Refused, workflow.Conflict) as refused:
        field = getattr(refused, "field", None)
        form.add_error(field if field in form.fields else None, refused.says)
        return None
