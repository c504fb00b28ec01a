"""What the worker computes for a row, outside of any transaction; what comes back writes it down."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from django.db import transaction

from changes import carriers as consequences
from changes.asks.answers import Found, drawn
from changes.models import Option, Request, Together
from changes.worker.answering import answered, held_down, judged
from changes.worker.queue import Claim, Teller
from changes.worker.writing import figures, solved, write_all, write_steps
from changes.workflow.holds import hold_carriers
from trusses import verdicts
from trusses.analysis.words.phrases import coded
from trusses.analysis.words.refusal import Refusal
from trusses.bearings import links
from trusses.job import surroundings
from trusses.marks.submissions import worked_out
from trusses.models import Revision, Submission
from trusses.refusals import NotAllowed, Refused

Write = Callable[[], dict[str, Any]]

_SENT = {
    Submission.Kind.NEW_MARK: "analysing-new-mark",
    Submission.Kind.CORRECTION: "analysing-correction",
    Submission.Kind.LOADS: "analysing-loads",
}
"""What the worker is doing with what was sent."""


def compute(mine: Claim) -> Write:
    """Computes outside of any transaction; what comes back writes the effect and is called inside the last one."""
    if mine.submission_id is not None:
        return _compute_submission(mine)
    if mine.together_id is not None:
        return _compute_together(mine)
    if mine.option_id is not None:
        return _compute_drawn(mine)
    change = Request.objects.get(computations=mine.pk)
    return partial(write_all, change, *answered(change, Teller(mine)))


def _compute_submission(mine: Claim) -> Write:
    sent = Submission.objects.select_related("job", "truss", "sent_by").get(computation=mine.pk)
    Teller(mine)(0.1, coded(_SENT[Submission.Kind(sent.kind)], mark=str(sent)))
    try:
        write = worked_out(sent)
    except (Refused, NotAllowed) as refused:
        return partial(_refuse_submission, sent, refused)
    return partial(_write_submission, sent, write)


def _write_submission(sent: Submission, write: Callable[[], Revision]) -> dict[str, Any]:
    try:
        with transaction.atomic():
            revision = write()
    except (Refused, NotAllowed) as refused:
        return _refuse_submission(sent, refused)
    Submission.objects.filter(pk=sent.pk).update(revision=revision, truss=revision.truss)
    return {}


def _refuse_submission(sent: Submission, refused: Refusal) -> dict[str, Any]:
    Submission.objects.filter(pk=sent.pk).update(trouble=refused.coded)
    return {}


def _compute_together(mine: Claim) -> Write:
    both = Together.objects.get(computation=mine.pk)
    options = list(
        Option.objects.filter(pk__in=both.options, stale=False).select_related(
            "truss__job", "truss__current", "truss__variant_of"
        )
    )
    Teller(mine)(0.1, coded("analysing-together", marks=[option.truss.mark for option in options]))
    worked = consequences.together(options, consequences.anew)
    return partial(_write_together, both, worked)


def _write_together(both: Together, worked: consequences.Worked) -> dict[str, Any]:
    Together.objects.filter(pk=both.pk).update(analyses=consequences.analyses(worked.steps))
    return {}


def _compute_drawn(mine: Claim) -> Write:
    option = Option.objects.select_related("revision", "truss__job", "truss__current").get(computation=mine.pk)
    Teller(mine)(0.1, coded("analysing-drawn", mark=option.truss.mark))
    revision, said = option.revision, surroundings.of_mark(option.truss)
    chain = links.chain_of([option.truss])
    before = surroundings.before(revision, said)
    found = drawn(revision.document, before, option.document, option.titled, option.told, said)
    found = held_down(found, revision.document, option.asks.values_list("kind", flat=True), said)
    judge = partial(judged, chain, option.truss, tuple(option.copies), verdicts.known(option.truss))
    return partial(_write_drawn, option, judge(found), chain)


def _write_drawn(option: Option, found: Found, chain: links.Chain) -> dict[str, Any]:
    Option.objects.filter(pk=option.pk).update(**figures(found))
    write_steps(option, found, chain)
    hold_carriers(option.request)
    solved(option, found)
    return {"mark": option.truss.mark, "title": option.titled, "found": found.told}
