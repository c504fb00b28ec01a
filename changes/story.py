"""What a request's page tells: the asks and their answers, the options beside today's truss, what happened, what may
be done next. Reads only; `workflow` acts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Case, Min, Prefetch, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Least

from trusses import floor_movement, pricing, rows, standing, surroundings
from trusses.analysis.checks import SERVICEABILITY
from trusses.analysis.demands import supports
from trusses.analysis.document import read
from trusses.models import JobRates, PlateTable, Role, Truss
from trusses.sheet_facts import facts

from . import permissions, workflow
from .consequences import moved_below, together
from .models import OPEN_STATES, Ask, Computation, Consequence, Hold, Issue, Option, Request, State, Verdict

WAITS_FOR = {
    State.FILED: "the computation, which starts within seconds",
    State.COMPUTING: "the computation",
    State.AWAITING_DECISION: "a designer's decision",
    State.SENT_BACK: "the builder's answer",
    State.FAILED: "somebody to compute it again",
    State.APPROVED: "nothing: the new revision is current",
    State.DECLINED: "nothing: the truss stays as it is",
    State.WITHDRAWN: "nothing: the truss stays as it is",
}

BITE = (Verdict.NEVER, Verdict.NONE_PASS, Verdict.OPTIONS, Verdict.FITS)
"""Verdicts, what needs a designer most first."""

TONES = {State.APPROVED: "good", State.DECLINED: "stop", State.FAILED: "stop", State.WITHDRAWN: ""}
"""How a state's tag looks; every other one is waited for."""

TOLD = {
    "file": "Filed",
    "begin computing": "Computation began",
    "finish computing": "Computed",
    "fail": "Computation broke",
    "compute an option": "Option computed",
    "draw": "Option drawn",
    "approve": "Approved",
    "send back": "Sent back with a question",
    "decline": "Declined",
    "answer": "Answered",
    "compute": "Sent to be computed again",
    "withdraw": "Withdrawn",
    "ask for a hold": "Hold asked for",
    "acknowledge the hold": "Hold acknowledged",
    "refuse the hold": "Hold refused",
    "release the hold": "Hold released",
    "overtaken": "Truss revised meanwhile",
}
"""An event's verb as the story tells it."""

_SIDE_BY_SIDE_PX = 690
_TALL = 0.12


@dataclass(frozen=True)
class Width:
    """A bearing's width, given and needed, before and after; None where that side has no such bearing."""

    joint: str
    sides: list[supports.Support | None]

    @property
    def given_in(self) -> float:
        return next(side.width_in for side in reversed(self.sides) if side)

    @property
    def needed_in(self) -> list[float | None]:
        return [side.required_width_in if side else None for side in self.sides]

    @property
    def changed(self) -> bool:
        return self.needed_in[0] != self.needed_in[1]

    @property
    def too_narrow(self) -> bool:
        after = self.sides[1]
        return after is not None and not after.wide_enough


