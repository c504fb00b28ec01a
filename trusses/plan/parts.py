"""A plan on paper: cut in parts, each on a page at the size at which the smallest of its letters can be read.

The picture says which windows of it are printed (`data-parts`), those about its runs where these have letters; each
part shows its window of the very picture, so that nothing is drawn twice. Pixels of the picture, millimetres of paper.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable, Sequence
from typing import Any

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from trusses.plan.room import Box

_LEAST_MM = 1.8
_CAPITAL = 0.71
"""How high capitals and figures are, of a letter's size, in the narrowest usual face."""
WIDE_MM, HIGH_MM = 188.0, 196.0
"""What a page of Letter and of A4 both have within their margins, less a title and a caption."""
Span = tuple[float, float]
"""From where to where along one axis."""
_AROUND = (170.0, 60.0)  # across: to the numbers of copies; down: no more than a page has beside what is asked
_SHARED, _PIECE, _NAME = 80.0, 60.0, 30.0
_TOLD = re.compile(r'data-(id|parts|per-mm|north)="([^"]*)"')


def tell(d: Any, name: str, least: float) -> None:
    """Writes into a level's drawing what `on_paper` reads; `least`: the size of its smallest letters."""
    scale = least * _CAPITAL / _LEAST_MM
    there = [box for box in d.taken.boxes if box != d.north_box]
    d.sheet["id"], d.svg.attribs["data-id"] = name, name
    names = [_grown(box, 3) for box in d.taken.said if box != d.north_box]
    d.svg.attribs["data-parts"] = ";".join(map(_view, windows(there, d.about, scale, names)))
    d.svg.attribs["data-per-mm"] = f"{scale:.4g}"
    if d.north:
        d.north["id"] = f"{name}-north"
        d.svg.attribs["data-north"] = _view(d.north_box)


def windows(there: Sequence[Box], about: Sequence[Box], scale: float, names: Sequence[Box] = ()) -> list[Box]:
    """The parts: of all that is drawn `there`, or of what is `about` runs and around it; no larger than a page at
    `scale` pixels a millimetre, and none that shows only what others show. Where two share enough, none cuts one of the
    `names`."""
    if not there:
        return []
    wide, high = WIDE_MM * scale, HIGH_MM * scale
    whole = _grown(_extent(there), 2)
    of = whole
    if about:
        near = _grown(_extent(about), 2)
        x, y = (max(0.0, min(_AROUND[k], (most - (near[k + 2] - near[k])) / 2)) for k, most in ((0, wide), (1, high)))
        cut = (
            max(near[0] - x, whole[0]),
            max(near[1] - y, whole[1]),
            min(near[2] + x, whole[2]),
            min(near[3] + y, whole[3]),
        )
        of = _with_names(cut, names, (wide, high))
    left, found = [piece for box in (about or there) for piece in _pieces(box)], []
    for start, end in _apart(_spread(of[0], of[2], wide), [(one[0], one[2]) for one in names]):
        # what parts before show isn't shown for its own sake again
        mine = [one for one in left if start <= one[0] and one[2] <= end]
        if mine:
            top, low = (of[1], of[3]) if about else (min(one[1] for one in mine) - 2, max(one[3] for one in mine) + 2)
            beside = [(one[1], one[3]) for one in names if one[0] < end and start < one[2]]
            new = [(start, a, end, b) for a, b in _apart(_spread(top, low, high), beside)]
            left = [one for one in left if not any(_holds(part, one) for part in new)]
            found += new
    return found


def on_paper(picture: str, name: str) -> SafeString:
    """The parts of a picture of `level.draw`, for print alone, each with what it is of and which way north lies."""
    told = dict(_TOLD.findall(picture[: picture.index(">")]))
    boxes = [tuple(map(float, one.split())) for one in told.get("parts", "").split(";") if one]
    if not boxes:
        return SafeString("")
    scale, north = float(told["per-mm"]), told.get("north", "")
    shown = _window(north, scale, f"{told['id']}-north") if north else ""
    each = [
        (
            _window(" ".join(map(str, box)), scale, told["id"]),
            shown,
            _key(boxes, n) if len(boxes) > 1 else "",
            f"{name}, part {n + 1} of {len(boxes)}" if len(boxes) > 1 else name,
        )
        for n, box in enumerate(boxes)
    ]
    parts = "<figure>{}<figcaption>{}{}<span>{}</span></figcaption></figure>"
    return format_html('<div class="on-paper">{}</div>', format_html_join("", parts, each))


