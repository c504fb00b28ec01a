"""Lines of the roof trusses of the trade: one function a shape, from checked parameters to a Skeleton.

Coordinates are centrelines: y = 0 is the bottom chord's at the left bearing, x = 0 the left bearing joint. With a
plain heel the two chords' centrelines cross in the bearing joint (t0, at the right the last t); with a raised heel
the bottom chord ends in b0 below t0, with a web between them and one from t0 to the first panel point of the bottom
chord, so that the heel holds its shape. Tails run on straight from the top chord to tl and tr.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from trusses.analysis.shapes.skeleton import Point, ShapeError, Skeleton, mirrored, sixteenth, spread, symmetric

Values = Mapping[str, Any]
Height = Callable[[float], float]
_PANEL_IN = 84.0  # 7 ft: about what a 2x4 top chord carries between panel points under ordinary loads


def _level(x: float) -> float:
    return 0.0


class _Roof:
    """A roof truss in the making: the top chord, then the bottom chord, then the webs between them."""

    def __init__(self, values: Values, heel: float) -> None:
        self.values = values
        self.span: float = values["span"]
        self.slope: float = (values.get("pitch") or 0.0) / 12
        self.heel = heel
        self.lines = Skeleton()
        self.tops: list[str] = []
        self.bottoms: list[str] = []

    @property
    def raised(self) -> bool:
        return self.heel > 0

    def gable(self, half: Sequence[float]) -> None:
        """Top chord up to a peak and down again, with panel points at `half` (heel to peak) and their mirror images."""
        xs = mirrored(half, self.span)
        self.top(xs, lambda x: self.slope * min(x, self.span - x), breaks=[len(half) - 1])

    def top(self, xs: Sequence[float], height: Height, breaks: Sequence[int] = ()) -> None:
        """Top chord through `xs`, hinged at the panel points numbered in `breaks`; with the tails asked for."""
        lines = self.lines
        self.tops = [lines.add(f"t{i}", x, self.heel + height(x)) for i, x in enumerate(xs)]
        runs = [self.tops[a : b + 1] for a, b in itertools.pairwise([0, *breaks, len(xs) - 1])]
        if tail := _tail(self.values, "left"):
            runs[0].insert(0, lines.add("tl", -tail, self.heel - tail * self.slope))
        if tail := _tail(self.values, "right"):
            runs[-1].append(lines.add("tr", self.span + tail, self.heel - tail * self.slope))
        lines.top = runs
        lines.whole = {self.tops[0], self.tops[-1]}  # a tail is held by the chord that runs on over the bearing

    def bottom(self, xs: Sequence[float], height: Height = _level, own_end: bool = False) -> None:
        """Bottom chord through the inner panel points `xs`, hinged where its line breaks.

        `own_end`: the right end is no heel (a mono truss), so the chord has a joint of its own there.
        """
        lines = self.lines
        left = lines.add("b0", 0, 0) if self.raised else self.tops[0]
        inner = [lines.add(f"b{i}", x, height(x)) for i, x in enumerate(xs, 1)]
        own_end = own_end or self.raised
        right = lines.add(f"b{len(xs) + 1}", self.span, height(self.span)) if own_end else self.tops[-1]
        self.bottoms = [left, *inner, right]
        lines.bearings = (left, right)
        runs = [[left]]
        for before, name, after in zip(self.bottoms, inner, self.bottoms[2:], strict=False):
            runs[-1].append(name)
            if _bends(lines.joints[before], lines.joints[name], lines.joints[after]):
                runs.append([name])
        runs[-1].append(right)
        lines.bottom = runs

    def web(self, *joints: str) -> None:
        """Webs from joint to joint along the path that `joints` names."""
        self.lines.webs += itertools.pairwise(joints)

    def zigzag(self) -> Skeleton:
        """Webs up and down between the chords, panel point by panel point."""
        if self.raised:
            self.web(*_alternating(self.bottoms, self.tops))
        elif self.bottoms[-1] == self.tops[-1]:
            self.web(*_alternating(self.tops[1:-1], self.bottoms[1:-1]))
        else:
            self.web(*_alternating(self.tops[1:], self.bottoms[1:]))
        return self.lines

    def posts(self, falling: bool) -> Skeleton:
        """A vertical web at each panel point; the diagonals of the left half fall to the middle, or rise to it."""
        last = len(self.tops) - 1
        for i, (top, bottom) in enumerate(zip(self.tops, self.bottoms, strict=True)):
            if top == bottom:
                continue
            self.web(bottom, top)
            if i < last and self.tops[i + 1] != self.bottoms[i + 1]:
                falls = falling == (i + 1 <= last / 2)
                self.web(*((top, self.bottoms[i + 1]) if falls else (bottom, self.tops[i + 1])))
        return self.lines


def king_post(values: Values) -> Skeleton:
    roof = _roof(values)
    roof.gable([0, roof.span / 2])
    roof.bottom([roof.span / 2])
    return roof.posts(falling=True)


def queen_post(values: Values) -> Skeleton:
    """Two posts and a straining beam between their heads; the middle panel is open, and its chords bend for it."""
    roof = _roof(values)
    third = sixteenth(roof.span / 3)
    roof.gable([0, third, roof.span / 2])
    roof.bottom([third, roof.span - third])
    tops, bottoms = roof.tops, roof.bottoms
    if roof.raised:
        roof.web(bottoms[0], tops[0], bottoms[1])
        roof.web(bottoms[3], tops[4], bottoms[2])
    roof.web(bottoms[1], tops[1], tops[3], bottoms[2])
    roof.lines.whole |= {bottoms[1], tops[1], tops[3], bottoms[2]}
    return roof.lines


def fink(values: Values, panels_a_side: int) -> Skeleton:
    """W (two panels a side) and double W (three): the bottom chord has one panel less than the top chord."""
    roof = _roof(values)
    roof.gable(spread(0, roof.span / 2, panels_a_side))
    parts = 2 * panels_a_side - 1
    feet = [sixteenth(roof.span * i / parts) for i in range(1, panels_a_side)]
    if roof.raised:
        feet.insert(0, sixteenth(roof.span / panels_a_side / 4))
    roof.bottom([*feet, *(roof.span - x for x in reversed(feet))])
    return roof.zigzag()


def fan(values: Values) -> Skeleton:
    """Three webs spread from each third point of the bottom chord."""
    roof = _roof(values)
    roof.gable(spread(0, roof.span / 2, 3))
    feet = [sixteenth(roof.span / 3)]
    if roof.raised:
        feet.insert(0, sixteenth(roof.span / 12))
    roof.bottom([*feet, *(roof.span - x for x in reversed(feet))])
    for tops, bottoms in ((roof.tops, roof.bottoms), (roof.tops[::-1], roof.bottoms[::-1])):
        if roof.raised:
            roof.web(bottoms[0], tops[0], bottoms[1], tops[1])
        for top in tops[1:4]:
            roof.web(bottoms[len(feet)], top)
    return roof.lines


def howe(values: Values, falling: bool = True) -> Skeleton:
    """Posts with diagonals that fall to the middle, in compression; with `falling` False the Pratt's, in tension."""
    roof = _roof(values)
    half = spread(0, roof.span / 2, _even_panels(values, 4) // 2)
    roof.gable(half)
    roof.bottom(mirrored(half, roof.span)[1:-1])
    return roof.posts(falling)


def pratt(values: Values) -> Skeleton:
    return howe(values, falling=False)


def scissors(values: Values) -> Skeleton:
    """A bottom chord that rises to the middle at its own pitch; posts, and diagonals that fall to the middle."""
    inner = _bottom_slope(values)
    roof = _roof(values, inner)
    half = spread(0, roof.span / 2, _even_panels(values, 4) // 2)
    roof.gable(half)
    roof.bottom(mirrored(half, roof.span)[1:-1], lambda x: inner * min(x, roof.span - x))
    return roof.posts(falling=True)


def cambered(values: Values) -> Skeleton:
    """A bottom chord that rises at its own pitch to a level middle part."""
    inner, level = _bottom_slope(values), values["level"]
    roof = _roof(values, inner)
    if level > roof.span - 48:
        raise ShapeError("shape-level-part", "level", level_in=level, span_in=roof.span)
    edge = sixteenth((roof.span - level) / 2)
    outer = max(1, math.ceil(edge / _PANEL_IN))
    half = [*spread(0, edge, outer)[:-1], *spread(edge, roof.span / 2, max(1, math.ceil(level / 2 / _PANEL_IN)))]
    roof.gable(half)
    roof.bottom(mirrored(half, roof.span)[1:-1], lambda x: inner * min(x, roof.span - x, edge))
    return roof.posts(falling=True)


def mono(values: Values) -> Skeleton:
    """One slope up to a vertical end at the right bearing."""
    roof = _roof(values)
    panels = values.get("panels") or max(2, math.ceil(roof.span / _PANEL_IN))
    roof.top(spread(0, roof.span, panels), lambda x: roof.slope * x)
    feet = [sixteenth(roof.span * 2 * i / (2 * panels - 1)) for i in range(1, panels)]
    if roof.raised:
        feet.insert(0, sixteenth(roof.span / panels / 2))
    roof.bottom(feet, own_end=True)
    return roof.zigzag()


def hip(values: Values) -> Skeleton:
    """Up to the setback, level, and down again; webs in a zigzag."""
    roof = _roof(values)
    setback, level = values["setback"], roof.span - 2 * values["setback"]
    if level < 24:
        raise ShapeError("shape-setback", "setback", setback_in=setback, level_in=max(level, 0), span_in=roof.span)
    slopes = max(1, math.ceil(setback / _PANEL_IN))
    levels = values.get("panels") or max(1, math.ceil(level / _PANEL_IN))
    rising = spread(0, setback, slopes)[:-1]
    xs = symmetric([*rising, *spread(setback, roof.span - setback, levels), *rising], roof.span)
    roof.top(xs, lambda x: roof.slope * min(x, setback, roof.span - x), breaks=[slopes, slopes + levels])
    inner = xs if roof.raised else xs[1:-1]
    roof.bottom(symmetric([sixteenth((a + b) / 2) for a, b in itertools.pairwise(inner)], roof.span))
    return roof.zigzag()


def flat(values: Values) -> Skeleton:
    """Level parallel chords on edge, posts, and diagonals that fall to the middle, in tension."""
    heel = values["depth"] - (values["top_depth"] + values["bottom_depth"]) / 2
    if heel < 4:
        raise ShapeError("shape-depth", "depth", depth_in=values["depth"])
    roof = _Roof(values, heel)
    xs = mirrored(spread(0, roof.span / 2, _even_panels(values, 4, panel=60.0) // 2), roof.span)
    roof.top(xs, _level)
    roof.bottom(xs[1:-1])
    return roof.posts(falling=True)


def heel_rise(values: Values, slope: float, bottom_slope: float = 0.0) -> float:
    """Inches between the chords' centrelines above the bearing: 0 for a plain heel, where they cross.

    A heel's height is measured as built: from the underside of the bottom chord to the top of the top chord, plumb.
    """
    height = values.get("heel_height")
    if not height:
        return 0.0
    depths = values["top_depth"] * math.hypot(1, slope) + values["bottom_depth"] * math.hypot(1, bottom_slope)
    if height < depths - 1e-9:
        chords = math.ceil(depths * 16) / 16
        raise ShapeError("shape-heel-height", "heel_height", height_in=height, chords_in=chords)
    return float(height - depths / 2)


def _roof(values: Values, bottom_slope: float = 0.0) -> _Roof:
    return _Roof(values, heel_rise(values, values["pitch"] / 12, bottom_slope))


def _tail(values: Values, side: str) -> float:
    tail = float(values.get(f"overhang_{side}") or 0.0)
    if 0 < tail < 1:
        raise ShapeError("shape-overhang", f"overhang_{side}", side=side)
    return tail


def _even_panels(values: Values, least: int, panel: float = _PANEL_IN) -> int:
    """Panels of the top chord from heel to heel: what was asked for, or enough of about `panel` inches."""
    asked = values.get("panels")
    if asked is None:
        return max(least, 2 * math.ceil(values["span"] / 2 / panel))
    if asked % 2 or asked < least:
        raise ShapeError("shape-panels", "panels", panels=asked, least=least)
    return int(asked)


def _bottom_slope(values: Values) -> float:
    if values["bottom_pitch"] > values["pitch"] - 1:
        raise ShapeError("shape-bottom-pitch", "bottom_pitch", bottom=values["bottom_pitch"], top=values["pitch"])
    return float(values["bottom_pitch"] / 12)


def _alternating(first: Sequence[str], second: Sequence[str]) -> list[str]:
    pairs = itertools.zip_longest(first, second)
    return [name for pair in pairs for name in pair if name is not None]


def _bends(a: Point, b: Point, c: Point) -> bool:
    across = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    return abs(across) > 1e-3 * math.dist(a, b) * math.dist(b, c)
