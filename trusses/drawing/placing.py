"""Room for labels: what already stands on the drawing, and whether a label would cover it. User units."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Generic, NamedTuple, TypeVar

Point = tuple[float, float]
Outline = Sequence[Point]
Axis = tuple[float, float, float, float]
Bounds = tuple[float, float, float, float]  # left, top, right, bottom
T = TypeVar("T")
_LABEL = "a label"  # no member, gap or ghost is called so
_NOBODY = "nobody"
_SQUARE = 32.0
_LOOKS_ON = 240  # spots that a label looks at for a leader over less wood than the first one that it found
_CLEARLY_LESS = 0.75
_FAR = 400  # squares: what lies farther out is on no drawing


def box(x: float, y: float, width: float, height: float, turned: float = 0.0) -> tuple[Point, ...]:
    """Corners of a rectangle about its centre, turned by `turned` radians."""
    if not turned:
        left, top, right, bottom = x - width / 2, y - height / 2, x + width / 2, y + height / 2
        return (left, top), (right, top), (right, bottom), (left, bottom)
    c, s = math.cos(turned), math.sin(turned)
    halves = ((-width / 2, -height / 2), (width / 2, -height / 2), (width / 2, height / 2), (-width / 2, height / 2))
    return tuple((x + dx * c - dy * s, y + dx * s + dy * c) for dx, dy in halves)


def thread(start: Point, end: Point) -> tuple[Point, ...]:
    """A line as an outline of a hair's breadth."""
    (ax, ay), (bx, by) = start, end
    return box((ax + bx) / 2, (ay + by) / 2, math.dist(start, end), 1.0, math.atan2(by - ay, bx - ax))


def through(a: Point, b: Point, box: Sequence[float]) -> bool:
    """Whether a line comes within an upright box (left, top, right, bottom), by what of it each pair of the box's sides
    leaves."""
    begin, end = 0.0, 1.0
    for k in (0, 1):
        way, low, high = b[k] - a[k], box[k] - a[k], box[k + 2] - a[k]
        if way == 0:
            if low >= 0 or high <= 0:
                return False
            continue
        first, last = sorted((low / way, high / way))
        begin, end = max(begin, first), min(end, last)
    return begin < end


def overlap(one: Outline, other: Outline) -> bool:
    """Whether two convex outlines share more than an edge (separating axes)."""
    return not (_apart(_axes(one), other) or _apart(_axes(other), one))


