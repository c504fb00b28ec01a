"""Plumb dimensions: the heels and the height of a truss beside it, openings above the bottom chord next to them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from svgwrite.container import Group

from trusses.analysis.words.lengths import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.dimensions import dimensioned
from trusses.drawing.measures import SAME_IN, Rise, heels, height, rise
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper, Point, number
from trusses.drawing.placing import Spot, around, box
from trusses.drawing.shape import Gap, Shape
from trusses.drawing.text import NAME_LETTERS, clean, width_of

RisePlace = tuple[float, int, Point, tuple[Point, Point] | None]  # its line, its number's side and centre, its leader

_RINGS = range(1, 25)
_MISLEADS = 2.0  # a leader over a dimension line


def draw_heights(
    paper: Paper, shape: Shape, outlines: dict[str, Outline], *, with_heels: bool = True, letter: str = ""
) -> None:
    """Heel heights over the outer faces of the end bearings, and the height of the whole at the right, with the
    `letter` by which a tape checks it."""
    layer = paper.group("dim-heights", label="Heights", stroke_width=paper.pens.narrow)
    base, top = height(shape, outlines)
    corners = [corner for outline in outlines.values() for corner in outline.corners]
    ends = {-1: min(x for x, _ in corners), 1: max(x for x, _ in corners)}
    inner = paper.pens.small * 2.0
    shown: list[float] = []
    offset = inner
    for support, side, seat, high in heels(shape, outlines) if with_heels else ():
        if any(abs(high - seat - other) < SAME_IN for other in (top - base, *shown)):
            continue
        shown.append(high - seat)
        face = paper.view.at((support.at[0] + side * support.width / 2, 0.0))[0]
        edge = paper.view.at((ends[side], 0.0))[0]
        _plumb(paper, layer, "heel", edge + side * inner, ((face, seat), (face, high)), side)
        offset += paper.pens.small * 2.6 if side > 0 else 0.0
    peak = max(x for x, y in corners if y > top - 1e-6)
    right = paper.view.at((ends[1], 0.0))[0]
    ends_at = ((right, base), (paper.view.at((peak, 0.0))[0], top))
    _plumb(paper, layer, "height", right + offset, ends_at, 1, letter)


def _plumb(
    paper: Paper,
    layer: Group,
    kind: str,
    u: float,
    ends: tuple[tuple[float, float], tuple[float, float]],
    side: int,
    letter: str = "",
) -> None:
    """A plumb dimension line at `u`; each end is its extension line's start (user units) and level (inches)."""
    size, tick = paper.pens.small, paper.pens.tick
    (low_u, low_y), (high_u, high_y) = ends
    low, high = paper.view.at((0.0, low_y))[1], paper.view.at((0.0, high_y))[1]
    group = paper.group(f"dim dim-{kind}", layer)
    lines = [((start + side * 5, v), (u + side * tick * 1.6, v)) for start, v in ((low_u, low), (high_u, high))]
    for start, end in lines:
        paper.room.take(box((start[0] + end[0]) / 2, start[1], abs(end[0] - start[0]), 3))
    paper.room.take(box(u, (low + high) / 2, 3, low - high + tick), wood=_MISLEADS)
    paper.polyline(group, *lines, class_="extension", **paper.extension())
    paper.line(group, (u, low), (u, high), stroke=P.INK)
    paper.tick(group, (u, low))
    paper.tick(group, (u, high))
    whole = f"{letter} {feet_inches(high_y - low_y)}".lstrip()
    # where the number has no room the letter alone leads to it in the list beside the drawing
    texts = [(text, _beside_line(text, size, (u, low, high), side)) for text in (whole, letter) if text]
    _write_height(paper, group, texts)


_Texts = list[tuple[str, list[tuple[Point, float]]]]


def _beside_line(text: str, size: float, line: tuple[float, float, float], side: int) -> list[tuple[Point, float]]:
    """Where a height's text may stand, and how it is turned: along its line, or above it where it is too short, or out
    beside it where wood is above. `line`: its place and both ends, user units."""
    u, low, high = line
    wide = width_of(text, size)
    spots = [] if low - high <= wide + 8 else [((u - size * 0.72, (low + high) / 2), -math.pi / 2)]
    spots += [((u + side * (size * 0.72 if spots else 0.0), high - size * 0.95), 0.0)]
    spots += [((u + side * off, high - size * 0.95), 0.0) for off in (wide * 0.3, wide / 2)]
    return spots + [((u + side * (wide / 2 + 4), low + size * drop), 0.0) for drop in (-0.6, 0.8, 1.6)]


def _write_height(paper: Paper, group: Group, texts: _Texts) -> None:
    """The first of these that finds room."""
    size = paper.pens.small
    for text, spots in texts:
        wide = width_of(text, size)
        found = paper.room.first_free(Spot(box(*at, wide, size, turned), (at, turned)) for at, turned in spots)
        if found is not None:
            at, turned = found
            words = paper.text(group, text, at, turned=turned, fill=P.INK, kind="dim-text")
            paper.stands(words, lambda other: _write_height(other, other.group("dim"), texts))
            return


def draw_rises(paper: Paper, shape: Shape, outlines: dict[str, Outline], gaps: list[Gap]) -> None:
    """Each opening's height above the bottom chord."""
    layer = paper.group("dim-rises", label="Openings above the bottom chord", stroke_width=paper.pens.narrow)
    for gap in dimensioned(gaps, brief=not paper.pens.dimensions):
        found = rise(shape, outlines, gap)
        if found is not None and _shown(paper, gap, found):
            _draw_rise(paper, layer, gap, found)


