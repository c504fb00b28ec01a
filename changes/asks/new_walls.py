"""Walls that come under trusses by bearings that are asked to be added, and the trusses that pass over them without a
bearing there: nobody asked that these bear on it, so that it has to stay clear of them.

How far such a wall goes is known where the plan draws a wall there; else it goes from the first of the copies that it
is asked under to the last.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import prefetch_related_objects
from django.urls import reverse

from changes.asks.standing_asks import standing_bearings
from changes.models import Ask, Kind
from trusses.analysis.alike import begins_off
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import as_counted, listed
from trusses.models import Job, Truss
from trusses.once import once
from trusses.plan.copies import Stands, designs_of, standing
from trusses.plan.from_walls import Line as Drawn
from trusses.plan.from_walls import across
from trusses.plan.on_walls import Bears, Moving, Number
from trusses.plan.where import walls_of
from trusses.variants.homes import root

NEAR_IN = 12.0
"""A wall that is drawn no farther from where a bearing is asked is the one that is meant, and a truss that bears no
farther from it bears there already: as the plan has it of walls under bearings (`plan.where`)."""


@dataclass(frozen=True)
class Line:
    """Where a wall comes in plan, inches: across spans that run along an axis, at a place of it, between two places of
    the other; `says` where that is, and `drawn` whether a wall is drawn there, by which it is known how far it goes."""

    level: str
    axis: str
    at: float
    low: float
    high: float
    says: str
    drawn: bool = False

    def passes(self, one: Stands) -> bool:
        """Whether a copy lies over it and doesn't bear there."""
        if (one.level, one.along) != (self.level, self.axis):
            return False
        start, beside = _along(one)
        design = designs_of({one.sha256})[one.sha256]
        if not self.low - 0.5 <= beside <= self.high + 0.5:
            return False
        off = self.at - start
        x = design.right - off if one.turned else design.left + off
        xs = [design.truss.joint(bearing.joint).x for bearing in design.truss.bearings]
        left, right = design.wood_x
        return left < x < right and min(abs(x - bearing) for bearing in xs) > NEAR_IN


@dataclass(frozen=True)
class Coming:
    """A wall that an ask adds under some copies; `decided_at` is None while that is open."""

    ask: Ask
    line: Line
    copies: frozenset[Number]
    decided_at: datetime | None


@dataclass(frozen=True)
class Passing:
    """What passes over a wall that an ask adds, as the pages tell it of a wall that moves (`on_walls.Shared`)."""

    line: Line
    others: tuple[Bears, ...]
    also: tuple[int, ...] = ()
    comes = True

    @property
    def wall(self) -> str:
        return f"the added bearing, {self.says}"

    @property
    def says(self) -> str:
        return self.line.says

    @property
    def each(self) -> str:
        return "; ".join(one.says for one in self.others)


class _Plan:
    """What of a job's plan is asked for again and again, read once."""

    def __init__(self, job: Job) -> None:
        prefetch_related_objects([job], "wall_lines")
        self.levels, self.walls = standing(job), walls_of(job)
        self._roots = {pk: of or pk for pk, of in job.trusses.values_list("pk", "variant_of")}

    def copies(self, level: str) -> Iterator[tuple[Number, Stands]]:
        for one in self.levels.get(level, ()):
            if one.copy is not None:
                yield Number(self._roots[one.truss], one.number), one


def _plan(job: Job) -> _Plan:
    return once(("plan under new walls", job.pk), lambda: _Plan(job))


def under(truss: Truss, at_in: float, copies: Iterable[int]) -> list[Passing]:
    """What passes over a bearing that is asked to be added to some copies of a mark, by its drawing of today."""
    plan, numbers = _plan(truss.job), {Number(root(truss), number) for number in copies}
    every = _every(truss.job, plan)
    lines = _lines(plan, truss.current.document, at_in, numbers, ())
    return _passing(plan, (line for line, _ in lines), [*every, *(Coming(Ask(), *one, None) for one in lines)])


def of_asks(job: Job, asks: Iterable[Ask]) -> list[Passing]:
    """The same of asks that were filed."""
    pks = {ask.pk for ask in asks if ask.kind == Kind.BEARING and (ask.wish or {}).get("change") == "added"}
    if not pks:
        return []
    every = _every(job, plan := _plan(job))
    return _passing(plan, dict.fromkeys(one.line for one in every if one.ask.pk in pks), every)


def _passing(plan: _Plan, lines: Iterable[Line], every: Sequence[Coming]) -> list[Passing]:
    return [Passing(line, others) for line in lines if (others := tuple(_others(plan, line, every)))]


