"""Members, joints and rows of lateral restraint on the drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from svgwrite.container import Group

from trusses.analysis.format.model import Opening
from trusses.analysis.requirements.row_edges import ALONG_IN, OUT_IN, RowEdges, Rows, Wood
from trusses.analysis.words.lengths import feet_inches
from trusses.drawing import pens as P
from trusses.drawing.differences import Differences
from trusses.drawing.forces import Force
from trusses.drawing.outline import Outline
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, around, box
from trusses.drawing.shape import Gap, Piece, Shape
from trusses.drawing.text import NAME_LETTERS, TAG_LETTERS, clean, width_of

_ROLE = {"top_chord": "top chord", "bottom_chord": "bottom chord", "web": "web"}
_SAID = {"added": "added", "moved": "moved", "relumbered": "other lumber"}
_FORCE_SAID = {"T": "tension", "C": "compression"}
_WEB_MISLEADS = 4.0  # a leader over a web may be taken to name it; over a chord hardly, which has its own name outside


@dataclass(frozen=True)
class Row:
    """One row of lateral restraint: its block's group on the drawing, its name, its web, the edge that it is drawn on
    and whether it has room there, its block's middle in user units."""

    block: Group
    name: str
    web: str
    on: str
    has_room: bool
    at: Point


def draw_ghosts(paper: Paper, before: Shape, outlines: dict[str, Outline], marks: Differences) -> None:
    """What was taken out, and where moved members were: dashed and light."""
    gone = [piece for name, piece in before.pieces.items() if name in marks.removed or name in marks.moved]
    if not gone:
        return
    layer = paper.group("ghosts", label="Before the change")
    for piece in gone:
        kind = "removed" if piece.id in marks.removed else "moved-from"
        paper.explain(kind)
        group = paper.group(f"ghost {kind}", layer)
        group["data-ghost"] = clean(piece.id, NAME_LETTERS)
        said = "taken out" if kind == "removed" else "was here"
        paper.title(group, f"{clean(before.called[piece.id])}, {_ROLE[piece.role]}: {said}")
        corners = [paper.view.at(corner) for corner in outlines[piece.id].corners]
        paper.room.take(corners, f"ghost {piece.id}")
        stroke = paper.narrow(stroke_opacity=P.FAINT, stroke_dasharray=P.GHOST[kind])
        paper.polygon(group, corners, class_="edge", fill="none", **stroke)


def draw_members(
    paper: Paper,
    shape: Shape,
    outlines: dict[str, Outline],
    marks: Differences,
    forces: dict[str, Force] | None,
) -> dict[str, Group]:
    """Every member as a group of its own, webs first; what a change touches last, so that its edge is whole."""
    layer = paper.group("members", label="Members")
    groups = {}
    for piece in sorted(shape.pieces.values(), key=lambda p: (bool(marks.kind(p.id)), not p.is_web)):
        if not paper.shows((paper.view.at(corner) for corner in outlines[piece.id].corners), beyond=3.0):
            continue
        kind = marks.kind(piece.id)
        force = (forces or {}).get(piece.id)
        names = ["m", "m-web" if piece.is_web else "m-chord", f"m-{piece.role.replace('_', '-')}", kind]
        group = paper.group(" ".join(name for name in names if name), layer)
        group["data-member"] = clean(piece.id, NAME_LETTERS)
        paper.title(group, _says(piece, shape.called[piece.id], kind, force))
        _draw_wood(paper, group, piece, outlines[piece.id], kind.split(" ")[0], pale=force is not None)
        groups[piece.id] = group
    return groups