def _bounds(outline: Outline) -> Bounds:
    if _upright(outline):
        (ax, ay), _, (cx, cy), _ = outline
        return (ax, ay, cx, cy) if ax <= cx and ay <= cy else (min(ax, cx), min(ay, cy), max(ax, cx), max(ay, cy))
    xs, ys = zip(*outline, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _axes(outline: Outline) -> list[Axis]:
    """A normal of each edge, and the outline's extent along it."""
    axes = []
    px, py = outline[-1]
    for x, y in outline:
        nx, ny = y - py, px - x
        along = [nx * u + ny * v for u, v in outline]
        axes.append((nx, ny, min(along), max(along)))
        px, py = x, y
    return axes


def _apart(axes: Iterable[Axis], outline: Outline) -> bool:
    for nx, ny, low, high in axes:
        along = [nx * u + ny * v for u, v in outline]
        if max(along) <= low or min(along) >= high:
            return True
    return False


class Spot(NamedTuple, Generic[T]):
    """A place to try for a label: its outline, what would stand there, the ends of the line that would lead from it to
    what it names, and the room around it that nothing else may come into, lest the label seem to be about that."""

    outline: Outline
    stands: T
    leader: tuple[Point, Point] | None = None
    margin: Outline | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """An outline that labels keep clear of."""

    bounds: Bounds
    outline: Outline
    axes: list[Axis]
    owner: str
    wood: float = 0.0

    def along(self, start: Point, end: Point) -> tuple[float, float]:
        """From which to which share of the way between two points a line is over it; the same share twice: nowhere."""
        enters, leaves = 0.0, 1.0
        for nx, ny, low, high in self.axes:
            at, going = nx * start[0] + ny * start[1], nx * (end[0] - start[0]) + ny * (end[1] - start[1])
            if abs(going) < 1e-9:
                if not low < at < high:
                    return 0.0, 0.0
                continue
            first, last = sorted(((low - at) / going, (high - at) / going))
            enters, leaves = max(enters, first), min(leaves, last)
        return (enters, leaves) if enters < leaves else (0.0, 0.0)

    def meets(
        self, other: Outline, bounds: Bounds, upright: bool | None = None, axes: list[Axis] | None = None
    ) -> bool:
        """Whether they share more than an edge; `upright` where it is known whether the other one is, and its `axes`
        where these are."""
        left, top, right, bottom = bounds
        x0, y0, x1, y1 = self.bounds
        if right <= x0 or x1 <= left or bottom <= y0 or y1 <= top:
            return False
        if not (_upright(other) if upright is None else upright):
            return not (_apart(self.axes, other) or _apart(_axes(other) if axes is None else axes, self.outline))
        # an upright box: that it isn't apart along the paper's axes is known, and its extent along the others is short
        u, v, half_w, half_h = (left + right) / 2, (top + bottom) / 2, (right - left) / 2, (bottom - top) / 2
        for nx, ny, low, high in self.axes:
            middle, reach = nx * u + ny * v, half_w * abs(nx) + half_h * abs(ny)
            if middle + reach <= low or middle - reach >= high:
                return False
        return True


def _upright(outline: Outline) -> bool:
    if len(outline) != 4:
        return False
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = outline
    return ay == by and bx == cx and cy == dy and dx == ax


class Room:
    """Convex outlines that labels keep clear of, each with an owner that its own label may stand on.

    Labels stay between the drawing's sides, above `floor` and below `ceiling`.
    """

    def __init__(self, width: float) -> None:
        self.left, self.right = 1.0, width - 1
        self.floor, self.ceiling = math.inf, 1.0
        self._taken: list[Taken] = []
        self._near: dict[tuple[int, int], list[Taken]] = {}
        self._in_the_way: Taken | None = None
        self.patience: int | None = None
        """How many spots a label tries before it is left out; None is all."""
        self.settled: tuple[Taken, ...] = ()
        """What the label that was placed last takes."""

    def copy(self, without: Collection[Taken] = ()) -> Room:
        """A room of the same size in which the same stands, `without` some of it."""
        other = Room(self.right + 1)
        other.left, other.right, other.floor, other.ceiling = self.left, self.right, self.floor, self.ceiling
        gone = {id(taken) for taken in without}
        other._taken = [taken for taken in self._taken if id(taken) not in gone]
        other._near = {
            square: [taken for taken in near if id(taken) not in gone] if gone else near.copy()
            for square, near in self._near.items()
        }
        return other

    def since(self, earlier: Room) -> list[Taken]:
        """What was taken since this room was a copy of that one."""
        return self._taken[len(earlier._taken) :]

    @property
    def lowest(self) -> float:
        """The lowest level that is taken."""
        return max((taken.bounds[3] for taken in self._taken), default=0.0)

    @property
    def highest_label(self) -> float:
        """The highest level that a label takes."""
        return min((taken.bounds[1] for taken in self._taken if taken.owner == _LABEL), default=math.inf)

    def holds(self, point: Point) -> bool:
        """Whether a point is on the drawing."""
        return self.left <= point[0] <= self.right and self.ceiling <= point[1] <= self.floor

    def take(self, outline: Outline, owner: str = "", *, wood: float = 0.0) -> Taken:
        """`wood` is how much a leader over it misleads, by its length: 0 where it is no wood."""
        taken = Taken(_bounds(outline), outline, _axes(outline), owner, wood)
        self._taken.append(taken)
        for square in _squares(taken.bounds):
            self._near.setdefault(square, []).append(taken)
        return taken

    def free(self, outline: Outline, *owners: str) -> bool:
        """Whether a label fits there, inside the drawing's sides; it may cover what `owners` own."""
        bounds = left, top, right, bottom = _bounds(outline)
        if left < self.left or top < self.ceiling or right > self.right or bottom > self.floor:
            return False
        upright = _upright(outline)
        # what was in the way of the last place mostly is in the way of the next one too
        last = self._in_the_way
        if last is not None and last.owner not in owners and last.meets(outline, bounds, upright):
            return False
        near = self._near
        for square in _squares(bounds):
            for taken in near.get(square, ()):
                x0, y0, x1, y1 = taken.bounds
                if right <= x0 or x1 <= left or bottom <= y0 or y1 <= top or taken is last or taken.owner in owners:
                    continue
                if taken.meets(outline, bounds, upright):
                    self._in_the_way = taken
                    return False
        return True

    def lettered(self, outline: Outline) -> bool:
        """Whether a label stands there."""
        bounds = _bounds(outline)
        upright, axes = _upright(outline), _axes(outline)
        near = (taken for square in _squares(bounds) for taken in self._near.get(square, ()))
        return any(taken.owner == _LABEL and taken.meets(outline, bounds, upright, axes) for taken in near)

    def _crossed(self, leader: tuple[Point, Point], beside: Collection[str]) -> float | None:
        """How far a leader runs over wood that its label isn't about, by how much that misleads; None where it would
        run through a label or another leader."""
        line = thread(*leader)
        bounds = left, top, right, bottom = _bounds(line)
        upright, axes = _upright(line), _axes(line)
        over: dict[int, tuple[float, float, float]] = {}
        for square in _squares(bounds):
            for taken in self._near.get(square, ()):
                x0, y0, x1, y1 = taken.bounds
                if right <= x0 or x1 <= left or bottom <= y0 or y1 <= top or id(taken) in over:
                    continue
                if taken.owner == _LABEL and taken.meets(line, bounds, upright, axes):
                    return None
                if taken.wood and taken.owner not in beside:
                    over[id(taken)] = (*taken.along(*leader), taken.wood)
        misled, reached = 0.0, 0.0
        for start, end, weight in sorted(over.values()):
            misled += max(end - max(start, reached), 0.0) * weight
            reached = max(reached, end)
        return misled * math.dist(*leader)

    def first_free(self, spots: Iterable[Spot[T]], *, on: str = "", beside: Collection[str] = ()) -> T | None:
        """What stands at the first spot that fits; its place is taken. A label may stand `on` the opening that it is
        about, and its margin on the wood that it stands `beside`. A leader runs over no wood but that which its label
        is `beside`; where none near does without, the one counts that runs over clearly less than those before it.
        """
        best, least, left = None, math.inf, _LOOKS_ON if self.patience is None else self.patience // 6
        for spot in islice(spots, self.patience):
            if best is not None:
                left -= 1
                if left < 0:
                    break
            if not self.free(spot.outline, on or _NOBODY):
                continue
            if spot.margin is not None and not self.free(spot.margin, *beside):
                continue
            crossed = self._crossed(spot.leader, beside) if spot.leader else 0.0
            if crossed is not None and crossed < least * _CLEARLY_LESS:
                best, least = spot, crossed
            if least == 0:
                break
        return self._settle(best) if best is not None else None

    def _settle(self, spot: Spot[T]) -> T:
        self.settled = (self.take(spot.outline, _LABEL),)
        if spot.leader:
            self.settled += (self.take(thread(*spot.leader), _LABEL),)
        return spot.stands


def _squares(bounds: Bounds) -> list[tuple[int, int]]:
    """The squares of a grid that a box touches: only what shares one with a label can be in its way."""
    first, top, last, bottom = [int(edge // _SQUARE) for edge in bounds]
    if min(first, top) < -_FAR or max(last, bottom) > _FAR:
        first, top, last, bottom = (min(max(edge, -_FAR), _FAR) for edge in (first, top, last, bottom))
    if first == last and top == bottom:
        return [(first, top)]
    return [(column, row) for column in range(first, last + 1) for row in range(top, bottom + 1)]


_TURNS = tuple(
    (math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    for turn in (90, 60, 120, 30, 150, 0, 180, 270, 300, 240, 330, 210)
)


def around(target: Point, extent: tuple[float, float], steps: range, step: float) -> Iterator[tuple[Point, Point]]:
    """Centres for a box of that width and height about a point, nearest first, and where its leader leaves it."""
    wide, high = extent
    for k in steps:
        for c, s in _TURNS:
            at = (target[0] + c * (k * step + wide / 2), target[1] - s * (k * step + high / 2))
            yield at, edge_toward(at, extent, target)


def edge_toward(at: Point, extent: tuple[float, float], target: Point) -> Point:
    """The middle of the side, or the corner, of a box that is nearest to a point."""
    dx, dy = target[0] - at[0], target[1] - at[1]
    if abs(dx) * extent[1] > abs(dy) * extent[0]:
        return at[0] + math.copysign(extent[0] / 2, dx), at[1]
    return at[0], at[1] + math.copysign(extent[1] / 2, dy)
