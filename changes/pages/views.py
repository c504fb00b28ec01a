"""The pages of a change: asking, the queue, one request's story, deciding, editing an option, answering a hold.

Each view fetches, guards, acts through `workflow`, renders. Who may do what stands in `permissions`.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from changes import workflow
from changes.asks.documents import with_openings
from changes.asks.live_fit import beside
from changes.asks.pending import Pending, pending
from changes.models import OPEN_STATES, Hold, Kind, Option, Request, State
from changes.pages import editor, sections, story
from changes.pages.datum import Size
from changes.pages.forms import (
    PIPE_SIZES_IN,
    ROUND_SIZES_IN,
    TRUNK_SIZES_IN,
    AnswerForm,
    DecisionForm,
    FilingForm,
    HoldForm,
    OpeningForm,
)
from changes.pages.members import Members
from trusses.analysis.clearance.openings import OpeningError, Space, fit, moved, nearest, space
from trusses.analysis.format.document import DocumentError, read_opening, read_stored
from trusses.analysis.format.model import Opening
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import sentence
from trusses.models import Role
from trusses.permissions import designers, job_or_404, one_or_404, require, role_in, truss_or_404

EDITED_PX = 820
"""How wide a roof is drawn over the form that edits it, so that both are in sight."""


HAIR_IN = 1 / 32
"""What no tape shows."""

SENT_ALREADY = (
    "This form was sent already, and what was sent stands as it was. To change it, withdraw that request; to ask for "
    "something else as well, start a new one from the page of the mark."
)


@login_required
@never_cache  # back after sending shows the page as it is now, not the form that was sent
def ask(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """An opening, dragged or typed, answered while it moves; then why, by when, and off it goes."""
    mark = truss_or_404(request.user, truss, job=job)
    require(request.user, "ask for a change", mark.job)
    if request.method != "POST" and (closed := mark.past_change):  # what was typed before that comes back
        page = {"job": mark.job, "truss": mark, "closed": closed, "asks": designers(mark.job)}
        return render(request, "changes/closed.html", page)
    design = read_stored(mark.current.document)
    # An address may bring what the form starts with, so that an ask can be prepared and sent as a link.
    start = {**OpeningForm.first_place(design), **request.GET.dict()}
    posted = request.POST if request.method == "POST" else None  # an empty body was sent as well
    form = OpeningForm(posted, design=design, initial=start)
    days = {"today": mark.job.today(), "last_day": mark.can_change_until}
    filing = FilingForm(posted, **days, initial={"reason": start.get("reason", "")})
    sends = request.method == "POST" and "send" in request.POST and not request.htmx  # a preview never sends
    if sends and form.is_valid() and filing.is_valid():
        try:
            change = workflow.file(
                request.user,
                mark.job,
                reason=filing.cleaned_data["reason"],
                needed_by=filing.cleaned_data["needed_by"],
                asks=[{"truss": mark, "kind": Kind.OPENING, "opening": form.opening()}],
                key=filing.cleaned_data["key"],
                body_sha256=_fingerprint(form, filing, mark.pk),
            )
        except workflow.Refused as refused:
            form.add_error(None, sentence(refused.says))
        except workflow.Conflict:
            form.add_error(None, SENT_ALREADY)
        else:
            return redirect("changes:request", pk=change.pk)
    elif request.method != "POST":
        # The first picture needs an opening as well: the form's own initial values, read like typed ones.
        typed = {name: field.prepare_value(start.get(name, field.initial)) for name, field in form.fields.items()}
        form = OpeningForm(typed, design=design)
        form.is_valid()
    answer = _answer(design, form, pending([mark.pk]).get(mark.pk, []))
    sizes = {"round_sizes": ROUND_SIZES_IN, "trunk_sizes": TRUNK_SIZES_IN, "pipe_sizes": PIPE_SIZES_IN}
    page = {"job": mark.job, "truss": mark, "form": form, "filing": filing, **answer, **sizes}
    page["asked_already"] = story.open_requests(request.user, mark)
    # what this browser kept of a form that was filed is never brought back
    page["filed"] = json.dumps(workflow.keys_used(request.user, mark))
    if request.htmx:
        return render(request, "changes/_ask_answer.html", {**page, "oob": True})
    page["not_sent"] = "send" in request.POST  # what was filed doesn't come back here
    page["forms"] = [form, filing]
    return render(request, "changes/ask.html", page, status=422 if page["not_sent"] else 200)


def _fingerprint(form: OpeningForm, filing: FilingForm, truss: int) -> str:
    body = {"truss": truss, **form.data.dict(), **filing.data.dict()}
    body.pop("csrfmiddlewaretoken", None)
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def _answer(design: Design, form: OpeningForm, others: list[Pending]) -> dict[str, Any]:
    """What the page says of the opening in the form: the verdict, the nearest place, what the picture needs. `others`
    are asked for by open requests: they are drawn too."""
    face = form.hooked
    known = {
        "document": with_openings(design.document, [one.opening for one in others]),
        "pending": others,
        "faces": json.dumps({one.key: {"x": round(one.x, 4), "way": one.way} for one in form.datum.faces}),
        "ask_from": (face.joint, face.way),
        "floor": json.dumps([[round(x, 4), round(y, 4)] for x, y in form.datum.floor]),
        "opening": None,
        "fit": None,
        "touched": (),
    }
    if form.errors:
        return known
    try:
        room = space(design)
        opening = read_opening(form.opening())
        found = fit(room, opening)
        offers = [] if found.fits else _offers(form, room, opening)
    except (DocumentError, OpeningError) as trouble:
        form.add_error(None, sentence(trouble.says))
        return known
    return {
        **known,
        "opening": form.opening(),
        "fit": found,
        "beside": beside(opening, design.openings, others),
        "touched": found.touches,
        "offers": offers,
    }


def _offers(form: OpeningForm, room: Space, opening: Opening) -> list[dict[str, Any]]:
    """The nearest place where it fits and, where that is higher or lower, the nearest one at its own height: what the
    fields would say there, and which way that is."""
    datum, face, size = form.datum, form.hooked, Size.of(form.opening())
    found: list[dict[str, Any]] = []
    for level in (False, True):
        place = nearest(room, opening, level=level)
        marks = datum.taped(face, place.centre_in, size) if place else ()
        for along, up in marks:
            centre = datum.centre(face, (along, up), size)
            right, higher = centre[0] - opening.centre[0], centre[1] - opening.centre[1]
            if level and abs(higher) > HAIR_IN:
                continue
            if fit(room, moved(opening, centre)).fits:
                found.append({"along": along, "up": up, "way": _way(right, higher), "level": level})
                break
        if found and abs(higher) <= HAIR_IN:
            break  # the nearest place is at its own height already
    return found


def _way(right: float, higher: float) -> str:
    """8 15/16" to the left and 2" up; what is too little to measure isn't said."""
    ways = [(right, "to the right", "to the left"), (higher, "up", "down")]
    return " and ".join(
        f"{feet_inches(abs(by))} {more if by > 0 else less}" for by, more, less in ways if abs(by) > HAIR_IN
    )


