"""The loads of what stands on a mark, written into its drawing while the set is still being designed.

Afterwards they change by requests alone, which are computed, decided and recorded.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.db import transaction

from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.format.model import Truss as Design
from trusses.analysis.load_path import chain
from trusses.analysis.load_path.landing import CarryingError
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.load_path.transfer import without
from trusses.analysis.loads.combinations import LoadError
from trusses.analysis.work import Allowance
from trusses.bearings.links import Chain, chain_of
from trusses.bearings.standing import carried
from trusses.job import surroundings
from trusses.models import Revision, Stage, Truss
from trusses.permissions import require
from trusses.refusals import Refused, because
from trusses.revisions import issue_revision, read_and_analyse

VERB = "write what stands on a mark into its drawing"
Document = dict[str, Any]
Written = tuple[Truss, Document, Document, TakenUp]


def take_up(user: Any, truss: Truss) -> list[Revision]:
    """The next revisions of a mark and of those that carry it, with what stands on it today; all of them or none.

    Raises NotAllowed, Refused: where nothing lacks, where a copy is released, where a check fails.
    """
    require(user, VERB, truss.job)
    behind = carried(truss).behind
    if not behind:
        raise Refused("nothing-behind", mark=truss.mark)
    try:
        return _issue(user, _written(truss, behind))
    except (CarryingError, LoadError) as trouble:
        raise Refused("because", why=because(trouble)) from trouble


def _written(truss: Truss, behind: tuple[str, ...]) -> list[Written]:
    """(mark, document, analysis document, what is taken up) of the mark and of every carrier above it whose load
    changes."""
    standing = list(Truss.objects.filter(stands_on__carrier=truss, withdrawn_at=None).distinct())
    reached = chain_of(standing or [truss])
    # what stands there no longer goes, too
    loaded, taken = without(truss.current.document, behind, TakenUp.read(truss.current.taken_up))
    if standing:
        loaded, taken = _loaded(reached, truss.mark, loaded, taken)
    allowance = Allowance("long-loads")
    document, analysis = read_and_analyse(loaded, surroundings.of_mark(truss), allowance)

    def analysed(carrier: Design, told: Surroundings) -> Document:
        allowance.take(carrier)
        return chain.anew(carrier, told)

    found = [(truss, document, analysis, taken)]
    for step in reached.follow({truss.mark: (document, analysis)}, analysed):
        if step.document is None or step.analysis is None:
            told = {"carrier": step.carrier, "because": list(step.because), "trouble": step.trouble}
            raise Refused("carrier-not-worked-out", **told)
        found.append((reached.trusses[step.carrier], step.document, step.analysis, step.taken))
    return found


def _loaded(reached: Chain, mark: str, bare: Document, taken: TakenUp) -> tuple[Document, TakenUp]:
    marks = {**reached.marks, mark: replace(reached.marks[mark], document=bare, taken=taken)}
    return chain.loaded(marks, reached.links, mark)


def _issue(user: Any, written: list[Written]) -> list[Revision]:
    issued = []
    with transaction.atomic():
        for truss, document, analysis, taken in written:
            begun = truss.copies.select_for_update().exclude(stage=Stage.DESIGNING).order_by("number").first()
            if begun:
                raise Refused("taken-up-by-a-request", copy=begun.number, mark=truss.mark, stage=begun.stage)
            try:
                issued.append(issue_revision(truss, truss.current, document, analysis, user, taken_up=taken))
            except Refused as trouble:
                why = because(trouble, placed=False)
                raise Refused("with-what-stands-on-it", mark=truss.mark, why=why) from trouble
    return issued
