"""Walls that bearings are asked to leave: who else bears on them. Each mark is asked for by itself, and a wall that
moves moves from under all that bear on it, whether or not somebody asked for these too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Max
from django.urls import reverse

from changes.asks import bearing
from changes.models import OPEN_STATES, Ask, Decision, Issue, Kind, State
from trusses.analysis.bearings.edits import TOLERANCE_IN
from trusses.analysis.words.lengths import tape_inches
from trusses.analysis.words.phrases import as_counted, listed
from trusses.job.surroundings import stands_on
from trusses.models import Job, Truss, WallLine
from trusses.once import once
from trusses.plan.on_walls import Bears, Moving, Number, bearing_on
from trusses.plan.where import drawn_under
from trusses.variants.homes import root

Document = Mapping[str, Any]


def leaves(wish: Mapping[str, Any], document: Document) -> dict[str, float | None]:
    """{joint: by how much its bearing goes to the right of the drawing, inches; None for one taken away} of the
    bearings that don't stay where a truss document has them. What is added leaves no wall."""
    xs = {one["joint"]: float(document["joints"][one["joint"]][0]) for one in document["bearings"]}
    by: dict[str, float | None] = {joint: x - xs[joint] for joint, x in bearing.places(wish).items() if joint in xs}
    if wish["change"] == "taken away" and wish["joint"] in xs:
        by[wish["joint"]] = None
    return {joint: far for joint, far in by.items() if far is None or abs(far) > TOLERANCE_IN}


