"""Walls that bearings are asked to leave: who else bears on them. Each mark is asked for by itself, and a wall that
moves moves from under all that bear on it, whether or not somebody asked for these too. Where to is told of each copy
as it stands in plan: of one mark some may be turned end for end, and go the other way by the same drawing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Q
from django.urls import reverse

from changes.asks import bearing
from changes.asks.standing_asks import standing_bearings
from changes.models import Ask, Kind
from trusses.analysis.bearings.edits import TOLERANCE_IN
from trusses.analysis.words.phrases import as_counted, listed
from trusses.models import Copy, Job, Truss, WallLine
from trusses.once import once
from trusses.plan.on_walls import Bears, Moving, Number, bearing_on
from trusses.plan.under import Walls, walls_of
from trusses.plan.ways import Goes
from trusses.variants.homes import root
from trusses.words import runs

Document = Mapping[str, Any]


def leaves(wish: Mapping[str, Any], document: Document) -> dict[str, float | None]:
    """{joint: by how much its bearing goes to the right of the drawing, inches; None for one taken away} of the
    bearings that don't stay where a truss document has them. What is added leaves no wall."""
    xs = {one["joint"]: float(document["joints"][one["joint"]][0]) for one in document["bearings"]}
    by: dict[str, float | None] = {joint: x - xs[joint] for joint, x in bearing.places(wish).items() if joint in xs}
    if wish["change"] == "taken away" and wish["joint"] in xs:
        by[wish["joint"]] = None
    return {joint: far for joint, far in by.items() if far is None or abs(far) > TOLERANCE_IN}


def alike(one: Goes | None, other: Goes | None) -> bool:
    """Whether two bearings go the same way with their wall: taken away both, or moved as far and to the same side."""
    if one is None or other is None:
        return one is other
    return one.axis == other.axis and abs(one.inches - other.inches) <= TOLERANCE_IN


@dataclass(frozen=True)
class Leaving:
    """A wall that the bearings of some copies leave: `by` which way in plan, None where it is taken away. Of the copies
    `asked_with` the same ask is; how they go beside these isn't known, only because one of the two have no place there.
    """

    wall: WallLine
    by: Goes | None
    copies: frozenset[Number]
    north_deg: float | None = None
    asked_with: frozenset[Number] = frozenset()

    @property
    def asked_for(self) -> frozenset[Number]:
        return self.copies | self.asked_with

    @property
    def far(self) -> str:
        """8" south (down the plan); empty where it is taken away, or nobody said yet how far it goes."""
        return self.by.says(self.north_deg) if self.by else ""

    def asked(self, request: int, marks: str) -> str:
        if self.by is None:
            return f"Request {request} asks to take {self.wall} away under {marks}"
        return f"Request {request} asks to move {self.wall} {self.far} under {marks}"

    def decided(self, request: int, marks: str) -> str:
        goes = "is taken away" if self.by is None else f"moves {self.far}"
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
    comes = False

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
        return self.leaving.by is None

    @property
    def far(self) -> str:
        return self.leaving.far


class _Stands(NamedTuple):
    """How a copy stands in plan: along which axis its span runs, and whether its drawing's left end is the far one."""

    axis: str
    turned: bool


def leaving(truss: Truss, wish: Mapping[str, Any], document: Document, copies: Iterable[int]) -> list[Leaving]:
    """The walls that the bearings of some copies of a mark leave by a wish, by name or else as the plan draws them; one
    for each way in plan in which these copies' bearings go."""
    by = leaves(wish, document)
    if not by:
        return []
    [walls] = walls_of(truss.job, [(truss, document)])
    return _leaving(truss, by, copies, _standing([root(truss)]), walls)


def _leaving(
    truss: Truss,
    by: Mapping[str, float | None],
    copies: Iterable[int],
    stand: Mapping[Number, _Stands],
    walls: Walls,
    turned: Collection[Number] = (),
) -> list[Leaving]:
    """`turned`: the copies that were turned end for end since the drawing by which the bearings are named."""
    numbers = [Number(root(truss), number) for number in copies]
    found = []
    for joint, far in by.items():
        on: dict[WallLine, dict[Goes | None, list[Number]]] = {}
        for number in numbers:
            if wall := walls.under(joint, number, turned=number in turned):
                on.setdefault(wall, {}).setdefault(_goes(far, stand.get(number)), []).append(number)
        for wall, ways in on.items():
            placed = {number for way, those in ways.items() if way and way.axis for number in those}
            for way, those in ways.items():
                asked_with = ways.get(_goes(far, None), ()) if way and way.axis else placed
                found.append(Leaving(wall, way, frozenset(those), truss.job.north_deg, frozenset(asked_with)))
    return found


def _goes(right: float | None, stands: _Stands | None) -> Goes | None:
    """Where what goes to the right of a drawing goes in plan, under a copy that stands so."""
    if right is None:
        return None
    inches = round(right, 3)  # what is alike is found by it, whichever drawings it was read from
    return Goes(stands.axis, -inches if stands.turned else inches) if stands else Goes("", inches)


def _standing(roots: Collection[int]) -> dict[Number, _Stands]:
    """How each copy of some families stands in plan; those that have no place there are left out."""
    rows = Copy.objects.filter(Q(truss__in=roots) | Q(truss__variant_of__in=roots), placement__isnull=False)
    fields = ("truss", "truss__variant_of", "number", "placement__direction", "placement__turned")
    return {
        Number(of or pk, number): _Stands(axis, turned) for pk, of, number, axis, turned in rows.values_list(*fields)
    }


