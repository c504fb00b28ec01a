"""The page where a run is drawn: on the plan by thumb or typed, answered while it grows, confirmed on a list, sent."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.views.decorators.cache import never_cache

from changes import workflow
from changes.asks.as_cut import AsCut, as_cut
from changes.asks.holding import DAMAGED, TAKEN
from changes.asks.live_run import ITSELF, Offer, Takes, better, ends_in, may_be_better, meets_told, takes
from changes.asks.rows_met import rows_met
from changes.asks.run import ALIKE_IN, by_mark, closed, crossing, in_wood, lettered, read_path, storey_below
from changes.asks.run_verdicts import Answers, answers, counts, said
from changes.models import Kind, Request
from changes.pages.asked_there import asked_there
from changes.pages.asking import SENT_ALREADY
from changes.pages.forms import PIPE_SIZES_IN, ROUND_SIZES_IN, TRUNK_SIZES_IN, FilingForm
from changes.pages.in_line import lines_through
from changes.pages.in_short import over_by, told_over
from changes.pages.run_form import RunForm, typed_run
from changes.pages.run_heights import height_told, heights_told, passes, told_above
from changes.pages.run_plan import SHORT_IN, asked_of, drawn_path, rows_of, tone_of
from changes.words.asking import taken_by
from trusses.analysis.runs.bends import Bent
from trusses.analysis.runs.corners import moved_corner, moved_end
from trusses.analysis.runs.crossing import Crossed
from trusses.analysis.runs.lines import Line
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.runs.written import written
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import as_counted, copies, counted, listed, sentence, tell
from trusses.analysis.words.runs import PASSING, at_height, cleared
from trusses.htmx import HtmxRequest
from trusses.kept_drawings import over_level
from trusses.models import Job, Truss
from trusses.once import page as reading_once
from trusses.permissions import job_or_404, require
from trusses.plan.copies import standing
from trusses.plan.level import Level, draw
from trusses.plan.page import level_names, level_of, snaps
from trusses.plan.ways import higher, way, ways
from trusses.words import CLOSED


@login_required
@never_cache
def run(request: HtmxRequest, job: int) -> HttpResponse:
    """A run, drawn or typed, answered while it moves; then why, by when, and off it goes."""
    if not request.htmx:
        return _page(request, job)
    with reading_once():  # an answer while it moves writes nothing
        return _page(request, job)


def _page(request: HtmxRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    require(request.user, "ask for a change", building)
    levels = level_names(building)
    posted = request.POST if request.method == "POST" else None
    wanted, opens = (posted or request.GET).get("level", ""), ""
    for name, here in standing(building).items():
        if there := [one for one in here if str(one.truss) == request.GET.get("mark") and wanted in ("", name)]:
            wanted, opens = name, reverse("trusses:mark", args=[building.pk, there[0].truss])
    level = wanted if wanted in levels else levels[0] if levels else ""
    # an answer that is asked for while one types needs to know it only where it counts from there
    told = not request.htmx or request.POST.get("datum") == "storey"
    storey = storey_below(building, wanted if posted else level) if told else None
    sends = request.method == "POST" and "send" in request.POST and not request.htmx
    rules: dict[str, Any] = {"levels": levels, "storey": storey, "supposes": not sends}
    form = RunForm(posted, **rules, initial={"level": level, **request.GET.dict()})
    filing = FilingForm(posted, today=building.today(), initial={"reason": request.GET.get("reason", "")})
    if sends and form.is_valid() and filing.is_valid():
        if change := _filed(request, building, form, filing):
            return redirect("changes:request", pk=change.pk)
    elif request.method != "POST" and request.GET.get("points"):
        form = RunForm(
            {name: field.prepare_value(form.get_initial_for_field(field, name)) for name, field in form.fields.items()},
            **rules,
        )
    plan = level_of(building, level, standing(building).get(level, []))
    page = {
        "job": building,
        "level": level,
        "levels": levels,
        "opens": opens,
        "form": form,
        "filing": filing,
        **answer(building, plan, form),
    }
    page["late"] = _late(filing, page["last_days"])
    if request.htmx:
        if "offers" in request.POST:
            together = form.cleaned_data.get("together", False)
            found = _offers(building, page["crossed"], together=together)
            return render(request, "changes/_run_offers.html", {**page, **found})
        return render(request, "changes/_run_answer.html", {**page, "oob": True})
    page |= {"round_sizes": ROUND_SIZES_IN, "trunk_sizes": TRUNK_SIZES_IN, "pipe_sizes": PIPE_SIZES_IN}
    page |= {"picture": draw(plan), "snaps": snaps(building, level), "not_sent": sends, "forms": [form, filing]}
    return render(request, "changes/run.html", page, status=422 if sends else 200)


def _filed(request: HtmxRequest, building: Job, form: RunForm, filing: FilingForm) -> Request | None:
    body = {"job": building.pk, **dict(form.data.items())}
    body.pop("csrfmiddlewaretoken", None)
    try:
        return workflow.file(
            request.user,
            building,
            reason=filing.cleaned_data["reason"],
            needed_by=filing.cleaned_data["needed_by"],
            asks=[
                {
                    "kind": Kind.RUN,
                    "run": form.run(),
                    "together": form.cleaned_data["together"],
                    "without": form.cleaned_data["without"],
                }
            ],
            key=filing.cleaned_data["key"],
            body_sha256=hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest(),
        )
    except workflow.Refused as refused:
        form.add_error(None, sentence(refused.says))
    except workflow.Conflict:
        form.add_error(None, SENT_ALREADY)
    return None


def answer(building: Job, plan: Level, form: RunForm) -> dict[str, Any]:
    """What the page says of the run in the form: its sheet over the plan, and the list of what it crosses."""
    nothing = {"crossed": None, "over": over_level(plan, ()), "last_days": ()}
    if not form.is_bound or not form.is_valid():
        begun = form.is_bound and set(form.errors) == {"points"} and len(form.typed_points) == 1
        return nothing | {"begun": begun}
    try:
        crossed = crossing(building, read_path(form.run(), ("run",)))
    except workflow.Refused as refused:
        form.add_error(None, sentence(refused.says))
        return nothing
    met = lettered(crossed)
    cut = as_cut(building, crossed.run.level, met)
    together = form.cleaned_data["together"]
    told = answers(crossed, cut, together=together)
    count = counts(crossed, told)
    runs_met, into, met_with = meets_told(building, crossed, cut, together=together)
    there = asked_there(building, met, but=met_with)
    into = into or ("what another request asks for" if any(one.into for one in there) else "")
    stuck = {one.name: one for one in cut if not one.fits}
    over = {mark: tell(CLOSED, [why]) for mark, why in closed(building, crossed, cut).items()}
    asked = asked_of(crossed, cut, over, together=together)
    left_out = bool(stuck) and set(form.cleaned_data["without"]) == set(stuck)
    passing = tell(PASSING, [beside]) if (beside := passes(crossed)) else ""
    tone = tone_of(crossed, told, left_out=left_out)
    may_take = takes(building, crossed, cut, together=together)
    must_move = into == ITSELF or in_wood(crossed) or bool(over)
    return {
        "crossed": crossed,
        "over": over_level(plan, [drawn_path(crossed, told)]),
        "says": _headline(form, crossed, told, passing, into),
        "supposed": form.supposed,
        "met": rows_of(crossed.run, met, told, cut=cut, north_deg=building.north_deg),
        "passes": passing,
        "high": height_told(crossed),
        "short_high": at_height(crossed.run.height_in, told_above(crossed)),
        **heights_told(building, crossed, may_take),
        "looks": may_be_better(crossed, told),
        "may_move": count.never and all(one.moves for name, one in met if told[name] == "never"),
        "asked": asked,
        "stuck": _marks_of(stuck.values()),
        "only_taken": all(one.how == TAKEN for one in stuck.values()),
        "stuck_names": json.dumps(list(stuck)),
        "left_out": left_out,
        "cut_through": sorted({one.name for one in cut if one.fits}, key=as_counted),
        "asks": any("size" in one for one in asked),
        "goes": any("size" in one or one["tone"] != "stop" for one in asked),
        "no_use": count.never,
        "must_move": must_move,
        "held_up": must_move or (bool(stuck) and not left_out),
        "variants": sum("size" in one for one in asked),
        "alike_in": ALIKE_IN,
        "pieces": rigid(crossed),
        "runs_met": runs_met,
        "rows_met": (of_rows := rows_met(building, crossed)),
        "asked_there": there,
        "into": into,
        "corners": _clear_corners(crossed, building.north_deg, may_take),
        "ends": _clear_ends(crossed, may_take),
        "in_line": lines_through(crossed.run, met, may_take),
        "tone": "look" if tone == "good" and (into or of_rows or crossed.cramped or form.supposed) else tone,
        "drop": crossed.run.height_in - crossed.run.height_at(crossed.run.length_in),
        "last_days": _last_days(building, crossed, cut),
    }


def _headline(form: RunForm, crossed: Crossed, told: Mapping[str, Answers], passing: str, into: str) -> str:
    """The answer in one line, with the size that it is for."""
    line = said(crossed, told) if told else "It goes through no truss at this height" if passing else ""
    if not line:
        return "Its line lies over no truss"
    besides = ["a corner of it stands in a truss"] if crossed.cramped else []
    besides += (
        ["it lies in the wood of a truss beside it"] if any(one.verdict != "fits" for one in crossed.between) else []
    )
    besides += [f"it comes into {into}"] if into else []
    fits = bool(told) and not counts(crossed, told).short
    line = f"{form.speaks_of}: {line[0].lower()}{line[1:]}"
    return f"{line}, {'but' if fits else 'and'} {listed(besides)}" if besides else line


def _late(filing: FilingForm, marks: Iterable[Truss]) -> str:
    """That an answer is wanted for a day by which some of what it crosses can't change any more; empty where it isn't,
    and of marks that can't now, which is told beside them."""
    late = over_by((one for one in marks if not one.changes_are_over), filing.day) if filing.day else []
    each = [f"{one.mark} ({date_format(last)})" for one in late if (last := one.can_change_until)]
    return f"{told_over(each)}." if each else ""


