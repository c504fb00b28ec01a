"""The key to the marks that a drawing uses, and only those."""

from __future__ import annotations

from collections.abc import Callable

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.forces import Force, draw_force
from trusses.drawing.paper import Paper, Point, View
from trusses.drawing.placing import box
from trusses.drawing.shape import Piece
from trusses.drawing.text import width_of

_WORDS = {
    "opening": "clear opening",
    "ask": "opening as asked",
    "clearance": "clearance around it",
    "touched": "✕ in the way of an opening",
    "added": "+ added",
    "changed": "△ changed",
    "removed": "taken out",
    "moved-from": "where it was",
    "restraint": "row of lateral restraint",
    "joint": "panel point",
    "hinge": "panel point, pinned",
    "tension": "pulled: tension (T)",
    "compression": "pushed: compression (C)",
    "both": "pulled or pushed, by load",
    "unloaded": "no force",
}
_ORDER = tuple(_WORDS)
_WIDE = {"joint": 0.8, "hinge": 0.8, "restraint": 1.4, "tension": 4.2, "compression": 4.2, "both": 5.4}
_NOT_ON_PHONE = {"joint", "hinge", "restraint"}


def draw_legend(paper: Paper, top: float, notes: list[str]) -> float:
    """The key in rows from `top` down; returns where it ends."""
    keys = [key for key in _ORDER if key in paper.legend]
    if paper.pens.detail == "phone":
        keys = [key for key in keys if key not in _NOT_ON_PHONE]
    if not keys and not notes:
        return top
    size, left = paper.pens.small, paper.pens.margin
    notes = [line for note in notes for line in _wrapped(note, paper.width - 2 * left, size)]
    layer = paper.group("legend", label="Key")
    u, v = left, top + size
    for key in keys:
        sample = size * _WIDE.get(key, 2.6)
        wide = sample + 7 + width_of(_WORDS[key], size) + size * 1.5
        if u > left and u + wide > paper.width - left:
            u, v = left, v + size * 1.75
        item = paper.group(f"key key-{key}", layer)
        _sample(paper, item, key, (u, v), sample)
        paper.text(item, _WORDS[key], (u + sample + 7, v), anchor="start", fill=P.INK)
        u += wide
    for note in notes:
        u, v = left, v + (size * 1.55 if keys or note is not notes[0] else 0)
        paper.text(layer, note, (u, v), anchor="start", fill=P.INK, kind="note")
    return v + size


def _wrapped(words: str, wide: float, size: float) -> list[str]:
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, size) <= wide:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _sample(paper: Paper, item: Group, key: str, at: Point, wide: float) -> None:
    u, v = at
    high = paper.pens.small * 0.72
    corners = box(u + wide / 2, v, wide, high)
    ends = ((u, v), (u + wide, v))
    draw: dict[str, Callable[[], object]] = {
        "opening": lambda: paper.polygon(item, corners, fill=P.OPENING, fill_opacity=0.08, stroke=P.OPENING,
                                         class_="opening-key", stroke_width=paper.pens.wide * 1.25),
        "ask": lambda: paper.polygon(item, corners, fill=P.OPENING, fill_opacity=0.08, stroke=P.OPENING,
                                     class_="opening-key", stroke_width=paper.pens.wide * 1.25, stroke_dasharray="7 3"),
        "clearance": lambda: paper.polygon(item, corners, fill=paper.url("hatch"), stroke=P.OPENING,
                                           class_="opening-key", stroke_width=paper.pens.narrow, stroke_dasharray=P.CLEAR),
        "removed": lambda: _ghost(paper, item, corners),
        "moved-from": lambda: _ghost(paper, item, corners),
        "restraint": lambda: _crossed(paper, item, (u + wide / 2, v), high),
        "joint": lambda: paper.circle(item, (u + wide / 2, v), paper.pens.wide * 1.15, fill=P.INK),
        "hinge": lambda: paper.circle(item, (u + wide / 2, v), paper.pens.wide * 2, fill=P.PAPER, class_="paper",
                                      stroke=P.INK, stroke_width=paper.pens.narrow),
    }  # fmt: skip
    if key in draw:
        draw[key]()
    elif key == "touched":
        paper.polygon(item, corners, fill=P.MARKER, stroke=P.INK, class_="marked", stroke_width=paper.pens.wide)
    elif key in {"added", "changed"}:
        paper.polygon(item, corners, fill=P.MARKER, stroke=P.INK, class_="marked", stroke_width=paper.pens.wide * 1.7)
    else:
        _force_sample(paper, item, key, ends)


def _ghost(paper: Paper, item: Group, corners: tuple[Point, ...]) -> None:
    paper.polygon(
        item,
        corners,
        fill="none",
        stroke=P.INK,
        stroke_opacity=0.55,
        stroke_width=paper.pens.narrow,
        stroke_dasharray=P.GHOST,
    )


def _crossed(paper: Paper, item: Group, at: Point, high: float) -> None:
    corners = box(*at, high * 1.7, high)
    paper.polygon(item, corners, fill=P.PAPER, class_="paper", stroke=P.INK, stroke_width=paper.pens.narrow)
    paper.polyline(
        item, (corners[0], corners[2]), (corners[1], corners[3]), stroke=P.INK, stroke_width=paper.pens.narrow
    )


def _force_sample(paper: Paper, item: Group, key: str, ends: tuple[Point, Point]) -> None:
    """A member of the drawing in small, drawn by the same hand."""
    force = {
        "tension": Force(1, 0),
        "compression": Force(0, 1),
        "both": Force(1, 1, reverses=True),
    }.get(key, Force(0, 0))
    (u, v), (w, _) = ends
    flat = View(1.0, 0.0, 0.0)
    piece = Piece(key, "web", ("", " "), (u, -v), (w, -v), 0.0, "", False)
    paper_view, paper.view = paper.view, flat
    draw_force(paper, item, piece, force if force.most < 1 else Force(*_lighter(force), force.reverses), 1.0)
    paper.view = paper_view


def _lighter(force: Force) -> tuple[float, float]:
    """A middling weight; what it stands for is the pattern."""
    return force.tension * 0.55, force.compression * 0.55
