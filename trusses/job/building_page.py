"""What a job builds with: its limits of building and its list of lumber, and the designer's form to say them."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.lumber import LUMBER
from trusses.analysis.words.lengths import feet_inches
from trusses.forms import AloneForm, LengthField
from trusses.job.building import say
from trusses.models import BUILDING_BOUNDS_IN, JobBuilding
from trusses.permissions import job_or_404, may, require

VERB = "say what the job builds with"
FIELDS = (*BUILDING_BOUNDS_IN, "stock")


def _length(label: str, hint: str, *, size: bool = True) -> LengthField:
    return LengthField(size=size, label=label, label_suffix="", help_text=hint)


def by_species() -> list[tuple[str, list[tuple[str, str]]]]:
    """The table of lumber for a list of boxes to tick: species, then size and grade."""
    found: dict[str, list[tuple[str, str]]] = {}
    for lumber in sorted(LUMBER.values(), key=lambda one: (one.species, one.grade, one.nominal)):
        found.setdefault(lumber.species, []).append((lumber.key, f"{lumber.size} {lumber.grade}"))
    return list(found.items())


class BuildingForm(AloneForm):
    tolerance_in = _length("Build tolerance", "A web that moves keeps so much more than the clearance from openings.")
    from_joints_in = _length("Openings from panel points", "An opening stays this far from where plates stand.")
    longest_piece_in = _length("Longest piece in stock", "No chord piece is made longer than this.", size=False)
    stock = forms.MultipleChoiceField(
        label="Lumber in stock",
        label_suffix="",
        required=False,
        choices=by_species,
        widget=forms.CheckboxSelectMultiple,
        help_text="Tick none where every size and grade of the table can be had.",
        error_messages={"invalid_choice": "“%(value)s” is not in the table of lumber."},
    )

    def clean(self) -> dict[str, Any]:
        told = cast(dict[str, Any], super().clean())
        for name, (low, high) in BUILDING_BOUNDS_IN.items():
            value = told.get(name)
            if value is not None and not low <= value <= high:
                self.add_error(name, f"Between {feet_inches(low)} and {feet_inches(high)}.")
        return told


def _boxes(ticked: Collection[str]) -> list[tuple[str, dict[str, Any]]]:
    """Boxes to tick by species, and how many are ticked."""
    told = []
    for species, those in by_species():
        rows = [(key, label, key in ticked) for key, label in those]
        told.append((species, {"rows": rows, "ticked": sum(row[2] for row in rows)}))
    return told


@login_required
def building(request: HttpRequest, job: int) -> HttpResponse:
    """What the search for redesigns keeps to, for everyone in the job; a designer says it here."""
    one = job_or_404(request.user, job)
    if request.method == "POST":
        require(request.user, VERB, one)
    held = JobBuilding.objects.filter(job=one).first() or JobBuilding(job=one)
    form = BuildingForm(request.POST or None, initial={name: getattr(held, name) for name in FIELDS})
    if request.method == "POST" and form.is_valid():
        say(one, {name: form.cleaned_data[name] for name in FIELDS})
        messages.success(request, "From the next computation on, redesigns keep to that.")
        return redirect("trusses:building", job=one.pk)
    page: dict[str, Any] = {"job": one, "held": held, "form": form if may(request.user, VERB, one) else None}
    page |= {"lengths": [form[name] for name in BUILDING_BOUNDS_IN], "stock": _boxes(form["stock"].value() or ())}
    return render(request, "trusses/building.html", page, status=422 if form.errors else 200)
