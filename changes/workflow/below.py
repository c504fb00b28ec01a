"""What a decision asks of the marks that carry those that change: that nothing moved since they were followed, that
none fails, that all can take their new revision."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from changes.carriers import Worked, basis_of, joining_others, stops
from changes.models import Option, Request
from changes.refusals import Conflict, Refused
from changes.workflow.issuing import refuse_failures
from changes.workflow.table import moment, person
from trusses.analysis.load_path.chain import Step
from trusses.bearings import links
from trusses.models import CHANGEABLE_STAGES, Revision, Truss
from trusses.variants import following


def refuse_when_moved(change: Request, chosen: Sequence[Option], worked: Worked) -> None:
    """Raises Conflict where a revision, a link or a place in plan is another than when the chain was followed, by the
    worker or just now. Called first in the transaction: from here on its marks are locked."""
    read = worked.chain.currents
    rows = Truss.objects.select_for_update().filter(pk__in=read).order_by("pk")
    for pk, current in rows.values_list("pk", "current"):
        if current != read[pk]:
            raise Conflict("revised-since", **_since(change, Truss.objects.get(pk=pk)))
    for option in chosen:
        if basis_of(option) != option.basis or not set(_joins(option, worked)) <= set(option.joins):
            raise _why(change, option)
    chain = links.chain_of([option.truss for option in chosen])
    for option in joining_others(chosen if chain.links else ()):
        raise _why(change, option)
    if following.with_joined(chain, worked.homes).basis != worked.chain.basis:
        raise Conflict("chain-moved")


def _joins(option: Option, worked: Worked) -> list[int]:
    """The marks that the option's copies join by now."""
    mine = [home for home in worked.homes if home.truss.pk == option.truss_id and set(home.copies) & set(option.copies)]
    return [home.to.pk for home in mine if home.to is not None] if worked.chain.links else []


def _why(change: Request, option: Option) -> Conflict:
    for one in option.consequences.select_related("carrier", "revision"):
        if one.carrier.current_id != one.revision_id:
            told = {"option": option.pk, "carried": option.truss.mark, "computed_from": one.revision.number}
            return Conflict("carrier-revised", **_since(change, one.carrier), **told)
    return Conflict("basis-moved", mark=option.truss.mark)


def _since(change: Request, truss: Truss) -> dict[str, Any]:
    current = Revision.objects.defer("document", "analysis").select_related("issued_by").get(current_of=truss)
    by = person(current.issued_by, change.job) if current.issued_by else ""
    return {"mark": truss.mark, "number": current.number, "at": moment(current.issued_at, change.job), "by": by}


def refuse_unless_sound(worked: Worked, accepts: Sequence[str]) -> None:
    """Raises Refused where a carrier can't be worked out, fails, or can't take a revision any more."""
    for step in worked.becoming.values():
        if why := stops(step):
            raise why
        refuse_failures(step.carrier, step.document, step.analysis or {"checks": ()}, accepts)
    for truss, step in in_order(worked):
        if why := stops(step):
            raise why
        _refuse_when_cut(truss, step)
        refuse_failures(truss.mark, step.document, step.analysis or {"checks": ()}, accepts)


def _refuse_when_cut(truss: Truss, step: Step) -> None:
    cut = list(truss.copies.exclude(stage__in=CHANGEABLE_STAGES).values_list("number", flat=True))
    if cut:
        raise Refused("carrier-cut", "options", mark=truss.mark, copies=cut, because=list(step.because))


def in_order(worked: Worked) -> Iterator[tuple[Truss, Step]]:
    """Each carrier that stays a mark with its step, after all that it carries."""
    for step in worked.steps:
        if step.carrier in worked.chain.trusses:
            yield worked.chain.trusses[step.carrier], step
