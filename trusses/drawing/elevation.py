"""The elevation of a truss: one pure function from documents to an SVG."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal

from trusses.analysis.words.phrases import listed
from trusses.drawing.arrows import drop
from trusses.drawing.bearings import AskedBearing, ground_level
from trusses.drawing.borne import Weight, numbered
from trusses.drawing.clear import ClearMap
from trusses.drawing.describe import natural
from trusses.drawing.dimensions import MOST_DIMENSIONED, Below, Tier, tiers
from trusses.drawing.enlarged import draw_frame, framed
from trusses.drawing.forces import member_forces
from trusses.drawing.heights import draw_heights
from trusses.drawing.layers import draw_wood, draw_words, finish
from trusses.drawing.legend import draw_legend
from trusses.drawing.outline import Outline, outlines
from trusses.drawing.paper import DrawingError, Paper, View
from trusses.drawing.pens import BY_DETAIL, Pens
from trusses.drawing.pitch import draw_pitches
from trusses.drawing.scene import Scene
from trusses.drawing.shape import Document, shape
from trusses.drawing.taped import Taped, draw_taped_points
from trusses.drawing.text import clean

Detail = Literal["sheet", "phone", "thumb"]
_HIGHEST = 0.5  # of the width: how far above the wood labels may go
_TALLEST = 1.1  # of the width: a column is drawn smaller rather than run off the screen
_SHALLOW = 4.5  # times the letters' size
_TALLEST_TAPED = 0.2  # of the width: on the first page of a sheet all that a site needs has to stand with it


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
    taped: Sequence[Taped] = (),
    asked: tuple[float, float] | None = None,
    weights: Sequence[Weight] = (),
    theirs: Collection[str] = (),
    bearings_asked: Sequence[AskedBearing] = (),
) -> str:
    """The truss's elevation as an SVG element, for a page or as a file of its own.

    `document`, `before` and `beside` are truss documents that have been read; `before` is ghosted where it differs,
    and both are allowed for in the scale, so that pictures of two documents made with each other as `beside` match.
    Members that an opening touches are marked: those that `analysis` names, and those in `touched`, which are damaged
    where no opening is asked for. Names of those in `named` find room before all others; `joints` names the joints too.
    `view` "forces" needs the analysis document of this truss; `combination` names one of its combinations or cases,
    None is the envelope. `ask` is an opening as in a truss document, drawn as asked, and measured from the nearest
    bearing or from the face `ask_from`: a bearing's joint, and 1 for its right-hand face, -1 for the left. `detail`
    says for what size of picture ("sheet" 1000, "phone" 390, "thumb" 160 CSS pixels wide unless `width_px` says
    otherwise). `prefix` begins every id in the drawing: give each drawing in a page its own. Where there is a `detail`
    of the same documents (`around` as there), a frame and its letter show what that enlarges. `clear` is the map of
    clear openings to draw over it, `asked` a place (inches) that somebody asks about. `taped` are dimensions that a
    tape checks, drawn in place of the panel points'. `weights` are what was asked to hang or stand on it.
    `theirs` are ids of openings that other requests ask for: grey, and said to be that. `bearings_asked` are bearings
    as somebody asks for them.

    A point (x, y) in inches is drawn at u = data-x0 + data-scale·x, v = data-y0 - data-scale·y in the viewBox's units.
    Raises DrawingError where what is asked can't be drawn.
    """
    if view not in ("plain", "forces"):
        raise DrawingError("drawing-view")
    if view == "forces" and analysis is None:
        raise DrawingError("drawing-without-analysis")
    scene = Scene(document, before, analysis, weights)
    scene.of_others(theirs)
    if view == "forces" and analysis is not None:
        scene.combination, scene.forces = combination, member_forces(scene.after, analysis, combination)
    scene.ask(ask, ask_from)
    scene.touched |= frozenset(touched)
    scene.touched_as = "damaged" if touched and ask is None else "touched"
    scene.named, scene.names_joints, scene.clear = frozenset(named), joints, clear
    scene.taped = tuple(taped)
    scene.asked, scene.bearings_asked = asked, tuple(bearings_asked)
    other = shape(beside) if beside is not None else None
    paper = paper_for(scene, detail, width_px, prefix, outlines(other) if other is not None else {})
    if paper.pens.names and scene.forces is None and clear is None:
        scene.frame = framed(scene.enlarged(other, around), paper.view)
    level, shown = draw(paper, scene)
    bottom = draw_legend(paper, level, notes(scene, shown), brief=bool(scene.taped)) if paper.pens.legend else level
    top = min(0.0, paper.room.highest_label - paper.pens.small * 0.5) if paper.pens.names else 0.0
    below = paper.pens.margin
    if scene.taped:  # nothing of a page is left empty above and below it
        below = 0.0
        highest = max(y for outline in scene.wood.values() for _, y in outline.corners)
        top = min(paper.room.highest_label, paper.view.at((0.0, highest))[1]) - paper.pens.small * 0.6
    finish(paper, scene, top, bottom + below)
    return str(paper.svg.tostring())


def thumbnail(document: Document, *, width_px: float = 160, prefix: str = "thumb") -> str:
    """A small elevation without words on it."""
    return elevation(document, detail="thumb", width_px=width_px, prefix=prefix)


def paper_for(scene: Scene, detail: str, width_px: float | None, prefix: str, beside: dict[str, Outline]) -> Paper:
    """A paper on which the wood of the scene, and what is `beside` it, find room. Raises DrawingError."""
    if detail not in BY_DETAIL:
        raise DrawingError("drawing-detail")
    pens = BY_DETAIL[detail]
    if not pens.dimensions and pens.names and scene.height_letter:
        pens = replace(pens, right=pens.right + pens.small * 2.9)  # room for the height at the right
    width = float(width_px or pens.width)
    if not 60 <= width <= 8000:
        raise DrawingError("drawing-width", least=60, most=8000)
    tallest = _TALLEST_TAPED if scene.taped and pens.dimensions else _TALLEST
    paper = Paper(_lay_out([scene.wood, scene.old_wood, beside], pens, width, tallest), pens, width, prefix)
    if pens.names:
        paper.room.ceiling = -_HIGHEST * width
        paper.shallow = not pens.dimensions and _crowded(scene, paper)
    return paper


def _crowded(scene: Scene, paper: Paper) -> bool:
    """Whether the names of webs find no room between the chords, nor in one row over them."""
    ys = [y for outline in scene.wood.values() for _, y in outline.corners]
    webs = sum(piece.is_web for piece in scene.after.pieces.values())
    size = paper.pens.text
    return (max(ys) - min(ys)) * paper.view.scale < _SHALLOW * size and webs * 2 * size > paper.width


def _lay_out(woods: list[dict[str, Outline]], pens: Pens, width: float, tallest: float) -> View:
    """The scale that shows all the wood between the side margins, and where inches start."""
    corners = [corner for wood in woods for outline in wood.values() for corner in outline.corners]
    left, right = min(x for x, _ in corners), max(x for x, _ in corners)
    low, high = min(y for _, y in corners), max(y for _, y in corners)
    inner = width - pens.left - pens.right
    scale = min(inner / max(right - left, 1e-6), width * tallest / max(high - low, 1e-6))
    x0 = pens.left + (inner - scale * (right + left)) / 2
    return View(scale, x0, _head(pens) + scale * high)


def _head(pens: Pens) -> float:
    """Room above the wood for chord names and pitch marks."""
    return {"sheet": pens.small * 4.0, "phone": pens.small * 2.6}.get(pens.detail, pens.margin)


def draw(paper: Paper, scene: Scene, *, still: bool = False) -> tuple[float, list[Tier]]:
    """Everything but the key; returns the level at which that begins, and the tiers of dimensions that are shown.

    `still`: what stays while an opening is dragged over it, without any dimensions below the wood, which are drawn
    with those of that opening.
    """
    pens = paper.pens
    brief = pens.detail == "phone"
    shown = tiers(scene.after, scene.gaps, brief=brief, taped=scene.taped) if pens.names and not scene.forces else []
    if still:
        shown = [tier for tier in shown if not tier.opening]
    below = below_wood(paper, scene)
    below.lay_tape(scene.taped)
    below.clear_arrows(scene.loads)
    below.keep_clear(shown, later=still)
    draw_wood(paper, scene)
    if not pens.names:
        return foot(paper, scene), shown
    if scene.frame is not None:
        draw_frame(paper, scene.frame)
    if scene.forces is None and (pens.dimensions or scene.height_letter):
        letter = scene.height_letter
        draw_heights(paper, scene.after, scene.wood, with_heels=pens.dimensions, letter=letter)
    if scene.taped:
        draw_taped_points(paper, scene.taped, paper.group("taped-points"))
    draw_words(paper, scene)
    if scene.forces is None:
        draw_pitches(paper, scene.after)
    return (0.0 if still else draw_below(paper, below, shown)), shown


def draw_below(paper: Paper, below: Below, shown: list[Tier]) -> float:
    """The dimensions below the wood; returns the level at which the key begins."""
    level = max(below.draw(shown) + paper.pens.small, paper.room.lowest if not shown else 0.0)
    return level + paper.pens.small * 0.6


def below_wood(paper: Paper, scene: Scene) -> Below:
    return Below(paper, scene.after, scene.wood, scene.gaps, foot(paper, scene) + paper.pens.small * 0.4)


def foot(paper: Paper, scene: Scene) -> float:
    """The lowest level that wood, bearings and the labels beside them reach."""
    lowest = min(y for o in (*scene.wood.values(), *scene.old_wood.values()) for _, y in o.corners)
    levels = [paper.view.at((0.0, lowest))[1] + (paper.pens.small * 1.4 if paper.pens.names else 0)]
    for support in scene.after.held_up:
        levels.append(ground_level(paper, scene.after, support) + paper.pens.small * 0.9)
    if paper.pens.names and (hung := [load for load in scene.loads if load.side < 0]):
        lowest = min(y for load in hung for _, y in load.feet)
        levels.append(paper.view.at((0.0, lowest))[1] + drop(paper, scene.loads))
    return max(levels)


def notes(scene: Scene, shown: list[Tier], *, brief: bool = False) -> list[str]:
    """What stands below the key; `brief` where a form beside it says how openings are measured."""
    notes = []
    if any(tier.running for tier in shown):
        notes.append("Running distances are from the center of the left bearing to the joints' centerlines.")
    # with a tape's dimensions the words beside the drawing say so
    if any(tier.opening for tier in shown) and not scene.taped and not brief:
        notes.append("Openings are measured from a bearing's face, and up from the bottom chord's top edge.")
    unsaid = len(scene.loads) - len(numbered(scene.loads))
    if unsaid:
        notes.append("Arrows without a number are loads at points, drawn the way they act.")
    if bare := sorted({clean(web) for web in scene.unflagged}, key=natural):
        if scene.rows and len(bare) == len({row.web for row in scene.rows}):
            notes.append(f"A block beside a web is a row of lateral restraint: on {listed(bare)}.")
        else:
            rows, names = ("A row", "name") if len(bare) == 1 else ("Rows", "names")
            notes.append(f"{rows} of restraint on {listed(bare)} too: no room here for the {names}.")
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
        if scene.unnumbered:
            one, names = len(scene.unnumbered) == 1, ", ".join(sorted(scene.unnumbered, key=natural))
            numbers, them = ("number", "it") if one else ("numbers", "them")
            notes.append(f"No room for the {numbers} of {names}: the table has {them}.")
        notes.append(f"{which}, pounds (lb). The heavier the line, the larger the force.")
    return notes
