"""The sealed repair of damage on a request's page: attached, corrected, recorded."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from changes import permissions, workflow
from changes.asks.as_built import built_of
from changes.models import Ask, Kind, Request, State
from changes.workflow.repairing import repairs_of, standing, told_at
from trusses.analysis.words.phrases import copies, sentence
from trusses.permissions import one_or_404
from trusses.sealing.forms import AttachForm, WithdrawForm
from trusses.sealing.page import steps
from trusses.sealing.seals import last_said


def told(change: Request, user: Any, damage: Iterable[Ask]) -> list[dict[str, Any]]:
    """Of each damage its repair: what stands, what it lacks, what counted before, and the forms of who may."""
    asks = list(damage)
    if not asks or change.state == State.WITHDRAWN:
        return []
    found, may_attach = repairs_of(asks), permissions.may(user, "repair", change)
    before = last_said(user, change.job) if may_attach else {}
    built, rows = built_of(asks), []
    for ask in asks:
        moved = ask.pk in built and built[ask.pk] != ask.revision_id
        seal = None if moved else standing(found.get(ask.pk, ()), ask.revision_id)
        rows.append(
            {
                "moved": moved,
                "ask": ask,
                "seal": seal,
                "pages": range(1, seal.drawing.pages + 1) if seal else (),
                "others": [one for one in found.get(ask.pk, ()) if one != seal],
                "steps": steps(user, seal, {}),
                "attach": may_attach and not moved and _form(change, ask, seal, initial=before),
                "withdraw": may_attach and seal and WithdrawForm(auto_id=f"withdraw-{ask.pk}-%s"),
            }
        )
    return rows


def _form(change: Request, ask: Ask, seal: Any, *sent: Any, **more: Any) -> AttachForm:
    shows = f"the repair of {ask.on_truss.mark}, {copies(ask.copies)}"
    more |= {"replaces": seal is not None, "repair": True, "auto_id": f"repair-{ask.pk}-%s"}
    return AttachForm(*sent, job=change.job, shows=shows, **more)


@login_required
@require_POST
def attach(request: HttpRequest, pk: int, ask: int) -> HttpResponse:
    """A designer attaches the sealed repair of one damage; what is wrong with it is said, and nothing typed is lost."""
    change = one_or_404(Request.objects.select_related("job"), request.user, pk=pk)
    permissions.require(request.user, "repair", change)
    rows = Ask.objects.select_related("truss__job", "revision__truss__job")
    damage = one_or_404(rows, request.user, pk=ask, request=change, kind=Kind.DAMAGE, replaced=False)
    seal = standing(repairs_of([damage]).get(damage.pk, ()), built_of([damage]).get(damage.pk))
    form = _form(change, damage, seal, request.POST, request.FILES)
    if form.is_valid():
        typed = form.cleaned_data
        said = {key: typed[key] for key in ("sealed_by", "licence", "state", "sealed_on", "also_shows")}
        if seal and request.POST.get("replaces") == str(seal.drawing.pk):  # another may stand since the page was drawn
            said |= {"replaces": seal.drawing, "reason": typed["reason"]}
        try:
            workflow.attach_repair(request.user, change, damage, typed["drawing"], typed["drawing"].size, **said)
            return redirect(told_at(change.pk))
        except workflow.Refused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, sentence(refused.says))
    row = {"ask": damage, "seal": seal, "attach": form}
    return render(request, "changes/repair.html", {"change": change, "job": change.job, "repair": row}, status=422)
