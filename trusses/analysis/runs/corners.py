"""Corners and ends of a run against the trusses that they stand in, and where the nearest places are that are clear.
Inches.

A corner needs half the run's width with its clearance, and half the truss's thickness, to the middle of every copy: of
each copy a rectangle in plan is taken. Moved along x or y of the plan it is clear where it leaves the last of those
that it comes through. An end of the run needs half the truss's thickness, and of its width what stands across the
trusses there; it is clear where it goes on along its leg past the truss, or back until it is short of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from trusses.analysis.runs.run import SAME_IN, TAPE, Leg, Point, Run, tape_mark
from trusses.analysis.runs.stood import ALONG_SINE, Stood, perpendicular

#: A place farther off than this is another run, inches.
FAR_IN = 96.0
_HAIR_IN = 1e-9
_Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Cramped:
    """A corner of the run that needs `needs_in` to the middle of a copy, and has `has_in`. `clear_at` are the nearest
    places along x and y of the plan where it is clear of every copy, nearest first, two at most, a sixteenth apart."""

    corner: int
    stood: Stood
    has_in: float
    needs_in: float
    at: Point
    clear_at: tuple[Point, ...]

    @property
    def moves(self) -> list[tuple[float, float]]:
        """How far along x and along y to each of `clear_at`."""
        return [(x - self.at[0], y - self.at[1]) for x, y in self.clear_at]


def cramped(run: Run, copies: Sequence[Stood]) -> Iterator[Cramped]:
    """The corners of `run` that stand in one of `copies`."""
    boxes: list[_Box] = []
    for i, corner in enumerate(run.points[1:-1], 1):
        boxes = boxes or [_taken(run, stood) for stood in copies]
        clear_at: tuple[Point, ...] | None = None
        for stood, box in zip(copies, boxes, strict=True):
            if not _within(corner, box):
                continue
            clear_at = clear_at if clear_at is not None else _clear(corner, boxes)
            across = corner[1] if stood.along == "x" else corner[0]
            yield Cramped(i, stood, abs(across - stood.across_in), _needs(run, stood), corner, clear_at)


@dataclass(frozen=True)
class Ended:
    """An end of the run, `point` 0 or the last of its points, that stands in a copy. It is clear `past_in` farther
    along its leg, or `short_in` less far; None where no such place is near, or nothing would be left of the leg."""

    point: int
    stood: Stood
    past_in: float | None
    short_in: float | None


def ended(run: Run, copies: Sequence[Stood]) -> Iterator[Ended]:
    """The ends of `run` that stand in one of `copies`."""
    legs = list(run.legs())
    for point, leg in ((0, legs[0]), (len(legs), legs[-1])):
        taken = [_taken_of(run, leg, point, stood) for stood in copies]
        held = [one for one in taken if one is not None]
        for stood, one in zip(copies, taken, strict=True):
            if one is None or not one[0] + _HAIR_IN < 0 < one[1] - _HAIR_IN:
                continue
            past, short = (_off(run, point, held, way, copies) for way in (1, -1))
            yield Ended(point, stood, past, short)


def moved_end(run: Run, point: int, longer_in: float) -> Run:
    """The run with one of its ends so much farther along its leg, less far where that is negative; as high as it was
    wherever it was."""
    legs = list(run.legs())
    leg, way = (legs[0], -1) if point == 0 else (legs[-1], 1)
    x, y = run.points[point]
    to = x + way * longer_in * leg.ex, y + way * longer_in * leg.ey
    height = run.height_in + (run.slope * longer_in / 12 if point == 0 else 0.0)
    points = (to, *run.points[1:]) if point == 0 else (*run.points[:-1], to)
    return replace(run, points=points, height_in=height)


def lead(run: Run, stood: Stood, along: float, square: float) -> float:
    """How far along the run its end still stands in a truss, before and past the truss's middle; by its direction along
    the truss's span and across it."""
    return (stood.design.thickness_in + run.section.room_in * abs(along)) / 2 / abs(square)