def _last_days(job: Job, crossed: Crossed, cut: Sequence[AsCut]) -> list[Truss]:
    """The marks that it asks something of."""
    marks = by_mark(crossed, but={one.name for one in cut})
    return list(Truss.objects.filter(job=job, mark__in=marks, current__isnull=False))


def _marks_of(stuck: Iterable[AsCut]) -> list[dict[str, str]]:
    """The cut copies that it doesn't get through, by mark and why."""
    found: dict[tuple[str, str], list[int]] = {}
    for one in stuck:
        why = "it doesn't get through"
        if one.holds:
            why = f"it would lie in what goes through there: {taken_by(**one.holds._asdict())}"
        elif one.how == DAMAGED:
            why = "damage was told of it"
        found.setdefault((one.stands.mark, why), []).append(one.stands.number)
    return [{"called": f"{mark}, {copies(numbers)}", "why": why} for (mark, why), numbers in found.items()]


def _clear_corners(crossed: Crossed, north_deg: float | None, may_take: Takes) -> list[dict[str, Any]]:
    """The places where each corner that stands in a truss is clear, each with what the fields say of it."""
    found: dict[tuple[int, Any], dict[str, Any]] = {}
    for one in crossed.cramped:
        for place, by in zip(one.clear_at, one.moves, strict=True):
            to = replace(crossed.run, points=moved_corner(crossed.run, one.corner, place))
            if not may_take(to):
                continue
            found[one.corner, place] = {"corner": one.corner + 1, "by": ways(*by, north_deg), "typed": typed_run(to)}
    return list(found.values())


