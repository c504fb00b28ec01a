"""“What do you need?”: the choice that comes first, and the page of each kind of ask beside an opening and a run."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any, NamedTuple

from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.db.models import Count
from django.db.models.fields.json import KeyTextTransform
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse
from django.views.decorators.cache import never_cache

from changes import photos, workflow
from changes.asks.as_built import revisions
from changes.pages import in_short
from changes.pages.asking import SENT_ALREADY
from changes.pages.copies import plans_of
from changes.pages.forms import FilingForm
from changes.pages.from_look import look_of, photos_of, starts_with
from changes.pages.kind_form import KindForm, numbers
from changes.pages.kind_forms import FORMS
from changes.pages.telling_forms import DamageForm, from_end
from trusses import words
from trusses.analysis.format.document import read_stored
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.piece_names import sawn_pieces
from trusses.analysis.words.phrases import as_counted, sentence
from trusses.htmx import HtmxRequest
from trusses.models import Job, Revision, Truss
from trusses.permissions import designers, job_or_404, may, one_or_404, require
from trusses.plan.copies import standing
from trusses.plan.level import draw
from trusses.plan.page import level_names, level_of
from trusses.production import all_cut, stage_counts
from trusses.refusals import Refused

EVER = ("damage", "question")
"""What can be told or asked of a mark that is past change, and by whom nothing else is asked for."""
TELL = "tell of damage or ask a question"


class Need(NamedTuple):
    """One of the seven: what it is called, and what it is for, in a sentence."""

    kind: str
    title: str
    says: str


NEEDS = (
    Need("opening", "An opening", "A duct, a pipe or a chase through the web of one mark."),
    Need("run", "A run", "A duct or a drain through many trusses, drawn on the plan."),
    Need("load", "Something hung or set", "An air handler, a tub, stone or a hoist: what the trusses take, and where."),
    Need("bearing", "A bearing", "A wall moved, added or taken away, or walls that stand elsewhere than drawn."),
    Need(
        "passage", "Something between trusses", "A hatch, a skylight, a flue, a stair, a closet flange or a can light."
    ),
    Need("damage", "Damage", "A piece that is cut, notched, split, bowed or loose. You are told at once what to do."),
    Need("question", "A question", "Anything else, in your own words, with a photo or a place."),
)
_SENDS = {
    "damage": "Tell of the damage",
    "question": "Send the question",
}


@login_required
@never_cache
def needs(request: HttpRequest, job: int, truss: int | None = None) -> HttpResponse:
    """The seven kinds; of a job first which mark it is about."""
    building, mark = _where(request, job, truss)
    require(request.user, TELL, building)
    offered = [need for need in NEEDS if need.kind in EVER or may(request.user, "ask for a change", building)]
    reason = {"reason": request.GET["reason"][:500]} if request.GET.get("reason") else {}
    kind = request.GET.get("kind", "")
    page: dict[str, Any] = {"job": building, "truss": mark, "reason": reason.get("reason", "")}
    if mark is None and kind in {need.kind for need in offered} - {"run"}:
        page |= {"need": next(need for need in NEEDS if need.kind == kind)}
        page["marks"] = [(one, _address(building, one, kind)) for one in _marks(building)]
        page |= {"tells": kind in EVER, "today": building.today(), "of_the_job": _of_no_mark(building, kind)}
        return render(request, "changes/needs.html", page)
    closed = words.closed(mark.past_change) if mark else None
    page["closed"] = closed
    if mark is None and not _marks(building):
        page |= {"nothing_yet": True, "adds": designers(building)}
        page["needs"] = [(need, _of_no_mark(building, need.kind)) for need in offered]
        return render(request, "changes/needs.html", page)
    page["needs"] = [
        (need, None if closed and need.kind not in EVER else _address(building, mark, need.kind)) for need in offered
    ]
    return render(request, "changes/needs.html", page)


def _marks(job: Job) -> list[Any]:
    """The marks to choose from, each with its `title`, how many `copies_n`, whether all are cut, `cut_all`, and the
    `levels` on which they stand."""
    rows = job.trusses.filter(current__isnull=False, withdrawn_at=None).prefetch_related("placements")
    rows = rows.annotate(title=KeyTextTransform("title", "current__document"), copies_n=Count("copies"))
    marks: list[Any] = sorted(rows, key=lambda one: as_counted(one.mark))
    counts = stage_counts(marks)
    for one in marks:
        one.cut_all = all_cut(counts[one.pk])
        one.levels = sorted({place.level for place in one.placements.all()})
    return marks


def _of_no_mark(job: Job, kind: str) -> str:
    """Where a kind leads that needs no truss; nowhere of another."""
    return reverse("changes:ask-of-job", args=[job.pk]) if kind == "question" else ""


def _address(job: Job, truss: Truss | None, kind: str) -> str:
    if kind == "run":
        try:
            return reverse("changes:run", args=[job.pk]) + (f"?mark={truss.pk}" if truss else "")
        except NoReverseMatch:
            return reverse("trusses:plan", args=[job.pk])
    if truss is None:
        return f"{reverse('changes:needs', args=[job.pk])}?kind={kind}"
    if kind == "opening":
        return reverse("changes:ask", args=[job.pk, truss.pk])
    return reverse("changes:ask-kind", args=[job.pk, truss.pk, kind])


@login_required
@never_cache
def ask_kind(request: HtmxRequest, job: int, kind: str, truss: int | None = None) -> HttpResponse:
    """What is wanted, why, by when; what is wrong with it is said beside it, and nothing typed is lost."""
    if kind not in FORMS or (truss is None and kind != "question"):
        raise Http404("Not found.")
    building, mark = _where(request, job, truss)
    require(request.user, TELL if kind in EVER else "ask for a change", building)
    if mark and kind not in EVER and request.method != "POST" and (closed := words.closed(mark.past_change)):
        page = {"job": building, "truss": mark, "closed": closed, "asks": designers(building)}
        return render(request, "changes/closed.html", page)
    sends = request.method == "POST"
    files = request.FILES if sends else None
    start: dict[str, Any] = dict(request.GET.dict())
    if kind == "question":
        start.setdefault("says", start.get("reason", ""))
    if kind == "damage" and mark and (look := look_of(mark, start.get("look"))):
        start = {**starts_with(look), **start}
    drawn = _drawn(mark, (request.POST if sends else start).get("copies", ""), kind) if mark else None
    design = read_stored(drawn.document) if drawn else None
    form = FORMS[kind](request.POST if sends else None, files, truss=mark, design=design, initial=start)
    if request.htmx and sends:  # what is typed so far, which never sends
        form.is_valid()
        for name in [name for name in form.errors if name in form.fields and not form.data.get(name)]:
            del form.errors[name]  # it isn't typed yet
        other = drawn if drawn and str(drawn.pk) != request.POST.get("drawn", str(drawn.pk)) else None
        page = {"form": form, "spots": "[]" if other else _spots(form), "walls": form.beside(), "oob": True}
        page |= {"truss": mark, "kind": kind, "drawn": drawn, "other": other}
        return render(request, "changes/_typed.html", page)
    days: dict[str, Any] = {"today": building.today(), "last_day": mark.can_change_until if mark else None}
    reason = request.GET.get("reason", "")
    filing = FilingForm(request.POST if sends else None, **days, initial={"reason": reason})
    if kind == "damage":
        filing.asks_what_happened()
    if kind == "question":
        filing.asks_nothing_besides()
    if sends and form.is_valid() and filing.is_valid() and (change := _filed(request, building, form, filing)):
        return redirect("changes:request", pk=change.pk)
    page = {
        "job": building,
        "truss": mark,
        "kind": kind,
        "need": next(need for need in NEEDS if need.kind == kind),
        "form": form,
        "filing": filing,
        "forms": [form, filing],
        "not_sent": sends,
        "document": drawn.document if drawn else None,
        "drawn": drawn,
        "plans": plans_of(mark, cut=kind in EVER) if mark else [],
        "spots": _spots(form) if sends else "[]",  # a form that was read
        "sends": _SENDS.get(kind, "Send the request"),
        "walls": form.beside(),
        "taps": _taps(form, design) if design else json.dumps({"fields": form.TAPS}),
        **(_plan(request, building, form) if mark is None else {}),
        "asked_already": in_short.open_requests(request.user, mark) if mark else [],
    }
    return render(request, "changes/ask_kind.html", page, status=422 if sends else 200)


def _drawn(mark: Truss, copies: str, kind: str) -> Revision:
    """The revision on the drawing: of damage the one to which all the copies that are named were built, else the
    current one."""
    try:
        built = revisions(mark, numbers(copies)) if kind == "damage" and copies.strip() else []
    except ValidationError:
        built = []
    return built[0][0] if len(built) == 1 else mark.current


def _spots(form: KindForm) -> str:
    """Where what is typed lies, for the drawing."""
    return json.dumps([[round(x, 3), round(y, 3)] for x, y in form.spots()])


def _taps(form: KindForm, design: Design) -> str:
    """What a tap on the drawing fills: the fields, from where they are measured, where each piece lies, the end first
    from which lengths along it count, and which end that is, in words."""
    pieces, count = {}, {}
    for piece in sawn_pieces(design.document) if "piece" in form.TAPS else ():
        ends = [
            [round(end.x, 3), round(end.y, 3)] for panel in piece.panels for end in design.ends(design.member(panel))
        ]
        pieces[piece.name] = [min(ends), max(ends)]
        count[piece.name] = from_end(design, piece)
    told = {"fields": form.TAPS, "either": form.EITHER, "left": form.left_in, "level": form.level_in}
    return json.dumps({**told, "pieces": pieces, "count": count})


def _plan(request: HttpRequest, job: Job, form: KindForm) -> dict[str, Any]:
    """The plan of one level, to be tapped: nothing on it leads away from what is being typed."""
    levels = level_names(job)
    wanted = (form.data if form.is_bound else request.GET).get("level", "")
    level = wanted if wanted in levels else levels[0] if levels else ""
    if not level:
        return {}
    form.initial["level"] = level
    plan = level_of(job, level, standing(job).get(level, []))
    still = replace(plan, copies=[replace(one, href="") for one in plan.copies])
    return {"plan": draw(still), "level": level, "levels": levels}


def _filed(request: HttpRequest, job: Job, form: KindForm, filing: FilingForm) -> Any:
    """The request that was filed; None where it was refused, and the form says why."""
    try:
        kept = [photos.keep(request.user, job, one, one.size).pk for one in form.cleaned_data.get("photos", ())]
        if isinstance(form, DamageForm):
            kept += [one.pk for one in photos_of(request.user, form.found)]
        return workflow.file(
            request.user,
            job,
            # of damage and questions nobody is asked what it is for: what was typed of it stands there
            reason=filing.cleaned_data.get("reason") or form.in_short(),
            needed_by=filing.cleaned_data["needed_by"],
            asks=form.asks(kept),
            key=filing.cleaned_data["key"],
            body_sha256=_fingerprint(form, filing),
        )
    except Refused as refused:
        of_copies = refused.place.rpartition(".")[2] == "copies" and form.COPIES in form.fields
        form.add_error(form.COPIES if of_copies else None, sentence(refused.says))
    except workflow.Conflict:
        form.add_error(None, SENT_ALREADY)
    return None


def _fingerprint(form: KindForm, filing: FilingForm) -> str:
    body = {"kind": form.KIND, "truss": form.truss.pk if form.truss else 0}
    typed = {name: form.data.getlist(name) if hasattr(form.data, "getlist") else form.data[name] for name in form.data}
    body |= {name: value for name, value in typed.items() if name != "csrfmiddlewaretoken"}
    return hashlib.sha256(json.dumps(body, sort_keys=True, default=str).encode()).hexdigest()


def _where(request: HttpRequest, job: int, truss: int | None) -> tuple[Job, Truss | None]:
    if truss is None:
        return job_or_404(request.user, job), None
    rows = Truss.objects.select_related("job", "current").defer("current__analysis")
    mark = one_or_404(rows, request.user, pk=truss, job=job)
    if mark.current is None:
        raise Http404("Not found.")
    return mark.job, mark
