"""The map of clear openings over an elevation: each pocket's number and largest circle, and for a chosen size all the
places where its centre may stand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from trusses.drawing import pens as P
from trusses.drawing.paper import Paper, Point
from trusses.drawing.placing import Spot, around, box, thread
from trusses.drawing.text import width_of

#: What `elevation` is given: pockets, each with number, centre_in, diameter_in and areas, the regions of free centres
#: of the chosen size as (outer ring, inner rings …); chosen tells whether one was.
ClearMap = Mapping[str, Any]

_STEP = {"sheet": 4.5, "phone": 3.4, "thumb": 3.0}
_SIDES = 18
_LINE = "a line of the map"
Number = tuple[Point, tuple[Point, Point] | None]


def draw_clear(paper: Paper, found: ClearMap) -> None:
    """The largest circles, or the free centres of a chosen size."""
    layer = paper.group("clear-map", label="Clear openings")
    if not found["chosen"]:
        paper.explain("largest")
        for pocket in found["pockets"]:
            radius = pocket["diameter_in"] / 2 * paper.view.scale
            at = paper.view.at(pocket["centre_in"])
            turns = [2 * math.pi * i / _SIDES for i in range(_SIDES + 1)]
            _keep_off(paper, [(at[0] + radius * math.cos(turn), at[1] + radius * math.sin(turn)) for turn in turns])
            paper.circle(layer, at, radius, class_="largest", fill="none", **paper.narrow(stroke_dasharray=P.ASKED))
        return
    if not any(pocket["areas"] for pocket in found["pockets"]):
        return
    paper.explain("free")
    _define_dots(paper)
    for pocket in found["pockets"]:
        for rings in pocket["areas"]:
            lines = [[paper.view.at(point) for point in ring] for ring in rings]
            for line in lines:
                _keep_off(paper, [*line, line[0]])
            paper.polyline(
                layer, *lines, class_="free tone-opening", color=P.OPENING, fill_rule="evenodd",
                fill=paper.url("free"), **paper.wide(0.8),
            )  # fmt: skip


def _keep_off(paper: Paper, line: Sequence[Point]) -> None:
    """No name lies on a line of the map."""
    for a, b in pairwise(line):
        if a != b:
            paper.room.take(thread(a, b), _LINE)


def number_pockets(paper: Paper, found: ClearMap) -> None:
    """Each pocket's number: in it where it finds room, else led to it."""
    layer = paper.group("clear-numbers")
    size = paper.pens.small
    for pocket in found["pockets"]:
        words = f"{pocket['number']}"
        wide = max(width_of(words, size) + 4, size * 1.3)
        spots = _spots(paper, pocket, (wide, size * 1.3))
        placed = paper.room.first_free(spots, on=_LINE if found["chosen"] else "")  # a number stands on bare paper
        if placed is None:
            continue
        at, leader = placed
        if leader:
            paper.line(layer, *leader, **paper.narrow())
        paper.circle(layer, at, size * 0.7, class_="paper", fill=P.PAPER, **paper.narrow())
        paper.text(layer, words, at, size=size * 0.92, fill=P.INK, font_weight="700", kind="pocket-number")


def _spots(paper: Paper, pocket: Mapping[str, Any], extent: tuple[float, float]) -> Iterator[Spot[Number]]:
    centre = paper.view.at(pocket["centre_in"])
    reach = pocket["diameter_in"] / 2 * paper.view.scale
    steps = (0.0, -0.3, 0.3, -0.55, 0.55)
    for du in steps:
        for dv in steps:
            at = (centre[0] + du * reach, centre[1] + dv * reach)
            yield Spot(box(*at, *extent), (at, None))
    for at, edge in around(centre, extent, range(1, 60), 7.0):
        yield Spot(box(*at, *extent), (at, (edge, centre)), (edge, centre))


def _define_dots(paper: Paper) -> None:
    """Rows of dots at a fixed distance on the paper: told apart from the hatch of a clearance in grey as well."""
    step = _STEP[paper.pens.detail]
    pattern = paper.svg.pattern(
        size=(step, step),
        id=paper.id("free"),
        class_="tone-opening",
        color=P.OPENING,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(30)",
    )
    pattern.add(paper.svg.circle((step / 2, step / 2), step * 0.2, fill=P.INK, fill_opacity=0.6))
    paper.svg.defs.add(pattern)
