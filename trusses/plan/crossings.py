"""Runs on a plan's level: a band as wide as each is, its line; at each crossing a sign, whose form tells the answer,
and the crossing's letter."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from types import SimpleNamespace
from typing import Any

import svgwrite

from trusses.analysis.words.runs import VERDICT_WORDS
from trusses.drawing.text import clean
from trusses.plan.frame import LABEL
from trusses.plan.lettering import SIGN, Lettering, Placed
from trusses.plan.overlays import Met, Path
from trusses.plan.room import Box

_BAND = {"fill": "none", "stroke": "#6b2d82", "stroke_linejoin": "round"}


def bands(d: Any) -> None:
    """As wide as runs are, below all else. What was left of a run has none."""
    for path in d.paths:
        if not path.left:
            points = [d.paper.at(point) for point in path.points]
            d.add(d.svg.polyline(points, stroke_width=_wide(d, path), opacity=0.22, class_="run-band", **_BAND))
            for a, b in itertools.pairwise(points):
                d.bands.line(a, b, _wide(d, path))


def take(d: Any) -> list[list[Placed]]:
    """Lines and signs as they are, and each crossing's letter where these and wood leave room, path by path."""
    for path in d.paths:
        for a, b in itertools.pairwise([d.paper.at(point) for point in path.points]):
            d.taken.line(a, b, 2)
        for met in path.met:
            x, y = d.paper.at(met.at)
            d.taken.add((x - SIGN, y - SIGN, x + SIGN, y + SIGN))
    met = [(clean(one.letter, 6), d.paper.at(one.at)) for path in d.paths for one in path.met]
    size = d.paper.width, d.paper.height
    placed = Lettering(size, d.taken, d.copies, [at for _, at in met]).place(met)
    d.about = _about(d, placed) if placed else []
    each = iter(placed)
    return [list(itertools.islice(each, len(path.met))) for path in d.paths]


def _about(d: Any, placed: Sequence[Placed]) -> list[Box]:
    """Where runs with letters are, and their letters."""
    points = [d.paper.at(point) for path in d.paths for point in path.points]
    boxes = [(x - SIGN, y - SIGN, x + SIGN, y + SIGN) for x, y in points]
    return [*boxes, *(one.box for one in placed)]


def runs(d: Any, letters: Sequence[Sequence[Placed]]) -> None:
    """The lines, signs and letters; the line of what was left of a run is dots."""
    for path, lettered in zip(d.paths, letters, strict=True):
        points = [d.paper.at(point) for point in path.points]
        group = d.svg.a(path.href, target="_self") if path.href else d.svg.g()
        group.attribs["class"] = "run"
        d.add(group)
        dash = "2 5" if path.left else "9 3 2 3"
        line = d.svg.polyline(points, stroke_width=1.6, stroke_dasharray=dash, class_="run-line", **_BAND)
        if path.name:
            line.set_desc(title=clean(path.name, 120))
        group.add(line)
        for met, placed in zip(path.met, lettered, strict=True):
            _crossing(d, group, met, placed)
        if path.name and points:
            x, y = points[0]
            off = _wide(d, path) / 2 + 10
            places = [(x + dx, y + dy) for dy in (-off, off) for dx in (40, 70, 0, 110, -40)]
            d.first_free(clean(path.name, 30), places, LABEL, into=group, font_style="italic")


def _wide(d: Any, path: Path) -> float:
    return max(path.width_in * d.paper.scale, 3)


def _crossing(d: Any, run: Any, met: Met, placed: Placed) -> None:
    group = run.add(d.svg.g(class_="crossing"))
    if placed.leader:
        group.add(d.svg.polyline(placed.leader, stroke_width=0.8, class_="leader", **_BAND))
    _sign(d, group, met.verdict, d.paper.at(met.at))
    if placed.ground:
        left, high, right, low = placed.ground
        group.add(d.svg.rect((left, high), (right - left, low - high), fill="#fff", class_="plan-ground"))
    d.draw_text(placed.letter, placed.at, placed.size, font_weight="700", into=group, class_="letter")


def signs() -> list[tuple[str, str]]:
    """A key: each sign as a small SVG, and what it says."""
    found = []
    for verdict in VERDICT_WORDS:
        if verdict != "clear":
            d = svgwrite.Drawing(size=(16, 16), debug=False)
            d.viewbox(0, 0, 16, 16)
            d["class"] = "run-sign"
            d.attribs["aria-hidden"] = "true"
            _sign(SimpleNamespace(svg=d), d, verdict, (8, 8), "key-sign")
            found.append((d.tostring(), VERDICT_WORDS[verdict]))
    return found


def _sign(d: Any, group: Any, verdict: str, at: tuple[float, float], name: str = "sign") -> None:
    """fits: a full dot; fits if moved: a ring in two strokes; redesign: a diamond; never: a cross in a square."""
    x, y = at
    ink = {"stroke": "currentColor", "stroke_width": 1.6, "class_": f"{name} sign-{verdict}"}
    if verdict == "fits":
        sign = d.svg.circle(at, 4.5, fill="currentColor", **ink)
    elif verdict == "moves":
        sign = d.svg.circle(at, 5.5, fill="#fff", stroke_dasharray="3 2", **ink)
    elif verdict == "redesign":
        sign = d.svg.polygon([(x, y - SIGN), (x + SIGN, y), (x, y + SIGN), (x - SIGN, y)], fill="#fff", **ink)
    elif verdict == "never":
        sign = d.svg.path(
            f"M{x - 5.5} {y - 5.5}h11v11h-11zl11 11m0-11l-11 11", fill="#fff", **{**ink, "stroke_width": 1.8}
        )
    else:
        sign = d.svg.circle(at, 3, fill="#fff", **ink)
    sign.set_desc(title=VERDICT_WORDS.get(verdict, verdict))
    group.add(sign)
