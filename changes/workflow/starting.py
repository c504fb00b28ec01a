"""A revision that no builder asked for: a designer starts it, with its reason; computed, compared and decided alike."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.db import IntegrityError, transaction

from changes.asks.reading import read_needed_by, refuse_when_all_cut
from changes.asks.wishes import read_copies
from changes.computations import enqueue
from changes.models import Ask, Event, Kind, Request, State
from changes.permissions import require
from changes.refusals import Refused
from changes.workflow.drafting import read_drawn, write_drawn
from changes.workflow.filing import refuse_repeat
from changes.workflow.holds import ask_for_holds
from changes.workflow.table import NEW
from changes.workflow.typed import words
from trusses.analysis.format.document import sha256
from trusses.analysis.words.phrases import coded
from trusses.models import Truss

USUALLY_DECIDED = timedelta(days=7)


def start_revision(
    user: Any,
    truss: Truss,
    *,
    reason: str,
    needed_by: date | str | None = None,
    document: dict[str, Any] | str | None = None,
    title: str | None = None,
    copies: Sequence[int] | None = None,
) -> Request:
    """A request of the designer's own on one mark, or on some of its copies, with one drawn option: `document`, or
    today's truss to edit from.

    The saw is asked to wait as for any other. Raises NotAllowed, Refused; a second click is refused with the number of
    the first.
    """
    job = truss.job
    require(user, "start", job)
    reason = words(reason, "reason", needed="say-why-revised")
    if truss.current is None:
        raise Refused("no-revision-yet", "truss", mark=truss.mark)
    refuse_when_all_cut(truss, truss.mark)
    day = read_needed_by(job, needed_by or job.today() + USUALLY_DECIDED)
    drawn = read_drawn(document, truss) if document is not None else truss.current.document
    unnamed = coded("to-start-from" if document is None else "as-sent")
    titled = words(title, "title", longest=300) or [unnamed]
    said = hashlib.sha256(
        repr((job.pk, Kind.REVISION.value, truss.pk, *sorted(copies or ()), reason, sha256(drawn))).encode(
            "utf-8", "surrogatepass"
        )
    ).hexdigest()
    try:
        with transaction.atomic():
            change = Request.objects.create(job=job, filed_by=user, reason=reason, needed_by=day, fingerprint=said)
            named = read_copies(truss, {} if copies is None else {"copies": copies}, truss.mark)
            ask = Ask.objects.create(
                request=change, truss=truss, revision=truss.current, copies=list(named), kind=Kind.REVISION
            )
            write_drawn(user, [ask], drawn, titled)
            Event.objects.create(
                request=change, by=user, verb="start", from_state=NEW, to_state=State.FILED, says=reason
            )
            ask_for_holds(change, user)
            enqueue(change)
            return change
    except IntegrityError as trouble:
        refuse_repeat(user, said, trouble)
        raise
