"""Members, joints and rows of lateral restraint on the drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from svgwrite.container import Group

from trusses.analysis.format.model import Opening
from trusses.analysis.requirements.row_edges import ALONG_IN, OUT_IN, RowEdges, edges_of
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
    """One row of lateral restraint: its group on the drawing, its name, its web, its block's middle in user units."""

    group: Group
    name: str
    web: str
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


def draw_restraints(paper: Paper, shape: Shape, gaps: Iterable[Gap] = ()) -> list[Row]:
    """Rows of lateral restraint on webs: each a block in section, a 2x4 on its edge of the web, at true size, on the
    edge that `gaps` leave free.

    Returns where the rows are, for their flags.
    """
    rows = dict(shape.document.get("lateral_restraint", {}).get("webs", {}))
    present = {name: count for name, count in rows.items() if count and name in shape.pieces}
    if not present:
        return []
    paper.explain("restraint")
    layer = paper.group("restraints", label="Rows of lateral restraint")
    found = []
    openings = [_opening(gap) for gap in gaps]
    for name, count in present.items():
        group = paper.group("restraint", layer)
        group["data-for"] = clean(name, NAME_LETTERS)
        paper.title(group, f"{clean(name)}: {count} {'row' if count == 1 else 'rows'} of lateral restraint")
        called, piece = clean(name, TAG_LETTERS), shape.pieces[name]
        for row in edges_of(name, (piece.a, piece.b), piece.depth, count, openings):
            at = _draw_row(paper, group, piece, row)
            found.append(Row(group, f"row {called}" if count == 1 else f"row {called}.{row.row}", name, at))
    return found


def _opening(gap: Gap) -> Opening:
    if gap.round:
        return Opening(gap.id, "circle", gap.centre, diameter_in=gap.width, clearance_in=gap.clearance)
    return Opening(gap.id, "rectangle", gap.centre, gap.width, gap.height, clearance_in=gap.clearance)


def _draw_row(paper: Paper, group: Group, piece: Piece, row: RowEdges) -> Point:
    """A 2x4 laid against the web's edge, cut through. Returns its middle."""
    scale = paper.view.scale
    (x, y), (ux, uy), (ox, oy), off = row.at, row.along, row.drawn_on.out, piece.half + OUT_IN / 2
    at = paper.view.at((x + ox * off, y + oy * off))
    corners = box(*at, ALONG_IN * scale, OUT_IN * scale, math.atan2(-uy, ux))
    paper.room.take(corners)
    draw_section(paper, group, corners)
    return at


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
        flag = paper.group("flag", row.group)
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
    flag_rows(paper, [replace(row, group=paper.group("restraints"))])
