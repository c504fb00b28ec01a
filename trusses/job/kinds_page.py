"""Of which kinds a mark is that nothing automatic answers for: a fact of the set, said by a designer."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.words.verdict import KINDS
from trusses.permissions import may, require, truss_or_404

VERB = "say of which kind a mark is"


class KindsForm(forms.Form):
    """None, one or several."""

    kinds = forms.MultipleChoiceField(
        label="What holds for this mark",
        choices=tuple(KINDS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "Choose from the list."},
    )


@login_required
def kinds(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """What is said of a mark, for everyone in the job; a designer says it here."""
    mark = truss_or_404(request.user, truss, job=job)
    if request.method == "POST":
        require(request.user, VERB, mark.job)
    typed = request.POST if request.method == "POST" else None
    form = KindsForm(typed, initial={"kinds": mark.kinds}, label_suffix="")
    if typed is not None and form.is_valid():
        mark.kinds = form.cleaned_data["kinds"]
        mark.save(update_fields=["kinds"])
        messages.success(request, "Said. The verdict on this mark counts it from now on.")
        return redirect("trusses:mark", job=mark.job_id, truss=mark.pk)
    page = {
        "job": mark.job,
        "truss": mark,
        "said": [KINDS[kind] for kind in mark.kinds],
        "form": form if may(request.user, VERB, mark.job) else None,
    }
    return render(request, "trusses/kinds.html", page, status=422 if form.errors else 200)
