"""Dimension lines below a truss (ISO 129-1): oblique strokes at the ends, numbers above the line, feet and inches.

From the wood outward: openings from the face of the nearest bearing, each by its name, the shortest first so that no
extension line crosses a shorter dimension; panel points as a running line from the left bearing; bearings and overhangs
as a chain; the overall length.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import pairwise

from svgwrite.container import Group

from trusses.analysis.words.lengths import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.arrows import tip
from trusses.drawing.bearings import ground_level
from trusses.drawing.borne import Load
from trusses.drawing.measures import SAME_IN, reach, wood_at
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper, Point, number
from trusses.drawing.placing import box
from trusses.drawing.shape import Gap, Shape
from trusses.drawing.taped import Taped
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

MOST_DIMENSIONED = 4  # openings; more would be a thicket, and the title of each still says where it is

_HANGS = 1.5  # of the letters' size: what stands under a dimension line, led to it, where there is no room above


@dataclass(frozen=True)
class Part:
    """One distance on a line of dimensions, between two places in inches; `word` is dropped where room is short."""

    start: float
    end: float
    word: str = ""
    letter: str = ""
    inches: float | None = None
    """Its length where that isn't measured level, as along a sloping chord."""

    @property
    def number(self) -> str:
        length = feet_inches(abs(self.end - self.start) if self.inches is None else self.inches)
        return f"{self.letter} {length}".lstrip()

    @property
    def text(self) -> str:
        return f"{self.number} {self.word}".rstrip()


@dataclass(frozen=True)
class Tier:
    """One line of dimensions: a chain of distances, or running ones that all start at the first part's start."""

    kind: str
    parts: tuple[Part, ...]
    running: bool = False
    opening: str = ""
    face: float = 0.0
    target: float = 0.0
    """Of an opening's: the face of the bearing that it is measured from, and how far right of its centre it is measured
    to; inches."""
    theirs: bool = False

    @property
    def length(self) -> float:
        return max(part.end for part in self.parts) - min(part.start for part in self.parts)


def dimensioned(gaps: Sequence[Gap], *, brief: bool) -> list[Gap]:
    """The openings whose places are told: those that are asked for first, those of other requests last; these not at
    all where there is little room."""
    told = [gap for gap in gaps if not (brief and gap.theirs)]
    return sorted(told, key=lambda gap: (not gap.asked, gap.theirs))[:MOST_DIMENSIONED]


def tiers(shape: Shape, gaps: list[Gap], *, brief: bool, taped: Sequence[Taped] = ()) -> list[Tier]:
    """The lines below a truss, the nearest first; `brief` leaves out panel points and the overall length. What is
    `taped` stands in place of the panel points, which no tape can reach."""
    found = [tier for gap in dimensioned(gaps, brief=brief) if (tier := _opening(shape, gap)) is not None]
    found += [_taped(one) for one in taped if one.kind == "along"]
    found.sort(key=lambda tier: tier.length)
    if not brief and not taped:
        found += _panel_points(shape)
    held = [support.at[0] for support in shape.held_up]
    if not held:
        return found
    xs = [x for x, _ in shape.joints.values()]
    tails = (min(xs) < held[0] - SAME_IN, max(xs) > held[-1] + SAME_IN)
    points = [*([min(xs)] if tails[0] else []), *held, *([max(xs)] if tails[1] else [])]
    between = "span" if len(held) == 2 else ""
    chain = [Part(a, b, between if a in held and b in held else "overhang") for a, b in pairwise(points)]
    if chain:
        found.append(Tier("dim-bearings", tuple(chain)))
    if any(tails) and not brief:
        found.append(Tier("dim-overall", (Part(min(xs), max(xs), "overall"),)))
    return found


def _opening(shape: Shape, gap: Gap) -> Tier | None:
    tape = reach(shape, gap)
    if tape is None:
        return None
    parts = [Part(min(tape.face, tape.target), max(tape.face, tape.target))]
    if not gap.round:
        parts.append(Part(gap.left, gap.right))
    target = tape.target - gap.centre[0]
    ordered = tuple(sorted(parts, key=lambda part: part.start))
    return Tier("dim-opening", ordered, opening=gap.id, face=tape.face, target=target, theirs=gap.theirs)