def alike(one: float | None, other: float | None) -> bool:
    """Whether two bearings go the same way with their wall: taken away both, or moved as far."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= TOLERANCE_IN


@dataclass(frozen=True)
class Leaving:
    """A wall that the bearings of some copies leave: `by_in` along the trusses in plan, None where it is taken away."""

    wall: WallLine
    by_in: float | None
    copies: frozenset[Number]

    def asked(self, request: int, marks: str) -> str:
        if self.by_in is None:
            return f"Request {request} asks to take {self.wall} away under {marks}"
        return f"Request {request} asks to move {self.wall} {tape_inches(abs(self.by_in))} under {marks}"

    def decided(self, request: int, marks: str) -> str:
        goes = "is taken away" if self.by_in is None else f"moves {tape_inches(abs(self.by_in))}"
        return f"By the decision on request {request}, {self.wall} {goes} under {marks}"


@dataclass(frozen=True)
class OfAsk:
    """The same of an ask that was filed; `decided_at` is None while it is open."""

    ask: Ask
    leaving: Leaving
    decided_at: datetime | None


@dataclass(frozen=True)
class Shared:
    """A wall that the bearings of an ask leave, with what else bears on it: `others`, for whom nobody asked the like,
    and in which requests that was asked for some: `also`."""

    leaving: Leaving
    others: tuple[Bears, ...]
    also: tuple[int, ...] = ()

    @property
    def wall(self) -> str:
        return self.leaving.wall.label

    @property
    def each(self) -> str:
        """F2, 18 copies: 11 set, 7 delivered; F3, 8 copies: all set."""
        return "; ".join(one.says for one in self.others)

    @property
    def cut(self) -> bool:
        return any(one.is_cut for one in self.others)

    @property
    def gone(self) -> bool:
        return self.leaving.by_in is None


def leaving(truss: Truss, wish: Mapping[str, Any], document: Document, copies: Iterable[int]) -> list[Leaving]:
    """The walls that the bearings of some copies of a mark leave by a wish, by name or else as the plan draws them."""
    by = leaves(wish, document)
    if not by:
        return []
    links = {link.joint: link for link in stands_on([truss.pk])[truss.pk]}
    walls = {joint: links[joint].wall for joint in by if joint in links}
    if unsaid := [joint for joint in by if joint not in links]:
        drawn = {wall.label: wall for wall in truss.job.wall_lines.all()}
        walls |= {joint: drawn[label] for joint, label in drawn_under(truss, document, unsaid).items()}
    first = next(iter(truss.placements.all()), None)
    way = -1 if first and first.turned else 1
    numbers = frozenset(Number(root(truss), number) for number in copies)
    return [
        Leaving(wall, None if far is None else way * far, numbers)
        for joint, far in by.items()
        if (wall := walls.get(joint)) is not None
    ]


def shared(job: Job, mine: Leaving, but: int = 0) -> Shared:
    """What else bears on a wall, without those for whom the like is asked, and in which requests `but` one that is."""
    every = [one for one in _of_asks(job) if one.leaving.wall.pk == mine.wall.pk]
    like = [one for one in every if alike(one.leaving.by_in, mine.by_in)]
    asked = mine.copies.union(*(one.leaving.copies for one in like))
    others = _besides(job, mine.wall, asked)
    also = {one.ask.request_id for one in like} - {but}
    return Shared(mine, tuple(others), tuple(sorted(also)))


def of_asks(job: Job, asks: Iterable[Ask]) -> list[Shared]:
    """The walls that the bearings of some asks of one request leave and that others bear on, each once."""
    pks = {ask.pk: ask.request_id for ask in asks if ask.kind == Kind.BEARING}
    if not pks:
        return []
    found: dict[tuple[int, float | None], Leaving] = {}
    for one in _of_asks(job):
        if one.ask.pk in pks:
            key = one.leaving.wall.pk, one.leaving.by_in
            copies = one.leaving.copies | (found[key].copies if key in found else frozenset())
            found[key] = Leaving(one.leaving.wall, one.leaving.by_in, copies)
    told = [shared(job, one, but=next(iter(pks.values()))) for one in found.values()]
    return [one for one in told if one.others or one.also]


def moving(job: Job) -> list[Moving]:
    """What open and approved requests do to walls under copies for which nobody asked the like. What a designer said
    anew after a decision, of what such copies bear on, answers that decision."""
    found: dict[tuple[int, int, float | None], list[OfAsk]] = {}
    for one in _of_asks(job):
        key = one.ask.request_id, one.leaving.wall.pk, one.leaving.by_in
        found.setdefault(key, []).append(one)
    told = []
    for (request, wall, _), those in found.items():
        first = those[0]
        others = [
            one
            for one in shared(job, first.leaving).others
            if not (first.decided_at and one.said_at and one.said_at > first.decided_at)
        ]
        marks = listed(sorted({one.ask.on_truss.mark for one in those}, key=as_counted))
        says = first.leaving.decided if first.decided_at else first.leaving.asked
        at = reverse("changes:request", args=[request])
        told.append(Moving(wall, says(request, marks), at, tuple(others), first.decided_at is not None))
    return told


def _besides(job: Job, wall: WallLine, asked: Collection[Number]) -> list[Bears]:
    on = once(("bearing on walls", job.pk), lambda: bearing_on(job)).get(wall.pk, [])
    return [left for one in on if (left := one.besides(asked))]


def _of_asks(job: Job) -> list[OfAsk]:
    return once(("walls that bearings leave", job.pk), lambda: _read(job))


def _read(job: Job) -> list[OfAsk]:
    """Of what is open, and of what was approved and issued."""
    rows = Ask.objects.filter(request__job=job, kind=Kind.BEARING, replaced=False, truss__isnull=False)
    rows = rows.filter(request__state__in=(*OPEN_STATES, State.APPROVED))
    heavy = ("revision__analysis", "truss__current__analysis")
    rows = rows.select_related("request", "revision", "truss__current", "truss__job").defer(*heavy)
    asks = list(rows.prefetch_related("truss__placements").order_by("pk"))
    approved = {ask.request_id for ask in asks if ask.request.state == State.APPROVED}
    decided: dict[int, datetime] = {}
    issued: set[int | None] = set()
    if approved:
        choices = Decision.objects.filter(request__in=approved, verdict=Decision.Choice.APPROVE)
        decided = dict(choices.values_list("request").annotate(at=Max("at")))
        issued = set(Issue.objects.filter(decision__request__in=approved).values_list("option__asks", flat=True))
    found = []
    for ask in asks:
        if ask.request_id in approved and ask.pk not in issued:  # left as it is
            continue
        truss, revision = ask.on_truss, ask.revision or ask.on_truss.current
        if revision is not None and ask.wish:
            those = leaving(truss, ask.wish, revision.document, ask.copies)
            found += [OfAsk(ask, one, decided.get(ask.request_id)) for one in those]
    return found
