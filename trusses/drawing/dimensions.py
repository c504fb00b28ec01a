"""Dimension lines (ISO 129-1): oblique strokes at the ends, numbers above the line, in feet and inches.

Below the truss, from the wood outward: openings from the face of the nearest bearing, panel points as a running line
from the left bearing, bearings and overhangs as a chain, the overall length. Beside it: the heights.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

from svgwrite.container import Group

from trusses.analysis.units import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.bearings import ground_level, seat
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper
from trusses.drawing.placing import box
from trusses.drawing.shape import Gap, Shape, Support
from trusses.drawing.text import NAME_LETTERS, clean, width_of

_MOST_DIMENSIONED = 4
_SAME_IN = 1 / 32


@dataclass
class Tier:
    """One line of dimensions below the truss: pairs of x in inches with what is written between them."""

    kind: str
    parts: list[tuple[float, float, str]]
    running: bool = False
    opening: str | None = None
    marks: list[float] = field(default_factory=list)


@dataclass(frozen=True)
class Reach:
    """Where the tape starts and where it ends, along the span: the face of a bearing to an edge or the centre."""

    support: Support
    face: float
    target: float
    to_centre: bool

    @property
    def distance(self) -> float:
        return abs(self.target - self.face)


def reach(shape: Shape, gap: Gap) -> Reach | None:
    """An opening from the face of the nearest bearing: to a round one's centre, to the near edge of any other."""
    found = []
    for support in shape.held_up:
        right = gap.centre[0] >= support.at[0]
        face = support.at[0] + (support.width / 2 if right else -support.width / 2)
        near = gap.left if right else gap.right
        target = gap.centre[0] if gap.round else near
        clear = (near - face) if right else (face - near)
        found.append((clear < 0, abs(clear), Reach(support, face, target, gap.round)))
    return min(found, key=lambda item: item[:2])[2] if found else None


def tiers(shape: Shape, gaps: list[Gap], *, phone: bool) -> list[Tier]:
    found = [tier for gap in gaps[:_MOST_DIMENSIONED] if (tier := _opening_tier(shape, gap)) is not None]
    if not phone:
        found += _panel_points(shape)
    found += _bearings(shape)
    ends = sorted(x for x, _ in shape.joints.values())
    held = [s.at[0] for s in shape.held_up]
    if held and not phone and (ends[0] < held[0] - _SAME_IN or ends[-1] > held[-1] + _SAME_IN):
        found.append(Tier("overall", [(ends[0], ends[-1], f"{feet_inches(ends[-1] - ends[0])} overall")]))
    return found


def _opening_tier(shape: Shape, gap: Gap) -> Tier | None:
    tape = reach(shape, gap)
    if tape is None:
        return None
    parts = [(tape.face, tape.target, feet_inches(tape.distance))]
    if not gap.round:
        parts.append((gap.left, gap.right, feet_inches(gap.width)))
    return Tier("dim-opening", sorted(parts, key=lambda part: min(part[:2])), opening=gap.id)


def _panel_points(shape: Shape) -> list[Tier]:
    """Running distances of the bottom chord's joints (or the only chord's) from the left bearing's centre."""
    names = {name for piece in shape.chords("bottom_chord") or shape.chords("top_chord") for name in piece.joints}
    xs = sorted({round(shape.joints[name][0], 4) for name in names})
    origin = shape.held_up[0].at[0] if shape.held_up else xs[0]
    inner = [x for x in xs if all(abs(x - s.at[0]) > _SAME_IN for s in shape.held_up)]
    if not inner:
        return []
    return [Tier("dim-panels", [(origin, x, feet_inches(x - origin)) for x in xs if abs(x - origin) > _SAME_IN], True)]


def _bearings(shape: Shape) -> list[Tier]:
    held = [s.at[0] for s in shape.held_up]
    xs = sorted(x for x, _ in shape.joints.values())
    points = [xs[0]] * (bool(held) and xs[0] < held[0] - _SAME_IN) + held
    points += [xs[-1]] * (bool(held) and xs[-1] > held[-1] + _SAME_IN)
    parts = []
    for start, end in itertools.pairwise(points):
        inside = start in held and end in held
        word = " span" if inside and len(held) == 2 else "" if inside else " overhang"
        parts.append((start, end, feet_inches(end - start) + word))
    return [Tier("dim-bearings", parts)] if parts else []


