"""Members, joints and rows of lateral restraint on the drawing."""

from __future__ import annotations

import math
from typing import Any

from svgwrite.base import BaseElement
from svgwrite.container import Group

from trusses.analysis.units import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.differences import Differences
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper
from trusses.drawing.placing import box
from trusses.drawing.shape import Piece, Shape
from trusses.drawing.text import NAME_LETTERS, clean

_ROLE = {"top_chord": "top chord", "bottom_chord": "bottom chord", "web": "web"}
_SAID = {"added": "added", "changed": "changed", "moved": "moved", "relumbered": "other lumber"}


def draw_ghosts(paper: Paper, before: Shape, outlines: dict[str, Outline], marks: Differences) -> None:
    """What was taken out, and where moved members were: dashed and light."""
    gone = [before.pieces[name] for name in before.pieces if name in marks.removed or name in marks.moved]
    if not gone:
        return
    layer = paper.group("ghosts", label="Before the change")
    for piece in gone:
        removed = piece.id in marks.removed
        paper.explain("removed" if removed else "moved-from")
        kind = "ghost removed" if removed else "ghost moved-from"
        group = paper.group(kind, layer)
        group["data-ghost"] = clean(piece.id, NAME_LETTERS)
        paper.title(group, f"{clean(piece.id)}, {_ROLE[piece.role]}: {'taken out' if removed else 'was here'}")
        corners = [paper.view.at(corner) for corner in outlines[piece.id].corners]
        paper.polygon(
            group, corners, class_="edge", fill="none", stroke=P.INK, stroke_opacity=0.55,
            stroke_width=paper.pens.narrow, stroke_dasharray=P.GHOST,
        )  # fmt: skip


def draw_members(
    paper: Paper, shape: Shape, outlines: dict[str, Outline], marks: Differences, *, pale: bool
) -> dict[str, Group]:
    """Every member as a group of its own, webs first; what a change touches last, so that its edge is whole."""
    layer = paper.group("members", label="Members")
    ordered = sorted(shape.pieces.values(), key=lambda p: (bool(marks.kind(p.id)), not p.is_web))
    return {
        piece.id: _draw_member(paper, layer, piece, outlines[piece.id], marks.kind(piece.id), pale) for piece in ordered
    }


def _draw_member(paper: Paper, layer: Group, piece: Piece, outline: Outline, kind: str, pale: bool) -> Group:
    marked = kind.split(" ")[0] in {"added", "changed"}
    names = ["m", "m-web" if piece.is_web else "m-chord", f"m-{piece.role.replace('_', '-')}", kind]
    group = paper.group(" ".join(name for name in names if name), layer)
    group["data-member"] = clean(piece.id, NAME_LETTERS)
    paper.title(group, _says(piece, kind))
    corners = [paper.view.at(corner) for corner in outline.corners]
    paper.room.take(corners, piece.id)
    fill = P.MARKER if marked else P.PAPER if pale else P.WOOD
    paper.polygon(group, corners, class_="wood", fill=fill, stroke="none")
    pens = paper.pens
    stroke: dict[str, Any] = {"stroke": P.INK, "stroke_width": pens.narrow if pale else pens.wide}
    if marked:
        paper.explain(kind.split(" ")[0])
        stroke["stroke_width"] = pens.wide * 1.7
    elif pale:
        stroke["stroke_opacity"] = 0.5
    lines = [[paper.view.at(corner) for corner in line] for line in outline.lines]
    paper.polyline(group, *lines, class_="edge", stroke_linejoin="round", stroke_linecap="round", **stroke)
    return group


def _says(piece: Piece, kind: str) -> str:
    laid = ", laid flat" if piece.flat else ""
    change = "".join(f", {_SAID[word]}" for word in kind.split(" ") if word in _SAID and word != "changed")
    length = feet_inches(piece.length)
    return f"{clean(piece.id)}, {_ROLE[piece.role]}, {clean(piece.lumber)}{laid}, {length} between joints{change}"


def draw_centrelines(paper: Paper, shape: Shape) -> None:
    """Thin chain lines along the members: what the analysis works with."""
    layer = paper.group("centrelines", stroke=P.INK, stroke_opacity=0.45, fill="none")
    layer["stroke-width"] = paper.pens.narrow * 0.8
    layer["stroke-dasharray"] = P.CHAIN
    for piece in shape.pieces.values():
        paper.line(layer, paper.view.at(piece.a), paper.view.at(piece.b))


def draw_joints(paper: Paper, shape: Shape) -> None:
    """A dot at each panel point; a ring where every member is pinned."""
    layer = paper.group("joints")
    radius = paper.pens.wide * 1.15
    for name, place in shape.joints.items():
        hinged = name in shape.hinges
        paper.explain("hinge" if hinged else "joint")
        at = paper.view.at(place)
        group = paper.group("joint hinge" if hinged else "joint", layer)
        group["data-joint"] = clean(name, NAME_LETTERS)
        paper.title(group, f"joint {clean(name)}" + (", every member pinned" if hinged else ""))
        if hinged:
            paper.circle(
                group, at, radius * 1.7, fill=P.PAPER, class_="paper", stroke=P.INK, stroke_width=paper.pens.narrow
            )
        else:
            paper.circle(group, at, radius, fill=P.INK)


def draw_restraints(paper: Paper, shape: Shape) -> None:
    """Rows of lateral restraint on webs, as a crossed box (a piece that runs across the trusses, cut through)."""
    rows = dict(shape.document.get("lateral_restraint", {}).get("webs", {}))
    present = {name: count for name, count in rows.items() if count and name in shape.pieces}
    if not present:
        return
    paper.explain("restraint")
    layer = paper.group("restraints", label="Rows of lateral restraint")
    for name, count in present.items():
        group = paper.group("restraint", layer)
        group["data-restrains"] = clean(name, NAME_LETTERS)
        paper.title(group, f"{clean(name)}: {count} {'row' if count == 1 else 'rows'} of lateral restraint")
        for i in range(1, count + 1):
            _crossed_box(paper, group, shape.pieces[name], i / (count + 1))


def _crossed_box(paper: Paper, group: BaseElement, piece: Piece, share: float) -> None:
    x, y = (piece.a[0] + (piece.b[0] - piece.a[0]) * share, piece.a[1] + (piece.b[1] - piece.a[1]) * share)
    nx, ny = -piece.along[1], piece.along[0]
    if nx < 0:
        nx, ny = -nx, -ny
    thick = max(1.5, 6 / paper.view.scale)
    off = piece.half + thick / 2
    u, v = paper.view.at((x + nx * off, y + ny * off))
    turned = math.atan2(-piece.along[1], piece.along[0])
    corners = box(u, v, max(3.5, 9 / paper.view.scale) * paper.view.scale, thick * paper.view.scale, turned)
    paper.room.take(corners)
    paper.polygon(group, corners, class_="paper", fill=P.PAPER, stroke=P.INK, stroke_width=paper.pens.narrow)
    paper.polyline(
        group, (corners[0], corners[2]), (corners[1], corners[3]), stroke=P.INK, stroke_width=paper.pens.narrow
    )