def _window(view: str, scale: float, name: str) -> SafeString:
    """A window of the picture."""
    wide, high = (_mm(float(length) / scale) for length in view.split()[2:])
    svg = '<svg class="plan-part" width="{}" height="{}" viewBox="{}"><use href="#{}"/></svg>'
    return format_html(svg, wide, high, view, name)


def _key(boxes: Sequence[Sequence[float]], which: int) -> SafeString:
    """Which part it is of all of them."""
    corners = [(x, y, x + wide, y + high) for x, y, wide, high in boxes]
    left, top, right, low = _extent(corners)
    unit = max(right - left, low - top) / 100
    left, top, right, low = _grown((left, top, right, low), unit)
    rects = [(*box, "#000" if n == which else "none", unit) for n, box in enumerate(boxes)]
    rect = '<rect x="{}" y="{}" width="{}" height="{}" fill="{}" fill-opacity="0.3" stroke="#000" stroke-width="{}"/>'
    svg = '<svg class="plan-key" width="{}" height="{}" viewBox="{}" aria-hidden="true">{}</svg>'
    sides = (_mm(14 * side / (100 * unit)) for side in (right - left, low - top))
    return format_html(
        svg, *sides, f"{left:g} {top:g} {right - left:g} {low - top:g}", format_html_join("", rect, rects)
    )


def _mm(length: float) -> str:
    return f"{length:.1f}mm"


def _view(box: Sequence[float]) -> str:
    left, top, right, low = box
    return f"{left:.1f} {top:.1f} {right - left:.1f} {low - top:.1f}"


def _extent(boxes: Iterable[Sequence[float]]) -> Box:
    every = list(boxes)
    return (
        min(one[0] for one in every),
        min(one[1] for one in every),
        max(one[2] for one in every),
        max(one[3] for one in every),
    )


def _grown(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _spread(start: float, end: float, most: float) -> list[Span]:
    """As few lengths as hold it, each sharing with the next as much as they can, so that names are whole on one."""
    if end - start <= most:
        return [(start, end)]
    count = 2
    while count * most - (count - 1) * _SHARED < end - start:
        count += 1
    step = (end - start - most) / (count - 1)
    return [(start + i * step, start + i * step + most) for i in range(count)]


def _with_names(box: Box, names: Sequence[Box], most: tuple[float, float]) -> Box:
    """Drawn out over the names that its edges would cut, where it stays within `most`."""
    here = [one for one in names if all(one[k] < box[k + 2] and box[k] < one[k + 2] for k in (0, 1))]
    left, top = (_off_names(box[k], -1, [(one[k], one[k + 2]) for one in here], _NAME) for k in (0, 1))
    right, low = (_off_names(box[k], 1, [(one[k - 2], one[k]) for one in here], _NAME) for k in (2, 3))
    wider, higher = right - left <= most[0], low - top <= most[1]
    return left if wider else box[0], top if higher else box[1], right if wider else box[2], low if higher else box[3]


def _apart(spans: list[Span], names: Sequence[Span]) -> list[Span]:
    """The same, each drawn in from an edge that would cut a name, as far as both of those that meet there still show
    every piece between them."""
    found = []
    for i, (start, end) in enumerate(spans):
        after = spans[i + 1][0] if i + 1 < len(spans) else math.inf
        before = spans[i - 1][1] if i else -math.inf
        found.append(
            (
                _off_names(start, 1, names, (before - start - _PIECE) / 2),
                _off_names(end, -1, names, (end - after - _PIECE) / 2),
            )
        )
    return found


def _off_names(edge: float, way: int, names: Sequence[Span], most: float) -> float:
    """The edge, moved that `way` off names that it cuts, but for those that reach farther than `most`."""
    at = edge
    reached = [(one, one[0] if way < 0 else one[1]) for one in names]
    while ends := [end for one, end in reached if one[0] < at < one[1] and abs(end - edge) <= most]:
        at = min(ends) if way < 0 else max(ends)
    return at


def _pieces(box: Box) -> list[Box]:
    """Lines that run over several parts, piece by piece."""
    across, down = (_steps(box[k], box[k + 2]) for k in (0, 1))
    return [(a, c, b, d) for a, b in across for c, d in down]


def _steps(start: float, end: float) -> list[tuple[float, float]]:
    if end - start <= _PIECE:
        return [(start, end)]
    count = int((end - start) // _PIECE) + 1
    at = [start + (end - start) * i / count for i in range(count + 1)]
    return list(itertools.pairwise(at))


def _holds(window: Box, box: Box) -> bool:
    return window[0] <= box[0] and window[1] <= box[1] and window[2] >= box[2] and window[3] >= box[3]
