"""The drawings of a request of several marks, fetched mark by mark: all at once weigh what all its marks weigh, and
on a phone one is looked at after the other."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import cache_control

from changes.models import Request
from changes.pages.in_short import NOT_SEALED, since
from changes.pages.section import Section
from changes.pages.sections import sections
from trusses import drawing, kept_drawings
from trusses.models import Role
from trusses.permissions import one_or_404, role_in

SIDES = ("before", "after")


@login_required
@cache_control(private=True, no_cache=True)
def drawings(request: HttpRequest, pk: int, option: int) -> HttpResponse:
    """The truss before and after with one option on show, and for a designer its forces; a fragment of the page."""
    change, section = _shown(request, pk, option)
    page = {"change": change, "section": section, "role": role_in(request.user, change.job)}
    page["became"] = since([change]).get(change.pk, NOT_SEALED)
    return render(request, "changes/_drawings.html", page)


@login_required
@cache_control(private=True, no_cache=True)
def forces(request: HttpRequest, pk: int, option: int) -> HttpResponse:
    """The forces drawn, before and after, for a designer who opens them; a fragment of the page."""
    change, section = _shown(request, pk, option)
    if role_in(request.user, change.job) != Role.DESIGNER or not (section.chosen and section.chosen.analysis):
        raise Http404("Not found.")
    return render(request, "changes/_forces_drawn.html", {"section": section})


@login_required
@cache_control(private=True, no_cache=True)
def side(request: HttpRequest, pk: int, option: int, which: str) -> HttpResponse:
    """One of the two drawings as a file, for a browser that fetches no fragments."""
    if which not in SIDES:
        raise Http404("Not found.")
    _, section = _shown(request, pk, option)
    chosen: Any = section.chosen
    ask = section.asks[0].opening
    try:
        if which == "before":
            picture = kept_drawings.elevation(
                section.before_document,
                ask=ask,
                beside=chosen.document,
                weights=section.weighs_asked,
                bearings_asked=section.bearings_asked,
                theirs=section.of_others,
            )
        else:
            picture = kept_drawings.elevation(
                chosen.document, before=section.revision.document, around=section.looks_at, weights=section.weighs
            )
    except drawing.DrawingError as trouble:
        raise Http404("Not found.") from trouble
    return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")


def _shown(request: HttpRequest, pk: int, option: int) -> tuple[Request, Section]:
    change = one_or_404(Request.objects.select_related("job"), request.user, pk=pk)
    found = next((one for one in sections(change, [str(option)]) if one.chosen and one.chosen.pk == option), None)
    if found is None:
        raise Http404("Not found.")
    return change, found