def _taken_of(run: Run, leg: Leg, point: int, stood: Stood) -> tuple[float, float] | None:
    """From where to where, outward along the leg from an end of the run, a copy takes the end; None where the leg runs
    along it or passes beside it."""
    way = -1 if point == 0 else 1
    place, across, along, square = perpendicular(replace(leg, start=run.points[point]), stood)
    if abs(square) < ALONG_SINE:
        return None
    far, half = way * (stood.across_in - across) / square, run.section.room_in / 2 / abs(square)
    if not stood.reach[0] - half < place + way * far * along < stood.reach[1] + half:
        return None
    keep = lead(run, stood, along, square)
    return far - keep, far + keep


def _off(run: Run, point: int, taken: Sequence[tuple[float, float]], way: int, copies: Sequence[Stood]) -> float | None:
    """How far an end goes one way along its leg until it is out of all that take it, on a mark of a tape there."""
    *_, leg = [next(run.legs())] if point == 0 else run.legs()
    least, at = leg.length - SAME_IN, 0.0
    while at <= (FAR_IN if way > 0 else min(FAR_IN, least)):
        edges = [high if way > 0 else -low for low, high in taken if low + _HAIR_IN < way * at < high - _HAIR_IN]
        if edges:
            at = math.ceil(max(edges) * TAPE - _HAIR_IN) / TAPE
        elif _stands(moved_end(run, point, way * at).on_tape(), point, copies):
            at += 1 / TAPE
        else:
            return at
    return None


def _stands(run: Run, point: int, copies: Sequence[Stood]) -> bool:
    """Whether an end of the run stands in one of `copies`."""
    *_, leg = [next(run.legs())] if point == 0 else run.legs()
    taken = (_taken_of(run, leg, point, stood) for stood in copies)
    return any(one is not None and one[0] + _HAIR_IN < 0 < one[1] - _HAIR_IN for one in taken)


def moved_corner(run: Run, corner: int, to: Point) -> tuple[Point, ...]:
    """The run's points with one of its corners moved along x or y. A leg that stands square to that goes with it, so
    that right angles stay."""
    points, was = list(run.points), run.points[corner]
    axis = 0 if to[0] != was[0] else 1
    for i in (corner - 1, corner + 1):
        if abs(points[i][axis] - was[axis]) < SAME_IN:
            points[i] = (to[0], points[i][1]) if axis == 0 else (points[i][0], to[1])
    points[corner] = to
    return tuple(points)


def _needs(run: Run, stood: Stood) -> float:
    return (run.section.room_in + stood.design.thickness_in) / 2


def _taken(run: Run, stood: Stood) -> _Box:
    """Left, right, low, high in plan."""
    (low, high), half, needs = stood.reach, run.section.room_in / 2, _needs(run, stood)
    along, across = (low - half, high + half), (stood.across_in - needs, stood.across_in + needs)
    return (*along, *across) if stood.along == "x" else (*across, *along)


def _within(place: Point, box: _Box) -> bool:
    (x, y), (left, right, low, high) = place, box
    return left + _HAIR_IN < x < right - _HAIR_IN and low + _HAIR_IN < y < high - _HAIR_IN


def _clear(corner: Point, boxes: Sequence[_Box]) -> tuple[Point, ...]:
    found = [_out(corner, boxes, axis, way) for axis in (0, 1) for way in (-1, 1)]
    near = [place for place in found if place is not None and math.dist(place, corner) <= FAR_IN]
    return tuple(sorted(near, key=lambda place: math.dist(place, corner))[:2])


def _out(corner: Point, boxes: Sequence[_Box], axis: int, way: int) -> Point | None:
    """The first clear place along one axis, one way: out of one box after the other, on the next mark of a tape."""
    at = list(corner)
    for _ in range(len(boxes) + 1):
        x, y = at
        box = next((box for box in boxes if _within((x, y), box) or _within((tape_mark(x), tape_mark(y)), box)), None)
        if box is None:
            return x, y
        edge = box[2 * axis + (way > 0)]
        at[axis] = way * math.ceil(way * edge * TAPE - _HAIR_IN) / TAPE
    return None
