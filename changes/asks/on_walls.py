"""Walls that bearings are asked to leave: who else bears on them. Each mark is asked for by itself, and a wall that
moves moves from under all that bear on it, whether or not somebody asked for these too. Where to is told of each copy
as it stands in plan: of one mark some may be turned end for end, and go the other way by the same drawing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, NamedTuple

from django.db.models import Q, prefetch_related_objects
from django.urls import reverse

from changes.asks import bearing
from changes.asks.leaving import Leaving, kept
from changes.asks.standing_asks import Standing, standing_bearings
from changes.models import Ask, Kind
from trusses.analysis.bearings.edits import TOLERANCE_IN
from trusses.analysis.words.phrases import as_counted, listed
from trusses.models import Copy, Job, Truss, WallLine
from trusses.once import once
from trusses.plan.on_walls import Bears, Moving, Number, OnWalls, Stood, bearing_on
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
    """How a copy stands in plan: along which axis its span runs, and whether its drawing's left end is the far one;
    and of which mark it is by now."""

    axis: str
    turned: bool
    truss: int


def leaving(truss: Truss, wish: Mapping[str, Any], document: Document, copies: Iterable[int]) -> list[Leaving]:
    """The walls that the bearings of some copies of a mark leave by a wish, by name or else as the plan draws them; one
    for each way in plan in which these copies' bearings go."""
    by = leaves(wish, document)
    if not by:
        return []
    [walls] = walls_of(truss.job, [(truss, document)])
    stood = _stood(truss.job, _standing_moved(truss.job))
    return _leaving(truss, by, copies, _standing([root(truss)]), walls, stood=stood)


def _leaving(
    truss: Truss,
    by: Mapping[str, float | None],
    copies: Iterable[int],
    stand: Mapping[Number, _Stands],
    walls: Walls,
    turned: Collection[Number] = (),
    stood: Mapping[tuple[Number, str], WallLine] | None = None,
) -> list[Leaving]:
    """`turned`: the copies that were turned end for end since the drawing by which the bearings are named. `stood`: the
    walls on which copies stood that aren't drawn there any more."""
    numbers = [Number(root(truss), number) for number in copies]
    found = []
    for joint, far in by.items():
        on: dict[WallLine, dict[Goes | None, list[Number]]] = {}
        for number in numbers:
            wall = walls.under(joint, number, turned=number in turned)
            if wall := wall or (stood or {}).get((number, joint)):
                on.setdefault(wall, {}).setdefault(_goes(far, stand.get(number)), []).append(number)
        for wall, ways in on.items():
            placed = {number for way, those in ways.items() if way and way.axis for number in those}
            for way, those in ways.items():
                asked_with = ways.get(_goes(far, None), ()) if way and way.axis else placed
                north = truss.job.north_deg
                found.append(Leaving(wall, way, frozenset(those), north, frozenset(asked_with), joint))
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
    told = rows.values_list(*fields)
    return {Number(of or pk, number): _Stands(axis, turned, pk) for pk, of, number, axis, turned in told}


def wherever(those: Iterable[Leaving]) -> list[Leaving]:
    """The same walls while nobody said yet how far they move."""
    copies: dict[WallLine, frozenset[Number]] = {}
    for one in those:
        copies[one.wall] = copies.get(one.wall, frozenset()) | one.copies
    return [Leaving(wall, Goes("", 0.0), numbers) for wall, numbers in copies.items()]


def shared(job: Job, mine: Leaving, but: int = 0) -> Shared:
    """What else bears on a wall, without those for whom the like is asked, and in which requests `but` one that is."""
    return _shared(mine, _of_asks(job), _bearing_on(job), but)


def _shared(
    mine: Leaving, every: Iterable[OfAsk], on: OnWalls, but: int = 0, decided_at: datetime | None = None
) -> Shared:
    """`decided_at`: leaves out those of which somebody said since what they stand on."""
    every = [one for one in every if one.leaving.wall.pk == mine.wall.pk]
    like = [one for one in every if alike(one.leaving.by, mine.by)]
    # without a place of its own it goes as those of its own ask, and nobody knows how beside others'
    placed = mine.by is not None and mine.by.axis
    asked = mine.asked_for.union(*(one.leaving.asked_for if placed else one.leaving.copies for one in like))
    today = [
        one for one in on.on.get(mine.wall.pk, []) if not (decided_at and one.said_at and one.said_at > decided_at)
    ]
    every_one = on.with_those(today, on.unanswered(mine.stood))
    others = [left for one in every_one if (left := one.besides(asked))]
    also = {one.ask.request_id for one in like} - {but}
    return Shared(mine, tuple(others), tuple(sorted(also)))


