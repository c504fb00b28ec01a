"""The set in three dimensions: its page, its glTF and its plain picture."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.cache import cache_control

from trusses.forms import LengthField
from trusses.permissions import job_or_404, may, require
from trusses.plan.copies import sides
from trusses.plan.placing import VERB
from trusses.solid import kept
from trusses.solid.scene import Scene


class HeightsForm(forms.Form):
    """How high the trusses of each level bear; what is left empty is assumed."""

    def __init__(self, *args: Any, heights: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **{"label_suffix": "", **kwargs})
        for n, (level, height) in enumerate(heights.items()):
            self.fields[f"level{n}"] = LengthField(
                negative=True,
                required=False,
                label=level,
                initial=height.bearing if height.said else None,
                help_text="" if height.said else "Nobody said it; assumed.",
            )
        self.levels = list(heights)

    def heights(self) -> dict[str, float]:
        typed = {level: self.cleaned_data[f"level{n}"] for n, level in enumerate(self.levels)}
        return {level: inches for level, inches in typed.items() if inches is not None}


@login_required
def solid(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    if request.method == "POST":
        require(request.user, VERB, building)
    high = kept.heights_of(building)
    form = HeightsForm(request.POST if request.method == "POST" else None, heights=high)
    if request.method == "POST" and form.is_valid():
        building.bearing_heights = {**building.bearing_heights, **form.heights()}
        for level in set(high) - set(form.heights()):
            building.bearing_heights.pop(level, None)
        building.save(update_fields=["bearing_heights"])
        messages.success(request, "The set stands at these heights now.")
        return redirect("trusses:solid", job=building.pk)
    page = {
        "job": building,
        "set": reverse("trusses:set-glb", args=(building.pk,)),
        "picture": reverse("trusses:set-picture", args=(building.pk,)),
        "heights": list(high.items()),
        "levels": list(high),
        "sides": sides(building.north_deg),
        "count": bool(high),
        "key": kept.scene_of(building).key if high else set(),
        "form": form if may(request.user, VERB, building) else None,
    }
    return render(request, "trusses/solid.html", page, status=422 if form.errors else 200)


@login_required
@cache_control(private=True, no_cache=True)
def set_glb(request: HttpRequest, job: int) -> HttpResponse:
    """The set as binary glTF; with `?parts=members` each piece is a node of its own."""
    building = job_or_404(request.user, job)
    return glb_answer(kept.scene_of(building), building.name, by_member=request.GET.get("parts") == "members")


@login_required
@cache_control(private=True, no_cache=True)
def set_picture(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    return picture_answer(kept.scene_of(building), building.name)


def glb_answer(scene: Scene, name: str, *, by_member: bool = False) -> HttpResponse:
    answer = HttpResponse(kept.glb_of(scene, by_member=by_member), content_type="model/gltf-binary")
    answer["Content-Disposition"] = f'attachment; filename="{slugify(name) or "set"}.glb"'
    return answer


def picture_answer(scene: Scene, name: str) -> HttpResponse:
    return HttpResponse(kept.picture_of(scene, name), content_type="image/svg+xml; charset=utf-8")