def coming(job: Job) -> list[Moving]:
    """The walls that requests add under trusses, open or decided, with what passes over them: told until a bearing of
    theirs is there, whatever is said of their others."""
    if not any((one.ask.wish or {}).get("change") == "added" for one in standing_bearings(job)):
        return []
    by: dict[tuple[int, datetime | None, Line], list[Coming]] = {}
    every = _every(job, plan := _plan(job))
    for one in every:
        by.setdefault((one.ask.request_id, one.decided_at, one.line), []).append(one)
    told = []
    for (request, decided_at, line), those in by.items():
        others = _others(plan, line, every)
        marks = listed(sorted({one.ask.on_truss.mark for one in those}, key=as_counted))
        does = (
            f"By the decision on request {request} a wall or post comes under {marks}, {line.says}"
            if decided_at
            else f"Request {request} asks for a wall or post under {marks}, {line.says}"
        )
        at = reverse("changes:request", args=[request])
        told.append(Moving(0, does, at, tuple(others), decided_at is not None, request, comes=True, level=line.level))
    return told


def _every(job: Job, plan: _Plan) -> list[Coming]:
    return once(("walls that bearings add", job.pk), lambda: list(_read(job, plan)))


def _read(job: Job, plan: _Plan) -> Iterator[Coming]:
    for ask, decided_at, turned in standing_bearings(job):
        revision, wish = ask.revision or ask.on_truss.current, ask.wish or {}
        if revision is not None and wish.get("change") == "added":
            numbers = {Number(root(ask.on_truss), number) for number in ask.copies}
            for line, those in _lines(plan, revision.document, wish["at_in"], numbers, turned):
                yield Coming(ask, line, those, decided_at)


def _lines(
    plan: _Plan, document: Any, at_in: float, numbers: Collection[Number], turned: Collection[Number]
) -> list[tuple[Line, frozenset[Number]]]:
    """Where in plan a bearing at an x of a drawing comes under some copies; those without a place have none. `turned`:
    those that were turned end for end since that drawing."""
    xs = [float(document["joints"][one["joint"]][0]) for one in document["bearings"]]
    met: dict[tuple[str, str, float], dict[Number, float]] = {}
    for level in plan.levels:
        for copy, one in plan.copies(level):
            if copy in numbers:
                start, beside = _along(one)
                far_end = one.turned != (copy in turned)
                design = designs_of({one.sha256})[one.sha256]
                start += begins_off(design.truss.document, document, turned=one.turned)
                at = start + (max(xs) - at_in if far_end else at_in - min(xs))
                met.setdefault((level, one.along, round(at, 2)), {})[copy] = beside
    return [(_line(plan, *where, sorted(places.values())), frozenset(places)) for where, places in met.items()]


def _along(one: Stands) -> tuple[float, float]:
    """Where a copy's line begins along its span, and where it stands across it."""
    return (one.x, one.y) if one.along == "x" else (one.y, one.x)


def _line(plan: _Plan, level: str, axis: str, at: float, places: Sequence[float]) -> Line:
    walls = plan.walls.get(level, [])
    low, high, drawn = places[0], places[-1], False
    for start, end in _drawn(walls, axis, at):
        if start <= places[-1] and end >= places[0]:
            low, high, drawn = min(low, start), max(high, end), True
    found = across(walls, axis, (places[0] + places[-1]) / 2, at)
    off = "" if found.on else f"{feet_inches(found.inches)} {found.way} "
    return Line(level, axis, at, low, high, f"{off or 'at '}{found.wall or 'the plan’s zero'}", drawn)


def _drawn(walls: Iterable[Drawn], axis: str, at: float) -> Iterator[tuple[float, float]]:
    """From where to where the walls go that are drawn there."""
    k = 0 if axis == "x" else 1
    for _, points in walls:
        for a, b in itertools.pairwise(points):
            if a[k] == b[k] and abs(a[k] - at) <= NEAR_IN:
                yield min(a[1 - k], b[1 - k]), max(a[1 - k], b[1 - k])


def _others(plan: _Plan, line: Line, every: Iterable[Coming]) -> list[Bears]:
    """What passes over a line, without those for whom a bearing there is asked too."""
    like = [one for one in every if (one.line.level, one.line.axis) == (line.level, line.axis)]
    asked = {copy for one in like if abs(one.line.at - line.at) <= NEAR_IN for copy in one.copies}
    marks: dict[int, dict[Number, str]] = {}
    called = {}
    for copy, one in plan.copies(line.level):
        if copy not in asked and line.passes(one):
            marks.setdefault(one.truss, {})[copy] = one.stage
            called[one.truss] = one.mark
    return [Bears(pk, called[pk], marks[pk]) for pk in sorted(marks, key=lambda pk: as_counted(called[pk]))]
