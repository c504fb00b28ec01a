"""What a designer does with a request: approves, sends back, declines. Two who decide at once make one decision."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, cast

from django.http import Http404

from changes.asks.documents import departures_of, lacks
from changes.asks.reading import refuse_when_all_cut
from changes.carriers import Worked, together
from changes.models import Ask, Decision, Option, Request
from changes.permissions import require
from changes.workflow import below
from changes.workflow.filing import drop_computations
from changes.workflow.holds import release
from changes.workflow.issuing import issue, refuse_failures
from changes.workflow.table import Conflict, acting, move, person, when
from changes.workflow.typed import words
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.format.document import sha256
from trusses.analysis.load_path.chain import Step
from trusses.analysis.words.departures import departure
from trusses.analysis.words.phrases import listed
from trusses.models import Revision, Truss
from trusses.permissions import visible
from trusses.revisions import Refused

Choice = Decision.Choice
NEEDS = {
    Choice.SEND_BACK: "Ask the builder a question; sending back needs one.",
    Choice.DECLINE: "Say why; declining needs a reason.",
    Choice.APPROVE: "",
}


def decide(
    user: Any,
    change: Request,
    *,
    verdict: str,
    options: Mapping[int, int] | None = None,
    reason: str = "",
    accepts: Iterable[str] = (),
) -> Decision:
    """One decision. Approving issues one revision for each mark from `options`, {ask id: option id}, and one for each
    mark that carries them and whose load changes.

    What the chosen options do to the carriers together is worked out before the transaction, and counts only if no
    revision moved until it is written. `accepts` names failed checks of serviceability that `reason` accepts. Raises
    NotAllowed, Refused, Conflict, Http404.
    """
    role = require(user, "decide", change)
    if verdict not in Choice.values:
        raise Refused(f"must be {', '.join(Choice.values[:-1])} or {Choice.values[-1]}.", "verdict", "verdict")
    accepted = _acceptable(accepts)
    reason = words(reason, "reason", needed=NEEDS[Choice(verdict)])
    if accepted and not reason:
        raise Refused("Accepting a failed check needs a reason; the sheet repeats it.", "reason")
    worked = _followed(change, options or {}) if verdict == Choice.APPROVE else None
    with acting(change):
        # the move comes first: from here on nobody else's decision can come between
        move(change, verdict, role, by=user, says=reason)
        decision = Decision.objects.create(request=change, verdict=verdict, reason=reason, accepts=accepted, by=user)
        if worked is not None:
            _issue_all(decision, options or {}, worked)
        drop_computations(change)
        if verdict != Choice.SEND_BACK:
            release(change, by=user)
    return decision


def _acceptable(accepts: Iterable[str]) -> list[str]:
    named = list(dict.fromkeys(accepts))
    for rule in named:
        if rule not in SERVICEABILITY:
            can = listed(sorted(SERVICEABILITY))
            raise Refused(f"{str(rule)[:60]} can't be accepted by anyone; only {can} can.", "accepts", "accepts")
    return named


def _followed(change: Request, options: Mapping[int, int]) -> Worked:
    """What the chosen options do to what carries them. A choice that is wrong is refused later, by name."""
    try:
        rows = change.options.filter(pk__in=options.values(), stale=False).select_related(
            "truss__job", "truss__current"
        )
        return together(list(rows))
    except (OverflowError, TypeError, ValueError):
        return together(())


def _issue_all(decision: Decision, options: Mapping[int, int], worked: Worked) -> None:
    change = decision.request
    asks = list(change.asks.filter(replaced=False).select_related("truss__job", "truss__current"))
    if set(options) - {ask.pk for ask in asks}:
        raise Http404("Not found.")
    chosen: dict[int, tuple[Truss, Option, list[Ask]]] = {}
    for ask in asks:
        option = _chosen(decision, ask, options)
        _, other, answered = chosen.setdefault(ask.truss_id, (ask.truss, option, []))
        if other.pk != option.pk:
            raise Refused(f"{ask.truss.mark}: its asks share one option; two were chosen.", "options")
        answered.append(ask)
    for truss, option, answered in chosen.values():
        refuse_when_all_cut(truss, truss.mark)
        _refuse_unless_sound(truss, option, answered)
        _refuse_less_without_a_reason(truss, option, decision.reason)
        # as a carrier it is judged below, with what the others put on it now
        if truss.pk not in worked.carriers:
            refuse_failures(truss.mark, _computed(option)[1], decision.accepts)
    below.refuse_when_moved(change, [option for _, option, _ in chosen.values()], worked)
    below.refuse_unless_sound(worked, decision.accepts)
    for truss, option, _ in chosen.values():
        _refuse_unoffered(truss, option)
        if truss.pk not in worked.carriers:
            issue(decision, truss, *_computed(option), option=option)
    for truss, step in below.in_order(worked):
        picked = chosen[truss.pk][1] if truss.pk in chosen else None
        issue(decision, truss, *_computed(step), option=picked, because=step.because, taken_up=step.taken)


def _chosen(decision: Decision, ask: Ask, options: Mapping[int, int]) -> Option:
    which = options.get(ask.pk)
    if which is None:
        raise Refused(f"choose an option that answers ask {ask.pk} ({ask.truss.mark}).", "options", "options")
    try:
        option = visible(Option, decision.by).filter(pk=which).select_related("revision").first()
    except (OverflowError, TypeError, ValueError):
        option = None
    if option is None:
        raise Http404("Not found.")
    if not option.asks.filter(pk=ask.pk).exists():
        raise Refused(f"option {option.pk} does not answer ask {ask.pk} ({ask.truss.mark}).", "options", "options")
    return option


def _refuse_unless_sound(truss: Truss, option: Option, asks: list[Ask]) -> None:
    """Raises Conflict where the option is overtaken, Refused where what it shows can't be approved."""
    if option.revision_id != truss.current_id:
        raise Conflict(_overtaken(truss, option))
    if option.stale:
        raise Conflict(f"{truss.mark}: option {option.pk} is of an earlier computation; choose from the current one.")
    analysis = option.analysis
    if analysis is None or option.passes is None:
        says = option.says if option.passes is False else "It is not computed yet."
        raise Refused(f"{truss.mark}: option {option.pk} can't be approved. {says}", "options")
    if not sha256(option.document) == option.sha256 == analysis["truss_sha256"]:
        raise Refused(
            f"{truss.mark}: the analysis of option {option.pk} belongs to another truss document; "
            "nothing is approved on it.",
            "options",
        )
    if option.sha256 == truss.current.sha256:
        raise Refused(
            f"{truss.mark}: option {option.pk} is today's truss, unchanged; there is nothing to issue.", "options"
        )
    if missing := lacks(option.document, [ask.opening for ask in asks if ask.opening]):
        raise Refused(f"{truss.mark}: option {option.pk} lacks the opening {missing} that was asked for.", "options")
    blocked = [opening["id"] for opening in analysis["openings"] if not opening["fits"]]
    if blocked:
        raise Refused(f"{truss.mark}: in option {option.pk} the opening {listed(blocked)} is not clear.", "options")