def _draw_wood(paper: Paper, group: Group, piece: Piece, outline: Outline, kind: str, *, pale: bool) -> None:
    corners = [paper.view.at(corner) for corner in outline.corners]
    lines = [[paper.view.at(corner) for corner in line] for line in outline.lines]
    chord = 0.0 if paper.shallow else 1.0  # there names stand in rows beyond the chords
    paper.room.take(corners, piece.id, wood=_WEB_MISLEADS if piece.is_web else chord)
    kinds, fill, stroke = "wood", P.WOOD, paper.wide()
    if pale:
        kinds, fill, stroke = "wood paper", P.PAPER, paper.narrow(stroke_opacity=P.FAINT)
    if kind in {"added", "changed"}:
        paper.explain(kind)
        kinds, fill, stroke = "wood marked", P.MARKER, paper.wide(1.7)
    paper.polygon(group, corners, class_=kinds, fill=fill, stroke="none")
    paper.polyline(group, *lines, class_="edge", stroke_linejoin="round", stroke_linecap="round", **stroke)


def _says(piece: Piece, called: str, kind: str, force: Force | None) -> str:
    laid = ", laid flat" if piece.flat else ""
    change = "".join(f", {_SAID[word]}" for word in kind.split(" ") if word in _SAID)
    said = f"{clean(called)}, {_ROLE[piece.role]}, {clean(piece.lumber)}{laid}, "
    said += f"{feet_inches(piece.length)} between joints{change}"
    for word in force.words if force is not None else ():
        number, _, sign = word.rpartition(" ")
        said += f", {number} {_FORCE_SAID[sign]}" if sign in _FORCE_SAID else f", {word}"
    return said


def draw_centrelines(paper: Paper, shape: Shape) -> None:
    """Thin chain lines along the members: what the analysis works with."""
    stroke = paper.narrow(stroke_opacity=0.45, stroke_dasharray=P.CHAIN)
    layer = paper.group("centrelines", **stroke)
    for piece in shape.pieces.values():
        paper.line(layer, paper.view.at(piece.a), paper.view.at(piece.b))


def draw_joints(paper: Paper, shape: Shape) -> None:
    """A dot at each panel point; a ring where every member is pinned."""
    layer = paper.group("joints")
    for name, place in shape.joints.items():
        if not paper.shows([paper.view.at(place)], beyond=6.0):
            continue
        hinged = name in shape.hinges
        paper.explain("hinge" if hinged else "joint")
        group = paper.group("joint hinge" if hinged else "joint", layer)
        group["data-joint"] = clean(name, NAME_LETTERS)
        paper.title(group, f"joint {clean(name)}" + (", every member pinned" if hinged else ""))
        if hinged:
            stroke = paper.narrow(class_="paper", fill=P.PAPER)
            paper.circle(group, paper.view.at(place), paper.pens.wide * 2, **stroke)
        else:
            paper.circle(group, paper.view.at(place), paper.pens.wide * 1.15, fill=P.INK)


def rows_of(shape: Shape) -> Rows:
    """The rows of lateral restraint on the webs of a truss."""
    held = shape.document.get("lateral_restraint", {}).get("webs", {})
    webs = {name: count for name, count in held.items() if count and name in shape.pieces}
    return Rows(webs, {name: Wood(piece.a, piece.b, piece.depth) for name, piece in shape.pieces.items()})


def draw_restraints(paper: Paper, shape: Shape, gaps: Iterable[Gap] = ()) -> list[Row]:
    """Rows of lateral restraint on webs: each a block in section, a 2x4 on its edge of the web, at true size, on the
    edge that `gaps` and other wood leave free.

    Returns where the rows are, for their flags.
    """
    rows = rows_beside(rows_of(shape), gaps)
    if not rows:
        return []
    layer = paper.group("restraints", label="Rows of lateral restraint")
    groups: dict[str, Group] = {}
    found = []
    for row in rows:
        if row.web not in groups:
            groups[row.web] = group = paper.group("restraint", layer)
            group["data-for"] = clean(row.web, NAME_LETTERS)
            count = f"{row.rows} {'row' if row.rows == 1 else 'rows'}"
            paper.title(group, f"{clean(row.web)}: {count} of lateral restraint")
        found.append(draw_row(paper, shape, groups[row.web], row))
    return found


def rows_beside(rows: Rows, gaps: Iterable[Gap]) -> list[RowEdges]:
    """Each of them against openings as drawn."""
    return rows.beside([_opening(gap) for gap in gaps])