def _taped(one: Taped) -> Tier:
    start, end = sorted((one.start[0], one.end[0]))
    return Tier("dim-taped", (Part(start, end, letter=one.letter, inches=one.inches),))


def _panel_points(shape: Shape) -> list[Tier]:
    """Running distances of the bottom chord's joints (or the only chord's) from the left bearing's centre."""
    names = {name for piece in shape.chords("bottom_chord") or shape.chords("top_chord") for name in piece.joints}
    xs = sorted({round(shape.joints[name][0], 4) for name in names})
    held = [support.at[0] for support in shape.held_up]
    if not xs or not held or all(any(abs(x - h) <= SAME_IN for h in held) for x in xs):
        return []
    parts = tuple(Part(held[0], x) for x in xs if abs(x - held[0]) > SAME_IN)
    return [Tier("dim-panels", parts, running=True)]


class Below:
    """The tiers under the truss, drawn one after another; extension lines once, as long as the farthest needs."""

    def __init__(self, paper: Paper, shape: Shape, outlines: dict[str, Outline], gaps: list[Gap], top: float) -> None:
        self.paper, self.shape, self.outlines, self.gaps = paper, shape, outlines, gaps
        self.level = top
        self.size = paper.pens.small
        self.extensions: dict[float, float] = {}
        self._starts: dict[float, float] = {}
        self._loads: Sequence[Load] = ()
        self._numbers: list[tuple[float, float]] = []
        """From where to where the numbers of the last tier run."""
        self._hangs = 0.0
        """How far below its line the numbers of the last tier reach."""

    def lay_tape(self, taped: Sequence[Taped]) -> None:
        """Extension lines of what a tape checks begin at the edges of wood that it is laid to."""
        for x, y in (end for one in taped if one.kind == "along" for end in (one.start, one.end)):
            at_wall = any(abs(x - held.at[0]) <= held.width / 2 + 1e-3 for held in self.shape.held_up)
            if not at_wall:
                self._starts[x] = self.paper.view.at((x, y))[1]

    def clear_arrows(self, loads: Sequence[Load]) -> None:
        """Extension lines begin below what hangs."""
        self._loads = loads

    def keep_clear(self, shown: list[Tier], *, later: bool = False) -> None:
        """Takes the room of the extension lines and of the tiers, before labels are placed; `later`: more come."""
        if shown or later:
            top = self.level + self.paper.pens.tier - self.size * 1.3
            self.paper.room.floor = top
        for x in {x for tier in shown for part in tier.parts for x in (part.start, part.end)}:
            u, start = self._u(x), self._start(x)
            end = max(start, self.level) + self.paper.pens.tier
            self.paper.room.take(box(u, (start + end) / 2, 3, end - start))

    def draw(self, shown: list[Tier]) -> float:
        """All of `shown`; returns the lowest level that they reach."""
        layer = self.paper.group("dims", label="Dimensions in feet and inches", stroke_width=self.paper.pens.narrow)
        behind = self.paper.group("extensions", layer)
        for tier in shown:
            self._tier(layer, tier)
        parts = [part for tier in shown if not tier.opening for part in tier.parts]
        others = {round(x, 4) for part in parts for x in (part.start, part.end)}
        self._extend(behind, others, "extension")
        self._extend(behind, self.extensions.keys() - others, "extension of-opening")  # hidden while that is dragged
        return self.level

    def _extend(self, behind: Group, xs: Collection[float], class_: str) -> None:
        lines = [
            ((self._u(x), self._start(x)), (self._u(x), level + self.paper.pens.tick * 1.6))
            for x, level in sorted(self.extensions.items())
            if x in xs
        ]
        if lines:
            self.paper.polyline(behind, *lines, class_=class_, **self.paper.extension())

    def _u(self, x: float) -> float:
        return self.paper.view.at((x, 0.0))[0]

    def _tier(self, layer: Group, tier: Tier) -> None:
        self.level += self._high(tier)
        self._numbers = []
        group = self.paper.group(f"dim {tier.kind}", layer)
        if tier.opening:
            group["data-for"] = clean(tier.opening, NAME_LETTERS)
            group["data-face"], group["data-target"] = number(tier.face), number(tier.target)
            group["data-level"] = number(self.level)
        if tier.running:
            self._running(group, tier, self._upright(tier))
        else:
            self._chain(layer, group, tier)
        for part in tier.parts:
            self.extensions[round(part.start, 4)] = self.extensions[round(part.end, 4)] = self.level
        self.level += self._hangs
        self._hangs = 0.0

    def _high(self, tier: Tier) -> float:
        longest = max(width_of(part.text, self.size) for part in tier.parts)
        return longest + self.size * 0.9 if self._upright(tier) else self.paper.pens.tier

    def _upright(self, tier: Tier) -> bool:
        """Whether running numbers must stand on end, since one is wider than its panel."""
        if not tier.running:
            return False
        xs = sorted({x for part in tier.parts for x in (part.start, part.end)})
        room = {end: (end - start) * self.paper.view.scale for start, end in pairwise(xs)}
        return any(width_of(part.text, self.size) + 6 > room.get(part.end, math.inf) for part in tier.parts)

    def _running(self, group: Group, tier: Tier, upright: bool) -> None:
        """Each distance counts from one origin, marked with a ring; its number stands before its own stroke."""
        paper, size = self.paper, self.size
        origin = self._u(tier.parts[0].start)
        us = [self._u(part.end) for part in tier.parts]
        paper.line(group, (min(origin, *us), self.level), (max(origin, *us), self.level), stroke=P.INK)
        paper.circle(group, (origin, self.level), paper.pens.tick * 0.75, fill=P.PAPER, class_="paper", stroke=P.INK)
        for u, part in zip(us, tier.parts, strict=True):
            paper.tick(group, (u, self.level))
            if upright:
                at = (u - size * 0.62, self.level - width_of(part.text, size) / 2 - 3)
                paper.text(group, part.text, at, turned=-math.pi / 2, fill=P.INK, kind="dim-text")
            else:
                anchor, off = ("end", -4) if u >= origin else ("start", 4)
                at = (u + off, self.level - size * 0.72)
                paper.text(group, part.text, at, anchor=anchor, fill=P.INK, kind="dim-text")

    def _chain(self, layer: Group, group: Group, tier: Tier) -> None:
        ends = {self._u(x) for part in tier.parts for x in (part.start, part.end)}
        if tier.opening and self._crowded(tier):
            self._in_one(group, tier, min(ends), max(ends))
        else:
            for i, part in enumerate(tier.parts):
                sides = (i == 0, i == len(tier.parts) - 1)
                self._distance(group, part, self._u(part.start), self._u(part.end), sides)
        if tier.opening:
            self._name(layer, tier)
        for u in sorted(ends):
            self.paper.tick(group, (u, self.level))

    def _crowded(self, tier: Tier) -> bool:
        """Whether the last of several numbers is wider than its distance, with no room to the right of that."""
        last = tier.parts[-1]
        start, end, wide = self._u(last.start), self._u(last.end), width_of(last.number, self.size)
        return len(tier.parts) > 1 and wide + 6 > end - start and end + wide + 9 >= self.paper.width

    def _in_one(self, group: Group, tier: Tier, u: float, w: float) -> None:
        """The numbers of a short chain before it, in its order."""
        self.paper.line(group, (u - 5, self.level), (w, self.level), stroke=P.INK)
        text, at = " + ".join(part.number for part in tier.parts), (u - 7, self.level - self.size * 0.72)
        self._number(group, text, at, "end")

    def _number(self, group: Group, text: str, at: Point, anchor: str) -> None:
        """On bare paper, so that no extension line runs through it."""
        wide = width_of(text, self.size)
        middle = at[0] + {"start": wide / 2, "end": -wide / 2}.get(anchor, 0.0)
        self._numbers.append((middle - wide / 2, middle + wide / 2))
        self.paper.backing(group, (middle, at[1] - self.size * 0.03), wide, self.size)
        self.paper.text(group, text, at, anchor=anchor, fill=P.INK, kind="dim-text")

    def _name(self, layer: Group, tier: Tier) -> None:
        """What the opening is called: before a number of its chain, or beside the chain, else under its line."""
        size, name = self.size, clean(tier.opening, TAG_LETTERS)
        wide = width_of(name, size) * 1.1
        ends = sorted({self._u(x) for part in tier.parts for x in (part.start, part.end)})
        rights = [start - 6 for start, _ in self._numbers] + [
            ends[0] - 8,
            max(ends[-1], *(end for _, end in self._numbers)) + 8 + wide,
        ]
        for right in rights:
            left = right - wide
            apart = all(right + 4 <= start or end + 4 <= left for start, end in self._numbers)
            if apart and left > 2 and right < self.paper.width - 2 and not any(left - 3 < u < right + 3 for u in ends):
                at = ((left + right) / 2, self.level - size * 0.72)
                break
        else:
            middle = (ends[0] + ends[-1]) / 2
            at = min(max(middle, wide / 2 + 3), self.paper.width - wide / 2 - 3), self.level + size * 1.15
            self._hangs = max(self._hangs, size * 1.2)
        tone = P.TONE_THEIRS if tier.theirs else P.TONE_OPENING
        group = self.paper.group(f"dim-names {tone['class_']}", layer, color=tone["color"])
        group["data-for"] = clean(tier.opening, NAME_LETTERS)
        self.paper.backing(group, at, wide, size)
        self.paper.text(group, name, at, fill=P.INK, font_weight="600", kind="dim-name")

    def _distance(self, group: Group, part: Part, u: float, w: float, sides: tuple[bool, bool]) -> None:
        """One distance of a chain: its number between its ends; where that is too narrow beside them, on the side where
        nothing follows (`sides`: the chain begins, ends with it), else under the line, led to it."""
        size = self.size
        text = part.text if width_of(part.text, size) + 6 <= w - u else part.number
        wide = width_of(text, size)
        at, anchor, end = (u + w) / 2, "middle", w
        row = self.level - size * 0.72
        if wide + 6 > w - u:
            if sides[1] and w + wide + 9 < self.paper.width:
                at, anchor, end = w + 7, "start", w + 5
            elif sides[0] and u - wide - 9 > 0:
                at, anchor = u - 7, "end"
            else:
                at = min(max(at, wide / 2 + 3), self.paper.width - wide / 2 - 3)
                row, self._hangs = self.level + size * _HANGS, size * _HANGS
                lead = ((u + w) / 2, self.level), (at, row - size * 0.6)
                self.paper.line(group, *lead, class_="leader", **self.paper.narrow())
        self.paper.line(group, (u, self.level), (end, self.level), stroke=P.INK)
        self._number(group, text, (at, row), anchor)

    def _start(self, x: float) -> float:
        """Where the extension line of `x` leaves the wood, a bearing or an opening."""
        if x not in self._starts:
            hung = tip(self.paper, self._loads, x)
            self._starts[x] = max(self._leaves(x), hung if hung is not None else -math.inf)
        return self._starts[x]

    def _leaves(self, x: float) -> float:
        space = self.size * 0.35
        for gap in self.gaps:
            if any(abs(x - edge) < 1e-3 for edge in ((gap.centre[0],) if gap.round else (gap.left, gap.right))):
                return self.paper.view.at((x, gap.bottom - gap.clearance))[1] + space
        for support in self.shape.held_up:
            if abs(x - support.at[0]) <= support.width / 2 + 1e-3:
                return ground_level(self.paper, self.shape, support) + self.size * 0.7
        low = wood_at(self.outlines, x)
        return (self.paper.view.at((x, low[0]))[1] if low else self.level) + space
