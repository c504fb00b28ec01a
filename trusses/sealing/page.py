"""The sealed drawing of a revision: attached, recorded, withdrawn, handed out; and what a job asks of one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import F
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.http import require_POST

from trusses import verdicts
from trusses.analysis.words.phrases import as_counted, sentence
from trusses.models import Job, Revision
from trusses.permissions import job_or_404, may, one_or_404, require, revision_or_404
from trusses.refusals import Refused
from trusses.sealing import files, recording, same_file, seals
from trusses.sealing.forms import COVERING, AttachForm, LookedAtForm, RecordForm, RuleForm, WithdrawForm
from trusses.sealing.models import SealedDrawing
from trusses.sealing.records_page import address as record_together
from trusses.sealing.together_page import address as seal_together

WITHOUT_RUNNING = "sandbox; default-src 'none'"
"""The policy under which a file from elsewhere is handed out: it is downloaded, and nothing in it runs here."""


@login_required
@never_cache
def seal(request: HttpRequest, job: int, truss: int, number: int) -> HttpResponse:
    """What stands sealed for a revision, what it lacks, and what was before; a designer attaches here."""
    revision = revision_or_404(request.user, truss=truss, truss__job=job, number=number)
    if request.method != "POST":
        return _page(request, revision)
    require(request.user, seals.ATTACH, revision.truss.job)
    standing = seals.seal_of(revision)
    form = _form(revision, standing, request.POST, request.FILES, initial={"covers": []})
    if form.is_valid() and _does(form, attach, request, revision, form.cleaned_data, standing):
        messages.success(request, "Attached. What this job asks for besides is recorded below.")
        return redirect("trusses:seal", job=job, truss=truss, number=number)
    return _page(request, revision, attach=form)


def _form(revision: Revision, standing: seals.Seal | None, *sent: Any, **more: Any) -> AttachForm:
    truss = revision.truss
    shows = f"{truss.mark}, revision {revision.number}"
    return AttachForm(*sent, job=truss.job, shows=shows, replaces=standing is not None, **more)


def attach(
    request: HttpRequest, revision: Revision, typed: dict[str, Any], standing: seals.Seal | None, **more: Any
) -> SealedDrawing:
    """Attaches what a valid AttachForm holds. What stands is replaced only where it stood on the page already."""
    sent = typed["drawing"]
    seen = standing is not None and request.POST.get("replaces") == str(standing.drawing.pk)
    return recording.attach(
        request.user,
        revision,
        sent,
        sent.size,
        **{key: typed[key] for key in ("sealed_by", "licence", "state", "sealed_on")},
        covers=typed.get("covers", ()),
        replaces=standing.drawing if standing and seen else None,
        reason=typed.get("reason", ""),
        also_shows=typed["also_shows"],
        **more,
    )


def _page(request: HttpRequest, revision: Revision, /, **typed: forms.Form) -> HttpResponse:
    truss, job = revision.truss, revision.truss.job
    standing = seals.seal_of(revision)
    those = [one for one in seals.all_of(truss) if one.drawing.revision_id == revision.pk and not one.drawing.is_repair]
    may_attach = may(request.user, seals.ATTACH, job)
    before = seals.last_said(request.user, job) if may_attach else {}
    beside = _beside(revision)
    together = [revision, *(one for one, _ in beside)]
    page = {
        "job": job,
        "truss": truss,
        "revision": revision,
        "seal": standing,
        "pages": range(1, standing.drawing.pages + 1) if standing else (),
        "also_of": same_file.others(standing.drawing) if standing else (),
        "others": [one for one in those if one.withdrawn],
        "asked": seals.asked(job),
        "builds": verdicts.builds(revision),
        "uncovered": [(one, COVERING[one]) for one in standing.missing if one in COVERING] if standing else (),
        "steps": steps(request.user, standing, typed),
        "beside": beside,
        "seal_together": seal_together(request.user, job, together),
        "record_together": record_together(request.user, job, together),
        "attach": may_attach and (typed.get("attach") or _form(revision, standing, initial=before)),
        "withdraw": may_attach and standing and (typed.get("withdraw") or WithdrawForm(auto_id="withdraw-%s")),
    }
    return render(request, "trusses/seal.html", page, status=422 if typed else 200)


def _beside(revision: Revision) -> list[tuple[Revision, seals.SealState]]:
    """The other current revisions of the same decision, each with how its sealed drawing stands."""
    issue = getattr(revision, "issue", None)
    if issue is None:
        return []
    rows = Revision.objects.filter(issue__decision=issue.decision_id, truss__current=F("pk"), truss__withdrawn_at=None)
    rows = rows.exclude(pk=revision.pk).select_related("truss__job").defer("document", "analysis")
    found = sorted(rows, key=lambda one: as_counted(one.truss.mark))
    standing = seals.seals_of(revision.truss.job, [one.pk for one in found])
    return [(one, seals.seal_state(standing.get(one.pk))) for one in found]


def steps(user: Any, seal: seals.Seal | None, typed: dict[str, forms.Form]) -> list[dict[str, Any]]:
    """What a job asks to be recorded of a drawing, each with what was recorded, or the form to whom may."""
    if seal is None:
        return []
    job, kinds = seal.drawing.truss.job, seals.Kind
    told = []
    for kind in seals.asked(job).steps(repair=seal.drawing.is_repair):
        done, waits = seal.records.get(kind), [kinds(one).label for one in seals.first(seal, kind)]
        form = None
        if done is None and not waits and may(user, seals.RECORDS[kind], job):
            form = typed.get(kind) or _record_form(kind, initial=_today(kind, job))
        own = seals.own_name(user) if form and kind == kinds.CARRIED_OUT else ""
        told.append({"kind": kind, "label": kinds(kind).label, "done": done, "form": form, "first": waits, "own": own})
    return told


def _today(kind: str, job: Job) -> dict[str, Any]:
    """Who looks at a repair does it as they say so; a review or an acceptance has the day of its own paper."""
    return {"on": job.today()} if kind == seals.Kind.CARRIED_OUT else {}


def _record_form(kind: str, *sent: Any, **more: Any) -> forms.Form:
    auto_id = f"{kind.replace(' ', '-')[:20]}-%s"
    if kind == seals.Kind.CARRIED_OUT:
        return LookedAtForm(*sent, auto_id=auto_id, **more)
    return RecordForm(*sent, kind=kind, auto_id=auto_id, **more)


def _does(form: forms.Form, verb: Callable[..., Any], *args: Any, **kwargs: Any) -> bool:
    """Whether the verb was done; else the form says why not, at the field where it has one. What may not be done at
    all is a 403."""
    try:
        verb(*args, **kwargs)
    except Refused as refused:
        form.add_error(refused.field if refused.field in form.fields else None, sentence(refused.says))
        return False
    return True


@login_required
@require_POST
def record(request: HttpRequest, pk: int) -> HttpResponse:
    """A review, an acceptance, or that a repair is carried out; back to where the drawing stands."""
    drawing = drawing_or_404(request, pk)
    kind = request.POST.get("kind", "")
    require(request.user, seals.RECORDS.get(kind, seals.ATTACH), drawing.truss.job)
    if kind not in seals.RECORDS:
        messages.error(request, sentence(Refused("no-such-record").says))
        return redirect(back_to(request, drawing))
    form = _record_form(kind, request.POST)
    if form.is_valid() and _does(form, recording.record, request.user, drawing, kind, **form.cleaned_data):
        messages.success(request, "Recorded, with your name.")
        return redirect(back_to(request, drawing))
    if drawing.is_repair:
        for trouble in [one for those in form.errors.values() for one in those]:
            messages.error(request, sentence(str(trouble)))
        return redirect(back_to(request, drawing))
    return _page(request, drawing.revision, **{kind: form})


@login_required
@require_POST
def cover(request: HttpRequest, pk: int) -> HttpResponse:
    """What a drawing covers as well, recorded without a new file."""
    drawing = drawing_or_404(request, pk)
    require(request.user, seals.ATTACH, drawing.truss.job)
    try:
        recording.cover(request.user, drawing, request.POST.getlist("covers"))
        messages.success(request, "Recorded, with your name.")
    except Refused as refused:
        chosen = request.POST.getlist("covers")
        messages.error(request, sentence(refused.says) if chosen else "Nothing was recorded: tick what it covers.")
    return redirect(back_to(request, drawing))


@login_required
@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    drawing = drawing_or_404(request, pk)
    require(request.user, seals.ATTACH, drawing.truss.job)
    form = WithdrawForm(request.POST, auto_id="withdraw-%s")
    if form.is_valid() and _does(form, recording.withdraw, request.user, drawing, form.cleaned_data["reason"]):
        messages.success(request, "Withdrawn. It counts no more; the record keeps it.")
        return redirect(back_to(request, drawing))
    if drawing.is_repair:
        messages.error(request, "Say why it counts no more.")
        return redirect(back_to(request, drawing))
    return _page(request, drawing.revision, withdraw=form)


def back_to(request: HttpRequest, drawing: SealedDrawing) -> str:
    if drawing.is_repair:
        for where in seals.repairs_at:
            if address := where(drawing):
                return address
    revision = drawing.revision
    return reverse("trusses:seal", args=(drawing.truss.job_id, drawing.truss_id, revision.number))


def drawing_or_404(request: HttpRequest, pk: int) -> SealedDrawing:
    rows = SealedDrawing.objects.select_related("truss__job", "revision")
    return one_or_404(rows, request.user, pk=pk)


@login_required
@cache_control(private=True, no_cache=True)
def whole(request: HttpRequest, pk: int) -> HttpResponse:
    """The PDF as it was attached, to be kept, not opened here."""
    try:
        return pdf_response(drawing_or_404(request, pk))
    except Refused as refused:
        return HttpResponse(sentence(refused.says), status=409, content_type="text/plain; charset=utf-8")


def pdf_response(drawing: SealedDrawing) -> HttpResponse:
    content = files.content_of(drawing.truss.job_id, drawing.sha256)
    if content is None:
        raise Refused("seal-altered")
    what = f"repair-{'-'.join(map(str, drawing.copies[:9]))}" if drawing.is_repair else "sealed"
    name = f"{drawing.truss.mark}-revision-{drawing.revision.number}-{what}.pdf"
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(True, name)
    response["Content-Security-Policy"] = WITHOUT_RUNNING
    response["X-Content-Type-Options"] = "nosniff"
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    return response


@login_required
@cache_control(private=True, max_age=31_536_000, immutable=True)
def picture(request: HttpRequest, pk: int, page: int) -> FileResponse:
    """A page as a picture of ours, which is shown and printed beside the sheet."""
    drawing = drawing_or_404(request, pk)
    if not 1 <= page <= drawing.pages:
        raise Http404("Not found.")
    try:
        opened = files.picture_of(drawing.truss.job_id, drawing.sha256, page).open("rb")
    except FileNotFoundError:
        raise Http404("Not found.") from None
    return FileResponse(opened, content_type="image/png")


@login_required
def rule(request: HttpRequest, job: int) -> HttpResponse:
    """What the job asks of sealed drawings, for everyone in it; a designer says it here."""
    building = job_or_404(request.user, job)
    if request.method == "POST":
        require(request.user, seals.SAY_WHAT_IS_ASKED, building)
    now = seals.asked(building)
    initial = {"review": now.review, "acceptance": now.acceptance, "without": "blocks" if now.blocks else "warns"}
    form = RuleForm(request.POST if request.method == "POST" else None, initial=initial)
    if request.method == "POST" and form.is_valid():
        if form.has_changed() or not seals.last_rule(job):
            seals.say_what_is_asked(request.user, building, **form.cleaned_data)
            messages.success(request, "From now on, that is asked. The record keeps what was asked before.")
        else:
            messages.success(request, "That is what is asked already: nothing was changed.")
        return redirect("trusses:seal-rule", job=job)
    page = {
        "job": building,
        "asked": now,
        "last": seals.last_rule(job),
        "before": building.seal_rules.select_related("said_by").order_by("-pk")[:20],
        "form": form if may(request.user, seals.SAY_WHAT_IS_ASKED, building) else None,
    }
    return render(request, "trusses/seal_rule.html", page, status=422 if form.errors else 200)
