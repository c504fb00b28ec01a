"""What a designer sends to the set and the worker computes: a new mark, a corrected first design, the loads of what
stands on a mark. What can be refused without an analysis is refused at once; of the rest a row tells what became."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from django.db import transaction

from trusses import revisions as sets
from trusses.analysis.work import MOST_WHILE_ONE_WAITS, work
from trusses.bearings import taking_up
from trusses.job import surroundings
from trusses.marks import correcting
from trusses.models import Job, Revision, Submission, Truss

Kind = Submission.Kind
Document = dict[str, Any]

work_is_wanted: list[Callable[[Submission], object]] = []
"""Who has submissions worked out. The app that has the worker adds itself when it starts; this one imports nothing of
it."""


def send_mark(
    job: Job,
    document: Document | str | bytes,
    quantity: int,
    by: Any,
    can_change_until: date | None = None,
    typed: dict[str, str] | None = None,
) -> Submission:
    """A new mark as `add_mark` makes it; `typed` is the form that it came from. Raises Refused."""
    read = sets.read_mark(document, quantity)
    if Truss.objects.filter(job=job, mark=read.mark).exists():
        raise sets.taken(read.mark)
    until = can_change_until.isoformat() if can_change_until else None
    said = {"quantity": quantity, "can_change_until": until} | ({"typed": typed} if typed else {})
    return _sent(job, by, Kind.NEW_MARK, None, read.document, said)


def add_or_send_mark(
    job: Job, document: Document | str | bytes, quantity: int, by: Any, can_change_until: date | None = None
) -> Truss | Submission:
    """A new mark at once, for a program that waits, where its analysis is little enough; else it is sent. Raises
    Refused."""
    read = sets.read_mark(document, quantity)
    if work(read) <= MOST_WHILE_ONE_WAITS:
        return sets.add_mark(job, read.document, quantity, by, can_change_until)
    return send_mark(job, read.document, quantity, by, can_change_until)


def send_correction(
    by: Any,
    truss: Truss,
    document: Document | str | bytes,
    reason: str,
    seen: Revision | None = None,
    accepts: Sequence[str] = (),
) -> Submission:
    """A corrected first design as `correcting.corrected` makes it. Raises NotAllowed, Refused."""
    wish = correcting.read_wish(by, truss, document, reason, seen, accepts)
    said = {"reason": wish.reason, "seen": wish.expected.pk, "accepts": list(wish.accepts)}
    return _sent(truss.job, by, Kind.CORRECTION, truss, wish.document, said)


def send_loads(by: Any, truss: Truss) -> Submission:
    """What stands on a mark, as `taking_up.taken_up` writes it. Raises NotAllowed, Refused."""
    taking_up.behind(by, truss)
    return _sent(truss.job, by, Kind.LOADS, truss, None, {})


def _sent(
    job: Job, by: Any, kind: Submission.Kind, truss: Truss | None, document: Document | None, said: dict[str, Any]
) -> Submission:
    """The row, and its computation on the way. A second click finds the row of the first while that waits."""
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        waiting = Submission.objects.filter(
            job=job, sent_by=by, kind=kind, truss=truss, revision=None, trouble__isnull=True
        )
        for one in waiting:
            if one.document == document and one.said == said:
                return one
        sent = Submission.objects.create(job=job, kind=kind, truss=truss, document=document, said=said, sent_by=by)
        for have_worked_out in work_is_wanted:
            have_worked_out(sent)
    return sent


def worked_out(sent: Submission) -> Callable[[], Revision]:
    """Analyses what was sent, outside of any transaction; what comes back writes it inside one. Both raise NotAllowed,
    Refused, Superseded."""
    by, said = sent.sent_by, sent.said
    if sent.kind == Kind.NEW_MARK:
        analysed = sets.read_and_analyse(sent.document or {}, surroundings.of_job(sent.job))
        until = date.fromisoformat(said["can_change_until"]) if said["can_change_until"] else None
        return lambda: sets.write_mark(sent.job, *analysed, said["quantity"], by, until).current
    truss = Truss.objects.select_related("job", "current").get(pk=sent.truss_id or 0)
    if sent.kind == Kind.CORRECTION:
        seen = truss.revisions.get(pk=said["seen"])
        wish = correcting.read_wish(by, truss, sent.document or {}, said["reason"], seen, said["accepts"])
        return correcting.corrected(wish)
    write = taking_up.taken_up(by, truss)
    return lambda: write()[0]