def _opening(gap: Gap) -> Opening:
    if gap.round:
        return Opening(gap.id, "circle", gap.centre, diameter_in=gap.width, clearance_in=gap.clearance)
    return Opening(gap.id, "rectangle", gap.centre, gap.width, gap.height, clearance_in=gap.clearance)


def draw_row(paper: Paper, shape: Shape, group: Group, row: RowEdges) -> Row:
    """A 2x4 laid against the web's edge, cut through; where neither edge has room for it, its outline alone."""
    scale, piece = paper.view.scale, shape.pieces[row.web]
    (x, y), (ux, uy), (ox, oy), off = row.at, row.along, row.drawn_on.out, piece.half + OUT_IN / 2
    at = paper.view.at((x + ox * off, y + oy * off))
    corners = box(*at, ALONG_IN * scale, OUT_IN * scale, math.atan2(-uy, ux))
    paper.room.take(corners)
    block = paper.group("restraint-at", group)
    if row.has_room:
        paper.explain("restraint")
        draw_section(paper, block, corners)
    else:
        paper.explain("restraint-nowhere")
        paper.polygon(block, corners, class_="restraint-block", fill="none", **nowhere(paper))
    called = clean(row.web, TAG_LETTERS)
    name = f"row {called}" if row.rows == 1 else f"row {called}.{row.row}"
    return Row(block, name, row.web, row.drawn_on.called, row.has_room, at)


def nowhere(paper: Paper) -> dict[str, Any]:
    """The outline of a row that has no room."""
    return paper.wide(0.8, stroke_dasharray=P.NOWHERE)


def draw_section(paper: Paper, group: Group, corners: Sequence[Point]) -> None:
    """Wood cut through: its outline in a wide line, thin strokes across it (ISO 128-3)."""
    paper.polygon(group, corners, class_="restraint-block paper", fill=P.PAPER, **paper.wide(0.8))
    a, b, c, d = corners
    strokes = []
    for i in range(1, 6):
        # oblique strokes, from one long side to the other
        start, end = (i - 1.5) / 5, (i + 0.5) / 5
        start, end = max(0.0, start), min(1.0, end)
        strokes.append((_between(a, b, start), _between(d, c, end)))
    paper.polyline(group, *strokes, class_="section", **paper.narrow())


def _between(a: Point, b: Point, share: float) -> Point:
    return (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)


def flag_rows(paper: Paper, rows: Iterable[Row]) -> list[str]:
    """Each row's flag, which names it, led to its block from where there is room. Returns the webs of rows without: of
    all where there is little room, which is left to the names of webs."""
    size = paper.pens.small
    if paper.pens.detail == "phone" and paper.cut_out is None:
        return [row.web for row in rows]
    bare = []
    for row in (row for row in rows if paper.room.holds(row.at)):
        wide, high = width_of(row.name, size) + size * 1.3, size * 1.3
        spots = (
            Spot(box(*at, wide, high), (at, edge), (edge, row.at))
            for at, edge in around(row.at, (wide, high), range(1, 25), size * 0.6)
        )
        found = paper.room.first_free(spots, beside=(row.web,))
        if found is None:
            bare.append(row.web)
            continue
        (u, v), edge = found
        flag = paper.group("flag", row.block)
        paper.line(flag, edge, row.at, class_="leader", **paper.narrow())
        left, right, notch = u - wide / 2, u + wide / 2, high * 0.35
        outline = (
            (left, v - high / 2),
            (right, v - high / 2),
            (right - notch, v),
            (right, v + high / 2),
            (left, v + high / 2),
        )
        paper.polygon(flag, outline, class_="paper", fill=P.PAPER, **paper.narrow())
        paper.text(flag, row.name, (u - notch / 2, v), fill=P.INK, kind="flag-text")
        paper.stands(flag, partial(_flag_again, row))
    return bare


def _flag_again(row: Row, paper: Paper) -> None:
    flag_rows(paper, [replace(row, block=paper.group("restraints"))])
