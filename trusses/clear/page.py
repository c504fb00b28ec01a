"""The map of clear openings of one mark: what each pocket holds, and where a chosen size may stand."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.analysis.clearance.clear_map import HEIGHTS_IN
from trusses.analysis.words.lengths import feet_inches
from trusses.clear.forms import SizeForm
from trusses.clear.maps import Room, drawn, pockets_of, rooms
from trusses.clear.taped import SHAPE_WORDS, PocketTaped, Tape, Taped
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
        "alike": _alike(pockets),
        "by_width": _by_width(pockets),
        "asked": chosen is not None,
        "places": places,
        "by_place": _by_place(places),
        "told": next((one for one in pockets if f"{one.clear.number}" == request.GET.get("pocket")), None),
        "map": drawn(found, chosen),
        "may_ask": may(request.user, "ask for a change", mark.job),
    }
    return render(request, "trusses/clear.html", page, status=422 if form.errors else 200)


@dataclass(frozen=True)
class Alike:
    """Pockets of which the same is told, since a floor's truss has many, each with what is told of it beside."""

    numbers: tuple[int, ...]
    of: list[Any]

    @property
    def called(self) -> str:
        return f"Pocket{'s' if len(self.numbers) > 1 else ''} {runs(self.numbers)}"


def _grouped(told: Iterable[tuple[Hashable, int, Any]]) -> list[Alike]:
    """(what is told, number, what is shown of it) by what is told, in the order of the first of each."""
    found: dict[Hashable, list[tuple[int, Any]]] = {}
    for key, number, one in told:
        found.setdefault(key, []).append((number, one))
    return [Alike(tuple(number for number, _ in each), [one for _, one in each]) for each in found.values()]


def _alike(pockets: Iterable[PocketTaped]) -> list[Alike]:
    return _grouped(
        ((one.round.size, *(taped.size for taped in one.by_shape), *one.clear.pocket.openings), one.clear.number, one)
        for one in pockets
    )


def _by_place(places: Iterable[tuple[Room, Taped]]) -> list[Alike]:
    """Where the chosen size may stand: of pockets where it is as high up, from one bearing, how far along in each."""
    told = []
    for room, place in places:
        along = place.reach and (place.reach.support.joint, place.reach.to_centre)
        up = place.rise and feet_inches(place.rise.distance)
        told.append(((along, up, *room.clear.pocket.openings), room.clear.number, (room, place)))
    return _grouped(told)


def _by_width(pockets: Iterable[PocketTaped]) -> list[tuple[str, Widths]]:
    """The widths at each usual height, pockets that are alike in one row."""
    found = _grouped((tuple(one.widths), one.clear.number, tuple(one.widths)) for one in pockets)
    return [(each.called, each.of[0]) for each in found]