@login_required
def queue(request: HttpRequest, job: int) -> HttpResponse:
    """All requests of a job, what bites first on top; the filter lives in the address, so it survives a reload."""
    building = job_or_404(request.user, job)
    wanted = request.GET.get("state", "")
    rows = Request.objects.filter(job=building)
    if wanted in State.values:
        rows = rows.filter(state=wanted)
    elif wanted != "all":
        rows = rows.filter(state__in=OPEN_STATES)
    page = Paginator(story.by_urgency(rows), 50).get_page(request.GET.get("page"))
    context = {"job": building, "role": building.role, "page": page, "wanted": wanted, "states": State.choices}
    return render(request, "changes/queue.html", {**context, "lines": story.lines(page)})


@login_required
def request_page(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    role = role_in(request.user, change.job)
    context = story.tell(change, request.user, role, chosen=request.GET.getlist("option"))
    context["answer_form"] = AnswerForm()
    context["decision_form"] = DecisionForm(acceptable=context["acceptable"])
    return render(request, "changes/request.html", _with_members(request, context))


def _with_members(request: HttpRequest, told: dict[str, Any]) -> dict[str, Any]:
    """With the members of each truss, for a designer, under the combination that the address names or over all."""
    if told["role"] == Role.DESIGNER:
        for section in told["sections"]:
            section.members = Members(section, request.GET.get("combination", ""))
    return told


@login_required
def member(request: HttpRequest, pk: int, option: int) -> HttpResponse:
    """Every check of one member (`?member=`) before and after, with all that went into it."""
    change = _change(request, pk)
    require(request.user, "see what governs a member", change.job)
    section = next((s for s in sections.sections(change, [str(option)]) if s.chosen and s.chosen.pk == option), None)
    members = section and Members(section, request.GET.get("combination", ""))
    row = members and members.row(request.GET.get("member", ""))
    if row is None:
        raise Http404("Not found.")
    page = {"change": change, "job": change.job, "section": section, "members": members, "row": row}
    return render(request, f"changes/{'_member' if request.htmx else 'member'}.html", page)


@login_required
def progress(request: HttpRequest, pk: int) -> HttpResponse:
    """The fragment that polls. When the answer is there it tells the page to load anew; asking rings again as well."""
    change = _change(request, pk)
    working = story.working(change)
    if working is None:
        return HttpResponse(status=286, headers={"HX-Refresh": "true"})
    workflow.ring(working)
    return render(request, "changes/_progress.html", {"change": change, "working": working})


@login_required
@require_POST
def decide(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    chosen = request.POST.getlist("option")
    told = story.tell(change, request.user, role_in(request.user, change.job), chosen=chosen)
    form = DecisionForm(request.POST, acceptable=told["acceptable"])
    status = 422
    if form.is_valid():
        wish = {**form.cleaned_data, "options": _chosen_options(request)}
        status = _tries(form, workflow.decide, request.user, change, **wish)
    if status == 200:
        return redirect("changes:request", pk=change.pk)
    return _request_again(request, change, status, chosen, decision_form=form)


def _tries(form: Form, verb: Callable[..., Any], *args: Any, **kwargs: Any) -> int:
    """The status of the answer: 200 when the verb was done, else the form says why not. What may not be done: 403."""
    try:
        verb(*args, **kwargs)
    except workflow.NotAllowed as refused:
        raise PermissionDenied(str(refused)) from refused
    except (workflow.Refused, workflow.Conflict) as refused:
        form.add_error(None, sentence(refused.says))
        return 422
    return 200


def _request_again(
    request: HttpRequest, change: Request, status: int, chosen: list[str], **forms: Form
) -> HttpResponse:
    """The request's page as it stands now, with the form that was refused and what was typed into it."""
    change.refresh_from_db()
    told = story.tell(change, request.user, role_in(request.user, change.job), chosen=chosen)
    usual = {"answer_form": AnswerForm(), "decision_form": DecisionForm(acceptable=told["acceptable"])}
    return render(request, "changes/request.html", {**_with_members(request, told), **usual, **forms}, status=status)


def _chosen_options(request: HttpRequest) -> dict[int, int]:
    """{ask id: option id} of the posted `option-<ask id>`; what is no number is left out, and refused as missing."""
    pairs = {}
    for name, value in request.POST.items():
        ask_id = name.removeprefix("option-")
        if name.startswith("option-") and ask_id.isdecimal() and value.isdecimal():
            pairs[int(ask_id)] = int(value)
    return pairs


@login_required
@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    form = AnswerForm(request.POST)
    status = 422
    if form.is_valid():
        status = _tries(form, workflow.answer, request.user, change, says=form.cleaned_data["says"])
    if status == 200:
        return redirect("changes:request", pk=pk)
    return _request_again(request, change, status, [], answer_form=form)


@login_required
@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    if _acts(request, workflow.withdraw, request.user, _change(request, pk)):
        messages.success(request, "Withdrawn. Nothing changes on the truss.")
    return redirect("changes:request", pk=pk)


@login_required
@require_POST
def compute(request: HttpRequest, pk: int) -> HttpResponse:
    _acts(request, workflow.compute_again, request.user, _change(request, pk))
    return redirect("changes:request", pk=pk)


@login_required
def edit_option(request: HttpRequest, pk: int, option: int) -> HttpResponse:
    """A designer departs from an option: moves joints, swaps lumber, takes webs out or in; drawn while typed."""
    change = _change(request, pk)
    start = one_or_404(Option.objects.select_related("revision", "truss"), request.user, pk=option, request=change)
    if not story.may_draw(request.user, change):
        raise PermissionDenied("Only a designer of this job can edit an option, while the request awaits a decision.")
    edit = editor.apply(start.document, request.POST) if request.method == "POST" else editor.Edit(start.document)
    if request.method == "POST" and "compute" in request.POST and not request.htmx and not edit.errors:
        title = "; ".join(edit.changed) or "As it was"
        asked = change.asks.filter(truss=start.truss, replaced=False).first()
        drawn = {"ask": asked, "document": edit.document, "title": title[:300]}
        if another := _acts(request, workflow.draw_option, request.user, change, **drawn):
            return redirect(f"{reverse('changes:request', args=[pk])}?option={another.pk}")
    page = {
        "change": change,
        "job": change.job,
        "option": start,
        "edit": edit,
        "rows": editor.rows(start.document, request.POST or None),
        "before": start.revision.document,
        "desk_px": EDITED_PX if sections.tall(start.document) else None,
    }
    if request.htmx:
        return render(request, "changes/_edit_picture.html", page)
    return render(request, "changes/edit_option.html", page, status=422 if "compute" in request.POST else 200)


@login_required
@require_POST
def answer_hold(request: HttpRequest, pk: int) -> HttpResponse:
    hold = one_or_404(Hold.objects.select_related("request__job", "truss"), request.user, pk=pk)
    form = HoldForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        wish = {"acknowledge": data["acknowledge"], "says": data["says"]}
        if _acts(request, workflow.answer_hold, request.user, hold, **wish):
            told = "The saw waits" if data["acknowledge"] else "The saw does not wait"
            messages.success(
                request, f"{told} for {hold.truss.mark}. The story of this request says so, with your name."
            )
    return redirect("changes:request", pk=hold.request_id)


def _change(request: HttpRequest, pk: int) -> Request:
    return one_or_404(Request.objects.select_related("job", "filed_by"), request.user, pk=pk)


def _acts(request: HttpRequest, verb: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """What the verb made; None when it was refused, and the page says why. What may not be done is a 403."""
    try:
        return verb(*args, **kwargs)
    except workflow.NotAllowed as refused:
        raise PermissionDenied(str(refused)) from refused
    except (workflow.Refused, workflow.Conflict) as refused:
        messages.error(request, sentence(refused.says))
        return None
