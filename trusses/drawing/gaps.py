"""Openings: the clear space, its clearance hatched around it, its name and size."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from svgwrite.base import BaseElement
from svgwrite.container import Group

from trusses.analysis.words.lengths import tape_inches
from trusses.drawing import pens as P
from trusses.drawing.paper import Paper, Point, number
from trusses.drawing.placing import Spot, around, box, edge_toward
from trusses.drawing.shape import Gap
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

Label = tuple[Point, list[str], tuple[Point, Point] | None]  # its centre, its lines, its leader

_LEADING = 1.25
_MISLEADS = 4.0  # a leader over another opening
_SIDES = 24  # of a ring, as names keep clear of it
_GRIP = 44.0  # what a thumb hits, CSS pixels


def define_hatch(paper: Paper, *, theirs: bool = False) -> None:
    """Diagonal strokes at a fixed distance on the paper, whatever the scale of the truss; once. `theirs`: in the tone
    of what another request asks for, the other way."""
    name = "hatch-theirs" if theirs else "hatch"
    if any(one["id"] == paper.id(name) for one in paper.svg.defs.elements):
        return
    tone = P.TONE_THEIRS if theirs else P.TONE_OPENING
    step = {"sheet": 5.0, "phone": 3.6, "thumb": 3.0}[paper.pens.detail]
    pattern = paper.svg.pattern(
        size=(step, step),
        id=paper.id(name),
        **tone,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(-45)" if theirs else "rotate(45)",
    )
    stroke = paper.svg.line((0, 0), (0, step), stroke=P.INK, stroke_width=step * 0.36)
    pattern.add(stroke)
    paper.svg.defs.add(pattern)


def draw_gaps(paper: Paper, gaps: list[Gap], fit: dict[str, bool]) -> None:
    """All openings; `fit` says of those that an analysis knows whether they fit."""
    if not gaps:
        return
    layer = paper.group("openings", label="Openings")
    for gap in gaps:
        _draw_gap(paper, layer, gap, fit.get(gap.id))


def _draw_gap(paper: Paper, layer: Group, gap: Gap, fits: bool | None) -> None:
    paper.explain("ask" if gap.asked else "theirs" if gap.theirs else "opening")
    verdict = {True: " fits", False: " blocked", None: ""}[fits]
    tone = toned(gap)
    group = paper.group(
        f"opening {tone['class_']}" + (" ask" if gap.asked else "") + verdict, layer, color=tone["color"]
    )
    for name, value in _data(gap).items():
        group[f"data-{name}"] = value
    paper.title(
        group, f"opening {clean(gap.id, TAG_LETTERS)}, {size_of(gap)}" + (f", {clean(gap.note)}" if gap.note else "")
    )
    if gap.clearance > 0:
        paper.explain("clearance" if not gap.theirs else "clearance-theirs")
        define_hatch(paper, theirs=gap.theirs)
        _draw_clearance(paper, group, gap)
    asked = {"stroke_dasharray": P.OF_OTHERS if gap.theirs else P.ASKED} if gap.asked or gap.theirs else {}
    edge = paper.wide(0.8 if gap.theirs else 1.25, class_="edge", fill=P.INK, fill_opacity=0.08, **asked)
    _outline(paper, group, gap, 0.0, **edge)
    if paper.pens.detail != "thumb":
        _draw_cross(paper, group, gap)
    _draw_grip(paper, group, gap)
    centre = paper.view.at(gap.centre)
    grown = 2 * gap.clearance
    scale = paper.view.scale
    wide, high = (gap.width + grown) * scale + 4, (gap.height + grown) * scale + 4
    paper.room.take(box(*centre, wide, high), f"gap {gap.id}", wood=_MISLEADS)
    for side in _rim(gap, centre, scale):
        paper.room.take(side)


def _rim(gap: Gap, centre: Point, scale: float) -> Iterator[tuple[Point, ...]]:
    """From the edge out to that of the clearance: what no name lies across, not even the opening's own."""
    thick = gap.clearance * scale + 2
    if gap.round:
        radius, turns = (gap.width + gap.clearance) / 2 * scale, [math.tau * i / _SIDES for i in range(_SIDES)]
        for turn in turns:
            at = centre[0] + radius * math.cos(turn), centre[1] + radius * math.sin(turn)
            yield box(*at, thick, math.tau * radius / _SIDES, turn)
        return
    wide, high = gap.width * scale, gap.height * scale
    for way in (-1, 1):
        yield box(centre[0] + way * (wide + gap.clearance * scale) / 2, centre[1], thick, high + 2 * thick)
        yield box(centre[0], centre[1] + way * (high + gap.clearance * scale) / 2, wide + 2 * thick, thick)