def wherever(those: Iterable[Leaving]) -> list[Leaving]:
    """The same walls while nobody said yet how far they move."""
    copies: dict[WallLine, frozenset[Number]] = {}
    for one in those:
        copies[one.wall] = copies.get(one.wall, frozenset()) | one.copies
    return [Leaving(wall, Goes("", 0.0), numbers) for wall, numbers in copies.items()]


def shared(job: Job, mine: Leaving, but: int = 0) -> Shared:
    """What else bears on a wall, without those for whom the like is asked, and in which requests `but` one that is."""
    return _shared(mine, _of_asks(job), _bearing_on(job), but)


def _shared(mine: Leaving, every: Iterable[OfAsk], on: Mapping[int, list[Bears]], but: int = 0) -> Shared:
    every = [one for one in every if one.leaving.wall.pk == mine.wall.pk]
    like = [one for one in every if alike(one.leaving.by, mine.by)]
    # without a place of its own it goes as those of its own ask, and nobody knows how beside others'
    placed = mine.by is not None and mine.by.axis
    asked = mine.asked_for.union(*(one.leaving.asked_for if placed else one.leaving.copies for one in like))
    others = [left for one in on.get(mine.wall.pk, []) if (left := one.besides(asked))]
    also = {one.ask.request_id for one in like} - {but}
    return Shared(mine, tuple(others), tuple(sorted(also)))


def of_asks(job: Job, asks: Iterable[Ask]) -> list[Shared]:
    """The walls that the bearings of some asks of one request leave and that others bear on, each once."""
    pks = {ask.pk: ask.request_id for ask in asks if ask.kind == Kind.BEARING}
    if not pks:
        return []
    found: dict[tuple[int, Goes | None], list[Leaving]] = {}
    every = _of_asks(job)
    on = _bearing_on(job) if every else {}
    for one in every:
        if one.ask.pk in pks:
            found.setdefault((one.leaving.wall.pk, one.leaving.by), []).append(one.leaving)
    told = [_shared(_together(those), every, on, but=next(iter(pks.values()))) for those in found.values()]
    return [one for one in told if one.others or one.also]


def _together(those: Sequence[Leaving]) -> Leaving:
    """One of all copies whose bearings go one way with their wall."""
    copies = frozenset[Number]().union(*(one.copies for one in those))
    return replace(those[0], copies=copies, asked_with=frozenset().union(*(one.asked_with for one in those)))


def moving(job: Job) -> list[Moving]:
    """What open and approved requests do to walls under copies for which nobody asked the like. What a designer said
    anew after a decision, of what such copies bear on, answers that decision."""
    found: dict[tuple[int, int, datetime | None, Goes | None], list[OfAsk]] = {}
    every = _of_asks(job)
    on = _bearing_on(job) if every else {}
    for one in every:
        # of a request that is open again some was decided, and what is asked since isn't
        key = one.ask.request_id, one.leaving.wall.pk, one.decided_at, one.leaving.by
        found.setdefault(key, []).append(one)
    ways: dict[tuple[Any, ...], dict[str, set[Goes | None]]] = {}
    for (*of, by), those in found.items():
        for one in those:
            ways.setdefault(tuple(of), {}).setdefault(one.ask.on_truss.mark, set()).add(by)
    told = []
    for (request, wall, decided_at, _), those in found.items():
        first = those[0]
        others = [
            one
            for one in _shared(_together([one.leaving for one in those]), every, on).others
            if not (first.decided_at and one.said_at and one.said_at > first.decided_at)
        ]
        marks = _under(those, {mark for mark, each in ways[request, wall, decided_at].items() if len(each) > 1})
        says = first.leaving.decided if first.decided_at else first.leaving.asked
        at = reverse("changes:request", args=[request])
        told.append(Moving(wall, says(request, marks), at, tuple(others), first.decided_at is not None))
    return told


def _under(those: Iterable[OfAsk], parted: Collection[str]) -> str:
    """R1 and copies 4–5 of R2: those of a mark by their numbers where the wall goes another way under its others."""
    marks: dict[str, set[int]] = {}
    for one in those:
        marks.setdefault(one.ask.on_truss.mark, set()).update(number for _, number in one.leaving.copies)
    told = []
    for mark in sorted(marks, key=as_counted):
        numbers = marks[mark]
        told.append(f"cop{'y' if len(numbers) == 1 else 'ies'} {runs(numbers)} of {mark}" if mark in parted else mark)
    return listed(told)


def _bearing_on(job: Job) -> dict[int, list[Bears]]:
    return once(("bearing on walls", job.pk), lambda: bearing_on(job))


def _of_asks(job: Job) -> list[OfAsk]:
    return once(("walls that bearings leave", job.pk), lambda: _read(job))


def _read(job: Job) -> list[OfAsk]:
    asks = [one for one in standing_bearings(job) if one.ask.wish and _drawn(one.ask)]
    if not asks:
        return []
    stand = _standing({root(one.ask.on_truss) for one in asks})
    by = {(one.ask.truss_id, _drawn(one.ask).pk): (one.ask.on_truss, _drawn(one.ask).document) for one in asks}
    walls = dict(zip(by, walls_of(job, list(by.values())), strict=True))
    found = []
    for ask, decided_at, turned in asks:
        truss, revision = ask.on_truss, _drawn(ask)
        truss.job = job
        over = {number: one._replace(turned=not one.turned) for number, one in stand.items() if number in turned}
        by_how_far = leaves(ask.wish or {}, revision.document)
        those = _leaving(truss, by_how_far, ask.copies, stand | over, walls[truss.pk, revision.pk], turned)
        found += [OfAsk(ask, one, decided_at) for one in those]
    return found


def _drawn(ask: Ask) -> Any:
    """The revision that an ask is said of."""
    return ask.revision or ask.on_truss.current
