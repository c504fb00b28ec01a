"""The plan of one level: walls, every copy with its number and marked end, openings, runs, dimensions, north.

An SVG as a pure function, with presentation attributes for where no stylesheet reaches. Plan inches in, x to the right
and y up; the picture's units are pixels at a scale at which two copies side by side leave room for a number between
them, so that a phone pans over it and a desk shows it whole. Every letter stands where nothing else is drawn, or not at
all: what has no room stands on the list below the plan, which has everything.
"""

from __future__ import annotations

import itertools
import math
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import svgwrite

from trusses.drawing.text import clean, width_of
from trusses.plan import crossings, parts
from trusses.plan.frame import DIMENSION, MARGIN, frame
from trusses.plan.overlays import Path, Point
from trusses.plan.room import Box, Copies, Taken

_NUMBER, _MARK = 11.0, 14.0
_ROOM = 24.0
"""Pixels from one copy to the next: as much as a number needs, and a thumb."""
_LEAST_SCALE, _MOST_SCALE, _WIDEST = 0.5, 4.0, 2400.0
_RING = 7.8
_BESIDE = 10.0
"""How far a name stays from a run's band: a wide face takes more than is counted with."""
_SMALLEST, _SMALL_RING = 10.0, 8.0
"""The smallest letters; a ring has a number of three figures smaller."""


@dataclass(frozen=True)
class Wall:
    label: str
    points: Sequence[Point]


@dataclass(frozen=True)
class Opening:
    """An opening of a copy, between two places along its line, inches from the marked end."""

    start: float
    end: float


@dataclass(frozen=True)
class CopyLine:
    """One copy: from its marked end to its other end. `said` is what it is, in words; `href` leads to it."""

    mark: str
    number: int
    order: int
    start: Point
    end: Point
    solid: bool
    said: str
    href: str = ""
    openings: Sequence[Opening] = ()
    chosen: bool = True
    behind: bool = False
    """It is built to a revision that is superseded: its marked end is a square."""
    hurt: bool = False
    """It is damaged: a cross lies on it."""
    sealed: bool = True
    """The sealed drawing of its revision counts: else its marked end is open."""


@dataclass(frozen=True)
class Level:
    name: str
    walls: Sequence[Wall]
    copies: Sequence[CopyLine]
    paths: Sequence[Path] = ()
    north_deg: float | None = None
    scale: float | None = None
    """Pixels an inch, where two pictures are to be compared; else as many as letters need."""


@dataclass(frozen=True)
class Paper:
    """From plan inches to pixels, y turned over."""

    left: float
    low: float
    scale: float
    width: float
    height: float

    def at(self, point: Point) -> Point:
        x, y = point
        edge = MARGIN + 2 * DIMENSION
        return round(edge + (x - self.left) * self.scale, 1), round(self.height - edge - (y - self.low) * self.scale, 1)