def toned(gap: Gap) -> dict[str, str]:
    """The class and the color of an opening and its words."""
    return P.TONE_THEIRS if gap.theirs else P.TONE_OPENING


def _data(gap: Gap) -> dict[str, str]:
    """What a script needs to move the opening and to ask whether it fits there: inches, as in the truss document."""
    sizes = {"diameter": gap.width} if gap.round else {"width": gap.width, "height": gap.height}
    lengths = {"centre-x": gap.centre[0], "centre-y": gap.centre[1], **sizes, "clearance": gap.clearance}
    kind = "circle" if gap.round else "rectangle"
    return {"opening": clean(gap.id, NAME_LETTERS), "shape": kind} | {
        name: f"{value:.10g}" for name, value in lengths.items()
    }


def size_of(gap: Gap, *, brief: bool = False) -> str:
    """``14" round``; ``24" wide × 12" high``, or in brief width before height."""
    if gap.round:
        return f"{tape_inches(gap.width)} round"
    if brief:
        return f"{tape_inches(gap.width)} × {tape_inches(gap.height)}"
    return f"{tape_inches(gap.width)} wide × {tape_inches(gap.height)} high"


def _outline(paper: Paper, group: BaseElement, gap: Gap, grow: float, **extra: object) -> None:
    """The shape, or the shape grown by `grow` inches with its corners rounded."""
    u, v = paper.view.at(gap.centre)
    scale = paper.view.scale
    if gap.round:
        paper.circle(group, (u, v), (gap.width / 2 + grow) * scale, **extra)
        return
    width, height = (gap.width + 2 * grow) * scale, (gap.height + 2 * grow) * scale
    corner = {"rx": number(grow * scale)} if grow else {}
    group.add(
        paper.svg.rect(
            (number(u - width / 2), number(v - height / 2)), (number(width), number(height)), **corner, **extra
        )
    )


def _draw_clearance(paper: Paper, group: Group, gap: Gap) -> None:
    """The band that must stay free around the opening, hatched: a line as wide as the clearance, and its outer edge."""
    hatch = paper.url("hatch-theirs" if gap.theirs else "hatch")
    band = {"stroke": hatch, "stroke_width": number(gap.clearance * paper.view.scale)}
    _outline(paper, group, gap, gap.clearance / 2, class_="clearance", fill="none", **band)
    edge = paper.narrow(stroke_dasharray=P.CLEAR)
    _outline(paper, group, gap, gap.clearance, class_="clearance-edge", fill="none", **edge)


def _draw_cross(paper: Paper, group: Group, gap: Gap) -> None:
    """Chain centrelines, so that a tape finds the middle."""
    u, v = paper.view.at(gap.centre)
    over = 4.0
    half_width, half_height = gap.width * paper.view.scale / 2 + over, gap.height * paper.view.scale / 2 + over
    paper.polyline(
        group, ((u - half_width, v), (u + half_width, v)), ((u, v - half_height), (u, v + half_height)),
        class_="centre", **paper.narrow(stroke_dasharray=P.CENTRE),
    )  # fmt: skip


def _draw_grip(paper: Paper, group: Group, gap: Gap) -> None:
    """An unseen surface that is large enough for a thumb."""
    u, v = paper.view.at(gap.centre)
    width = max(_GRIP, (gap.width + 2 * gap.clearance) * paper.view.scale)
    height = max(_GRIP, (gap.height + 2 * gap.clearance) * paper.view.scale)
    paper.polygon(group, box(u, v, width, height), class_="grip", fill=P.PAPER, fill_opacity=0, stroke="none")


def label_gaps(paper: Paper, gaps: list[Gap]) -> None:
    layer = paper.group("opening-labels")
    for gap in sorted(gaps, key=lambda gap: not gap.asked):
        if paper.cut_out is None or paper.room.holds(paper.view.at(gap.centre)):
            _label(paper, layer, gap)