def _shown(paper: Paper, gap: Gap, found: Rise) -> bool:
    """Whether both ends are on the drawing: an enlarged detail leaves out what belongs to something beside it."""
    u = paper.view.at(gap.centre)[0]
    return all(paper.room.holds((u, paper.view.at((0.0, y))[1])) for y in (found.chord, found.target, gap.centre[1]))


def _above(found: Rise) -> str:
    """How far up from the chord's edge; what lies lower is said in words."""
    return f"{feet_inches(-found.distance)} into the chord" if found.distance < 0 else feet_inches(found.distance)


def _draw_rise(paper: Paper, layer: Group, gap: Gap, found: Rise) -> None:
    """Beside the opening over a level chord, under its centre over a sloping one."""
    size = paper.pens.small
    text = _above(found)
    foot, head = paper.view.at((0.0, found.chord))[1], paper.view.at((0.0, found.target))[1]
    wide = width_of(text, size) + 2
    places = _rise_places(paper, gap, found, wide, (foot, head))
    place = paper.room.first_free(spot for spot in places if _line_free(paper, spot.stands[0], (foot, head)))
    if place is None:
        return
    u, side, at, lead = place
    taken = (*paper.room.settled, paper.room.take(_line(paper, u, (foot, head)), wood=_MISLEADS))
    group = paper.group("dim dim-opening dim-rise", layer)
    group["data-for"] = clean(gap.id, NAME_LETTERS)
    group["data-foot"], group["data-slope"] = number(found.chord), round(found.slope, 4)
    group["data-target"] = number(found.target - gap.centre[1])
    group["data-aside"] = number(u - paper.view.at(gap.centre)[0])
    if found.level:
        centre = paper.view.at(gap.centre)[0]
        edge = gap.width / 2 * paper.view.scale
        starts = ((centre + side * (8 if gap.round else edge + 4), head), (centre + side * (edge + 8), foot))
        lines = [((start, v), (u + side * paper.pens.tick * 1.6, v)) for start, v in starts]
        paper.polyline(group, *lines, class_="extension", **paper.extension())
    paper.line(group, (u, foot), (u, head), stroke=P.INK)
    paper.tick(group, (u, foot))
    paper.tick(group, (u, head))
    if lead is not None:
        paper.line(group, *lead, class_="leader", **paper.extension())
    paper.text(group, text, at, fill=P.INK, kind="dim-text")
    paper.stands(group, lambda other: _draw_rise(other, other.group("dim-rises"), gap, found), taken=taken)


def _rise_places(
    paper: Paper, gap: Gap, found: Rise, wide: float, levels: tuple[float, float]
) -> Iterator[Spot[RisePlace]]:
    """Spots for the number, best first: beside its line, else led to it from the nearest place that is free."""
    foot, head = levels
    size = paper.pens.small
    centre = paper.view.at(gap.centre)[0]
    grown = (gap.width / 2 + gap.clearance) * paper.view.scale
    short = foot - head < size + 4
    shares = (0.5, 0.2, 0.8, 1.2, 1.5, -0.3)
    for aside in (0.0, 8.0, 20.0, 40.0, 70.0, 110.0):
        for off in (12.0, 22.0, 34.0, 48.0):
            for side in (1, -1):
                for share in shares:
                    v = foot + (head - foot) * share - (size * 0.7 if short and found.level else 0.0)
                    u = centre + (side * (grown + off) if found.level else 0.0)
                    beside = 6.0 if found.level else (grown if short else 0.0) + off - 6.0
                    at = (u + side * (beside + aside + wide / 2), v)
                    lead = _lead(u, side, at, wide, levels)
                    yield Spot(box(*at, wide, size), (u, side, at, lead), lead)
    middle = (foot + head) / 2
    lines = [(centre + (side * (grown + 12.0) if found.level else 0.0), side) for side in (1, -1)]
    led: list[Spot[RisePlace]] = []
    for spots in zip(*(around((u, middle), (wide, size), _RINGS, size * 0.7) for u, _ in lines), strict=True):
        for (u, side), (at, edge) in zip(lines, spots, strict=True):
            if not _on_its_line(paper, at, (wide, size), u, levels):
                lead = (edge, (u, middle))
                led.append(Spot(box(at[0], at[1], wide, size), (u, side, at, lead), lead))
    # a number on the far side of its opening is told from its line last of all
    yield from sorted(led, key=lambda spot: found.level and (spot.stands[2][0] - centre) * spot.stands[1] < 0)


def _line(paper: Paper, u: float, levels: tuple[float, float]) -> tuple[Point, ...]:
    """The dimension line with the strokes at its ends, which no name comes over."""
    (foot, head), tick = levels, paper.pens.tick
    return box(u, (foot + head) / 2, 2 * tick, abs(foot - head) + 2 * tick)


def _line_free(paper: Paper, u: float, levels: tuple[float, float]) -> bool:
    """Whether the dimension line would stand on the drawing and through no label that is there already."""
    return paper.room.holds((u, levels[0])) and not paper.room.lettered(_line(paper, u, levels))


def _on_its_line(paper: Paper, at: Point, extent: tuple[float, float], u: float, levels: tuple[float, float]) -> bool:
    """Whether a number would lie over its own dimension line or the strokes at the line's ends."""
    (wide, high), (foot, head), tick = extent, levels, paper.pens.tick
    return abs(at[0] - u) < wide / 2 + tick and head - tick - high / 2 < at[1] < foot + tick + high / 2


def _lead(u: float, side: int, at: Point, wide: float, levels: tuple[float, float]) -> tuple[Point, Point] | None:
    """From a number that had to stand aside to its dimension line."""
    if abs(at[0] - u) <= wide / 2 + 12:
        return None
    foot, head = levels
    return (at[0] - side * (wide / 2 + 2), at[1]), (u, min(max(at[1], head), foot))
