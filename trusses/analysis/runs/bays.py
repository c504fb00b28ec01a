"""The trusses of a run one after another, and what lies between each two: where it may change sides there. Inches.

A run goes through stretches of trusses that lie one way, and crosses each stretch in one sense. From one stretch to the
next it turns: at one corner where the trusses of the next lie the other way, and by going back where they lie the same
way. Within a stretch it changes sides by two bends in a bay.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from trusses.analysis.runs.crossing import Crossed, Crossing
from trusses.analysis.runs.run import Leg, Point, Run
from trusses.analysis.runs.stood import ALONG_SINE, Stood, perpendicular

Window = tuple[float, float]
ANYWHERE: Window = (-1e9, 1e9)


@dataclass(frozen=True)
class Halt:
    """A truss that the run comes to, `path_in` along it as it is asked, having gone up by `risen_in` at corners before;
    `met`: as asked it crosses the truss's wood or its clear space. `sense`: 1 where it crosses with the plan."""

    stood: Stood
    sense: int
    path_in: float
    risen_in: float
    met: bool

    @property
    def across_in(self) -> float:
        return self.stood.across_in


@dataclass(frozen=True)
class Bay:
    """What lies between two halts, or between one and an end of the run. `straight`: it changes sides at `at`, across
    the trusses, by `bends`, where it has `room` for them; `turn`: it goes back there; `corner`: it turns at the place
    that it has after it, which lies in `after`, and leaves the place that it had, which lies in `before`. It goes up by
    `rise_in` there, or `near` a truss where it doesn't change sides."""

    kind: Literal["straight", "turn", "corner"]
    at: float = 0.0
    room: bool = True
    bends: int = 2
    rise_in: float = 0.0
    near: float = 0.0
    before: Window = ANYWHERE
    after: Window = ANYWHERE


@dataclass(frozen=True)
class Stretch:
    """Trusses that lie along `axis`, crossed in one sense, and how far along the run it begins and ends. `reach`: from
    where to where along the axis the run may lie."""

    axis: str
    sense: int
    halts: tuple[Halt, ...]
    starts: float
    ends: float
    reach: Window
    asked: frozenset[Stood]
    """Those whose wood or clear space it crosses as asked."""


def place_of(point: Point, axis: str) -> float:
    """Along trusses that lie along this axis."""
    return point[0] if axis == "x" else point[1]


def across_of(point: Point, axis: str) -> float:
    return point[1] if axis == "x" else point[0]


def stretches(wish: Crossed, copies: Sequence[Stood]) -> list[Stretch]:
    """Of all that the run crosses or may come to between its ends, as asked."""
    run, legs = wish.run, list(wish.run.legs())
    come_to = [one for one in wish.crossings if one.verdict != "clear" or _over(one)]
    groups = [list(those) for _, those in itertools.groupby(come_to, key=lambda one: _sense(one, legs))]
    there = [one for one in copies if one.level == run.level]
    found = []
    for i, group in enumerate(groups):
        sense, axis = _sense(group[0], legs)
        starts = groups[i - 1][-1].path_in if i else 0.0
        ends = groups[i + 1][0].path_in if i + 1 < len(groups) else run.length_in
        first, last = run.points[0], run.points[-1]
        low = min(
            sense * across_of(one, axis) for one in ([first] if not i else _corners(run, starts, group[0].path_in))
        )
        high = max(
            sense * across_of(one, axis)
            for one in ([last] if i + 1 == len(groups) else _corners(run, group[-1].path_in, ends))
        )
        met = frozenset(one.stood for one in group if one.verdict != "clear")
        reach = _reach(
            [one.stood for one in group], run, axis, first if not i else None, last if i + 1 == len(groups) else None
        )
        those = [one for one in there if one.along == axis and low < sense * one.across_in < high]
        those = [one for one in those if one.reach[0] <= reach[1] and one.reach[1] >= reach[0]]
        halts = []
        for one in sorted(those, key=lambda one: sense * one.across_in):
            far = _path_at(legs, one, axis, (starts, ends))
            halts.append(Halt(one, sense, far, _risen(run, -1.0, far), one in met))
        found.append(Stretch(axis, sense, tuple(halts), low * sense, high * sense, reach, met))
    return found


def bays(wish: Crossed, those: Sequence[Stretch], copies: Sequence[Stood]) -> list[Bay]:
    """Before, between and after all halts of all stretches."""
    run, found = wish.run, []
    for i, one in enumerate(those):
        halts = one.halts
        before = None if i else run.points[0]
        if before is not None:
            found.append(_straight(run, one, None, halts[0]))
        found += [_straight(run, one, a, b) for a, b in itertools.pairwise(halts)]
        if i + 1 == len(those):
            found.append(_straight(run, one, halts[-1], None))
        else:
            found.append(_turned(run, one, those[i + 1], copies))
    return found