class Below:
    """The tiers under the truss, drawn one after another; extension lines once, as long as the farthest needs."""

    def __init__(self, paper: Paper, shape: Shape, outlines: dict[str, Outline], top: float) -> None:
        self.paper, self.shape, self.outlines = paper, shape, outlines
        self.layer = paper.group("dims", label="Dimensions in feet and inches", stroke_width=paper.pens.narrow)
        self.level = top
        self.extensions: dict[float, float] = {}

    def keep_clear(self, shown: list[Tier], gaps: list[Gap]) -> None:
        """Takes the room of the extension lines, before labels are placed."""
        for x in {x for tier in shown for part in tier.parts for x in part[:2]}:
            u, start = self.paper.view.at((x, 0))[0], self._start(x, gaps)
            end = max(start, self.level) + self.paper.pens.tier
            self.paper.room.take(box(u, (start + end) / 2, 3, end - start))

    def draw(self, tier: Tier) -> None:
        paper, size = self.paper, self.paper.pens.small
        texts = [text for _, _, text in tier.parts]
        upright = tier.running and self._crowded(tier)
        self.level += max(width_of(t, size) for t in texts) + size * 0.9 if upright else paper.pens.tier
        group = paper.group(f"dim {tier.kind}", self.layer)
        if tier.opening is not None:
            group["data-for"] = clean(tier.opening, NAME_LETTERS)
        if tier.running:
            self._running(group, tier, upright)
        else:
            self._chain(group, tier)
        for start, end, _ in tier.parts:
            for x in (start, end):
                self.extensions[round(x, 4)] = self.level

    def _crowded(self, tier: Tier) -> bool:
        xs = sorted({x for part in tier.parts for x in part[:2]})
        room = {end: end - start for start, end in itertools.pairwise(xs)}
        size = self.paper.pens.small
        return any(
            width_of(text, size) + 6 > room.get(x, math.inf) * self.paper.view.scale for _, x, text in tier.parts
        )

    def _running(self, group: Group, tier: Tier, upright: bool) -> None:
        paper, size = self.paper, self.paper.pens.small
        origin = paper.view.at((tier.parts[0][0], 0))[0]
        us = [paper.view.at((x, 0))[0] for _, x, _ in tier.parts]
        paper.line(group, (min(origin, *us), self.level), (max(origin, *us), self.level), stroke=P.INK)
        paper.circle(group, (origin, self.level), paper.pens.tick * 0.75, fill=P.PAPER, class_="paper", stroke=P.INK)
        for u, (_, _, text) in zip(us, tier.parts, strict=True):
            self._tick(group, u)
            if upright:
                at = (u - size * 0.62, self.level - width_of(text, size) / 2 - 3)
                paper.text(group, text, at, turned=-math.pi / 2, fill=P.INK, kind="dim-text")
            else:
                anchor, off = ("end", -4) if u >= origin else ("start", 4)
                paper.text(group, text, (u + off, self.level - size * 0.72), anchor=anchor, fill=P.INK, kind="dim-text")

    def _chain(self, group: Group, tier: Tier) -> None:
        paper, size = self.paper, self.paper.pens.small
        drawn: list[float] = []
        for i, (start, end, text) in enumerate(tier.parts):
            u, w = sorted((paper.view.at((start, 0))[0], paper.view.at((end, 0))[0]))
            wide = width_of(text, size)
            middle, anchor, line_end = (u + w) / 2, "middle", w
            if wide + 6 > w - u:
                if " " in text and text.rsplit(" ", 1)[1] in {"overhang", "overall", "span"}:
                    text = text.rsplit(" ", 1)[0]
                    wide = width_of(text, size)
                if wide + 6 > w - u:  # beside the line, on the side where nothing follows
                    last = i == len(tier.parts) - 1
                    middle, anchor = (w + 7, "start") if last else (u - 7, "end")
                    if middle + wide > paper.width - 2 and last:
                        middle, anchor = u - 7, "end"
                    line_end = w + 5 if last else w
            paper.line(group, (u, self.level), (line_end, self.level), stroke=P.INK)
            paper.text(group, text, (middle, self.level - size * 0.72), anchor=anchor, fill=P.INK, kind="dim-text")
            drawn += [u, w]
        for u in sorted(set(drawn)):
            self._tick(group, u)

    def _tick(self, group: Group, u: float) -> None:
        tick = self.paper.pens.tick
        self.paper.line(
            group,
            (u - tick, self.level + tick),
            (u + tick, self.level - tick),
            class_="tick",
            stroke=P.INK,
            stroke_width=self.paper.pens.wide,
        )

    def finish(self, gaps: list[Gap]) -> float:
        """Extension lines, from the wood or the bearing down; returns the lowest level reached."""
        lines = []
        for x, level in sorted(self.extensions.items()):
            u = self.paper.view.at((x, 0))[0]
            lines.append(((u, self._start(x, gaps)), (u, level + self.paper.pens.tick * 1.6)))
        if lines:
            self.paper.polyline(
                self.layer,
                *lines,
                class_="extension",
                stroke=P.INK,
                stroke_opacity=0.6,
                stroke_width=self.paper.pens.narrow * 0.8,
            )
        return self.level

    def _start(self, x: float, gaps: list[Gap]) -> float:
        space = self.paper.pens.small * 0.35
        for gap in gaps:
            if any(abs(x - edge) < 1e-3 for edge in ((gap.centre[0],) if gap.round else (gap.left, gap.right))):
                return self.paper.view.at((x, gap.bottom - gap.clearance))[1] + space
        for support in self.shape.held_up:
            if abs(x - support.at[0]) <= support.width / 2 + 1e-3:
                return ground_level(self.paper, self.shape, support) + self.paper.pens.small * 0.7
        low = wood_at(self.outlines, x)
        return (self.paper.view.at((x, low[0]))[1] if low else self.level) + space


