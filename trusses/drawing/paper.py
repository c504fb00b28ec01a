"""The sheet that a drawing is made on: its mapping from inches, its pens, and the strokes that everything is made of.

Only presentation attributes are written, never `style`: pages are served with a policy that forbids inline styles.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import svgwrite
from svgwrite.base import BaseElement, Desc, Title
from svgwrite.container import Group

from trusses.analysis.words.refusal import Refusal
from trusses.drawing import pens as P
from trusses.drawing.pens import Pens
from trusses.drawing.placing import Bounds, Room, Taken, box
from trusses.drawing.text import NAME_LETTERS, clean

Point = tuple[float, float]
_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")


class DrawingError(Refusal):
    """What was asked can't be drawn."""


@dataclass(frozen=True)
class View:
    """Inches to user units: u = x0 + scale·x, v = y0 - scale·y."""

    scale: float
    x0: float
    y0: float

    def at(self, point: Point) -> Point:
        return (self.x0 + self.scale * point[0], self.y0 - self.scale * point[1])


@dataclass(frozen=True)
class Label:
    """A label where it stands: what it takes of the room, which members it is about, and how it is drawn on another
    paper where something else needs its place."""

    element: BaseElement
    taken: tuple[Taken, ...]
    about: frozenset[str]
    again: Callable[[Paper], None]