def _straight(run: Run, one: Stretch, a: Halt | None, b: Halt | None) -> Bay:
    starts, ends = (a.path_in if a else 0.0), (b.path_in if b else run.length_in)
    rise = _risen(run, starts, ends)
    from_, to = (a.across_in if a else one.starts), (b.across_in if b else one.ends)
    needs = [(run.section.room_in + half.stood.design.thickness_in) / 2 if half else 0.0 for half in (a, b)]
    # as close to the first or the last truss as a corner may be
    near = (from_ + to) / 2 if a and b else to - one.sense * needs[1] if b else from_ + one.sense * needs[0]
    asked = _sideways_at(run, one.axis, starts, ends, corners=bool(rise))
    if asked is not None:
        room = all(abs(asked - place) >= need - 1e-9 for place, need in zip((from_, to), needs, strict=True))
        at_end = asked == (from_ if not a else to if not b else None)
        return Bay("straight", asked, room, 1 if at_end else 2, rise, near if at_end else asked)
    room = abs(to - from_) >= max(needs) * (2 if a and b else 1)
    return Bay("straight", near, room, 2, rise, near)


def _turned(run: Run, one: Stretch, then: Stretch, copies: Sequence[Stood]) -> Bay:
    last, first = one.halts[-1], then.halts[0]
    rise = _risen(run, last.path_in, first.path_in)
    if one.axis == then.axis:
        return Bay("turn", one.ends, True, 2, rise)
    return Bay(
        "corner",
        bends=1,
        rise_in=rise,
        before=_bay_about(run, then, first, -1, copies),
        after=_bay_about(run, one, last, 1, copies),
    )


def _bay_about(run: Run, one: Stretch, halt: Halt, way: int, copies: Sequence[Stood]) -> Window:
    """Between a halt and the next truss before it (`way` −1) or behind it, both kept clear of, across them."""
    sense = one.sense * way
    edge = one.ends if way > 0 else one.starts
    others = [each for each in copies if each.level == run.level and each.along == one.axis]
    beyond = [each for each in others if sense * each.across_in >= sense * edge]
    near = halt.across_in + sense * (run.section.room_in + halt.stood.design.thickness_in) / 2
    if not beyond:
        return (near, ANYWHERE[1]) if sense > 0 else (ANYWHERE[0], near)
    next_one = min(beyond, key=lambda each: sense * each.across_in)
    far = next_one.across_in - sense * (run.section.room_in + next_one.design.thickness_in) / 2
    return (near, far) if sense > 0 else (far, near)


def _over(one: Crossing) -> bool:
    """Whether the middle of the run is over or under the truss."""
    (low, high), at = one.stood.reach, place_of(one.place_in, one.stood.along)
    return low <= at <= high


def _sense(one: Crossing, legs: Sequence[Leg]) -> tuple[int, str]:
    square = perpendicular(legs[one.leg], one.stood)[3]
    return (1 if square > 0 else -1), one.stood.along


def _corners(run: Run, starts: float, ends: float) -> list[Point]:
    """The run's corners between two places along it; where there is none, the middle between them."""
    found = [leg.start for leg in run.legs() if starts <= leg.before <= ends and leg.before > 0]
    return found or [run.place_at((starts + ends) / 2)]


def _reach(those: Sequence[Stood], run: Run, axis: str, first: Point | None, last: Point | None) -> Window:
    """All that these trusses reach over, and where the run begins and ends, with room for it."""
    ends = [place_of(one, axis) for one in (first, last) if one is not None]
    around = run.section.room_in
    return (
        min([*ends, *(one.reach[0] for one in those)]) - around,
        max([*ends, *(one.reach[1] for one in those)]) + around,
    )


def _path_at(legs: Sequence[Leg], stood: Stood, axis: str, within: Window) -> float:
    """How far along the run, as it is asked, it comes to the line of a truss."""
    for leg in legs:
        _, across, _, square = perpendicular(leg, stood)
        if abs(square) < ALONG_SINE:
            continue
        s = (stood.across_in - across) / square
        if -1e-9 <= s <= leg.length + 1e-9 and within[0] - 1e-6 <= leg.before + s <= within[1] + 1e-6:
            return leg.before + s
    return within[0]


def _risen(run: Run, after: float, until: float) -> float:
    """How far it goes up at corners between two places along it."""
    at = [leg.before for leg in run.legs()][1:]
    return sum((rise for far, rise in zip(at, run.rises, strict=False) if after < far <= until), 0.0)


def _sideways_at(run: Run, axis: str, starts: float, ends: float, *, corners: bool) -> float | None:
    """Where, as it is asked, it runs along trusses between two places along it; or where it has a corner there."""
    for leg in _legs(run, starts, ends):
        if abs(leg.ey if axis == "x" else leg.ex) < ALONG_SINE:
            return across_of(leg.start, axis)
    if corners:
        for leg in run.legs():
            if starts < leg.before <= ends:
                return across_of(leg.start, axis)
    return None


def _legs(run: Run, starts: float, ends: float) -> Iterator[Leg]:
    for leg in run.legs():
        if leg.before + leg.length > starts + 1e-6 and leg.before < ends - 1e-6:
            yield leg