def wood_at(outlines: dict[str, Outline], x: float) -> tuple[float, float] | None:
    """The lowest and the highest wood on a plumb line at `x`, inches."""
    ys: list[float] = []
    for outline in outlines.values():
        corners = outline.corners
        for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True):
            if min(ax, bx) - 1e-9 <= x <= max(ax, bx) + 1e-9:
                ys += [ay, by] if abs(bx - ax) < 1e-9 else [ay + (by - ay) * (x - ax) / (bx - ax)]
    return (min(ys), max(ys)) if ys else None


def heights(shape: Shape, outlines: dict[str, Outline]) -> tuple[float, float, list[tuple[Support, float]]]:
    """Base and top of the truss (inches), and for each end bearing the height of wood above it at its outer face."""
    chords = {name: outlines[name] for name, piece in shape.pieces.items() if not piece.is_web} or outlines
    top = max(y for outline in chords.values() for _, y in outline.corners)
    low = [
        y for name, outline in chords.items() if shape.pieces[name].role == "bottom_chord" for _, y in outline.corners
    ]
    base = min(low or [y for outline in chords.values() for _, y in outline.corners])
    seats = [seat(shape, support) for support in shape.held_up]
    if seats and abs(min(seats) - base) < max(piece.depth for piece in shape.pieces.values()):
        base = min(seats)
    ends = []
    for support, outward in zip(shape.held_up[:: max(1, len(shape.held_up) - 1)], (-1, 1), strict=False):
        wood = wood_at(chords, support.at[0] + outward * (support.width / 2 - 1e-6))
        if wood is not None:
            ends.append((support, wood[1]))
    return base, top, ends


def draw_heights(paper: Paper, shape: Shape, outlines: dict[str, Outline], left: float, right: float) -> None:
    """Heel heights at the sides, the overall height at the right; `left` and `right` end the wood, inches."""
    base, top, ends = heights(shape, outlines)
    layer = paper.group("dim-heights", label="Heights", stroke_width=paper.pens.narrow)
    shown: list[float] = []
    right_heel = False
    inner = paper.pens.small * 2.0
    for (support, high), side in zip(ends, (-1, 1), strict=False):
        level = seat(shape, support)
        if abs(high - level - (top - base)) < _SAME_IN or any(abs(high - level - h) < _SAME_IN for h in shown):
            continue
        shown.append(high - level)
        right_heel = right_heel or side > 0
        edge = paper.view.at((left if side < 0 else right, 0))[0]
        face = support.at[0] + side * support.width / 2
        _vertical(paper, layer, edge + side * inner, face, (level, high), side, "heel")
    edge = paper.view.at((right, 0))[0]
    offset = inner + (paper.pens.small * 4.4 if right_heel else 0)
    peak = max((x for o in outlines.values() for x, y in o.corners if y > top - 1e-6), default=right)
    _vertical(paper, layer, edge + offset, peak, (base, top), 1, "height", low_from=right)


