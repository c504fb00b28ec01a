"""The pages of requests: the queue, one request's story, deciding, editing an option, answering a hold.

Each view fetches, guards, acts through `workflow`, renders. Who may do what stands in `permissions`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.paginator import Paginator
from django.db.models import Exists, Max, OuterRef, Q, Subquery
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from changes import workflow
from changes.models import OPEN_STATES, Decision, Hold, Option, Request, State
from changes.pages import editor, in_short, sections, story
from changes.pages.forms import (
    AnswerForm,
    DecisionForm,
    HoldForm,
)
from changes.pages.members import Members
from changes.pages.section import tall
from changes.workflow.ending import unfinished
from trusses.analysis.words.phrases import as_counted, sentence
from trusses.forms import number_of
from trusses.htmx import HtmxRequest
from trusses.job import surroundings
from trusses.models import Membership, PlateTable, Role
from trusses.permissions import job_or_404, knows_role, one_or_404, require, role_in

EDITED_PX = 820
"""How wide a roof is drawn over the form that edits it, so that both are in sight."""


@login_required
def queue(request: HttpRequest, job: int) -> HttpResponse:
    """All requests of a job, what bites first on top; the filter lives in the address, so it survives a reload."""
    building = job_or_404(request.user, job)
    wanted = request.GET.get("state", "")
    rows, lacking = Request.objects.filter(job=building), unfinished([building.pk])
    if wanted in State.values:
        rows = rows.filter(state=wanted)
    elif wanted != "all":
        rows = rows.filter(Q(state__in=OPEN_STATES) | Q(pk__in=lacking))
    page = Paginator(in_short.by_urgency(rows), 50).get_page(request.GET.get("page"))
    context = {
        "job": building,
        "role": role_in(request.user, building),
        "page": page,
        "wanted": wanted,
        "states": State.choices,
    }
    return render(request, "changes/queue.html", {**context, "lines": in_short.lines(page, lacking)})


@login_required
def request_page(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    role = role_in(request.user, change.job)
    context = story.tell(change, request.user, role, chosen=request.GET.getlist("option"))
    context["answer_form"] = AnswerForm()
    context["decision_form"] = _decision_form(context)
    return render(request, "changes/request.html", _with_members(request, context))


def _with_members(request: HttpRequest, told: dict[str, Any]) -> dict[str, Any]:
    """With the members of each truss, for a designer, under the combination that the address names or over all."""
    if told["role"] == Role.DESIGNER:
        for section in told["sections"]:
            section.members = Members(section, request.GET.get("combination", ""))
    return told


@login_required
def member(request: HtmxRequest, pk: int, option: int) -> HttpResponse:
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
def progress(request: HtmxRequest, pk: int) -> HttpResponse:
    """The fragment that polls. When the answer is there it tells the page to load anew; asking rings again as well."""
    change = _change(request, pk)
    working = story.working(change)
    page = {"change": change, "working": working, **story.waits_at(change, request.GET.getlist("option"))}
    if working is None:
        # a decision that waited for this holds what was typed, and would be sent again
        if urlsplit(request.htmx.current_url or "").path == reverse("changes:decide", args=[pk]):
            return render(request, "changes/_worked_out.html", page, status=286)
        return HttpResponse(status=286, headers={"HX-Refresh": "true"})
    workflow.ring(working)
    return render(request, "changes/_progress.html", page)


@login_required
@never_cache
def now(request: HttpRequest, pk: int) -> JsonResponse:
    """Whether an open page still tells of the request as it stands: what `story.now` says."""
    rows = Request.objects.annotate(last=Max("events__pk"))
    change = one_or_404(rows, request.user, pk=pk)
    return JsonResponse({"now": story.now(change.state, change.last)})


@login_required
@require_POST
def decide(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    chosen = request.POST.getlist("option")
    told = story.tell(change, request.user, role_in(request.user, change.job), chosen=chosen)
    form = _decision_form(told, request.POST)
    status = 422
    if form.is_valid():
        status = _tries(form, _decided, request, change, form.cleaned_data, form.leaves)
    if status == 200:
        return redirect("changes:request", pk=change.pk)
    return _request_again(request, change, status, chosen, decision_form=form)


@login_required
@require_POST
def work_out_together(request: HttpRequest, pk: int) -> HttpResponse:
    """The worker works out what the options on show make of their carriers together."""
    change = _change(request, pk)
    chosen = [one for sent in request.POST.getlist("option") if (one := number_of(sent)) is not None]
    _acts(request, workflow.work_out_together, request.user, change, chosen)
    return redirect(story.waits_at(change, chosen)["again"])


def _decision_form(told: dict[str, Any], *sent: Any) -> DecisionForm:
    return DecisionForm(
        *sent,
        acceptable=told["acceptable"],
        leavable=told["leavable"],
        unharmed=told["unharmed"],
        repairable=bool(told["repairs"]),
        words_alone=not told["designs"],
        asker="" if told["own"] else in_short.asker(told["change"]),
    )


def _decided(request: HttpRequest, change: Request, typed: dict[str, Any], leaves: list[int]) -> None:
    """The decision, as it was typed."""
    wish = {name: typed[name] for name in ("verdict", "reason", "accepts", "ends_by")}
    # a form that doesn't say what it showed was one of a request that waits for a decision
    saw: dict[str, Any] = {
        "state": request.POST.get("state", State.AWAITING_DECISION),
        "after": number_of(request.POST.get("after", "")),
        "goes": request.POST.get("goes", ""),
    }
    workflow.decide(request.user, change, options=_chosen_options(request), leaves=leaves, **saw, **wish)


def _tries(form: Form, verb: Callable[..., Any], *args: Any, **kwargs: Any) -> int:
    """The status of the answer: 200 when the verb was done, else the form says why not. What may not be done: 403."""
    try:
        verb(*args, **kwargs)
    except (workflow.Refused, workflow.Conflict) as refused:
        field = getattr(refused, "field", None)
        form.add_error(field if field in ("reason", "says") and field in form.fields else None, sentence(refused.says))
        return 422
    return 200


def _request_again(
    request: HttpRequest, change: Request, status: int, chosen: list[str], **forms: Form
) -> HttpResponse:
    """The request's page as it stands now, with the form that was refused and what was typed into it."""
    change.refresh_from_db()
    told = story.tell(change, request.user, role_in(request.user, change.job), chosen=chosen)
    usual = {"answer_form": AnswerForm(), "decision_form": _decision_form(told)}
    return render(request, "changes/request.html", {**_with_members(request, told), **usual, **forms}, status=status)


