"""What an analysis may take for granted of a job's sheathing, and the designer's form to say it."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.models import Job
from trusses.permissions import job_or_404, may, require

VERB = "say how the roof is sheathed"


class SheathingForm(forms.Form):
    """Whether CT may be counted on in this job, and for which lumber."""

    sheathing_km = forms.TypedChoiceField(
        label="What holds on this job",
        choices=(("", "Not counted on: the chords buckle as if nothing were nailed to them"), *Job.Sheathing.choices),
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": "Choose one of the three."},
    )


@login_required
def sheathing(request: HttpRequest, job: int) -> HttpResponse:
    """What is counted on, for everyone in the job; a designer says it here."""
    building = job_or_404(request.user, job)
    if request.method == "POST":
        require(request.user, VERB, building)
    form = SheathingForm(request.POST or None, initial={"sheathing_km": building.sheathing_km or ""}, label_suffix="")
    if request.method == "POST" and form.is_valid():
        building.sheathing_km = form.cleaned_data["sheathing_km"]
        building.save(update_fields=["sheathing_km"])
        messages.success(request, "From the next computation on, that is what counts.")
        return redirect("trusses:sheathing", job=building.pk)
    page = {"job": building, "form": form if may(request.user, VERB, building) else None}
    return render(request, "trusses/sheathing.html", page, status=422 if form.errors else 200)
