"""The key to the marks that a drawing uses, and only those."""

from __future__ import annotations

from typing import Any

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.arrows import draw_arrow
from trusses.drawing.force_lines import draw_force
from trusses.drawing.forces import Force
from trusses.drawing.paper import Paper, Point, View
from trusses.drawing.placing import box
from trusses.drawing.shape import Piece
from trusses.drawing.text import width_of
from trusses.drawing.wood import draw_section, nowhere

_WORDS = {
    "opening": "clear opening",
    "ask": "opening as asked",
    "theirs": "asked for by another request",
    "clearance": "clearance around it",
    "clearance-theirs": "clearance around it",
    "bearing-asked": "bearing as asked",
    "bearing-moves": "bearing asked to move there",
    "bearing-gone": "bearing asked to be taken away",
    "largest": "largest circle",
    "free": "its middle may stand here",
    "load": "load, the way it acts",
    "weight": "weight as asked",
    "across": "beam or platform across trusses, seen in section, not to scale",
    "touched": "✕ in the way of an opening",
    "damaged": "✕ damaged",
    "added": "+ added",
    "changed": "△ changed",
    "removed": "taken out",
    "moved-from": "where it was",
    "restraint": "row of lateral restraint, seen in section",
    "restraint-nowhere": "row of lateral restraint without room",
    "joint": "panel point",
    "hinge": "panel point, pinned",
    "tension": "pulled: tension (T)",
    "compression": "pushed: compression (C)",
    "both": "pulled or pushed, by load",
    "unloaded": "no force",
}
_WIDE = {
    "load": 0.8,
    "weight": 0.8,
    "across": 1.0,
    "bearing-gone": 0.8,
    "theirs": 3.4,
    "joint": 0.8,
    "hinge": 0.8,
    "restraint": 1.7,
    "restraint-nowhere": 1.7,
    "tension": 4.2,
    "compression": 4.2,
    "both": 6.6,
}
_NOT_ON_PHONE = {"joint", "hinge", "restraint"}
_NOT_IN_BRIEF = _NOT_ON_PHONE | {"opening", "clearance"}
_FORCES = {
    "tension": Force(55, 0),
    "compression": Force(0, 55),
    "both": Force(40, 40, reverses=True),
    "unloaded": Force(0, 0),
}


def draw_legend(paper: Paper, top: float, notes: list[str], *, brief: bool = False) -> float:
    """The key in rows from `top` down, then the notes; returns where it ends. On a phone, and more so in `brief`,
    marks go without that every drawing has, or that are labelled in it."""
    unsaid = _NOT_IN_BRIEF if brief else _NOT_ON_PHONE if paper.pens.detail == "phone" else set()
    if "clearance" in paper.legend:
        unsaid = unsaid | {"clearance-theirs"}
    keys = [key for key in _WORDS if key in paper.legend and key not in unsaid]
    size, left = paper.pens.small, paper.pens.margin
    notes = [line for note in notes for line in _wrapped(note, paper.width - 2 * left, size)]
    if not keys and not notes:
        return top
    layer = paper.group("drawing-key", label="Key")
    u, v = left, top + size
    for key in keys:
        sample = size * _WIDE.get(key, 2.6)
        wide = sample + 7 + width_of(_WORDS[key], size) * 0.92 + size * 1.2
        if u > left and u + wide > paper.width:
            u, v = left, v + size * 1.75
        item = paper.group(f"drawing-key-{key}", layer)
        _sample(paper, item, key, (u, v), sample)
        paper.text(item, _WORDS[key], (u + sample + 7, v), anchor="start", fill=P.INK)
        u += wide
    for i, note in enumerate(notes):
        v += size * 1.6 if keys or i else 0
        paper.text(layer, note, (left, v), anchor="start", fill=P.INK, kind="drawing-note")
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
    if key in _FORCES:
        _force_sample(paper, item, _FORCES[key], at, wide)
    elif key in {"joint", "hinge"}:
        _joint_sample(paper, item, (u + wide / 2, v), hinged=key == "hinge")
    elif key in {"load", "weight"}:
        draw_arrow(paper, item, (u + wide / 2, v - paper.pens.small * 0.6), tall=1.2, asked=key == "weight")
    elif key == "bearing-gone":
        a, b, c, d = box(u + wide / 2, v, wide, high)
        paper.polyline(item, (a, c), (b, d), **P.TONE_OPENING, **paper.wide(1.4))
    elif key in {"across", "restraint"}:
        draw_section(paper, item, box(u + wide / 2, v, wide, high))
    else:
        paper.polygon(item, box(u + wide / 2, v, wide, high), **_swatch(paper, key))


def _swatch(paper: Paper, key: str) -> dict[str, Any]:
    tone = P.TONE_OPENING
    opening = {"fill": P.INK, "fill_opacity": 0.08} | tone | paper.wide(1.25)
    ghosts = {kind: {"fill": "none"} | paper.narrow(stroke_dasharray=dashes) for kind, dashes in P.GHOST.items()}
    marked = {"fill": P.MARKER, "class_": "marked"}
    clear = paper.narrow(stroke_dasharray=P.CLEAR)
    swatches: dict[str, dict[str, Any]] = {
        "opening": opening,
        "ask": opening | {"stroke_dasharray": P.ASKED},
        "theirs": opening | P.TONE_THEIRS | paper.wide(0.8, stroke_dasharray=P.OF_OTHERS),
        "clearance": {"fill": paper.url("hatch")} | tone | clear,
        "clearance-theirs": {"fill": paper.url("hatch-theirs")} | P.TONE_THEIRS | clear,
        **dict.fromkeys(
            ("bearing-asked", "bearing-moves"), {"fill": "none"} | tone | paper.wide(stroke_dasharray=P.ASKED)
        ),
        "restraint-nowhere": {"fill": "none"} | nowhere(paper),
        "largest": {"fill": "none"} | paper.narrow(stroke_dasharray=P.ASKED),
        "free": {"fill": paper.url("free")} | tone | paper.wide(0.8),
        "touched": marked | paper.wide(),
        "damaged": marked | paper.wide(),
        "added": marked | paper.wide(1.7),
        "changed": marked | paper.wide(1.7),
    } | ghosts
    return swatches[key]


def _joint_sample(paper: Paper, item: Group, at: Point, *, hinged: bool) -> None:
    if hinged:
        paper.circle(item, at, paper.pens.wide * 2, fill=P.PAPER, class_="paper", **paper.narrow())
    else:
        paper.circle(item, at, paper.pens.wide * 1.15, fill=P.INK)


def _force_sample(paper: Paper, item: Group, force: Force, at: Point, wide: float) -> None:
    """A member in small, drawn by the hand that draws the others."""
    u, v = at
    piece = Piece("", "web", ("", ""), (u, -v), (u + wide, -v), 0.0, "", False)
    view, paper.view = paper.view, View(1.0, 0.0, 0.0)
    draw_force(paper, item, piece, force, 100.0)
    paper.view = view