def _chosen_options(request: HttpRequest) -> dict[int, int]:
    """{ask id: option id} of the posted `option-<ask id>`; what is no number is left out, and refused as missing."""
    pairs = {}
    for name in request.POST:
        if not name.startswith("option-"):
            continue
        ask, picked = number_of(name.removeprefix("option-")), number_of(request.POST[name])
        if ask is not None and picked is not None:
            pairs[ask] = picked
    return pairs


ASKED_SINCE = "That answers an earlier question: since then another was asked."


@login_required
@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    change = _change(request, pk)
    if "there" in request.POST:
        option = one_or_404(Option, request.user, pk=request.POST["there"], request=change)
        if not _acts(request, workflow.answer_there, request.user, change, option):
            return _request_again(request, change, 422, [])
        messages.success(request, "Moved there, and filed again.")
        return redirect("changes:request", pk=pk)
    if "along" in request.POST:
        if not _acts(request, workflow.answer_along, request.user, change, number_of(request.POST["along"]) or 0):
            return _request_again(request, change, 422, [])
        messages.success(request, "Along that line now, and filed again.")
        return redirect("changes:request", pk=pk)
    form = AnswerForm(request.POST)
    status = 422
    asked = change.decisions.order_by("-pk").values_list("pk", flat=True).first()
    if request.POST.get("seen", str(asked)) != str(asked):  # it may have waited on a phone
        form.add_error(None, ASKED_SINCE)
    if form.is_valid():
        status = _tries(form, workflow.answer, request.user, change, says=form.cleaned_data["says"])
    if status == 200:
        return redirect("changes:request", pk=pk)
    return _request_again(request, change, status, [], answer_form=form)


