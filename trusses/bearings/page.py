"""What the bearings of a mark stand on: one small page of it, that a designer can set."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from trusses.analysis.lumber import LUMBER
from trusses.analysis.words.phrases import sentence
from trusses.bearings import links, standing
from trusses.bearings.forms import BearingForm
from trusses.marks.submissions import send_loads
from trusses.models import Truss
from trusses.permissions import may, require, truss_or_404
from trusses.plan.feet import feet
from trusses.refusals import Refused


@login_required
def bearings(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """Each bearing with what it stands on; a designer says it anew. What was typed comes back when it is refused."""
    mark = truss_or_404(request.user, truss, job=job)
    refused = None
    if request.method == "POST":
        require(request.user, links.VERB, mark.job)
        refused = BearingForm(request.POST, marks=_others(mark))
        if _set(refused, mark, request.user):
            said = refused.cleaned_data
            bearing = f"earing {said['joint']} of {mark.mark}"
            cleared = not (said["wall"] or said["carrier"])
            messages.success(
                request, f"It is no longer said what b{bearing} stands on." if cleared else f"B{bearing} is set."
            )
            return redirect("trusses:bearings", job=mark.job_id, truss=mark.pk)
    page = {
        "job": mark.job,
        "truss": mark,
        "rows": [(foot, _form(foot, mark, refused)) for foot in feet(mark)],
        "carries": standing.carried(mark),
        "wall_lines": mark.job.wall_lines.all(),
        "lumber": LUMBER,
        "may_link": may(request.user, links.VERB, mark.job),
    }
    return render(request, "trusses/bearings.html", page, status=422 if refused else 200)


@login_required
@require_POST
def take_up_loads(request: HttpRequest, job: int, truss: int) -> HttpResponse:
    """What stands on the mark goes into its next revision, while nothing of it is released; the worker computes it."""
    mark = truss_or_404(request.user, truss, job=job)
    try:
        sent = send_loads(request.user, mark)
    except Refused as trouble:
        messages.error(request, sentence(trouble.says))
        return redirect("trusses:mark", job=mark.job_id, truss=mark.pk)
    return redirect("changes:submission", pk=sent.pk)


def _others(mark: Truss) -> Any:
    return Truss.objects.filter(job=mark.job, current__isnull=False).exclude(pk=mark.pk).order_by("mark")


def _form(foot: standing.Foot, mark: Truss, refused: BearingForm | None) -> BearingForm:
    if refused is not None and refused.data.get("joint") == foot.joint:
        return refused
    link = foot.link
    said: dict[str, Any] = {"joint": foot.joint, "places": foot.typed_places}
    if link and link.wall:
        said |= {"wall": link.wall.label, "plate": link.wall.plate}
    if link and link.carrier_id:
        said |= {"carrier": link.carrier_id}
    return BearingForm(initial=said, marks=_others(mark), auto_id=f"id-{foot.joint}-%s")


def _set(form: BearingForm, mark: Truss, user: Any) -> bool:
    if not form.is_valid():
        return False
    said = form.cleaned_data
    try:
        links.set_link(
            user,
            mark,
            said["joint"],
            wall=said["wall"],
            # an empty field that was shown empty says nothing; one that was emptied says that it isn't known
            plate=said["plate"] if said["plate"] or "plate" in form.changed_data else None,
            carrier=said["carrier"],
            hung=said["places"],
        )
    except Refused as trouble:
        form.add_error(trouble.field if trouble.field in form.fields else None, trouble.says)
        return False
    return True
