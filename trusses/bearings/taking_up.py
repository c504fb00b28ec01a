"""The loads of what stands on a mark, written into its drawing while the set is still being designed.

Afterwards they change by requests alone, which are computed, decided and recorded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from django.db import transaction

from trusses.analysis.load_path import chain
from trusses.analysis.load_path.landing import CarryingError
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.load_path.transfer import without
from trusses.analysis.loads.combinations import LoadError
from trusses.bearings.links import Chain, chain_of, standing_on
from trusses.bearings.standing import carried
from trusses.job import surroundings
from trusses.models import Revision, Stage, Truss
from trusses.permissions import require
from trusses.refusals import Refused, because
from trusses.revisions import issue_revision, read_and_analyse

VERB = "write what stands on a mark into its drawing"
Document = dict[str, Any]
Written = tuple[Truss, Document, Document, TakenUp]


def behind(user: Any, truss: Truss) -> tuple[str, ...]:
    """The marks whose loads today's drawing lacks. Raises NotAllowed; Refused where nothing lacks or a copy of the mark
    is released."""
    require(user, VERB, truss.job)
    lacking = carried(truss).behind
    if not lacking:
        raise Refused("nothing-behind", mark=truss.mark)
    _refuse_begun(truss)
    return lacking


def taken_up(user: Any, truss: Truss) -> Callable[[], list[Revision]]:
    """Works out what stands on a mark today; what comes back writes the next revisions of the mark and of those that
    carry it, all of them or none.

    Raises NotAllowed, Refused: where nothing lacks; and both where a copy is released, where a check fails.
    """
    try:
        return partial(_issue, user, _written(truss, behind(user, truss)))
    except (CarryingError, LoadError) as trouble:
        raise Refused("because", why=because(trouble)) from trouble


def _written(truss: Truss, lacking: tuple[str, ...]) -> list[Written]:
    """(mark, document, analysis document, what is taken up) of the mark and of every carrier above it whose load
    changes."""
    standing = standing_on(truss)
    reached = chain_of(standing or [truss])
    # what stands there no longer goes, too
    loaded, taken = without(truss.current.document, lacking, TakenUp.read(truss.current.taken_up))
    if standing:
        loaded, taken = _loaded(reached, truss.mark, loaded, taken)
    document, analysis = read_and_analyse(loaded, surroundings.of_mark(truss))
    found = [(truss, document, analysis, taken)]
    for step in reached.follow({truss.mark: (document, analysis)}):
        if step.document is None or step.analysis is None:
            told = {"carrier": step.carrier, "because": list(step.because), "why": step.trouble}
            raise Refused("carrier-not-worked-out", **told)
        found.append((reached.trusses[step.carrier], step.document, step.analysis, step.taken))
    return found


def _loaded(reached: Chain, mark: str, bare: Document, taken: TakenUp) -> tuple[Document, TakenUp]:
    marks = {**reached.marks, mark: replace(reached.marks[mark], document=bare, taken=taken)}
    return chain.loaded(marks, reached.links, mark)


def _refuse_begun(truss: Truss) -> None:
    begun = truss.copies.exclude(stage=Stage.DESIGNING).order_by("number").first()
    if begun:
        raise Refused("taken-up-by-a-request", copy=begun.number, mark=truss.mark, stage=begun.stage)


def _issue(user: Any, written: list[Written]) -> list[Revision]:
    issued = []
    with transaction.atomic():
        for truss, document, analysis, taken in written:
            Truss.objects.select_for_update().get(pk=truss.pk)
            _refuse_begun(truss)
            try:
                issued.append(issue_revision(truss, truss.current, document, analysis, user, taken_up=taken))
            except Refused as trouble:
                why = because(trouble, placed=False)
                raise Refused("with-what-stands-on-it", mark=truss.mark, why=why) from trouble
    return issued