@dataclass
class Section:
    """One truss of a request: its asks share their options."""

    truss: Truss
    asks: list[Ask]
    options: list[Option]
    chosen: Option | None
    rates: JobRates | None = None
    issued: Option | None = None

    @property
    def is_issued(self) -> bool:
        """The option on show is the one that became a revision."""
        return self.issued is not None and self.issued == self.chosen

    @property
    def revision(self) -> Any:
        return self.asks[0].revision

    @property
    def overtaken(self) -> bool:
        """A newer revision than the one computed from is current."""
        return self.truss.current_id != self.revision.pk

    @property
    def changed(self) -> list[dict[str, Any]]:
        """The members of the comparison, what bites first on top: limits crossed, reversals, the largest change."""
        if not self.chosen or not self.chosen.comparison:
            return []
        return [
            {**member, "delta_lb": _delta(member)} for member in sorted(self.chosen.comparison["members"], key=_bite)
        ]

    @property
    def supports_at_most(self) -> list[supports.Change]:
        """What each bearing carries and is lifted by at most, before and after."""
        return [row for row in self._supports if row.at_most]

    @property
    def supports_by_case(self) -> list[supports.Change]:
        return [row for row in self._supports if not row.at_most]

    @property
    def walls_change(self) -> bool:
        """Whether any bearing carries something else than before."""
        return any(row.changed for row in self._supports)

    @cached_property
    def _supports(self) -> list[supports.Change]:
        if not self.chosen or not self.chosen.analysis:
            return []
        return supports.changes(self.revision.analysis, self.chosen.analysis)

    @cached_property
    def feet(self) -> list[standing.Foot]:
        """What each bearing of today's truss stands on."""
        return standing.feet(self.truss)

    @cached_property
    def beside(self) -> rows.Touched:
        """What the option on show does to the rows of restraint of trusses that keep their design."""
        if not self.chosen or self.overtaken:
            return rows.Touched()
        return rows.touched(self.truss, self.chosen.document, self.chosen.analysis)

    @cached_property
    def moves(self) -> list[floor_movement.Moves]:
        """A floor truss before and after, and those next to it that keep their design; none for a roof."""
        shown = self.chosen
        if not shown or not shown.analysis or self.revision.document.get("use") != "floor":
            return []
        own = [
            floor_movement.moves(f"{self.truss.mark} before", self.revision.document, self.revision.analysis),
            floor_movement.moves(f"{self.truss.mark} after", shown.document, shown.analysis),
        ]
        return own if self.overtaken else [*own, *floor_movement.beside(self.truss)]

    @cached_property
    def widths(self) -> list[Width]:
        """The bearing width that the chord needs at each bearing, before and after."""
        if not self.chosen or not self.chosen.analysis:
            return []
        documents = (self.revision, self.chosen)
        said = surroundings.of_mark(self.truss)
        told = [facts(read(d.document), d.analysis, None, said).supports for d in documents]
        sides = [{one.joint: one for one in side} for side in told]
        return [Width(joint, [side.get(joint) for side in sides]) for joint in dict.fromkeys([*sides[0], *sides[1]])]

    @cached_property
    def price(self) -> pricing.Price | None:
        """Board feet, pieces and joints of one truss before and after, at the job's rates where it has some."""
        return pricing.price(self.rates, self.revision.document, self.chosen.document) if self.chosen else None

    @property
    def by_combination(self) -> dict[str, Any]:
        """{combination: {member: [before, after]}}, for the table's choice of one combination."""
        return self.chosen.comparison["combinations"] if self.chosen and self.chosen.comparison else {}

    @property
    def script_id(self) -> str:
        return f"members-{self.truss.pk}-forces"

    @property
    def slug(self) -> str:
        """What ends the ids of this truss's drawings on the page."""
        return str(self.truss.pk)

    @property
    def tall(self) -> bool:
        """A roof's elevations stand side by side on a desk; a floor's, long and low, one under the other."""
        return tall(self.revision.document)

    @property
    def desk_px(self) -> int | None:
        return _SIDE_BY_SIDE_PX if self.tall else None

    @property
    def failing(self) -> list[dict[str, Any]]:
        if not self.chosen or not self.chosen.analysis:
            return []
        return sorted((c for c in self.chosen.analysis["checks"] if not c["passes"]), key=lambda c: -c["ratio"])


def tall(document: dict[str, Any]) -> bool:
    """Whether an elevation as wide as a desk's screen would be too high for it."""
    xs, ys = zip(*document["joints"].values(), strict=True)
    return max(ys) - min(ys) > _TALL * (max(xs) - min(xs))


def _delta(member: dict[str, Any]) -> float | None:
    """How much more a member carries than before; where its force changes sides, the whole swing. Pounds."""
    before, after = member["force_lb"]
    if before is None or after is None:
        return None
    return abs(after) - abs(before) if before * after >= 0 else abs(after - before)


def _bite(member: dict[str, Any]) -> tuple:
    before, after = (value or 0 for value in member["force_lb"])
    return (not member["crosses_limit"], not member["reverses"], member["change"] == "kept", -abs(after - before))


def sections(change: Request, chosen: Iterable[str] = ()) -> list[Section]:
    asks = list(change.asks.filter(replaced=False).select_related("truss__current", "truss__job", "revision"))
    options = list(
        change.options.filter(stale=False)
        .select_related("drawn_by", "revision", "truss")
        .prefetch_related(Prefetch("consequences", Consequence.objects.select_related("carrier", "revision")))
    )
    wanted = {int(pk) for pk in chosen if str(pk).isdecimal()}
    approved = Issue.objects.filter(decision__request=change, option__isnull=False).select_related("option")
    issued = {issue.option.truss_id: issue.option for issue in approved}
    rates = pricing.rates_of(change.job)
    told = []
    for truss in {ask.truss_id: ask.truss for ask in asks}.values():
        own = [option for option in options if option.truss_id == truss.pk]
        usual = issued.get(truss.pk) or (own[0] if own else None)
        picked = next((option for option in own if option.pk in wanted), usual)
        asked = [ask for ask in asks if ask.truss_id == truss.pk]
        told.append(Section(truss, asked, own, picked, rates, issued.get(truss.pk)))
    return told


def working(change: Request) -> Computation | None:
    """The computation that somebody waits for, if one is under way."""
    states = (Computation.Progress.QUEUED, Computation.Progress.RUNNING)
    return change.computations.filter(state__in=states).order_by("id").first()


def carriers(change: Request, told: Iterable[Section]) -> list[Consequence]:
    """What the options on show do to the marks that carry them. Of several trusses together, and not one by one: that
    is worked out on the spot while it can still be decided."""
    chosen = [section.chosen for section in told if section.chosen]
    rows = [row for option in chosen for row in option.consequences.all()]
    if len(chosen) < 2 or not rows or change.state != State.AWAITING_DECISION:
        return rows
    return together(chosen).rows(None)


