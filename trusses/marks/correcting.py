"""A mark's first design, corrected or withdrawn by a designer while nothing of it is released: no request is needed,
and nothing disappears. Once a copy is released, or a request has changed the mark, it is revised by a decision."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.utils import timezone

from trusses.bearings import links
from trusses.job import surroundings
from trusses.models import Copy, MarkEvent, Revision, Stage, Truss
from trusses.permissions import require
from trusses.refusals import Refused, Superseded
from trusses.revisions import issue_revision, read_and_analyse, read_design, superseded

VERB = "correct or withdraw a first design"
LONGEST_REASON = 2000

after_correction: list[Callable[[Revision, Any], None]] = []
"""Who else hears of a corrected design: each is called with the new revision and the designer, in the transaction.
Other apps add theirs when they start; this one imports none of them."""


@dataclass(frozen=True)
class Wish:
    """A correction as it was read: who corrects which revision of what, how and why. `accepts` names failed checks of
    serviceability that the reason accepts."""

    user: Any
    truss: Truss
    expected: Revision
    document: dict[str, Any]
    reason: str
    accepts: tuple[str, ...]


def read_wish(
    user: Any,
    truss: Truss,
    document: dict[str, Any] | str | bytes,
    reason: str,
    seen: Revision | None = None,
    accepts: Sequence[str] = (),
) -> Wish:
    """A correction of `seen`, or of the current revision, as far as it can be judged without an analysis. Raises
    NotAllowed, Refused; Superseded where another was faster."""
    require(user, VERB, truss.job)
    reason = _reason(reason)
    expected = seen or truss.current
    held = read_design(document).document
    if held["mark"] != truss.mark:
        raise Refused("of-another-mark", "document", mark=held["mark"], wanted=truss.mark)
    if held == expected.document:
        raise Refused("nothing-corrected", "document", mark=truss.mark, number=expected.number)
    if expected.pk != truss.current_id:
        raise superseded(truss, expected)
    if why := stops_correcting(truss):
        raise why
    return Wish(user, truss, expected, held, reason, tuple(dict.fromkeys(accepts)))


def corrected(wish: Wish) -> Callable[[], Revision]:
    """Analyses a correction; what comes back writes the next revision of a mark whose design is still its first, with
    the reason in the record, and a withdrawn mark is back in the set with it. Both raise Refused, and Superseded where
    another was faster."""
    truss, expected = wish.truss, wish.expected
    held, analysis = read_and_analyse(wish.document, surroundings.of_mark(truss))

    def write() -> Revision:
        accepted = [{"rule": rule, "reason": wish.reason} for rule in wish.accepts]
        with transaction.atomic():
            now = _still_first(truss)
            revision = issue_revision(now, expected, held, analysis, wish.user, accepted)
            Truss.objects.filter(pk=truss.pk).update(withdrawn_at=None)
            MarkEvent.objects.create(
                truss=truss,
                by=wish.user,
                code=MarkEvent.Code.CORRECTED,
                values={"before": expected.number, "after": revision.number, "reason": wish.reason},
            )
            for hears in after_correction:
                hears(revision, wish.user)
        truss.current, truss.withdrawn_at = revision, None
        return revision

    return write


def withdraw(user: Any, truss: Truss, reason: str, seen: Revision | None = None) -> Truss:
    """Takes a mark out of the set while its design is still its first: nothing of it is released or cut any more, and
    it stands on nothing. Raises NotAllowed, Refused; a second time is refused."""
    require(user, VERB, truss.job)
    reason = _reason(reason)
    expected = seen or truss.current
    with transaction.atomic():
        _still_first(truss)
        if standing := sorted({link.truss.mark for link in truss.carried.select_related("truss")}):
            raise Refused("carries-others", standing=standing, mark=truss.mark)
        rows = Truss.objects.filter(pk=truss.pk, current=expected, withdrawn_at=None)
        if not rows.update(withdrawn_at=timezone.now()):
            now = Truss.objects.select_related("current").get(pk=truss.pk)
            if now.withdrawn_at is not None:
                raise Refused("withdrawn-already", mark=truss.mark)
            raise Superseded("corrected-meanwhile", mark=truss.mark, number=now.current.number)
        MarkEvent.objects.create(
            truss=truss,
            by=user,
            code=MarkEvent.Code.WITHDRAWN,
            values={"revision": expected.number, "reason": reason},
        )
    truss.refresh_from_db()
    return truss


def stops_correcting(truss: Truss) -> Refused | None:
    """Why a mark's design can't be corrected or withdrawn without a decision; None where it can."""
    if truss.revisions.filter(issue__isnull=False).exists():
        return Refused("revised-by-a-decision", mark=truss.mark)
    released = Copy.objects.exclude(stage=Stage.DESIGNING)
    own = released.filter(truss=truss).order_by("number").first()
    if own:
        return Refused("copy-begun", copy=own.number, mark=truss.mark, stage=own.stage)
    above = [carrier.pk for carrier in links.chain_of([truss]).trusses.values() if carrier.pk != truss.pk]
    reached = set(truss.stands_on.filter(carrier__isnull=False).values_list("carrier", flat=True))
    carrier = released.filter(truss__in=reached & set(above)).select_related("truss").order_by("pk").first()
    if carrier:
        return Refused("carrier-begun", carrier=carrier.truss.mark, mark=truss.mark, stage=carrier.stage)
    return None


def _still_first(truss: Truss) -> Truss:
    """The mark's row, locked; from here on no copy moves and no other revision comes between."""
    now = Truss.objects.select_for_update().get(pk=truss.pk)
    if why := stops_correcting(now):
        raise why
    return now


def _reason(reason: str) -> str:
    told = reason.replace("\x00", "").strip()
    if not told:
        raise Refused("no-reason", "reason")
    if len(told) > LONGEST_REASON:
        raise Refused("reason-too-long", "reason", length=len(told), most=LONGEST_REASON)
    return told
