"""What a decision asks of the marks that carry those that change: that nothing moved since they were followed, that
none fails, that all can take their new revision."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from changes.carriers import Worked, stops
from changes.models import Option, Request
from changes.workflow.issuing import refuse_failures
from changes.workflow.table import Conflict, person, when
from trusses.analysis.load_path.chain import Step
from trusses.analysis.words.phrases import listed
from trusses.bearings import links
from trusses.models import CHANGEABLE_STAGES, Revision, Truss
from trusses.revisions import Refused


def refuse_when_moved(change: Request, chosen: Sequence[Option], worked: Worked) -> None:
    """Raises Conflict where a revision, a link or a place in plan is another than when the chain was followed, by the
    worker or just now. Called first in the transaction: from here on its marks are locked."""
    read = worked.chain.currents
    rows = Truss.objects.select_for_update().filter(pk__in=read).order_by("pk")
    for pk, current in rows.values_list("pk", "current"):
        if current != read[pk]:
            raise Conflict(f"{_since(change, Truss.objects.get(pk=pk))} Look at the request again, then decide.")
    for option in chosen:
        basis = links.chain_of([option.truss]).basis_with({option.truss.mark: option.document})
        if basis != option.basis:
            raise Conflict(_why(change, option, basis))
    if links.chain_of([option.truss for option in chosen]).basis != worked.chain.basis:
        raise Conflict("What the marks stand on changed just now. Look at the request again, then decide.")


def _why(change: Request, option: Option, basis: str) -> str:
    again = "Have the request computed again."
    for one in option.consequences.select_related("carrier", "revision"):
        if one.carrier.current_id != one.revision_id:
            return (
                f"{_since(change, one.carrier)} What option {option.pk} of {option.truss} does to it was worked out"
                f" from revision {one.revision.number}. {again}"
            )
    says = f"What {option.truss} stands on, what stands beside it there, or its sheathing is not as it was computed."
    return f"{says} {again}"


def _since(change: Request, truss: Truss) -> str:
    current = Revision.objects.defer("document", "analysis").select_related("issued_by").get(current_of=truss)
    by = f" by {person(current.issued_by, change.job)}" if current.issued_by else ""
    return f"{truss.mark} has revision {current.number} since {when(current.issued_at, change.job)}{by}."


def refuse_unless_sound(worked: Worked, accepts: Sequence[str]) -> None:
    """Raises Refused where a carrier can't be worked out, fails, or can't take a revision any more."""
    for truss, step in in_order(worked):
        if why := stops(step):
            raise Refused(why, "options")
        _refuse_when_cut(truss, step)
        refuse_failures(truss.mark, step.analysis or {"checks": ()}, accepts)


def _refuse_when_cut(truss: Truss, step: Step) -> None:
    cut = list(truss.copies.exclude(stage__in=CHANGEABLE_STAGES).values_list("number", flat=True))
    if cut:
        many = f"copy {cut[0]} is" if len(cut) == 1 else f"copies {listed(map(str, cut))} are"
        raise Refused(
            f"{truss.mark}: {many} cut already and would carry the changed load of {listed(step.because)}; no revision"
            " reaches what is cut. What remains is a repair or another way above it; call the truss designer.",
            "options",
        )


def in_order(worked: Worked) -> Iterator[tuple[Truss, Step]]:
    """Each carrier with its step, after all that it carries."""
    for step in worked.steps:
        yield worked.chain.trusses[step.carrier], step