def acceptable(failing: Iterable[dict[str, Any]]) -> list[str]:
    """The failed checks that a designer may accept: of serviceability, and only where nothing else fails."""
    rules = {check["rule"] for check in failing}
    return sorted(rules) if rules <= SERVICEABILITY else []


def tell(change: Request, user: Any, role: Role | None, chosen: Iterable[str] = ()) -> dict[str, Any]:
    """The template's context of one request for one person."""
    # What is under way is read first: an answer that comes after it is either told below or polled for.
    under_way = working(change)
    change.refresh_from_db(fields=["state"])
    told = sections(change, chosen)
    chain = carriers(change, told)
    moved = moved_below(change)
    decision = (
        change.decisions.select_related("by").prefetch_related("issues__revision__truss", "issues__option").last()
    )
    may = {verb: _may(user, verb, change) for verb in ("withdraw", "answer", "compute", "decide", "draw")}
    may["hold"] = permissions.may(user, "hold", change)
    holds = list(change.holds.select_related("truss", "asked_by", "answered_by").prefetch_related("copies"))
    return {
        "change": change,
        "job": change.job,
        "role": role,
        "sections": told,
        "chain": chain,
        "moved_below": moved,
        "acceptable": acceptable([*(c for s in told for c in s.failing), *(c for one in chain for c in one.fails)]),
        "working": under_way,
        "decision": decision if change.state in (State.APPROVED, State.DECLINED, State.SENT_BACK) else None,
        "earlier": change.decisions.select_related("by").all(),
        "events": [(TOLD.get(event.verb, event.verb), event) for event in change.events.select_related("by")],
        "holds": holds,
        "hold_waits": may["hold"] and any(hold.standing == Hold.Standing.ASKED for hold in holds),
        "tone": TONES.get(State(change.state), "look"),
        "waits_for": WAITS_FOR[State(change.state)],
        "may": may,
        "overtaken": (bool(moved) or any(section.overtaken for section in told))
        and change.state not in (State.APPROVED,),
        "plate_table": PlateTable.objects.filter(job=change.job).last(),
        "can_approve": bool(told) and all(section.chosen and section.chosen.analysis for section in told),
    }


def _may(user: Any, verb: str, change: Request) -> bool:
    """Whether the person may, and whether the request stands where it is possible: what the page offers."""
    steps = {"decide": ("approve", "send back", "decline")}.get(verb, (verb,))
    possible = any(step.state == change.state and step.verb in steps for step in workflow.TRANSITIONS)
    if verb == "compute" and change.state == State.AWAITING_DECISION:
        # Computing again answers a truss that was revised meanwhile; otherwise it would only repeat itself.
        possible = bool(change.overtaken or moved_below(change))
    return possible and permissions.may(user, verb, change)


def may_draw(user: Any, change: Request) -> bool:
    return _may(user, "draw", change)


def open_requests(user: Any, truss: Truss) -> list[Request]:
    """What the person asked of a mark already and still waits for, the newest first."""
    own = Request.objects.filter(filed_by=user, state__in=OPEN_STATES, asks__truss=truss, asks__replaced=False)
    return list(own.distinct().order_by("-id")[:5])


def by_urgency(rows: QuerySet[Request]) -> QuerySet[Request]:
    """What bites first on top: the nearer of the last day that a truss can change and the day the answer is needed by;
    of one day, what no redesign answers before what fits, and the older before the newer."""
    last_day = Min("asks__truss__can_change_until", filter=Q(asks__replaced=False))
    bite = Case(
        *(When(asks__verdict=verdict, then=Value(place)) for place, verdict in enumerate(BITE)),
        default=Value(len(BITE)),
    )
    rows = rows.annotate(last_day=Least(Coalesce(last_day, "needed_by"), "needed_by"), bite=Min(bite))
    rows = rows.select_related("job", "filed_by").prefetch_related("asks__truss", "holds")
    return rows.order_by("last_day", "bite", "filed_at", "id")


def line(change: Request) -> dict[str, Any]:
    """One line of the queue, of a request that `by_urgency` fetched."""
    asks = [ask for ask in change.asks.all() if not ask.replaced]
    days = (change.last_day - change.job.today()).days
    return {
        "change": change,
        "tone": TONES.get(State(change.state), "look"),
        "marks": sorted({ask.truss.mark for ask in asks}),
        "verdicts": sorted({ask.get_verdict_display() for ask in asks if ask.verdict}),
        "days": days,
        "days_over": -days,
        "waits_for": WAITS_FOR[State(change.state)],
        "holds": [hold.standing for hold in change.holds.all()],
    }