def _clear_ends(crossed: Crossed, may_take: Takes) -> list[dict[str, Any]]:
    """Each end that stands in a truss, with what the fields say of it past that and short of it."""
    found = []
    for one in ends_in(crossed):
        verb = "End" if one.point else "Begin"
        ways = [("farther, past", one.past_in, 1), ("less far, short of", one.short_in, -1)]
        moved = [(how, by, moved_end(crossed.run, one.point, turn * by)) for how, by, turn in ways if by is not None]
        those = [
            {"by": f"{verb} it {feet_inches(by)} {how} {one.stood.name}", "typed": typed_run(to)}
            for how, by, to in moved
            if may_take(to)
        ]
        found.append({"called": "ends" if one.point else "begins", "name": one.stood.name, "ways": those})
    return found


def _offers(building: Job, crossed: Crossed | None, *, together: bool) -> dict[str, Any]:
    """Better lines, each with what the fields say of it and one sentence; and what was not looked for."""
    if crossed is None:
        return {"offers": [], "lacks": ""}
    found, lacks = better(building, crossed, together=together)
    return {"offers": offers_told(found, building.north_deg), "lacks": lacks}


def offers_told(found: Iterable[Offer], north_deg: float | None) -> list[dict[str, Any]]:
    """Each line once, however many ways found it, best first."""
    told: dict[tuple[str, ...], dict[str, Any]] = {}
    for one in found:
        typed = typed_run(one.way.run)
        told.setdefault(tuple(typed.values()), {"typed": typed, "says": said_line(one, north_deg)})
    return list(told.values())


def said_line(offer: Offer, north_deg: float | None = None) -> str:
    """What a line is beside the one that was drawn, and what it asks for."""
    says, after = _says(offer.way, north_deg), offer.after
    if after is None:
        return says
    there = partial(ways, north_deg=north_deg)
    first = sentence(cleared(after.told["values"]["shifts"], there)).removesuffix(".")
    return f"{first}. {says}" if offer.way.run != written(after.run) else f"{first}: {says}"


def _says(one: Line | Bent, north_deg: float | None) -> str:
    fewer = (
        "every truss stays as it is" if not one.changes else f"{counted(one.changes, 'truss', 'trusses')} would change"
    )
    if isinstance(one, Bent):
        longer = "as long"
        if abs(one.longer_in) >= SHORT_IN:
            longer = f"{feet_inches(abs(one.longer_in))} {'longer' if one.longer_in > 0 else 'shorter'}"
        begins = f", its beginning {higher(one.up_in)}" if abs(one.up_in) >= SHORT_IN else ""
        return f"With {counted(one.bends, 'bend', 'bends')}, {longer}{begins}: {fewer}."
    steps = [way(one.along, one.sideways_in, north_deg)] if one.sideways_in else []
    steps += [higher(one.up_in)] if one.up_in else []
    return f"Moved {' and '.join(steps)}: {fewer}." if steps else f"{fewer}."
