"""The designer's pages for a new mark: a shape that is drawn while its parameters are typed, or a document's file."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from trusses.analysis.lumber import LUMBER
from trusses.analysis.shapes.shapes import KINDS
from trusses.htmx import HtmxRequest
from trusses.marks.forms import LONGEST, ShapeForm, UploadForm, kind_of
from trusses.marks.submissions import send_mark
from trusses.models import Job, Submission
from trusses.permissions import job_or_404, require
from trusses.refusals import MarkTaken, Refused
from trusses.revisions import read_design


def _designers_job(request: HttpRequest, pk: int) -> Job:
    job = job_or_404(request.user, pk)
    require(request.user, "add a mark", job)
    return job


@login_required
def new_truss(request: HtmxRequest, job: int) -> HttpResponse:
    """The form of one shape, drawn. Another shape (`?kind=`) keeps what was typed as far as it has the same
    parameters."""
    building = _designers_job(request, job)
    if request.method == "POST":
        form = ShapeForm(kind_of(request.POST.get("kind", "")), request.POST)
        if sent := _sent(form, building, request.user):
            return redirect("changes:submission", pk=sent.pk)
    else:
        typed = {name: str(value)[:LONGEST] for name, value in request.GET.items()}
        form = ShapeForm.started(kind_of(request.GET.get("kind", "")), typed)
    page = {"job": building, "form": form, "kinds": KINDS.values(), "lumber": LUMBER, **_drawn(form)}
    page["forms"] = [form]
    page["not_added"] = request.method == "POST"
    answer = render(request, "trusses/new_truss.html", page, status=422 if page["not_added"] else 200)
    if request.htmx:
        # so that loading it anew starts from the shape that stands there
        answer["HX-Replace-Url"] = f"?kind={form.kind.key}"
    return answer


def _sent(form: ShapeForm, job: Job, user: Any) -> Submission | None:
    document = form.document() if form.is_valid() else None
    if document is None:
        return None
    data = form.cleaned_data
    if not data["mark"]:
        # it is drawn without one, but nobody could find it in the set
        form.add_error("mark", "Give it its mark as on the plan, such as R2.")
        return None
    try:
        typed = {name: str(form.data[name]) for name in ("kind", *form.fields) if form.data.get(name)}
        return send_mark(job, document, data["quantity"], user, data["can_change_until"], typed)
    except MarkTaken as trouble:
        form.add_error("mark", trouble.says)
    except Refused as trouble:
        form.add_error(None, trouble.says)
    return None


@login_required
@require_POST
def draw_shape(request: HttpRequest, job: int) -> HttpResponse:
    """The fragment beside the form: the drawing of what was typed so far, or what is wrong with it."""
    building = _designers_job(request, job)
    form = ShapeForm(kind_of(request.POST.get("kind", "")), request.POST)
    page = {"job": building, "form": form, **_drawn(form), "oob": True}
    return render(request, "trusses/_drawn.html", page)


def _drawn(form: ShapeForm) -> dict[str, Any]:
    """What the picture beside the form shows: a document, or sentences of what is wrong with it."""
    # without a mark, or with one that is taken, the shape is as plain as with it
    document = form.document() if form.is_valid() or form.errors.keys() == {"mark"} else None
    if document is None:
        return {"troubles": [message for said in form.errors.values() for message in said]}
    try:
        return {"drawn": read_design(document).document}
    except Refused as trouble:
        return {"troubles": [trouble.says]}


@login_required
def upload_truss(request: HttpRequest, job: int) -> HttpResponse:
    building = _designers_job(request, job)
    form = UploadForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            sent = send_mark(building, data["file"], data["quantity"], request.user, data["can_change_until"])
        except Refused as trouble:
            form.add_error("file", trouble.says)
        else:
            return redirect("changes:submission", pk=sent.pk)
    page = {"job": building, "form": form, "forms": [form]}
    return render(request, "trusses/upload.html", page, status=422 if form.errors else 200)