def _label(paper: Paper, layer: Group, gap: Gap) -> None:
    """Name, size and clearance in the opening or near it; less where there is no room."""
    size, name = paper.pens.text, clean(gap.id, TAG_LETTERS)
    lines = [f"{name}  {size_of(gap, brief=True)}"]
    if gap.clearance and paper.pens.dimensions:
        lines.append(f"{tape_inches(gap.clearance)} clear all round")
    stacked = [name, size_of(gap, brief=True)]
    spots = itertools.chain(
        _inside(paper, gap, stacked),
        *(_spots(paper, gap, some, range(1, 12)) for some in (lines, lines[:1], stacked)),
        # between what was taken out, whose lines are there too
        _inside(paper, gap, [name], (0.0, 1.0, -1.0)),
        *(_spots(paper, gap, [name], range(12), step) for step in ((3.0, 8.0) if paper.cut_out else ())),
        *(_spots(paper, gap, some, range(12, 40)) for some in (stacked, [name])),
    )
    found = paper.room.first_free(spots, on=f"gap {gap.id}", beside=(f"gap {gap.id}",))
    if found is None:
        return
    (u, v), lines, leader = found
    tone = toned(gap)
    group = paper.group(f"opening-label {tone['class_']}", layer, color=tone["color"])
    group["data-for"] = clean(gap.id, NAME_LETTERS)
    if leader is not None:
        paper.line(group, *leader, class_="leader", **paper.narrow())
        paper.circle(group, leader[1], 1.8, fill=P.INK)
    else:
        paper.backing(group, (u, v), max(width_of(line, size) for line in lines), size * len(lines))
    for i, line in enumerate(lines):
        row = v + (i - (len(lines) - 1) / 2) * size * _LEADING
        paper.text(group, line, (u, row), size=size, fill=P.INK, font_weight="600" if i == 0 else "400")
    paper.stands(group, lambda other: label_gaps(other, [gap]))


def _inside(paper: Paper, gap: Gap, lines: list[str], aside: tuple[float, ...] = (0.0,)) -> Iterator[Spot[Label]]:
    """On the opening itself, where the lines fit into it; `aside` are shares of the way from its middle to its edge."""
    size, scale = paper.pens.text, paper.view.scale
    wide, high = max(width_of(line, size) for line in lines) + 4, size * _LEADING * len(lines)
    room = min(gap.width, gap.height) * 0.7 if gap.round else None
    if wide <= (room or gap.width) * scale and high <= (room or gap.height) * scale:
        u, v = paper.view.at(gap.centre)
        free_u, free_v = (gap.width * scale - wide) / 2, (gap.height * scale - high) / 2
        for du, dv in itertools.product(aside, aside) if not gap.round else [(0.0, 0.0)]:
            at = (u + du * free_u, v + dv * free_v)
            yield Spot(box(*at, wide, high), (at, lines, None))


def _spots(paper: Paper, gap: Gap, lines: list[str], steps: range, step: float = 8.0) -> Iterator[Spot[Label]]:
    """Where a label may stand around the opening and its clearance, nearest first, led to it."""
    size, scale = paper.pens.text, paper.view.scale
    extent = (max(width_of(line, size) for line in lines) + 6, size * _LEADING * len(lines) + 2)
    centre = paper.view.at(gap.centre)
    grown = (
        (gap.width + 2 * gap.clearance) * scale + extent[0],
        (gap.height + 2 * gap.clearance) * scale + extent[1],
    )
    for at, _ in around(centre, grown, steps, step):
        if not gap.round and all(abs(a - b) < apart / 2 for a, b, apart in zip(at, centre, grown, strict=True)):
            continue  # at a slant it would lie over a rectangle's corner
        leader = _leader(paper, gap, at, extent)
        yield Spot(box(*at, *extent), (at, lines, leader), leader)


def _leader(paper: Paper, gap: Gap, place: Point, extent: tuple[float, float]) -> tuple[Point, Point]:
    """From the label's edge to a point inside the opening."""
    u, v = paper.view.at(gap.centre)
    start = edge_toward(place, extent, (u, v))
    inside = min(gap.width, gap.height) / 2 * paper.view.scale * 0.7
    share = min(1.0, inside / max(math.dist(start, (u, v)), 1e-6))
    return start, (u + (start[0] - u) * share, v + (start[1] - v) * share)
