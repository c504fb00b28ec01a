"""A request in the set in three dimensions: the copies that it touches, before and after an option."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.cache import cache_control

from changes.asks.blocks import blocks
from changes.asks.holding import left_of, not_through
from changes.asks.on_plan import called, in_parts
from changes.asks.standing_asks import issued
from changes.asks.turned import turned_since
from changes.models import Ask, Option, Request
from trusses.analysis.runs.run import read_run
from trusses.analysis.words.phrases import copies as told_copies
from trusses.models import Copy
from trusses.permissions import one_or_404
from trusses.plan.copies import sides
from trusses.solid.page import glb_answer, picture_answer
from trusses.solid.scene import AFTER, Scene
from trusses.solid.standing import Change, scene
from trusses.variants.homes import root


@login_required
def in_the_set(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    options = _options(change, request.GET.getlist("option"))
    chosen = "?" + urlencode([("option", one.pk) for one in options]) if options else ""
    page = {
        "change": change,
        "job": change.job,
        "options": options,
        "others": [one for one in _live(change) if one not in options],
        "set": reverse("changes:set-glb", args=[pk]) + chosen,
        "picture": reverse("changes:set-picture", args=[pk]) + chosen,
        "sides": sides(change.job.north_deg),
    }
    found = _scene(change, options)
    shown: dict[str, object] = {"levels": found.levels, "changes": any(one.shown == AFTER for one in found.placed)}
    shown |= {"key": found.key, "of_request": True}
    return render(request, "changes/solid.html", {**page, **shown})


@login_required
@cache_control(private=True, no_cache=True)
def set_glb(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    return glb_answer(_scene(change, _options(change, request.GET.getlist("option"))), f"request {pk}")


@login_required
@cache_control(private=True, no_cache=True)
def set_picture(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    return picture_answer(_scene(change, _options(change, request.GET.getlist("option"))), f"Request {pk}")


def _change(request: HttpRequest, pk: int) -> Request:
    return one_or_404(Request.objects.select_related("job"), request.user, pk=pk)


def _live(change: Request) -> list[Option]:
    """The options that answer what is asked now, the best first; `called` names the copies of each."""
    rows = change.options.filter(asks__replaced=False, stale=False).distinct().select_related("truss")
    live = list(rows.defer("analysis", "comparison").order_by("rank", "pk"))
    every = Counter(Copy.objects.filter(truss__in={one.truss_id for one in live}).values_list("truss", flat=True))
    for one in live:
        part = 0 < len(one.copies) < every[one.truss_id]
        one.called = f"{one.truss.mark}, {told_copies(one.copies)}" if part else one.truss.mark  # type: ignore[attr-defined]
    return live


def _options(change: Request, asked: Iterable[str]) -> list[Option]:
    """Those that the address names, else the best that passes for each group of copies."""
    live = _live(change)
    if named := [one for one in live if f"{one.pk}" in set(asked)]:
        return named
    best: dict[tuple[int, str], Option] = {}
    for one in live:
        if one.passes:
            best.setdefault((one.truss_id, str(one.copies)), one)
    return list(best.values())


def _scene(change: Request, options: Iterable[Option]) -> Scene:
    asks = list(
        change.asks.filter(replaced=False, truss__isnull=False).select_related("request", "truss", "revision", "run")
    )
    since = turned_since(asks, issued(change.job)) if asks else {}
    pks: dict[int, dict[int, int]] = {}
    copies = Copy.objects.filter(truss__in={ask.truss_id for ask in asks})
    for truss, number, copy in copies.values_list("truss", "number", "pk"):
        pks.setdefault(truss, {})[number] = copy
    changes = {}
    for ask in asks:
        mine = pks.get(ask.truss_id or 0, {})
        after = next(
            (one.document for one in options if one.truss_id == ask.truss_id and one.copies == ask.copies), None
        )
        for number in ask.copies or mine:
            if number in mine:
                turns = since.get(ask.pk, {}).get((root(ask.on_truss), number), ())
                changes[mine[number]] = Change(_asked(ask), after, turned=len(turns) % 2 == 1)
    address = reverse("changes:request", args=[change.pk])
    runs = []
    for run in {ask.run.pk: ask.run for ask in asks if ask.run}.values():
        its = [ask for ask in asks if ask.run == run]
        path = read_run(run.wish)
        there = in_parts(path, its, left_of(change, its), not_through(run))
        runs += [(called(run.name, path), part.run, address) for part in there if not part.left]
    found = scene(change.job, changes, runs)
    return replace(found, weights=[block for ask in asks for block in blocks(ask, found)])


def _asked(ask: Ask) -> dict:
    """Today's truss with the opening that is asked of it."""
    document = ask.revision.document if ask.revision else {}
    if not ask.opening:
        return document
    return {**document, "openings": [*document.get("openings", ()), ask.opening]}
