"""What a designer does with a request: approves, sends back, declines. Two who decide at once make one decision."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, cast

from django.db.models import Q
from django.http import Http404

from changes.asks.cut_since import refuse_in_cut
from changes.asks.documents import departures_of
from changes.asks.elsewhere import as_decided
from changes.asks.kinds import HERE, lacking
from changes.asks.reading import refuse_when_all_cut
from changes.asks.wishes import refuse_apart, wish_of
from changes.carriers import NotWorkedOut, Worked, moved_of, together, wanted
from changes.computations import enqueue_together, last_together
from changes.models import Ask, Computation, Decision, Kind, Option, Request, State
from changes.permissions import require
from changes.refusals import Conflict, Refused
from changes.workflow import below
from changes.workflow.along import read_lines
from changes.workflow.ending import designs, left_out, make_new_trusses, open_again, refuse_end_of_damage, verb
from changes.workflow.filing import drop_computations
from changes.workflow.holds import release
from changes.workflow.issuing import issue, issue_home, refuse_failures
from changes.workflow.rehoming import turned_over
from changes.workflow.sharing import shared_with
from changes.workflow.since import refuse_newer, refuse_what_moved
from changes.workflow.table import acting, moment, move, person, too_late
from changes.workflow.typed import words
from changes.workflow.walls import keep_left, keep_walls
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.analysis.format.document import sha256
from trusses.analysis.load_path.chain import Step
from trusses.analysis.words.phrases import coded
from trusses.models import CHANGEABLE_STAGES, Revision, Truss
from trusses.permissions import visible
from trusses.variants.homes import Home, Wanted, as_shown, homes
from trusses.variants.moving import lock, turn

Choice = Decision.Choice
NEEDS = {
    Choice.SEND_BACK: "ask-the-builder",
    Choice.DECLINE: "say-why-declined",
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
    ends_by: str = "",
    leaves: Iterable[int] = (),
    lines: Mapping[int, Any] | None = None,
    state: str = "",
    after: int | None = None,
    unseen: bool = False,
    goes: str = "",
) -> Decision:
    """One decision. Approving issues one revision for each mark from `options`, {ask id: option id}, and one for each
    mark that carries them and whose load changes. For the asks that it `leaves`, with a reason, nothing is issued; of
    damage that an answer left out, while it tells of other damage, that says that it is none. `lines`, {run id: run},
    asks with a sending back whether other lines of its runs will do.

    What the chosen options do to the carriers together is worked out before the transaction, and counts only if no
    revision moved until it is written. `accepts` names failed checks of serviceability that `reason` accepts. Damage
    ends by a sealed repair, whose drawing is attached already, or by a new truss (`ends_by`), for which its copies are
    made anew; or it goes on, by "keep off", which leaves the request open or opens it again. `state` and `after`, the
    id of the last decision or 0, are what whoever decides saw of the request, where they say it: another state or
    decision since makes theirs late; `unseen`, the record says that they didn't say it. Raises NotAllowed, Refused,
    Conflict, Http404.
    """
    role = require(user, "decide", change)
    if verdict not in Choice.values:
        raise Refused("no-such-verdict", "verdict", "verdict", choices=list(Choice.values))
    accepted = _acceptable(accepts)
    reason = words(reason, "reason", needed=_needed(change, verdict))
    if accepted and not reason:
        raise Refused("accepting-needs-a-reason", "reason")
    does = verb(verdict, ends_by)
    left = sorted(set(leaves)) if does == Choice.APPROVE else []
    if left and not reason:
        raise Refused("leaving-needs-a-reason", "reason")
    seen = refuse_what_moved(change, does, role, state, after)
    refuse_end_of_damage(change, verdict, ends_by)
    asked_along = read_lines(change, verdict, lines or {})
    chosen = {ask: option for ask, option in (options or {}).items() if ask not in left}
    worked = _worked_out(change, chosen) if does == Choice.APPROVE else None
    with acting(change):
        if does == Decision.EndsBy.KEEP_OFF:
            open_again(change)
        # the move comes first: from here on nobody else's decision can come between
        before = change.state
        move(change, does, role, by=user, says=reason, **({"unseen": True} if unseen else {}))
        refuse_newer(change, before, seen)  # "keep off" leaves the state that `move` looks at as it was
        decision = Decision.objects.create(
            request=change,
            verdict=verdict,
            reason=reason,
            accepts=accepted,
            ends_by=ends_by,
            options=chosen if does == Choice.APPROVE else {},
            leaves=left,
            lines=asked_along,
            by=user,
        )
        if worked is not None:
            _issue_all(decision, chosen, worked, _Shown(goes, tuple(_ids(options or {}))))
            make_new_trusses(decision)
        drop_computations(change)
        if does in (Choice.APPROVE, Choice.DECLINE):
            release(change, by=user)
    return decision


def _needed(change: Request, verdict: str) -> str:
    """The code of the refusal where no words come with the verdict; empty where it needs none."""
    if verdict != Choice.APPROVE or designs(change):
        return NEEDS[Choice(verdict)]
    kinds = set(change.asks.filter(replaced=False).values_list("kind", flat=True))
    return "say-the-answer" if kinds == {Kind.QUESTION} else "say-what-was-done"


def _acceptable(accepts: Iterable[str]) -> list[str]:
    named = list(dict.fromkeys(accepts))
    for rule in named:
        if rule not in SERVICEABILITY:
            can = sorted(SERVICEABILITY)
            raise Refused("nobody-accepts", "accepts", "accepts", rule=str(rule)[:60], can=can)
    return named


def work_out_together(user: Any, change: Request, options: Iterable[int]) -> Computation:
    """Asks the worker what options make of their carriers together. Raises NotAllowed, Conflict, Http404."""
    require(user, "decide", change)
    wanted = set(options)
    if change.options.filter(pk__in=wanted, stale=False).count() != len(wanted) or len(wanted) < 2:
        raise Http404("Not found.")
    if not Request.objects.filter(pk=change.pk, state=State.AWAITING_DECISION).exists():
        raise too_late(change, "approve")
    return enqueue_together(change, wanted)


def _worked_out(change: Request, options: Mapping[int, int]) -> Worked:
    """What the chosen options do to what carries them. A choice that is wrong is refused later, by name.

    Where several options make a carrier that wasn't analysed yet, the worker is asked for it, and this raises Conflict:
    the same decision can be made in a few seconds. What comes too late, or rests on what has moved, is told so later.
    """
    rows = change.options.filter(pk__in=_ids(options), stale=False).select_related(
        "truss__job", "truss__current", "truss__variant_of"
    )
    try:
        return together(rows)
    except NotWorkedOut as lacking:
        open_still = Request.objects.filter(pk=change.pk, state=State.AWAITING_DECISION).exists()
        if not open_still or any(option.revision_id != option.truss.current_id for option in rows):
            return together(())
        if moved_of(change, rows):
            return together(())
        chosen = [option.pk for option in rows]
        last = last_together(change, chosen)
        tried = {"why": last.trouble} if last and last.state == Computation.Progress.FAILED else {}
        enqueue_together(change, chosen)
        raise Conflict("not-worked-out-together", carrier=lacking.carrier, **tried) from lacking


def _ids(options: Mapping[int, int]) -> list[int]:
    """The ids among what was sent as such."""
    return [pk for pk in options.values() if isinstance(pk, int) and 0 < pk < 2**63]


@dataclass(frozen=True)
class _Group:
    """Asks for the same copies of a mark, and the option that was chosen for them."""

    truss: Truss
    option: Option
    asks: list[Ask]


@dataclass(frozen=True)
class _Shown:
    """Where copies were shown to go with some options, by their ids; empty where nothing was shown of it."""

    goes: str
    options: tuple[int, ...]

    def refuse_elsewhere(self, change: Request) -> None:
        """Raises Conflict where they go elsewhere by now."""
        if not self.goes:
            return
        rows = change.options.filter(pk__in=self.options, stale=False).order_by("pk")
        rows = rows.select_related("truss__job", "truss__current", "truss__variant_of")
        there = homes([wanted(option) for option in rows if option.analysis is not None])
        if as_shown(there) != self.goes:
            raise Conflict("goes-elsewhere", goes=[[home.goes, home.told] for home in there])


def _issue_all(decision: Decision, options: Mapping[int, int], worked: Worked, shown: _Shown) -> None:
    change = decision.request
    counts = Q(replaced=False) | Q(kind=Kind.DAMAGE)  # a new truss also ends damage that an answer left out
    asked = change.asks.filter(counts, truss__isnull=False).select_related("truss")
    lock([ask.truss for ask in asked if ask.truss], worked.chain.currents)
    asks = list(change.asks.filter(replaced=False).select_related("truss__job", "truss__current", "truss__variant_of"))
    designed = {ask.pk for ask in asks if ask.truss and HERE[ask.kind].DESIGNS}
    left = set(decision.leaves)
    # what is decided of damage that the answer tells of is nothing said of what it left out
    tells = any(ask.kind == Kind.DAMAGE for ask in asks)
    unharmed = {ask.pk for ask in left_out(change)} if left - designed and tells else set()
    if set(options) - {ask.pk for ask in asks} or left - designed - unharmed:
        raise Http404("Not found.")
    left &= designed
    if left and left == designed:
        raise Refused("leaves-all", "leaves", "leaves")
    refuse_in_cut(change, left)
    chosen: dict[tuple[int, tuple[int, ...]], _Group] = {}
    for ask in asks:
        if ask.truss is None or ask.pk in left or ask.pk not in designed:
            continue
        option = _chosen(decision, ask, options)
        if option.asks.filter(pk__in=left).exists() or shared_with(ask, left):
            raise Refused("left-together", "leaves", "leaves", mark=ask.truss.mark, copies=ask.copies)
        group = chosen.setdefault((ask.truss.pk, tuple(ask.copies)), _Group(ask.truss, option, []))
        if group.option.pk != option.pk:
            raise Refused("two-options", "options", mark=ask.truss.mark)
        group.asks.append(ask)
    for group in chosen.values():
        refuse_when_all_cut(group.truss, group.truss.mark)
        _refuse_unless_sound(group)
        _refuse_less_without_a_reason(group.truss, group.option, decision.reason)
    shown.refuse_elsewhere(change)
    below.refuse_when_moved(change, [group.option for group in chosen.values()], worked)
    keep_left(change.job, [ask for group in chosen.values() for ask in group.asks])
    _issue_homes(decision, list(chosen.values()), worked)
    keep_walls(decision)


def _issue_homes(decision: Decision, groups: list[_Group], worked: Worked) -> None:
    """Each design where its copies go, then what carries them."""
    groups = sorted(groups, key=lambda one: one.option.pk)
    there = homes([Wanted(one.truss, tuple(one.asks[0].copies), *_computed(one.option)) for one in groups])
    if worked.steps and [home.same for home in there] != [home.same for home in worked.homes]:
        raise Conflict("chain-moved")
    options = {(one.truss.pk, tuple(one.asks[0].copies)): one.option for one in groups}
    stays: dict[int, Option] = {}
    for home in there:
        _refuse_home(home)
        if home.goes == "revise":
            stays[home.truss.pk] = options[home.truss.pk, home.wanted.copies]
        # as a carrier it is judged below, with what the others put on it now
        if home.mark not in worked.becoming and (home.goes != "revise" or home.truss.pk not in worked.carriers):
            accepted = {accept["rule"] for accept in home.to.current.accepts} if home.to else set()
            refuse_failures(home.mark, home.document, home.analysis or {"checks": ()}, {*decision.accepts, *accepted})
    if worked.trouble:
        raise worked.trouble
    below.refuse_unless_sound(worked, decision.accepts)
    for one in groups:
        _refuse_unoffered(one.truss, one.option)
    for home in there:
        option = options[home.truss.pk, home.wanted.copies]
        if home.goes != "revise":
            issue_home(decision, home, option, worked.becoming.get(home.mark) if home.goes == "split" else None)
            continue
        if home.truss.pk not in worked.carriers:
            issue(decision, home.truss, *_computed(option), option=option)
        turn(home, decision.by)
        turned_over(decision.request, home, home.truss, decision.by)
    for truss, step in below.in_order(worked):
        issue(
            decision,
            truss,
            *_computed(step),
            option=stays.get(truss.pk),
            because=step.because,
            taken_up=step.taken,
        )


def _refuse_home(home: Home) -> None:
    """Raises Refused where copies that carry others would go from their fellows, and nobody knows what on which."""
    if home.goes != "revise":
        refuse_apart(home.truss, field="options")


def _chosen(decision: Decision, ask: Ask, options: Mapping[int, int]) -> Option:
    which = options.get(ask.pk)
    if which is None:
        raise Refused("no-option", "options", "options", ask=ask.pk, mark=ask.on_truss.mark)
    try:
        option = visible(Option, decision.by).filter(pk=which).select_related("revision").first()
    except (OverflowError, TypeError, ValueError):
        option = None
    if option is None:
        raise Http404("Not found.")
    if not option.asks.filter(pk=ask.pk).exists():
        told = {"option": option.pk, "ask": ask.pk, "mark": ask.on_truss.mark}
        raise Refused("option-of-another-ask", "options", "options", **told)
    return option


def _refuse_unless_sound(group: _Group) -> None:
    """Raises Conflict where the option is overtaken, Refused where what it shows can't be approved."""
    truss, option, asks = group.truss, group.option, group.asks
    _refuse_when_moved(truss, option, asks[0].copies)
    if option.revision_id != truss.current_id:
        raise _overtaken(truss, option)
    about = {"mark": truss.mark, "option": option.pk}
    if option.stale:
        raise Conflict("option-stale", **about)
    analysis = option.analysis
    if analysis is None or option.passes is None:
        if option.passes is False:
            raise Refused("option-unsound", "options", **about, found=option.told)
        raise Refused("option-not-computed", "options", **about)
    if not sha256(option.document) == option.sha256 == analysis["truss_sha256"]:
        raise Refused("option-of-another-document", "options", **about)
    if option.bars:
        raise Refused("option-barred", "options", **about, found=option.bars)
    if option.sha256 == truss.current.sha256:
        raise Refused("option-unchanged", "options", **about)
    if missing := lacking(option.document, [as_decided(wish_of(ask), option.elsewhere) for ask in asks]):
        raise Refused("option-lacks", "options", **about, **missing._asdict())
    blocked = [opening["id"] for opening in analysis["openings"] if not opening["fits"]]
    if blocked:
        raise Refused("option-blocked", "options", **about, openings=blocked)