def of_asks(job: Job, asks: Iterable[Ask]) -> list[Shared]:
    """The walls that the bearings of some asks of one request leave and that others bear on, each once."""
    pks = {ask.pk: ask.request_id for ask in asks if ask.kind == Kind.BEARING}
    if not pks:
        return []
    found: dict[tuple[int, Goes | None], list[Leaving]] = {}
    if not (every := _of_asks(job)):
        return []
    on = _bearing_on(job)
    for one in every:
        if one.ask.pk in pks:
            found.setdefault((one.leaving.wall.pk, one.leaving.by), []).append(one.leaving)
    told = [_shared(_together(those), every, on, but=next(iter(pks.values()))) for those in found.values()]
    return [one for one in told if one.others or one.also]


def _together(those: Sequence[Leaving]) -> Leaving:
    """One of all copies whose bearings go one way with their wall."""
    copies = frozenset[Number]().union(*(one.copies for one in those))
    stood = tuple(dict.fromkeys(one for each in those for one in each.stood))
    return replace(
        those[0], copies=copies, asked_with=frozenset().union(*(one.asked_with for one in those)), stood=stood
    )


def moving(job: Job) -> list[Moving]:
    """What open and approved requests do to walls under copies for which nobody asked the like. What a designer said
    anew after a decision, of what such copies bear on, answers that decision."""
    found: dict[tuple[int, int, datetime | None, Goes | None], list[OfAsk]] = {}
    if not (every := _of_asks(job)):
        return []
    on = _bearing_on(job)
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
        leaving = those[0].leaving
        others = _shared(_together([one.leaving for one in those]), every, on, decided_at=decided_at).others
        marks = _under(those, {mark for mark, each in ways[request, wall, decided_at].items() if len(each) > 1})
        does = (leaving.decided if decided_at else leaving.asked)(request, marks)
        at = reverse("changes:request", args=[request])
        told.append(Moving(wall, does, at, others, decided_at is not None, request))
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


def _bearing_on(job: Job) -> OnWalls:
    return once(("bearing on walls", job.pk), lambda: bearing_on(job))


def _of_asks(job: Job) -> list[OfAsk]:
    return once(("walls that bearings leave", job.pk), lambda: _read(job))


def _read(job: Job) -> list[OfAsk]:
    those = _standing_moved(job)
    stood = _stood(job, those)
    return [OfAsk(one.ask, left, one.decided_at) for one, each in _left(job, those, stood) for left in each]


def left_by(job: Job, those: Iterable[Standing] | None = None) -> dict[int, list[Leaving]]:
    """{ask: the walls that its bearings leave, with all that stands on them}: of some that were filed just now or that
    are just decided, or of all that stand."""
    wanted = _standing_moved(job) if those is None else [one for one in those if _moves(one.ask)]
    if not wanted:
        return {}
    on = bearing_on(job)
    found = {}
    for one, each in _left(job, wanted, _stood(job, _standing_moved(job))):
        found[one.ask.pk] = [replace(left, stood=_all_on(left, on, _since(one))) for left in each]
    return found


def _all_on(left: Leaving, on: OnWalls, since: datetime) -> tuple[Stood, ...]:
    today = [Stood(copy, one.joints, since) for one in on.on.get(left.wall.pk, ()) for copy in one.copies]
    there = {one.copy for one in today}
    every = [*today, *(one for one in on.unanswered(left.stood) if one.copy not in there)]
    return tuple(one for one in every if one.copy not in left.copies)


def _moves(ask: Ask) -> bool:
    return ask.kind == Kind.BEARING and bool(ask.wish) and _drawn(ask) is not None


def _standing_moved(job: Job) -> list[Standing]:
    if those := [one for one in standing_bearings(job) if _moves(one.ask)]:
        prefetch_related_objects([job], "wall_lines")
    return those


