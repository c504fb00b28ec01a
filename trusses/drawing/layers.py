"""What a drawing is made of, one layer over another: the wood, then words about it, then what is read aloud of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from trusses.drawing import pens as P
from trusses.drawing.arrows import draw_loads, label_loads
from trusses.drawing.bearings import draw_asked_bearings, draw_bearings, label_asked_bearings
from trusses.drawing.clear import draw_clear, number_pockets
from trusses.drawing.describe import describe, title_of
from trusses.drawing.force_lines import draw_force
from trusses.drawing.forces import reactions
from trusses.drawing.gaps import draw_gaps, label_gaps
from trusses.drawing.heights import draw_rises
from trusses.drawing.joint_names import draw_joint_names
from trusses.drawing.paper import Paper, number
from trusses.drawing.places import draw_place
from trusses.drawing.scene import Scene
from trusses.drawing.tags import Tags, draw_ghost_tags
from trusses.drawing.text import NAME_LETTERS, clean
from trusses.drawing.wood import draw_centrelines, draw_ghosts, draw_joints, draw_members, draw_restraints, flag_rows


def draw_wood(paper: Paper, scene: Scene) -> None:
    if scene.before is not None:
        draw_ghosts(paper, scene.before, scene.old_wood, scene.marks)
    groups = draw_members(paper, scene.after, scene.wood, scene.marks, scene.forces)
    for name in scene.touched & groups.keys():
        groups[name]["class"] += " touched"
    largest = max((force.most for force in (scene.forces or {}).values()), default=0.0)
    for name, force in (scene.forces or {}).items():
        groups[name]["class"] += f" {force.kind}"
        draw_force(paper, groups[name], scene.after.pieces[name], force, largest)
    if paper.pens.names:
        draw_loads(paper, scene.loads)
    asked = scene.bearings_asked  # names of bearings keep off what comes; what goes is struck out over them
    draw_asked_bearings(paper, scene.wood, [one for one in asked if not one.gone])
    draw_bearings(paper, scene.after, scene.wood, _reactions(scene), scene.before)
    draw_asked_bearings(paper, scene.wood, [one for one in asked if one.gone])
    if paper.pens.dimensions and scene.forces is None:
        draw_centrelines(paper, scene.after)
    if scene.clear is not None:  # flags and names stand over it
        draw_clear(paper, scene.clear)
    if paper.pens.names:
        scene.rows = draw_restraints(paper, scene.after, scene.gaps)
        draw_joints(paper, scene.after)
    draw_gaps(paper, scene.gaps, _fits(scene.analysis))


def draw_words(paper: Paper, scene: Scene) -> None:
    """The names of openings and pieces, what stands in the way first."""
    if scene.asked is not None:
        draw_place(paper, scene.asked)
    if paper.cut_out is not None:  # an enlarged detail is about its openings
        label_gaps(paper, scene.gaps)
    label_asked_bearings(paper, scene.wood, scene.bearings_asked)
    if scene.forces is None:
        draw_rises(paper, scene.after, scene.wood, scene.gaps)
    label_loads(paper, scene.loads)
    if scene.clear is not None:
        number_pockets(paper, scene.clear)
    if scene.names_joints:
        draw_joint_names(paper, scene.after)
    tags = Tags(paper, scene.after, scene.marks, scene.forces, scene.touched, scene.touched_as)
    every = tags.all()
    chords = not paper.shallow  # names in rows stand straight over their webs, and a chord is long
    first = [tag for tag in every if (chords and not tag.piece.is_web) or tag.kind or tag.piece.id in scene.named]
    tags.draw(first)
    scene.unflagged = flag_rows(paper, scene.rows)
    if paper.cut_out is None:
        label_gaps(paper, scene.gaps)
    tags.draw(tag for tag in every if tag not in first)
    if scene.forces is None and scene.before is not None:
        gone = [piece for piece in scene.before.pieces.values() if piece.id in scene.marks.removed]
        draw_ghost_tags(paper, scene.before, gone)
    scene.unnumbered = tags.unnumbered


def finish(paper: Paper, scene: Scene, top: float, bottom: float) -> None:
    svg, view = paper.svg, paper.view
    for name in ("baseProfile", "version", "xmlns:ev", "xmlns:xlink"):
        svg.attribs.pop(name, None)
    svg["width"], svg["height"] = number(paper.width), number(bottom - top)
    svg["viewBox"] = f"0 {number(top)} {number(paper.width)} {number(bottom - top)}"
    svg["id"] = paper.prefix
    svg["class"] = f"elevation {paper.pens.detail}" + (" forces" if scene.forces is not None else "")
    svg["font-family"], svg["fill"] = P.FACE, "none"
    svg["data-mark"] = clean(scene.after.document.get("mark", ""), NAME_LETTERS)
    svg["data-scale"], svg["data-x0"], svg["data-y0"] = (repr(round(v, 6)) for v in (view.scale, view.x0, view.y0))
    marks = scene.marks if scene.before is not None else None
    said = (scene.forces, scene.combination, scene.loads, scene.bearings_asked)
    words = describe(scene.after, scene.wood, scene.gaps, marks, *said, before=scene.before)
    paper.describe(title_of(scene.after), words)


def _reactions(scene: Scene) -> dict[str, tuple[float, float]] | None:
    if scene.forces is None or scene.analysis is None:
        return None
    return reactions(scene.analysis, scene.combination)


def _fits(analysis: Mapping[str, Any] | None) -> dict[str, bool]:
    return {row["id"]: bool(row["fits"]) for row in (analysis or {}).get("openings", ())}