def _refuse_less_without_a_reason(truss: Truss, option: Option, reason: str) -> None:
    """A truss that passes because less is asked of it: whoever approves that says why."""
    less = [one for one in departures_of(option) if one.falls]
    if less and not reason:
        more = f" (and {len(less) - 1} more)" if len(less) > 1 else ""
        raise Refused(
            f"{truss.mark}: option {option.pk} is designed for less than today's truss: {departure(less[0])}{more} "
            "Approving it needs a reason.",
            "reason",
        )


def _computed(one: Option | Step) -> tuple[dict[str, Any], dict[str, Any]]:
    """Its truss document and its analysis; what has none was refused before."""
    return cast(dict[str, Any], one.document), cast(dict[str, Any], one.analysis)


def _refuse_unoffered(truss: Truss, option: Option) -> None:
    """An option that fails nothing and still isn't called passing is none to approve; but on a girder with hangers,
    which never is, a designer decides with its numbers, and its sheet waits for the sealed drawing."""
    failing = any(not check["passes"] for check in _computed(option)[1]["checks"])
    beyond = any(one.passes is False for one in option.consequences.select_related("carrier"))
    if not (option.passes or failing or beyond or option.numbers_only):
        raise Refused(f"{truss.mark}: option {option.pk} is not offered as passing. {option.says}", "options")


def _overtaken(truss: Truss, option: Option) -> str:
    current = Revision.objects.defer("document", "analysis").select_related("issued_by").get(current_of=truss)
    by = f" by {person(current.issued_by, truss.job)}" if current.issued_by else ""
    return (
        f"{truss.mark} has revision {current.number} since {when(current.issued_at, truss.job)}{by}; "
        f"option {option.pk} was computed from revision {option.revision.number}. Have the request computed again."
    )