def _vertical(
    paper: Paper, layer: Group, u: float, x: float, levels: tuple[float, float], side: int, kind: str,
    low_from: float | None = None,
) -> None:  # fmt: skip
    """A vertical dimension line at `u`, extended from `x` inches; its number is turned along it where it fits."""
    size, tick = paper.pens.small, paper.pens.tick
    (from_u, low), (_, high) = paper.view.at((x, levels[0])), paper.view.at((x, levels[1]))
    low_u = from_u if low_from is None else paper.view.at((low_from, 0))[0]
    text = feet_inches(levels[1] - levels[0])
    group = paper.group(f"dim dim-{kind}", layer)
    extensions = [((start + side * 5, v), (u + side * tick * 1.6, v)) for start, v in ((low_u, low), (from_u, high))]
    for start, end in extensions:
        paper.room.take(box((start[0] + end[0]) / 2, start[1], abs(end[0] - start[0]), 3))
    paper.polyline(
        group, *extensions, class_="extension", stroke=P.INK, stroke_opacity=0.6, stroke_width=paper.pens.narrow * 0.8
    )
    paper.line(group, (u, low), (u, high), stroke=P.INK)
    for v in (low, high):
        paper.line(
            group, (u - tick, v + tick), (u + tick, v - tick), class_="tick", stroke=P.INK, stroke_width=paper.pens.wide
        )
    if low - high > width_of(text, size) + 8:
        at = (u - size * 0.72, (low + high) / 2)
        paper.text(group, text, at, turned=-math.pi / 2, fill=P.INK, kind="dim-text")
        paper.room.take(box(*at, size, width_of(text, size)))
    else:
        at = (u + side * 7, (low + high) / 2)
        paper.text(group, text, at, anchor="start" if side > 0 else "end", fill=P.INK, kind="dim-text")
        paper.room.take(box(at[0] + side * width_of(text, size) / 2, at[1], width_of(text, size), size))


def above_chord(shape: Shape, outlines: dict[str, Outline], gap: Gap) -> tuple[float, float] | None:
    """The bottom chord's upper face under an opening's centre, and from it to the opening (to a round one's centre).

    Inches; None where there is no bottom chord under it.
    """
    chords = {p.id: outlines[p.id] for p in shape.chords("bottom_chord")}
    wood = wood_at(chords, gap.centre[0])
    if wood is None:
        return None
    target = gap.centre[1] if gap.round else gap.bottom
    return wood[1], target - wood[1]


def draw_above_chord(paper: Paper, shape: Shape, outlines: dict[str, Outline], gaps: list[Gap]) -> None:
    """Each opening's height above the bottom chord, beside it."""
    layer = paper.group("dim-above-chord", label="Openings above the bottom chord", stroke_width=paper.pens.narrow)
    for gap in gaps[:_MOST_DIMENSIONED]:
        found = above_chord(shape, outlines, gap)
        if found is not None:
            _rise(paper, layer, gap, *found)


def _rise(paper: Paper, layer: Group, gap: Gap, face: float, distance: float) -> None:
    size, tick = paper.pens.small, paper.pens.tick
    text = feet_inches(distance)
    wide = width_of(text, size)
    target = face + distance
    grown = (gap.width / 2 + gap.clearance) * paper.view.scale
    centre, foot = paper.view.at((gap.centre[0], face))
    head = paper.view.at((0, target))[1]
    options = []
    for off in (12.0, 22.0, 34.0, 48.0):
        for side in (1, -1):
            u = centre + side * (grown + off)
            for along in (0.5, 0.2, 0.8):
                at = (
                    u + side * (wide / 2 + 6),
                    foot + (head - foot) * along - (0 if foot - head > size else size * 0.7),
                )
                options.append((box(*at, wide + 2, size), (u, side, at)))
    chosen = paper.room.first_free(options, None)
    u, side, at = chosen or options[0][1]
    group = paper.group("dim dim-opening", layer)
    group["data-for"] = clean(gap.id, NAME_LETTERS)
    edge = centre + (side * 8 if gap.round else side * gap.width / 2 * paper.view.scale + side * 4)
    for start, v in ((edge, head), (centre + side * (grown + 4), foot)):
        paper.line(
            group,
            (start, v),
            (u + side * tick * 1.6, v),
            class_="extension",
            stroke=P.INK,
            stroke_opacity=0.6,
            stroke_width=paper.pens.narrow * 0.8,
        )
    paper.line(group, (u, foot), (u, head), stroke=P.INK)
    for v in (foot, head):
        paper.line(
            group, (u - tick, v + tick), (u + tick, v - tick), class_="tick", stroke=P.INK, stroke_width=paper.pens.wide
        )
    paper.backing(group, at, wide, size)
    paper.text(group, text, at, fill=P.INK, kind="dim-text")
