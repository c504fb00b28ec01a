"""A run of which corners or ends stand in trusses, moved as little as it takes until none does. Inches.

A corner goes along x or y of the plan into the bay beside its truss, an end along its leg past the truss or short of it
(`corners`). Of all ways to do that for each of them the one that moves least in all is taken, and what the run goes
through otherwise it still goes through. A slope keeps its height at the higher end, so that a run that is told from its
other end is moved alike. What is found lies on the marks of a tape, as fields write it.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from trusses.analysis.runs.corners import FAR_IN, cramped, ended, moved_corner, moved_end
from trusses.analysis.runs.crossing import Crossed, cross
from trusses.analysis.runs.lines import changes, goes_through
from trusses.analysis.runs.run import SAME_IN, Point, Run
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.phrases import Coded, coded

#: So many ways are tried at most: each corner has two, each end two.
_MOST_TRIED = 200


@dataclass(frozen=True)
class Shift:
    """A point of the run that was moved: by how much along x and y of the plan, an end by how much `longer_in` its leg
    is then, and out of which trusses; none where it goes along with a corner."""

    point: int
    by: Point
    longer_in: float | None
    out_of: tuple[str, ...]


@dataclass(frozen=True)
class Cleared:
    """The run with no corner and no end in a truss, and what was moved for that, in the order of its points."""

    run: Run
    shifts: tuple[Shift, ...]
    crossed: Crossed

    @property
    def told(self) -> Coded:
        rows = [[one.point, len(self.run.points), *one.by, one.longer_in, list(one.out_of)] for one in self.shifts]
        return coded("run-cleared", shifts=rows)


def stands_in(crossed: Crossed, copies: Sequence[Stood]) -> bool:
    """Whether a corner or an end of the run stands in a truss."""
    return bool(crossed.cramped) or any(ended(crossed.run, _beside(crossed, copies)))


def cleared(wish: Crossed, copies: Sequence[Stood]) -> Cleared | None:
    """The run moved out of the trusses that its corners and ends stand in; None where there is no way near."""
    run, near = wish.run, _beside(wish, copies)
    there = [one for one in copies if one.level == run.level]
    turned = run.slope < 0 or (not run.slope and run.points[::-1] < run.points)
    run = (run.reversed() if turned else run).on_tape()
    queue: list[tuple[float, int, Run, dict[int, frozenset[str]]]] = [(0.0, 0, run, {})]
    count = itertools.count(1)
    while queue and next(count) < _MOST_TRIED:
        cost, _, here, stood = heapq.heappop(queue)
        trouble = next(_out(here, there, near), None)
        if trouble is None:
            to = here.reversed() if turned else here
            found = cross(to, copies)
            if _serves(found, wish, {name for names in stood.values() for name in names}):
                return Cleared(to, _shifts(wish.run, to, _told_so(stood, len(to.points), turned)), found)
            continue
        point, names, ways = trouble
        held = {**stood, point: stood.get(point, frozenset()) | names}
        for by, way in ways:
            if cost + by <= FAR_IN * len(run.points) and _goes_on(run, way):
                heapq.heappush(queue, (cost + by, next(count), way, held))
    return None


def _beside(wish: Crossed, copies: Sequence[Stood]) -> list[Stood]:
    """The copies of its level, without those that it passes by above or below."""
    clear = {one.stood.name for one in wish.crossings if one.verdict == "clear"}
    return [one for one in copies if one.level == wish.run.level and one.name not in clear]


def _out(
    run: Run, copies: Sequence[Stood], near: Sequence[Stood]
) -> Iterator[tuple[int, frozenset[str], list[tuple[float, Run]]]]:
    """The first point that stands in trusses, which, and each way out of them with how far that moves it. An end stands
    in those of `near` alone; a corner is told from all, since nothing is known of what goes up there."""
    those = list(cramped(run, copies))
    if those:
        first = [one for one in those if one.corner == those[0].corner]
        ways = [
            (math.dist(first[0].at, to), replace(run, points=moved_corner(run, first[0].corner, to)).on_tape())
            for to in first[0].clear_at
        ]
        yield first[0].corner, frozenset(one.stood.name for one in first), ways
    ends = list(ended(run, near))
    if ends:
        at_end = [one for one in ends if one.point == ends[0].point]
        far = (ends[0].past_in, None if ends[0].short_in is None else -ends[0].short_in)
        moved = [(abs(by), moved_end(run, ends[0].point, by).on_tape()) for by in far if by is not None]
        yield ends[0].point, frozenset(one.stood.name for one in at_end), moved


def _serves(found: Crossed, wish: Crossed, stood: set[str]) -> bool:
    """Whether it still goes through all that it goes through and doesn't only stand in, lies in no other wood, and cuts
    no more chords."""
    through = goes_through(found)
    short = sum(one.verdict != "fits" for one in found.between) - sum(one.verdict != "fits" for one in wish.between)
    if not through or found.cramped or short > 0 or changes(found)[0] > changes(wish)[0]:
        return False
    return goes_through(wish) - stood <= through


def _goes_on(run: Run, to: Run) -> bool:
    """Whether each leg still goes the way it went."""
    ends = itertools.pairwise(to.points)
    return all(
        (bx - ax) * leg.ex + (by - ay) * leg.ey >= SAME_IN
        for leg, ((ax, ay), (bx, by)) in zip(run.legs(), ends, strict=True)
    )


def _told_so(stood: dict[int, frozenset[str]], points: int, turned: bool) -> dict[int, frozenset[str]]:
    return {points - 1 - point if turned else point: names for point, names in stood.items()}


def _shifts(was: Run, to: Run, stood: dict[int, frozenset[str]]) -> tuple[Shift, ...]:
    found = []
    legs = {0: next(was.legs()), len(was.points) - 1: list(was.legs())[-1]}
    for i, ((x, y), (to_x, to_y)) in enumerate(zip(was.points, to.points, strict=True)):
        if max(abs(to_x - x), abs(to_y - y)) < SAME_IN:
            continue
        longer = None
        if (leg := legs.get(i)) is not None:
            along, aside = (to_x - x) * leg.ex + (to_y - y) * leg.ey, (to_x - x) * leg.ey - (to_y - y) * leg.ex
            longer = along * (1 if i else -1) if abs(aside) < SAME_IN else None
        found.append(Shift(i, (to_x - x, to_y - y), longer, tuple(sorted(stood.get(i, ())))))
    return tuple(found)
