"""The one way in which a decision issues a revision, whether an option asked for it or what stands on the mark."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Q

from changes.computations import want_atlas
from changes.models import OPEN_STATES, Decision, Issue, Option, Request
from changes.refusals import Conflict, Refused
from changes.workflow.rehoming import rehome
from changes.workflow.table import note
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.load_path.chain import Step
from trusses.analysis.load_path.taken_up import TakenUp
from trusses.analysis.piece_names import told
from trusses.models import Revision, Truss
from trusses.refusals import Superseded
from trusses.revisions import issue_revision
from trusses.variants.homes import Home
from trusses.variants.moving import keep_wood, settle


def refuse_failures(
    mark: str, document: Mapping[str, Any] | None, analysis: dict[str, Any], accepts: Iterable[str]
) -> None:
    """Raises Refused unless every failed check is one of serviceability that is accepted by name."""
    failing = [check for check in analysis["checks"] if not check["passes"]]
    for check in failing:
        if check["rule"] not in SERVICEABILITY:
            raise Refused("option-fails", "options", mark=mark, **told(document, check))
    for rule in sorted({check["rule"] for check in failing} - set(accepts)):
        raise Refused("accept-by-name", "accepts", mark=mark, rule=rule)


def issue(
    decision: Decision,
    truss: Truss,
    document: dict[str, Any],
    analysis: dict[str, Any],
    *,
    option: Option | None,
    because: Sequence[str] = (),
    taken_up: TakenUp | None = None,
) -> Revision:
    """The mark's next revision, by an option or `because` of the marks on it. Raises Conflict where it has another."""
    accepts, before = _accepted(decision, analysis), truss.current.document
    try:
        revision = issue_revision(truss, truss.current, document, analysis, decision.by, accepts, taken_up)
    except Superseded as late:
        raise Conflict(late.code, **late.values) from late
    keep_wood(truss, before)
    Issue.objects.create(decision=decision, option=option, revision=revision, because=list(because))
    _tell_others(decision, truss, revision)
    want_atlas(Truss.objects.select_related("current").get(pk=truss.pk))
    return revision


def _accepted(decision: Decision, analysis: dict[str, Any]) -> list[dict[str, Any]]:
    failing = {check["rule"] for check in analysis["checks"] if not check["passes"]}
    return [{"rule": rule, "reason": decision.reason} for rule in decision.accepts if rule in failing]


def issue_home(decision: Decision, home: Home, option: Option, step: Step | None = None) -> None:
    """Copies that leave their mark: the variant that they become gets its revision 0, by the option, and as a carrier
    with what stands on it then (`step`); a mark that they join has its revision. What else is open on them goes with
    them."""
    change = decision.request
    analysis = step.analysis if step else home.analysis
    revision = settle(home, decision.by, _accepted(decision, analysis or {"checks": ()}), step)
    if revision is not None:
        because = list(step.because) if step else []
        Issue.objects.create(decision=decision, option=option, revision=revision, because=because)
    to = home.to or Truss.objects.get(current=revision)
    note(change, home.goes, by=decision.by, **home.told)
    rehome(change, home, to, decision.by)


def tell_of_correction(revision: Revision, by: Any) -> None:
    """Open requests hear that a first design was corrected."""
    truss = revision.truss
    _tell(truss, revision, by, None)


def _tell_others(decision: Decision, truss: Truss, revision: Revision) -> None:
    _tell(truss, revision, decision.by, decision.request_id)


def _tell(truss: Truss, revision: Revision, by: Any, but: int | None) -> None:
    others = Request.objects.filter(
        Q(asks__truss=truss, asks__replaced=False) | Q(options__stale=False, options__consequences__carrier=truss),
        state__in=OPEN_STATES,
    )
    for other in others.exclude(pk__in=[but] if but else ()).distinct():
        note(other, "overtaken", by=by, mark=truss.mark, number=revision.number, request=but)