def paper(level: Level) -> Paper:
    points = list(_every_point(level)) or [(0.0, 0.0), (240.0, 120.0)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    closest = min(_spacings(level.copies), default=24.0)
    wide = max(right - left, high - low, 1.0)
    scale = level.scale or min(max(_ROOM / closest, _LEAST_SCALE), _MOST_SCALE, _WIDEST / wide)
    around = 2 * MARGIN + 2 * DIMENSION
    return Paper(
        left, low, scale, round((right - left) * scale + around, 1), round((high - low) * scale + around + MARGIN, 1)
    )


def _every_point(level: Level) -> Iterator[Point]:
    for one in level.copies:
        yield from (one.start, one.end)
    for points in (*(wall.points for wall in level.walls), *(path.points for path in level.paths)):
        yield from points


def _spacings(copies: Sequence[CopyLine]) -> Iterator[float]:
    for one, other in itertools.pairwise(copies):
        if one.mark == other.mark and other.number == one.number + 1:
            apart = abs(other.start[0] - one.start[0]) + abs(other.start[1] - one.start[1])
            if apart >= 6:
                yield apart


class _Drawing:
    def __init__(self, level: Level, paths: Sequence[Path], under: Taken | None = None) -> None:
        self.level, self.paths, self.paper, self.taken = level, paths, paper(level), Taken(under)
        self.bands = Taken()
        """Where runs are as wide as they are: no place for a name."""
        self.copies = Copies((self.paper.at(one.start), self.paper.at(one.end)) for one in level.copies)
        size = self.paper.width, self.paper.height
        self.svg = svgwrite.Drawing(size=size, debug=False)
        self.svg.viewbox(0, 0, *size)
        self.svg["class"], self.svg["role"] = "plan", "group"
        self.svg["aria-label"] = f"Plan of {clean(level.name, 40)}"
        self.svg.attribs["data-scale"] = f"{self.paper.scale:.6g}"
        self.sheet = self.svg.add(self.svg.g())
        self.add = self.sheet.add
        self.about: list[Box] = []
        """Where runs with letters are: what of the plan is printed with them."""
        self.north: Any = None
        self.north_box: Box | None = None
        self.svg.attribs["data-left"], self.svg.attribs["data-low"] = f"{self.paper.left:g}", f"{self.paper.low:g}"

    def text(
        self,
        words: str,
        at: Point,
        size: float,
        *,
        turned: bool = False,
        into: Any = None,
        clear: bool = False,
        **look: Any,
    ) -> bool:
        """Letters about a point, if nothing is there; along y where `turned`; `clear`: and no run's band either."""
        wide, high = width_of(words, size) + 2, size * 1.15
        if turned:
            wide, high = high, wide
        x, y = at
        box = x - wide / 2, y - high / 2, x + wide / 2, y + high / 2
        inside = box[0] >= 0 and box[1] >= 0 and box[2] <= self.paper.width and box[3] <= self.paper.height
        if not inside or not self.free(box, clear=clear):
            return False
        self.taken.add(box)
        self.draw_text(words, at, size, turned=turned, into=into, **look)
        return True

    def free(self, box: Box, *, clear: bool) -> bool:
        near = box[0] - _BESIDE, box[1] - _BESIDE, box[2] + _BESIDE, box[3] + _BESIDE
        return self.taken.free(box) and not (clear and not self.bands.free(near))

    def draw_text(
        self, words: str, at: Point, size: float, *, turned: bool = False, into: Any = None, **look: Any
    ) -> None:
        x, y = at
        place = {"transform": f"rotate(-90 {x:.1f} {y:.1f})"} if turned else {}
        styled = {"font_size": size, "text_anchor": "middle", "fill": "currentColor", **place, **look}
        (into or self).add(self.svg.text(words, (round(x, 1), round(y + size * 0.36, 1)), **styled))

    def first_free(self, words: str, places: Iterable[Point], size: float, **look: Any) -> bool:
        """At the first of `places` that is free, beside runs rather than over them."""
        at = list(places)
        return any(self.text(words, one, size, clear=clear, **look) for clear in self.clear for one in at)

    @property
    def clear(self) -> tuple[bool, ...]:
        """How places are tried: beside runs, then over them."""
        return (True, False) if self.paths else (False,)


def draw_over(level: Level, paths: Sequence[Path], there: Taken | None = None) -> str:
    """Runs alone, on a sheet that lies over the one of the level: what changes while a run is drawn. `there`: what
    `taken` says of the level, among which its letters find room."""
    d = _Drawing(level, paths, there)
    crossings.bands(d)
    crossings.runs(d, crossings.take(d))
    return str(d.svg.tostring())


def taken(level: Level) -> Taken:
    """Where something is drawn on the level, before any run."""
    return _drawn(level, ()).taken


def draw(level: Level) -> str:
    """The level as one SVG, which says in which parts it is printed."""
    d = _drawn(level, level.paths)
    parts.tell(d, _named(level), _SMALLEST if all(one.order < 100 for one in level.copies) else _SMALL_RING)
    return str(d.svg.tostring())


def _named(level: Level) -> str:
    """A name of its own in a page that has several pictures."""
    drawn = repr([level.name, [one.start for one in level.copies], [(path.points, path.name) for path in level.paths]])
    return f"plan-{zlib.crc32(drawn.encode()):08x}"


def _drawn(level: Level, paths: Sequence[Path]) -> _Drawing:
    """What has its place takes it first, then letters of crossings, which none is left without, numbers and names."""
    d = _Drawing(level, paths)
    crossings.bands(d)
    frame(d)
    _walls(d)
    _take_copies(d)
    letters = crossings.take(d)
    for one in d.level.copies:
        _copy(d, one)
    crossings.runs(d, letters)
    _names(d)
    return d


def _walls(d: _Drawing) -> None:
    for wall in d.level.walls:
        points = [d.paper.at(point) for point in wall.points]
        line = d.svg.polyline(points, fill="none", stroke="currentColor", stroke_width=6, opacity=0.32, class_="wall")
        line.set_desc(title=clean(wall.label, 60))
        d.add(line)
        for a, b in itertools.pairwise(points):
            d.taken.line(a, b, 6)


def _take_copies(d: _Drawing) -> None:
    for one in d.level.copies:
        a, b = d.paper.at(one.start), d.paper.at(one.end)
        d.taken.line(a, b, 1.6)
        if one.hurt:
            x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
            d.taken.add((x - 8, y - 8, x + 8, y + 8))
        d.taken.add((a[0] - 3.4, a[1] - 3.4, a[0] + 3.4, a[1] + 3.4))
        for opening in one.openings:
            d.taken.line(_along(one, opening.start, d.paper), _along(one, opening.end, d.paper), 8)


def _copy(d: _Drawing, one: CopyLine) -> None:
    a, b = d.paper.at(one.start), d.paper.at(one.end)
    group = d.svg.a(one.href, target="_self") if one.href else d.svg.g()
    if one.href:
        group.attribs["tabindex"] = "-1"  # the list below has every mark, and keys don't walk through hundreds
        group.attribs["aria-label"] = clean(one.said, 120)
    group.attribs["class"] = "copy" if one.chosen else "copy aside"
    d.add(group)
    group.add(d.svg.line(a, b, stroke="transparent", stroke_width=_ROOM))
    dash = {} if one.solid else {"stroke_dasharray": "7 4"}
    look = {"stroke": "currentColor", "stroke_width": 1.6 if one.chosen else 0.7, "class_": "line", **dash}
    group.add(d.svg.line(a, b, **look))
    ink = {"fill": "currentColor" if one.sealed else "#fff", "stroke": "currentColor", "stroke_width": 1.8}
    sign = d.svg.rect((a[0] - 3.1, a[1] - 3.1), (6.2, 6.2), **ink) if one.behind else d.svg.circle(a, 2.9, **ink)
    sign["class"] = " ".join(("end", *(("behind",) if one.behind else ()), *(() if one.sealed else ("unsealed",))))
    group.add(sign)
    if one.hurt:
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        cross = f"M{x - 7:.1f} {y - 7:.1f}l14 14m0 -14l-14 14"
        group.add(d.svg.path(cross, stroke="currentColor", stroke_width=3, fill="none", class_="hurt"))
    for opening in one.openings:
        ends = [_along(one, place, d.paper) for place in (opening.start, opening.end)]
        group.add(d.svg.line(*ends, stroke="#6b2d82", stroke_width=7, class_="opening-on-plan"))
    upright = a[0] == b[0]
    number = str(one.number)
    off = (width_of(number, _NUMBER) if upright else _NUMBER * 1.15) / 2 + 4
    own = (at for at in _beside(a, b, upright, off) if d.copies.own(at, (a, b)))
    d.first_free(number, own, _NUMBER, into=group)
    rings = [at for at in _beside(b, a, upright, _RING + 2.85) if d.copies.own(at, (a, b))]
    ring = next((at for clear in d.clear for at in rings if _ring_free(d, at, clear)), None)
    if ring:
        x, y = ring
        d.taken.add((x - _RING, y - _RING, x + _RING, y + _RING))
        group.add(d.svg.circle(ring, _RING, fill="none", stroke="currentColor", stroke_width=0.8))
        d.draw_text(str(one.order), ring, _SMALLEST if one.order < 100 else _SMALL_RING, into=group)


def _ring_free(d: _Drawing, at: Point, clear: bool) -> bool:
    x, y = at
    return d.free((x - _RING, y - _RING, x + _RING, y + _RING), clear=clear)


def _beside(end: Point, other: Point, upright: bool, off: float) -> Iterator[Point]:
    """Places `off` a line near one of its ends, farther in and then on its other side."""
    length = math.dist(end, other)
    for aside in (off, -off):
        for inward in (14, 22, 30, 36, 46, 62, 90, 120, 160):
            if inward < length * 0.6:
                t = inward / length
                x, y = end[0] + (other[0] - end[0]) * t, end[1] + (other[1] - end[1]) * t
                yield (x + aside, y) if upright else (x, y - aside)


def _along(one: CopyLine, place: float, sheet: Paper) -> Point:
    length = math.dist(one.start, one.end) or 1.0
    (ax, ay), (bx, by) = one.start, one.end
    return sheet.at((ax + (bx - ax) * place / length, ay + (by - ay) * place / length))


def _names(d: _Drawing) -> None:
    """Each row's mark in a bay of it, the middle one first; walls' names beside them."""
    for _, row in itertools.groupby(d.level.copies, key=lambda one: (one.mark, one.start[0] == one.end[0])):
        copies = list(row)
        middle = len(copies) // 2
        for one in sorted(copies, key=lambda one: abs(copies.index(one) - middle)):
            a, b = d.paper.at(one.start), d.paper.at(one.end)
            upright = a[0] == b[0]
            places = [
                (x + aside, y) if upright else (x, y - aside)
                for aside in (_ROOM / 2, -_ROOM / 2)
                for t in (0.5, 0.4, 0.6, 0.3, 0.7)
                for x, y in [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)]
            ]
            if d.first_free(clean(one.mark, 12), places, _MARK, turned=upright, font_weight="700"):
                break
    for wall in d.level.walls:
        for a, b in itertools.pairwise([d.paper.at(point) for point in wall.points]):
            upright = abs(a[0] - b[0]) < abs(a[1] - b[1])
            places = [
                (x + aside, y) if upright else (x, y + aside)
                for t in (0.5, 0.3, 0.7)
                for aside in (-14, 14, -26, 26)
                for x, y in [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)]
            ]
            words = clean(wall.label, 34)
            if width_of(words, _NUMBER) + 8 < math.dist(a, b) and d.first_free(words, places, _NUMBER, turned=upright):
                break