def _stood(job: Job, those: Iterable[Standing]) -> dict[tuple[Number, str], WallLine]:
    """{(copy, bearing): the wall that was kept under it with another mark's ask}."""
    found = {}
    for one in those:
        for left in _kept(job, one):
            found.update({(copy, joint): left.wall for copy, joints, _ in left.stood for joint in joints})
    return found


def _kept(job: Job, one: Standing) -> list[Leaving]:
    if not one.ask.walls:
        return []
    one.ask.on_truss.job = job
    return kept(one.ask, job.wall_lines.all(), _since(one))


def _since(one: Standing) -> datetime:
    """What is said of other bearings after this answers it."""
    return one.decided_at or one.ask.request.filed_at


def _left(
    job: Job, those: Sequence[Standing], stood: Mapping[tuple[Number, str], WallLine]
) -> Iterator[tuple[Standing, list[Leaving]]]:
    """Each ask with the walls that its bearings leave: of one that is decided those that were kept with it. What the
    plan draws under them today counts where none was, and while it is open."""
    if not those:
        return
    prefetch_related_objects([job], "wall_lines")
    stand = _standing({root(one.ask.on_truss) for one in those})
    parts = [(one, part) for one in those for part in _by_marks(one, stand)]
    marks = _marks(job, those, parts)
    by = {(truss, _drawn(one.ask).pk): (marks[truss], _drawn(one.ask).document) for one, (truss, _) in parts}
    walls = dict(zip(by, walls_of(job, list(by.values())), strict=True))
    found: dict[int, list[Leaving]] = {}
    for one, (truss, copies) in parts:
        over = {number: stand[number]._replace(turned=not stand[number].turned) for number in one.turned & {*stand}}
        revision = _drawn(one.ask)
        by_how_far = leaves(one.ask.wish or {}, revision.document)
        found.setdefault(one.ask.pk, []).extend(
            _leaving(marks[truss], by_how_far, copies, stand | over, walls[truss, revision.pk], one.turned, stood)
        )
    for one in those:
        yield one, _with_kept(found.get(one.ask.pk, []), _kept(job, one), decided=one.decided_at is not None)


def _by_marks(one: Standing, stand: Mapping[Number, _Stands]) -> list[tuple[int, list[int]]]:
    """(mark, its copies of an ask): those of one that was decided may be another mark's by now."""
    truss = one.ask.on_truss
    if not one.decided_at:
        return [(truss.pk, one.ask.copies)]
    marks: dict[int, list[int]] = {}
    for number in one.ask.copies:
        there = stand.get(Number(root(truss), number))
        marks.setdefault(there.truss if there else truss.pk, []).append(number)
    return list(marks.items())


def _marks(
    job: Job, those: Iterable[Standing], parts: Iterable[tuple[Standing, tuple[int, list[int]]]]
) -> dict[int, Truss]:
    marks = {one.ask.on_truss.pk: one.ask.on_truss for one in those}
    if lacking := {truss for _, (truss, _) in parts} - {*marks}:
        rows = job.trusses.filter(pk__in=lacking).select_related("current").defer("current__analysis")
        marks |= {one.pk: one for one in rows.prefetch_related("placements")}
    return marks


def _with_kept(today: list[Leaving], before: list[Leaving], *, decided: bool) -> list[Leaving]:
    """What the bearings of an ask leave by the plan of today, and what was kept of them. Decided, what was kept is what
    is meant, wherever the plan has its wall by now; open, also what the plan has under them."""
    if decided:
        known = {(one.joint, copy) for one in before for copy in one.copies}
        more = [_but(one, {copy for joint, copy in known if joint == one.joint}) for one in today]
        return [*before, *(one for one in more if one.copies)]
    stood = {one.wall.pk: one.stood for one in before}
    there: dict[int, set[Number]] = {}
    for one in today:
        there.setdefault(one.wall.pk, set()).update(one.copies)
    more = [_but(one, there.get(one.wall.pk, set())) for one in before]
    return [*(replace(one, stood=stood.get(one.wall.pk, ())) for one in today), *(one for one in more if one.copies)]


def _but(one: Leaving, those: Collection[Number]) -> Leaving:
    return replace(one, copies=one.copies - frozenset(those))


def _drawn(ask: Ask) -> Any:
    """The revision that an ask is said of."""
    return ask.revision or ask.on_truss.current
