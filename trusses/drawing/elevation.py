"""The elevation of a truss: one pure function from documents to an SVG."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Any, Literal

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.bearings import draw_bearings, ground_level
from trusses.drawing.clear import ClearMap, draw_clear, number_pockets
from trusses.drawing.describe import describe, title_of
from trusses.drawing.differences import Differences, differences
from trusses.drawing.dimensions import MOST_DIMENSIONED, Below, Tier, tiers
from trusses.drawing.force_lines import draw_force
from trusses.drawing.forces import Force, member_forces, reactions
from trusses.drawing.gaps import draw_gaps, label_gaps
from trusses.drawing.heights import draw_heights, draw_rises
from trusses.drawing.joint_names import draw_joint_names
from trusses.drawing.legend import draw_legend
from trusses.drawing.measures import rise
from trusses.drawing.outline import Outline, outlines
from trusses.drawing.paper import DrawingError, Paper, View, number
from trusses.drawing.pens import BY_DETAIL, Pens
from trusses.drawing.pitch import draw_pitches
from trusses.drawing.placing import Spot, box, thread
from trusses.drawing.shape import Document, Gap, Shape, gap, shape
from trusses.drawing.tags import Tags, draw_ghost_tags
from trusses.drawing.text import NAME_LETTERS, clean
from trusses.drawing.window import Window, window
from trusses.drawing.wood import (
    Row,
    draw_centrelines,
    draw_ghosts,
    draw_joints,
    draw_members,
    draw_restraints,
    flag_rows,
)

Detail = Literal["sheet", "phone", "thumb"]
_LETTER = "Z"  # of the enlarged detail; bearings and joints have the alphabet's first letters
_HIGHEST = 0.5  # of the width: how far above the wood labels may go
_SHOWN_PX = 340.0  # how wide a detail is shown at least
_WORTHWHILE = 1.4  # less enlarged than that is no detail
_TALLEST = 1.1  # of the width: a column is drawn smaller rather than run off the screen


def elevation(
    document: Document,
    *,
    analysis: Mapping[str, Any] | None = None,
    before: Document | None = None,
    beside: Document | None = None,
    view: Literal["plain", "forces"] = "plain",
    combination: str | None = None,
    ask: Document | None = None,
    ask_from: tuple[str, int] | None = None,
    detail: Detail = "sheet",
    width_px: float | None = None,
    prefix: str = "elevation",
    touched: Collection[str] = (),
    joints: bool = False,
    named: Collection[str] = (),
    around: Document | None = None,
    clear: ClearMap | None = None,
) -> str:
    """The truss's elevation as an SVG element, for a page or as a file of its own.

    `document`, `before` and `beside` are truss documents that have been read; `before` is ghosted where it differs,
    and both are allowed for in the scale, so that pictures of two documents made with each other as `beside` match.
    Members that an opening touches are marked: those that `analysis` names, and those in `touched`. Names of
    those in `named` find room before all others; `joints` names the joints too.
    `view` "forces" needs the analysis document of this truss; `combination` names one of its combinations or cases,
    None is the envelope. `ask` is an opening as in a truss document, drawn as asked, and measured from the nearest
    bearing or from the face `ask_from`: a bearing's joint, and 1 for its right-hand face, -1 for the left. `detail`
    says for what size of picture ("sheet" 1000, "phone" 390, "thumb" 160 CSS pixels wide unless `width_px` says
    otherwise). `prefix` begins every id in the drawing: give each drawing in a page its own. Where there is a `detail`
    of the same documents (`around` as there), a frame and its letter show what that enlarges. `clear` is the map of
    clear openings to draw over it.

    A point (x, y) in inches is drawn at u = data-x0 + data-scale·x, v = data-y0 - data-scale·y in the viewBox's units.
    Raises DrawingError where what is asked can't be drawn.
    """
    pens = _pens(detail)
    width = float(width_px or pens.width)
    if not 60 <= width <= 8000:
        raise DrawingError("drawing-width", least=60, most=8000)
    if view not in ("plain", "forces"):
        raise DrawingError("drawing-view")
    if view == "forces" and analysis is None:
        raise DrawingError("drawing-without-analysis")
    after, earlier = shape(document), shape(before) if before is not None else None
    wood = outlines(after)
    old_wood = outlines(earlier) if earlier is not None else {}
    other_wood = outlines(shape(beside)) if beside is not None else {}
    scene = _Scene(after, wood, earlier, old_wood, analysis, combination if view == "forces" else None)
    scene.forces = member_forces(after, analysis, combination) if view == "forces" and analysis is not None else None
    scene.gaps = [*after.gaps, *([gap(ask, asked=True, face=ask_from)] if ask is not None else [])]
    scene.touched |= frozenset(touched)
    scene.named, scene.names_joints, scene.clear = frozenset(named), joints, clear
    scaled = _lay_out([wood, old_wood, other_wood], pens, width)
    if pens.names and scene.forces is None and clear is None:
        scene.frame = _window(scene, shape(beside) if beside is not None else None, around)
        if scene.frame is not None and _SHOWN_PX / (scene.frame.right - scene.frame.left) < _WORTHWHILE * scaled.scale:
            scene.frame = None
    return _draw(scene, scaled, pens, width, prefix)


def detail(
    document: Document,
    *,
    analysis: Mapping[str, Any] | None = None,
    before: Document | None = None,
    beside: Document | None = None,
    ask: Document | None = None,
    ask_from: tuple[str, int] | None = None,
    prefix: str = "detail",
    touched: Collection[str] = (),
    around: Document | None = None,
) -> str:
    """What surrounds the openings that are asked for or new, several times as large as in the elevation (ISO 128-3);
    empty where there are none. Arguments as of `elevation`.

    Shown is where `ask` is, what `document` and its counterpart (`before` or `beside`) don't have in common, and
    `around`, so that the details of two documents made with each other show the same place.
    """
    after, earlier = shape(document), shape(before) if before is not None else None
    wood, old_wood = outlines(after), outlines(earlier) if earlier is not None else {}
    scene = _Scene(after, wood, earlier, old_wood, analysis, None)
    scene.gaps = [*after.gaps, *([gap(ask, asked=True, face=ask_from)] if ask is not None else [])]
    scene.touched |= frozenset(touched)
    window = _window(scene, shape(beside) if beside is not None else None, around)
    if window is None:
        return ""
    pens = P.DETAIL
    scale = pens.width / (window.right - window.left)
    height = scale * (window.top - window.bottom)
    paper = Paper(View(scale, -scale * window.left, scale * window.top), pens, pens.width, prefix)
    room = paper.room
    room.left, room.right, room.ceiling, room.floor = 3.0, pens.width - 3, 3.0, height - 3
    _draw_wood(paper, scene)
    corners = ((u, v) for v in (height - 14, 14.0) for u in (pens.width - 14, 14.0))
    _draw_letter(paper, paper.group("detail-letter"), 17, corners)
    _draw_words(paper, scene)
    _finish(paper, scene, 0.0, height)
    return str(paper.svg.tostring())


def thumbnail(document: Document, *, width_px: float = 160, prefix: str = "thumb") -> str:
    """A small elevation without words on it."""
    return elevation(document, detail="thumb", width_px=width_px, prefix=prefix)


class _Scene:
    """What one drawing shows."""

    def __init__(
        self,
        after: Shape,
        wood: dict[str, Outline],
        before: Shape | None,
        old_wood: dict[str, Outline],
        analysis: Mapping[str, Any] | None,
        combination: str | None,
    ) -> None:
        self.after, self.wood, self.before, self.old_wood = after, wood, before, old_wood
        self.analysis, self.combination = analysis, combination
        self.marks = differences(before, after) if before is not None else Differences()
        self.forces: dict[str, Force] | None = None
        self.gaps: list[Gap] = []
        self.frame: Window | None = None
        self.rows: list[Row] = []
        self.named: frozenset[str] = frozenset()
        self.names_joints = False
        self.clear: ClearMap | None = None
        self.touched = frozenset(
            name for row in (analysis or {}).get("openings", ()) for name in row["touches"] if name in after.pieces
        )


def _pens(detail: str) -> Pens:
    if detail not in BY_DETAIL:
        raise DrawingError("drawing-detail")
    return BY_DETAIL[detail]


def _lay_out(woods: list[dict[str, Outline]], pens: Pens, width: float) -> View:
    """The scale that shows all the wood between the side margins, and where inches start."""
    corners = [corner for wood in woods for outline in wood.values() for corner in outline.corners]
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    low, high = min(y for _, y in corners), max(y for _, y in corners)
    inner = width - pens.left - pens.right
    scale = min(inner / max(right - left, 1e-6), width * _TALLEST / max(high - low, 1e-6))
    x0 = pens.left + (inner - scale * (right + left)) / 2
    return View(scale, x0, _head(pens) + scale * high)


def _head(pens: Pens) -> float:
    """Room above the wood for chord names and pitch marks."""
    return {"sheet": pens.small * 4.0, "phone": pens.small * 2.6}.get(pens.detail, pens.margin)


def _window(scene: _Scene, beside: Shape | None, around: Document | None) -> Window | None:
    """What an enlarged detail shows, inches; None where nothing is asked for or new, or none of it is in the truss."""
    other = beside or scene.before
    own, theirs = set(scene.after.gaps), set(other.gaps if other is not None else ())
    gaps = [one for one in scene.gaps if one.asked or one not in theirs] if other is not None else list(scene.gaps)
    gaps += [one for one in theirs - own if beside is not None]
    gaps += [gap(around)] if around is not None else []
    corners = [c for outline in (*scene.wood.values(), *scene.old_wood.values()) for c in outline.corners]
    rises = [rise(scene.after, scene.wood, one) for one in gaps]
    return window(gaps, corners, [found.chord for found in rises if found is not None])


def _draw_wood(paper: Paper, scene: _Scene) -> None:
    if scene.before is not None:
        draw_ghosts(paper, scene.before, scene.old_wood, scene.marks)
    groups = draw_members(paper, scene.after, scene.wood, scene.marks, scene.forces)
    for name in scene.touched & groups.keys():
        groups[name]["class"] += " touched"
    largest = max((force.most for force in (scene.forces or {}).values()), default=0.0)
    for name, force in (scene.forces or {}).items():
        groups[name]["class"] += f" {force.kind}"
        draw_force(paper, groups[name], scene.after.pieces[name], force, largest)
    draw_bearings(paper, scene.after, scene.wood, _reactions(scene))
    if paper.pens.dimensions and scene.forces is None:
        draw_centrelines(paper, scene.after)
    if paper.pens.names:
        scene.rows = draw_restraints(paper, scene.after)
        draw_joints(paper, scene.after)
    draw_gaps(paper, scene.gaps, _fits(scene.analysis))
    if scene.clear is not None:
        draw_clear(paper, scene.clear)


def _draw(scene: _Scene, view: View, pens: Pens, width: float, prefix: str) -> str:
    paper = Paper(view, pens, width, prefix)
    if pens.names:
        paper.room.ceiling = -_HIGHEST * width
    shown = tiers(scene.after, scene.gaps, brief=pens.detail == "phone") if pens.names and not scene.forces else []
    below = Below(paper, scene.after, scene.wood, scene.gaps, _foot(paper, scene) + pens.small * 0.4)
    below.keep_clear(shown)
    _draw_wood(paper, scene)
    if not pens.names:
        _finish(paper, scene, 0.0, _foot(paper, scene) + pens.margin)
        return str(paper.svg.tostring())
    if scene.frame is not None:
        _draw_frame(paper, scene.frame)
    if scene.forces is None and pens.dimensions:
        draw_heights(paper, scene.after, scene.wood)
    _draw_words(paper, scene)
    if scene.forces is None:
        draw_pitches(paper, scene.after)
    level = max(below.draw(shown) + pens.small, paper.room.lowest if not shown else 0.0)
    bottom = draw_legend(paper, level + pens.small * 0.6, _notes(scene, shown)) if pens.legend else level
    _finish(paper, scene, min(0.0, paper.room.highest_label - pens.small * 0.5), bottom + pens.margin)
    return str(paper.svg.tostring())


def _draw_words(paper: Paper, scene: _Scene) -> None:
    """The names of openings and pieces, what stands in the way first."""
    if scene.forces is None:
        draw_rises(paper, scene.after, scene.wood, scene.gaps)
    if scene.clear is not None:
        number_pockets(paper, scene.clear)
    if scene.names_joints:
        draw_joint_names(paper, scene.after)
    tags = Tags(paper, scene.after, scene.marks, scene.forces, scene.touched)
    every = tags.all()
    first = [tag for tag in every if not tag.piece.is_web or tag.kind or tag.piece.id in scene.named]
    tags.draw(first)
    label_gaps(paper, scene.gaps)
    tags.draw(tag for tag in every if tag not in first)
    if scene.forces is None and scene.before is not None:
        gone = [piece for piece in scene.before.pieces.values() if piece.id in scene.marks.removed]
        draw_ghost_tags(paper, scene.before, gone)
    flag_rows(paper, scene.rows)


def _draw_frame(paper: Paper, frame: Window) -> None:
    """What the enlarged detail shows, framed by a narrow line, with the detail's letter."""
    (left, top), (right, bottom) = paper.view.at((frame.left, frame.top)), paper.view.at((frame.right, frame.bottom))
    layer = paper.group("detail-frame")
    outline = ((left, top), (right, top), (right, bottom), (left, bottom))
    paper.polygon(layer, outline, class_="frame", fill="none", **paper.narrow())
    for a, b in zip(outline, (*outline[1:], outline[0]), strict=True):
        paper.room.take(thread(a, b))
    size = paper.pens.text
    corners = (((right, top), 1, -1), ((left, top), -1, -1), ((right, bottom), 1, 1), ((left, bottom), -1, 1))
    places = [
        at
        for (u, v), side, up in corners
        for at in ((u + side * size * 0.7, v + up * size * 0.4), (u - side * size * 0.7, v + up * size * 0.7))
    ]
    _draw_letter(paper, layer, size, places)


