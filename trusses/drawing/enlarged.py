"""The enlarged detail of an elevation (ISO 128-3), and its frame on the elevation."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from svgwrite.container import Group

from trusses.drawing import pens as P
from trusses.drawing.borne import Weight
from trusses.drawing.layers import draw_wood, draw_words, finish
from trusses.drawing.paper import Paper, Point, View
from trusses.drawing.placing import Spot, box, thread
from trusses.drawing.scene import Scene
from trusses.drawing.shape import Document, shape
from trusses.drawing.window import Window

_LETTER = "Z"  # bearings and joints have the alphabet's first letters
_SHOWN_PX = 340.0  # how wide a detail is shown at least
_WORTHWHILE = 1.4  # less enlarged than that is no detail


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
    weights: Sequence[Weight] = (),
    theirs: Collection[str] = (),
) -> str:
    """What surrounds the openings that are asked for or new, several times as large as in the elevation (ISO 128-3);
    empty where there are none. Arguments as of `elevation`.

    Shown is where `ask` is, what `document` and its counterpart (`before` or `beside`) don't have in common, and
    `around`, so that the details of two documents made with each other show the same place.
    """
    scene = Scene(document, before, analysis, weights)
    scene.of_others(theirs)
    scene.ask(ask, ask_from)
    scene.touched |= frozenset(touched)
    window = scene.enlarged(shape(beside) if beside is not None else None, around)
    return enlarge(scene, window, prefix) if window is not None else ""


def enlarge(scene: Scene, window: Window, prefix: str, *, moves: bool = False) -> str:
    """What is in the window, as large as a phone is wide. `moves`: the wood around it too, over which it is moved."""
    pens = P.DETAIL
    scale = pens.width / (window.right - window.left)
    height = scale * (window.top - window.bottom)
    paper = Paper(View(scale, -scale * window.left, scale * window.top), pens, pens.width, prefix)
    room = paper.room
    room.left, room.right, room.ceiling, room.floor = 3.0, pens.width - 3, 3.0, height - 3
    around = pens.width if moves else 0.0
    paper.cut_out = (-around, -around, pens.width + around, height + around)
    draw_wood(paper, scene)
    corners = ((u, v) for v in (height - 14, 14.0) for u in (pens.width - 14, 14.0))
    _draw_letter(paper, paper.group("detail-letter"), 17, corners)
    draw_words(paper, scene)
    finish(paper, scene, 0.0, height)
    return str(paper.svg.tostring())


def framed(window: Window | None, view: View) -> Window | None:
    """The window, where a detail of it is worth its frame."""
    if window is None or _SHOWN_PX / (window.right - window.left) < _WORTHWHILE * view.scale:
        return None
    return window


def draw_frame(paper: Paper, frame: Window) -> None:
    """What the enlarged detail shows, framed by a narrow line, with the detail's letter."""
    letter_frame(paper, frame, draw_frame_lines(paper, frame))


def draw_frame_lines(paper: Paper, frame: Window) -> Group:
    layer = paper.group("detail-frame")
    outline = _corners(paper, frame)
    paper.polygon(layer, outline, class_="frame", fill="none", **paper.narrow())
    for a, b in zip(outline, (*outline[1:], outline[0]), strict=True):
        paper.room.take(thread(a, b))
    return layer


def letter_frame(paper: Paper, frame: Window, layer: Group) -> None:
    """The letter at a corner, outside the frame first."""
    size = paper.pens.text
    sides = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = zip(_corners(paper, frame), sides, strict=True)
    places = [
        at
        for (u, v), (side, up) in sorted(corners, key=lambda corner: (corner[1][1], -corner[1][0]))
        for at in ((u + side * size * 0.7, v + up * size * 0.4), (u - side * size * 0.7, v + up * size * 0.7))
    ]
    _draw_letter(paper, layer, size, places)


def _corners(paper: Paper, frame: Window) -> tuple[Point, Point, Point, Point]:
    """From the upper left round to the lower left, user units."""
    (left, top), (right, bottom) = paper.view.at((frame.left, frame.top)), paper.view.at((frame.right, frame.bottom))
    return (left, top), (right, top), (right, bottom), (left, bottom)


def _draw_letter(paper: Paper, layer: Group, size: float, places: Iterable[tuple[float, float]]) -> None:
    at = paper.room.first_free(Spot(box(*place, size, size * 1.1), place) for place in places)
    if at is not None:
        paper.text(layer, _LETTER, at, size=size, fill=P.INK, font_weight="700", kind="detail-letter-text")