@login_required
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """One step before it happens says what it does; a request that can't be withdrawn goes back to its page."""
    change = _change(request, pk)
    if request.method == "POST":
        if not _acts(request, workflow.withdraw, request.user, change):
            return _request_again(request, change, 422, [])
        messages.success(request, "Withdrawn. Nothing changes on the truss.")
        return redirect("changes:request", pk=pk)
    if not story.may_withdraw(request.user, change):
        return redirect("changes:request", pk=pk)
    standing = (Hold.Standing.ASKED, Hold.Standing.ACKNOWLEDGED)
    holds = change.holds.filter(standing__in=standing).select_related("truss")
    page = {"change": change, "job": change.job, "marks": sorted({hold.truss.mark for hold in holds}, key=as_counted)}
    return render(request, "changes/withdraw.html", page)


@login_required
@require_POST
def compute(request: HttpRequest, pk: int) -> HttpResponse:
    _acts(request, workflow.compute_again, request.user, _change(request, pk))
    return redirect("changes:request", pk=pk)


@login_required
def edit_option(request: HtmxRequest, pk: int, option: int) -> HttpResponse:
    """A designer departs from an option: moves joints, swaps lumber, takes webs out or in; drawn while typed."""
    change = _change(request, pk)
    start = one_or_404(Option.objects.select_related("revision", "truss"), request.user, pk=option, request=change)
    if not story.may_draw(request.user, change):
        raise workflow.NotAllowed("edit-option")
    edit = editor.apply(start.document, request.POST) if request.method == "POST" else editor.Edit(start.document)
    computes = request.method == "POST" and "compute" in request.POST and not request.htmx
    if computes and not edit.errors and edit.document == start.document:
        edit.errors[editor.WHOLE] = "Nothing is edited yet: it would be computed as it stands."
    if computes and not edit.errors:
        title = "; ".join(edit.changed)
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
        "desk_px": EDITED_PX if tall(start.document) else None,
    }
    if request.htmx:
        return render(request, "changes/_edit_picture.html", page)
    return render(request, "changes/edit_option.html", page, status=422 if "compute" in request.POST else 200)


@login_required
@require_POST
def answer_hold(request: HttpRequest, pk: int) -> HttpResponse:
    hold = one_or_404(Hold.objects.select_related("request__job", "truss"), request.user, pk=pk)
    form = HoldForm(request.POST, hold=hold)
    status = 422
    if form.is_valid():
        wish = {name: form.cleaned_data[name] for name in ("acknowledge", "says", "after_all")}
        status = _tries(form, workflow.answer_hold, request.user, hold, **wish)
    if status != 200:
        chosen = request.POST.getlist("option")
        return _request_again(request, _change(request, hold.request_id), status, chosen, hold_form=form)
    told = "The saw waits" if form.cleaned_data["acknowledge"] else "The saw does not wait"
    messages.success(request, f"{told} for {hold.truss.mark}. The story of this request says so, with your name.")
    if request.POST.get("from") == "mark":
        return redirect(reverse("trusses:mark", args=(hold.truss.job_id, hold.truss_id)) + "#copies")
    # the options that were on show still are: what is decided next is what was looked at
    shown = urlencode([("option", one) for one in request.POST.getlist("option") if number_of(one) is not None])
    return redirect(reverse("changes:request", args=[hold.request_id]) + (f"?{shown}" if shown else ""))


def _change(request: HttpRequest, pk: int) -> Request:
    """The request, and the person's role in its job with it."""
    rows = Request.objects.select_related("job__rates", "filed_by")
    own = Membership.objects.filter(job=OuterRef("job"), user=request.user.pk).order_by("id")
    rows = rows.annotate(
        role=Subquery(own.values("role")[:1]),
        decided_last=Subquery(Decision.objects.filter(request=OuterRef("pk")).order_by("-pk").values("pk")[:1]),
        is_held=Exists(Hold.objects.filter(request=OuterRef("pk"))),
        has_plates=Exists(PlateTable.objects.filter(job=OuterRef("job"))),
    )
    change = one_or_404(rows, request.user, pk=pk)
    knows_role(request.user, change.job, change.role)
    surroundings.knows(change.job)
    return change


def _acts(request: HttpRequest, verb: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """What the verb made; None when it was refused, and the page says why. What may not be done is a 403."""
    try:
        return verb(*args, **kwargs)
    except (workflow.Refused, workflow.Conflict) as refused:
        messages.error(request, sentence(refused.says))
        return None