def _draw_letter(paper: Paper, layer: Group, size: float, places: Iterable[tuple[float, float]]) -> None:
    at = paper.room.first_free(Spot(box(*place, size, size * 1.1), place) for place in places)
    if at is not None:
        paper.text(layer, _LETTER, at, size=size, fill=P.INK, font_weight="700", kind="detail-letter-text")


def _foot(paper: Paper, scene: _Scene) -> float:
    """The lowest level that wood, bearings and the labels beside them reach."""
    lowest = min(y for o in (*scene.wood.values(), *scene.old_wood.values()) for _, y in o.corners)
    levels = [paper.view.at((0.0, lowest))[1] + (paper.pens.small * 1.4 if paper.pens.names else 0)]
    for support in scene.after.held_up:
        levels.append(ground_level(paper, scene.after, support) + paper.pens.small * 0.9)
    return max(levels)


def _notes(scene: _Scene, shown: list[Tier]) -> list[str]:
    notes = []
    if any(tier.running for tier in shown):
        notes.append("Running distances are from the center of the left bearing to the joints' centerlines.")
    if any(tier.opening for tier in shown):
        notes.append("Openings are measured from a bearing's face, and up from the bottom chord's top edge.")
    untold = len(scene.gaps) - MOST_DIMENSIONED
    if shown and untold > 0:
        notes.append(f"{untold} more {'opening is' if untold == 1 else 'openings are'} drawn without dimensions.")
    plies = scene.after.document.get("plies", 1)
    was = scene.before.document.get("plies", 1) if scene.before is not None else plies
    if plies != was:
        notes.append(f"{plies} {'ply' if plies == 1 else 'plies'} now, {was} before.")
    if scene.forces is not None:
        which = (
            f"Axial forces in {clean(scene.combination)}"
            if scene.combination
            else "Largest axial forces of all load combinations"
        )
        notes.append(f"{which}, pounds (lb). The heavier the line, the larger the force.")
    return notes


def _reactions(scene: _Scene) -> dict[str, tuple[float, float]] | None:
    if scene.forces is None or scene.analysis is None:
        return None
    return reactions(scene.analysis, scene.combination)


def _fits(analysis: Mapping[str, Any] | None) -> dict[str, bool]:
    return {row["id"]: bool(row["fits"]) for row in (analysis or {}).get("openings", ())}


def _finish(paper: Paper, scene: _Scene, top: float, bottom: float) -> None:
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
    words = describe(scene.after, scene.wood, scene.gaps, marks, scene.forces, scene.combination)
    paper.describe(title_of(scene.after), words)