class Paper:
    """One drawing in the making."""

    def __init__(self, view: View, pens: Pens, width: float, prefix: str) -> None:
        if not _PREFIX.fullmatch(prefix):
            raise DrawingError("drawing-prefix")
        self.view, self.pens, self.width, self.prefix = view, pens, width, prefix
        self.svg = svgwrite.Drawing(debug=False, size=("100%", "100%"))
        self.room = Room(width)
        self.legend: list[str] = []
        self.labels: list[Label] = []
        self.cut_out: Bounds | None = None
        """What is shown of the whole, where that is only a part."""
        self.shallow = False
        """Whether the truss is too low on a small drawing for names between its chords: they stand in rows."""

    def id(self, name: str) -> str:
        return f"{self.prefix}-{name}"

    def url(self, name: str) -> str:
        return f"url(#{self.id(name)})"

    def explain(self, key: str) -> None:
        """Asks for a line in the legend."""
        if key not in self.legend:
            self.legend.append(key)

    def stands(
        self,
        element: BaseElement,
        again: Callable[[Paper], None],
        about: Collection[str] = (),
        taken: tuple[Taken, ...] | None = None,
    ) -> None:
        """Notes a label: the one that the room placed last, unless what it takes is given."""
        self.labels.append(Label(element, self.room.settled if taken is None else taken, frozenset(about), again))

    def group(self, kind: str, parent: BaseElement | None = None, label: str = "", **extra: Any) -> Group:
        group = self.svg.g(class_=kind, **extra)
        if label:
            group["role"] = "group"
            group["aria-label"] = label
        (parent or self.svg).add(group)
        return group

    def title(self, element: BaseElement, text: str) -> None:
        element.add(Title(text))

    def describe(self, title: str, desc: str) -> None:
        """What a screen reader says of the whole drawing."""
        heading, words = Title(title), Desc(desc)
        heading.xml.set("id", self.id("title"))
        words.xml.set("id", self.id("desc"))
        self.svg.elements[1:1] = [heading, words]
        self.svg["role"] = "img"
        self.svg["aria-labelledby"] = f"{self.id('title')} {self.id('desc')}"

    def shows(self, corners: Iterable[Point], beyond: float = 0.0) -> bool:
        """Whether anything between corners, or `beyond` user units around them, may be within what is cut out."""
        if self.cut_out is None:
            return True
        left, top, right, bottom = self.cut_out
        us, vs = zip(*corners, strict=True)
        across = max(us) + beyond > left and min(us) - beyond < right
        return across and max(vs) + beyond > top and min(vs) - beyond < bottom

    def seen(self, a: Point, b: Point) -> tuple[Point, Point] | None:
        """The part of a line between two points (inches) that the drawing shows, in user units; None where none is."""
        (ax, ay), (bx, by) = self.view.at(a), self.view.at(b)
        start, stop = 0.0, 1.0
        room = self.room
        for at, along, low, high in ((ax, bx - ax, room.left, room.right), (ay, by - ay, room.ceiling, room.floor)):
            if abs(along) < 1e-9:
                if not low <= at <= high:
                    return None
                continue
            first, last = sorted(((low - at) / along, (high - at) / along))
            start, stop = max(start, first), min(stop, last)
        if start >= stop:
            return None
        return (ax + (bx - ax) * start, ay + (by - ay) * start), (ax + (bx - ax) * stop, ay + (by - ay) * stop)

    def narrow(self, **extra: Any) -> dict[str, Any]:
        """A narrow line's attributes."""
        return {"stroke": P.INK, "stroke_width": self.pens.narrow} | extra

    def wide(self, times: float = 1.0, **extra: Any) -> dict[str, Any]:
        """A wide line's attributes, `times` as wide."""
        return {"stroke": P.INK, "stroke_width": number(self.pens.wide * times)} | extra

    def extension(self) -> dict[str, Any]:
        """An extension line's attributes."""
        return {"stroke": P.INK, "stroke_opacity": P.FAINT, "stroke_width": number(self.pens.narrow * 0.8)}

    def tick(self, parent: BaseElement, at: Point) -> None:
        """The oblique stroke at the end of a dimension."""
        (u, v), t = at, self.pens.tick
        self.line(parent, (u - t, v + t), (u + t, v - t), class_="tick", **self.wide())

    def polygon(self, parent: BaseElement, points: Iterable[Point], **extra: Any) -> BaseElement:
        element = self.svg.path(d=_path(points) + "Z", **extra)
        parent.add(element)
        return element

    def polyline(self, parent: BaseElement, *lines: Sequence[Point], **extra: Any) -> BaseElement:
        element = self.svg.path(d="".join(_path(line) for line in lines), **({"fill": "none"} | extra))
        parent.add(element)
        return element

    def line(self, parent: BaseElement, start: Point, end: Point, **extra: Any) -> BaseElement:
        return self.polyline(parent, (start, end), **extra)

    def circle(self, parent: BaseElement, at: Point, radius: float, **extra: Any) -> BaseElement:
        element = self.svg.circle(center=_rounded(at), r=number(radius), **extra)
        parent.add(element)
        return element

    def text(
        self,
        parent: BaseElement,
        words: str,
        at: Point,
        *,
        size: float | None = None,
        anchor: str = "middle",
        turned: float = 0.0,
        kind: str = "",
        **extra: Any,
    ) -> BaseElement:
        """`words`, cleaned, vertically centred on `at`; `turned` radians, clockwise on the screen."""
        size = size or self.pens.small
        x, y = at
        if turned:
            extra["transform"] = f"rotate({number(math.degrees(turned))} {number(x)} {number(y)})"
        if kind:
            extra["class_"] = kind
        place = _rounded((x, y + size * 0.35))
        element = self.svg.text(clean(words, NAME_LETTERS), insert=place, font_size=number(size), **extra)
        if anchor != "start":
            element["text-anchor"] = anchor
        parent.add(element)
        return element

    def backing(self, parent: BaseElement, at: Point, width: float, height: float, **extra: Any) -> BaseElement:
        """Bare paper behind a label that stands on a line."""
        return self.polygon(parent, box(*at, width, height), **({"class_": "paper", "fill": P.PAPER} | extra))


def number(value: float) -> float | int:
    """Two decimals are a hundredth of a pixel; a whole number is written without a point."""
    rounded = round(float(value), 2)
    return int(rounded) if rounded == int(rounded) else rounded


def _rounded(point: Point) -> tuple[float, float]:
    return (number(point[0]), number(point[1]))


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{number(x)},{number(y)}" for x, y in points)