def _refuse_when_moved(truss: Truss, option: Option, copies: list[int]) -> None:
    """Raises Conflict where the copies are another mark's meanwhile, or cut."""
    stages = dict(truss.copies.filter(number__in=copies).values_list("number", "stage"))
    gone = sorted({*copies, *option.copies} - stages.keys())
    if gone or copies != option.copies:
        raise Conflict("copies-moved", mark=truss.mark, copies=gone or copies)
    if cut := [number for number in copies if stages[number] not in CHANGEABLE_STAGES]:
        raise Conflict("copies-cut-since", mark=truss.mark, copies=cut)


def _refuse_less_without_a_reason(truss: Truss, option: Option, reason: str) -> None:
    """A truss that passes because less is asked of it: whoever approves that says why."""
    less = [one for one in departures_of(option) if one.falls]
    if less and not reason:
        first = coded(less[0].code, **less[0].values)
        about = {"mark": truss.mark, "option": option.pk}
        raise Refused("option-asks-less", "reason", **about, first=first, more=len(less) - 1)


def _computed(one: Option | Step) -> tuple[dict[str, Any], dict[str, Any]]:
    """Its truss document and its analysis; what has none was refused before."""
    return cast(dict[str, Any], one.document), cast(dict[str, Any], one.analysis)


def _refuse_unoffered(truss: Truss, option: Option) -> None:
    """An option that fails nothing and still isn't called passing is none to approve; but on a girder with hangers,
    which never is, a designer decides with its numbers, and its sheet waits for the sealed drawing."""
    failing = any(not check["passes"] for check in _computed(option)[1]["checks"])
    beyond = any(one.passes is False for one in option.consequences.select_related("carrier"))
    if not (option.passes or failing or beyond or option.numbers_only):
        raise Refused("option-not-passing", "options", mark=truss.mark, option=option.pk, found=option.told)


def _overtaken(truss: Truss, option: Option) -> Conflict:
    current = Revision.objects.defer("document", "analysis").select_related("issued_by").get(current_of=truss)
    return Conflict(
        "option-overtaken",
        mark=truss.mark,
        number=current.number,
        at=moment(current.issued_at, truss.job),
        by=person(current.issued_by, truss.job) if current.issued_by else "",
        option=option.pk,
        computed_from=option.revision.number,
    )
