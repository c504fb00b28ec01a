"""What part of a truss's loads stands between two points of its span, and where its open panels are. Inches, pounds."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import shapely

from trusses.analysis.format.model import Joint, Truss
from trusses.analysis.format.strict import tidy

Window = tuple[float, float]
_CLOSE_IN = 1e-6


def total_lb(truss: Truss, loads: Iterable[tuple[str, dict[str, Any]]], window: Window) -> float:
    """The vertical load within `window` (x from, to), pounds, down positive; `loads` pair a list's name and a load."""
    return sum(_TOTALS[sort](truss, load, window) for sort, load in loads)


def clipped(truss: Truss, sort: str, load: dict[str, Any], window: Window) -> dict[str, Any] | None:
    """A copy of `load`, of the list `sort`, cut down to `window`; None where nothing of it stands there."""
    if sort == "point":
        return dict(load) if _holds(window, _point_x(truss, load)) else None
    if sort == "line":
        start, end = _part_of_line(truss, load, window)
        if end - start <= _CLOSE_IN:
            return None
        own = (load.get("from_in", 0.0), load.get("to_in", truss.length(truss.member(load["member"]))))
        # an end that the window doesn't cut stays as it was said: rounded, it could lie beyond the member
        cut = {"from_in": start if start > own[0] else None, "to_in": end if end < own[1] else None}
        return load | {key: tidy(inches, 4) for key, inches in cut.items() if inches is not None}
    left, right = _both(window, (load.get("from_x_in", -math.inf), load.get("to_x_in", math.inf)))
    part = {key: value for key, value in load.items() if key not in ("from_x_in", "to_x_in")}
    part |= {key: tidy(x, 4) for key, x in (("from_x_in", left), ("to_x_in", right)) if math.isfinite(x)}
    return part if total_lb(truss, [(sort, part)], (-math.inf, math.inf)) != 0 else None


def open_panels(truss: Truss) -> tuple[Window, ...]:
    """x from, to of the panels between the chords that no web crosses: meshes of four sides or more, left to right.

    A joint in the straight line of a chord is no corner. Overhangs bound no mesh. A mesh of webs alone and one of
    pieces of one chord alone, such as a frame of posts and beams, lies between no chords: no panel's shear is carried
    around it.
    """
    lines = [shapely.LineString([(end.x, end.y) for end in truss.ends(member)]) for member in truss.members]
    meshes = shapely.get_parts(shapely.polygonize([shapely.union_all(lines)]))
    panels = []
    for mesh in meshes:
        if _corners(mesh) > 3 and _between_chords(truss, mesh, lines):
            left, _, right, _ = mesh.bounds
            panels.append((left, right))
    return tuple(sorted(panels))


def _between_chords(truss: Truss, mesh: shapely.Polygon, lines: list[shapely.LineString]) -> bool:
    corners = shapely.get_coordinates(mesh.exterior)
    middles = shapely.points((corners[:-1] + corners[1:]) / 2)
    roles = {truss.members[int(shapely.distance(middle, lines).argmin())].role for middle in middles}
    return len(roles) > 1


def _corners(mesh: shapely.Polygon) -> int:
    points = list(mesh.exterior.coords)[:-1]
    count = 0
    for a, b, c in zip(points[-1:] + points[:-1], points, points[1:] + points[:1], strict=True):
        across = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
        # joints are rounded to 1/10,000 in., so a straight chord isn't straight to the last figure
        count += abs(across) > 1e-3 * math.dist(a, b) * math.dist(b, c)
    return count


def _area_lb(truss: Truss, load: dict[str, Any], window: Window) -> float:
    left, right = _both(window, (load.get("from_x_in", -math.inf), load.get("to_x_in", math.inf)))
    total = 0.0
    for member in truss.members:
        if member.role != load["chord"]:
            continue
        a, b = sorted(end.x for end in truss.ends(member))
        if b - a > _CLOSE_IN and min(b, right) > max(a, left):
            # across the plan a normal pressure's vertical part is the pressure itself
            along = truss.length(member) / (b - a) if load["along"] == "slope" else 1.0
            total += (min(b, right) - max(a, left)) * along
    return total * load["psf"] * truss.spacing_in / 144


def _line_lb(truss: Truss, load: dict[str, Any], window: Window) -> float:
    start, end = _part_of_line(truss, load, window)
    return max(0.0, end - start) * float(load["plf"]) / 12


def _point_lb(truss: Truss, load: dict[str, Any], window: Window) -> float:
    return float(load["down_lb"]) if _holds(window, _point_x(truss, load)) else 0.0


_TOTALS = {"area": _area_lb, "line": _line_lb, "point": _point_lb}


def _part_of_line(truss: Truss, load: dict[str, Any], window: Window) -> Window:
    """Inches from the member's first joint between which a line load stands within the window; reversed if nowhere."""
    member = truss.member(load["member"])
    length = truss.length(member)
    own = (load.get("from_in", 0.0), load.get("to_in", length))
    first, second = truss.ends(member)
    run = second.x - first.x
    if abs(run) < _CLOSE_IN:
        return own if _holds(window, first.x) else (0.0, 0.0)
    reach = sorted((x - first.x) / run * length for x in window)
    return _both(own, (reach[0], reach[1]))


def _point_x(truss: Truss, load: dict[str, Any]) -> float:
    if "joint" in load:
        return truss.joint(load["joint"]).x
    member = truss.member(load["member"])
    first, second = truss.ends(member)
    return _between(first, second, load.get("at_in", 0.0) / truss.length(member))


def _between(first: Joint, second: Joint, share: float) -> float:
    return first.x + share * (second.x - first.x)


def _holds(window: Window, x: float) -> bool:
    return window[0] - _CLOSE_IN <= x <= window[1] + _CLOSE_IN


def _both(one: Window, other: Window) -> Window:
    return max(one[0], other[0]), min(one[1], other[1])
