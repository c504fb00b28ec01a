"""The sealed drawing of a repair: attached to the damage that was told of, corrected, and what it still lacks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, BinaryIO

from django.urls import reverse

from changes.asks.as_built import one_revision
from changes.models import Ask, Kind, Repair, Request, State
from changes.permissions import require
from changes.refusals import Refused
from changes.workflow.table import note
from trusses.sealing import recording, seals
from trusses.sealing.models import SealedDrawing
from trusses.sealing.seals import Seal


def attach_repair(
    user: Any,
    change: Request,
    ask: Ask,
    sent: BinaryIO,
    size: int,
    *,
    sealed_by: str,
    licence: str,
    state: str,
    sealed_on: date,
    replaces: SealedDrawing | None = None,
    reason: str = "",
    also_shows: bool = False,
) -> SealedDrawing:
    """Attaches the sealed drawing of the repair of damage, also after the decision, such as a corrected one. Raises
    NotAllowed, Refused."""
    require(user, "repair", change)
    if ask.request_id != change.pk or ask.kind != Kind.DAMAGE or ask.replaced:
        raise Refused("repairs-no-damage", "ask", "ask")
    if change.state == State.WITHDRAWN:
        raise Refused("repairs-nothing-withdrawn", "ask", "ask")
    revision = one_revision(ask)
    if revision is None:
        raise Refused("repairs-several", "ask", "ask", mark=ask.on_truss.mark, copies=ask.copies)
    if revision.pk != ask.revision_id:
        code = "repairs-other" if change.is_open else "repairs-other-decided"
        raise Refused(code, "ask", "ask", mark=ask.on_truss.mark, copies=ask.copies)

    def attached(drawing: SealedDrawing) -> None:
        Repair.objects.create(ask=ask, drawing=drawing)
        note(change, "attach a repair", by=user, mark=ask.on_truss.mark, copies=ask.copies, sealed_by=drawing.sealed_by)

    def before() -> Iterable[int]:
        return list(Repair.objects.filter(ask=ask, drawing__revision=revision).values_list("drawing", flat=True))

    return recording.attach(
        user,
        revision,
        sent,
        size,
        sealed_by=sealed_by,
        licence=licence,
        state=state,
        sealed_on=sealed_on,
        replaces=replaces,
        reason=reason,
        also_shows=also_shows,
        repair=recording.Repair(tuple(ask.copies), before, attached),
    )


def repairs_of(asks: Iterable[Ask]) -> dict[int, list[Seal]]:
    """The sealed drawings of each damage, by the ask's id, those that count no more too; the last one last."""
    rows = Repair.objects.filter(ask__in=[ask.pk for ask in asks]).values_list("drawing", "ask")
    of = dict(rows)
    found: dict[int, list[Seal]] = {}
    for seal in seals.these(of) if of else ():
        found.setdefault(of[seal.drawing.pk], []).append(seal)
    return found


def told_at(request: int) -> str:
    """The address where a request tells of its repairs."""
    return reverse("changes:request", args=[request]) + "#repair"


def repair_told_at(drawing: SealedDrawing) -> str:
    """The address where the repair that a drawing is of is told; empty for a drawing of none."""
    request = Ask.objects.filter(repairs__drawing=drawing).values_list("request", flat=True).first()
    return told_at(request) if request else ""


def standing(repairs: Iterable[Seal], revision: int | None) -> Seal | None:
    """Of the drawings of one repair the one that isn't withdrawn, for what was built to this revision."""
    return next((one for one in repairs if not one.withdrawn and one.drawing.revision_id == revision), None)
