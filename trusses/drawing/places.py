"""A place that somebody asks about, marked on an elevation."""

from __future__ import annotations

from trusses.drawing import pens as P
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import box


def draw_place(paper: Paper, place: Point) -> None:
    """A ring with a question mark over the place, inches; beyond what is drawn there is none. Names that come later
    make way for it."""
    at = paper.view.at(place)
    if not paper.room.holds(at):
        return
    size = paper.pens.text
    group = paper.group("asked-place tone-opening", label="The place asked about", color=P.OPENING)
    paper.circle(group, at, size * 0.8, class_="paper", fill=P.PAPER, **paper.wide())
    paper.text(group, "?", at, size=size, fill=P.INK, font_weight="700")
    paper.room.take(box(*at, size * 1.8, size * 1.8))
