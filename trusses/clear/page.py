"""The map of clear openings of one mark: what each pocket holds, and where a chosen size may stand."""

from __future__ import annotations

from collections.abc import Iterable

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.analysis.clearance.clear_map import HEIGHTS_IN
from trusses.clear.forms import SizeForm
from trusses.clear.maps import drawn, pockets_of, rooms
from trusses.clear.taped import SHAPE_WORDS, PocketTaped, Tape
from trusses.permissions import may, truss_or_404
from trusses.words import runs

Widths = tuple[tuple[float, float | None], ...]
"""Each usual height with the greatest width there, inches; None where a pocket is lower."""


@login_required
def clear(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    mark = truss_or_404(request.user, truss, job=job)
    revision = mark.current
    pockets, tape = pockets_of(revision), Tape(revision.document)
    found = [one.clear for one in pockets]
    form = SizeForm(request.GET if "shape" in request.GET else None, label_suffix="")
    chosen = rooms(found, form.opening()) if form.is_bound and form.is_valid() else None
    places = [(room, tape.chosen(room.clear.pocket, room.free, form.opening())) for room in chosen or ()]
    page = {
        "job": mark.job,
        "truss": mark,
        "revision": revision,
        "form": form,
        "heights": HEIGHTS_IN,
        "shapes": SHAPE_WORDS.values(),
        "pockets": pockets,
        "by_width": _by_width(pockets),
        "asked": chosen is not None,
        "places": places,
        "told": next((one for one in pockets if f"{one.clear.number}" == request.GET.get("pocket")), None),
        "map": drawn(found, chosen),
        "may_ask": may(request.user, "ask for a change", mark.job),
    }
    return render(request, "trusses/clear.html", page, status=422 if form.errors else 200)


def _by_width(pockets: Iterable[PocketTaped]) -> list[tuple[str, Widths]]:
    """The widths at each usual height, pockets that are alike in one row: a floor's truss has many."""
    alike: dict[Widths, list[int]] = {}
    for one in pockets:
        alike.setdefault(tuple(one.widths), []).append(one.clear.number)
    return [(f"Pocket{'s' if len(these) > 1 else ''} {runs(these)}", widths) for widths, these in alike.items()]
