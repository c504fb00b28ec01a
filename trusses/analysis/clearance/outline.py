"""The truss outline: the region of the truss's plane that lies between its chords.

Inches, centrelines: a chord's own wood is dealt with where openings are compared with members. The overhangs (a chord
that runs on past the bearing with nothing closing the space under it) are not part of the region.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.overlay import difference, intersection, union
from trusses.analysis.format.model import Role, Truss

Floats = NDArray[np.float64]
#: Two positions closer than this, inches, are one.
SAME_IN = 1e-7
_FAR_IN = 1e7


@dataclass(frozen=True)
class Outline:
    """`region` is a shapely area; `ends` (n, 2, 2) are the pieces of its boundary that run along no chord."""

    region: BaseGeometry
    ends: Floats

    def distance(self, x: float, y: float) -> float:
        """How far the point lies outside the region, inches; infinite where there is no region."""
        return float("inf") if self.region.is_empty else float(shapely.distance(self.region, shapely.Point(x, y)))


def outline(truss: Truss) -> Outline:
    """The region between the top and bottom chords of `truss`, members listed in any order."""
    top, bottom = chord_segments(truss, "top_chord"), chord_segments(truss, "bottom_chord")
    xs = _breakpoints(np.concatenate([top, bottom]))
    upper, lower = _envelope(top, xs, highest=True), _envelope(bottom, xs, highest=False)
    bearings = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    span = (min(bearings) - SAME_IN, max(bearings) + SAME_IN)
    both = ~np.isnan(upper[:, 0]) & ~np.isnan(lower[:, 0])
    pieces = [_within(run, span, truss) for run in _runs(xs, upper, lower, both)]
    pieces += _one_sided(xs, upper, lower, both, span, truss)
    region = union(pieces)
    return Outline(region, _ends(region, np.concatenate([top, bottom])))


def chord_segments(truss: Truss, role: Role) -> Floats:
    """(n, 2, 2): the two ends of each member of `role`, the left one first."""
    out = []
    for member in truss.members:
        if member.role == role:
            a, b = truss.ends(member)
            out.append(sorted(((a.x, a.y), (b.x, b.y))))
    return np.array(out, dtype=np.float64).reshape(-1, 2, 2)


def _breakpoints(chords: Floats) -> Floats:
    """Where the upper or lower bound can change: every end of a chord member and every crossing of two."""
    xs = list(chords[:, :, 0].ravel())
    run = chords[:, 1] - chords[:, 0]
    gap = chords[None, :, 0] - chords[:, None, 0]
    cross = run[:, None, 0] * run[None, :, 1] - run[:, None, 1] * run[None, :, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (gap[..., 0] * run[None, :, 1] - gap[..., 1] * run[None, :, 0]) / cross
    one, other = np.nonzero((t > 0) & (t < 1))
    xs += list(chords[one, 0, 0] + t[one, other] * run[one, 0])
    ordered = np.sort(np.array(xs))
    return ordered[np.concatenate([[True], np.diff(ordered) > SAME_IN])] if len(ordered) else ordered


def _envelope(chords: Floats, xs: Floats, *, highest: bool) -> Floats:
    """(slabs, 2): the outermost chord's height at both sides of each slab between two breakpoints; NaN without one."""
    out = np.full((max(len(xs) - 1, 0), 2), np.nan)
    slanted = chords[chords[:, 1, 0] - chords[:, 0, 0] > SAME_IN]
    if not len(out) or not len(slanted):
        return out
    left, run = slanted[:, 0], slanted[:, 1] - slanted[:, 0]
    middle = (xs[:-1] + xs[1:]) / 2
    covers = (left[:, None, 0] <= middle) & (middle <= left[:, None, 0] + run[:, None, 0])
    slope = run[:, 1] / run[:, 0]
    height = np.where(covers, left[:, None, 1] + slope[:, None] * (middle - left[:, None, 0]), np.nan)
    some = covers.any(axis=0)
    ranked = np.where(np.isnan(height), -np.inf, height if highest else -height)
    pick = np.argmax(ranked[:, some], axis=0)
    for side, x in enumerate((xs[:-1][some], xs[1:][some])):
        out[some, side] = left[pick, 1] + slope[pick] * (x - left[pick, 0])
    return out


def _runs(xs: Floats, upper: Floats, lower: Floats, use: NDArray[np.bool_]) -> list[shapely.Polygon]:
    """One polygon for each unbroken sequence of slabs whose upper bound lies above the lower one."""
    open_slab = use & ((upper - lower).sum(axis=1) > 2 * SAME_IN)
    runs: list[list[int]] = []
    for i in np.flatnonzero(open_slab):
        pinched = upper[i, 0] - lower[i, 0] <= SAME_IN
        if runs and runs[-1][-1] == i - 1 and not pinched:
            runs[-1].append(int(i))
        else:
            runs.append([int(i)])
    return [_polygon(xs, upper, lower, run) for run in runs]


def _polygon(xs: Floats, upper: Floats, lower: Floats, run: list[int]) -> shapely.Polygon:
    over = [(xs[i + side], upper[i, side]) for i in run for side in (0, 1)]
    under = [(xs[i + side], lower[i, side]) for i in run for side in (0, 1)]
    # neighbouring slabs share a corner up to rounding; the same corner twice would be an edge of no length
    points = [over[0]]
    for point in (*over[1:], *reversed(under)):
        if max(abs(point[0] - points[-1][0]), abs(point[1] - points[-1][1])) > SAME_IN:
            points.append(point)
    return shapely.Polygon(points)


def _within(run: BaseGeometry, span: tuple[float, float], truss: Truss) -> BaseGeometry:
    """A run between the outer bearings whole; of what reaches past them only what members close off."""
    if run.bounds[0] >= span[0] and run.bounds[2] <= span[1]:
        return run
    faces = closed_faces(truss)
    if faces.covers(run.buffer(-SAME_IN)):
        return run
    between = shapely.box(span[0], -_FAR_IN, span[1], _FAR_IN)
    return union([intersection(run, between), intersection(difference(run, between), faces)])


def _one_sided(
    xs: Floats, upper: Floats, lower: Floats, both: NDArray[np.bool_], span: tuple[float, float], truss: Truss
) -> list[BaseGeometry]:
    """Closed space between the bearings that has only one chord: at the end of a truss hung by its top chord."""
    top_only, bottom_only = ~np.isnan(upper[:, 0]) & ~both, ~np.isnan(lower[:, 0]) & ~both
    far = np.full_like(upper, _FAR_IN)
    strips = _runs(xs, upper, -far, top_only) + _runs(xs, far, lower, bottom_only)
    between = shapely.box(span[0], -_FAR_IN, span[1], _FAR_IN)
    near = [intersection(strip, between) for strip in strips]
    near = [strip for strip in near if strip.area > 0]
    if not near:
        return []
    faces = closed_faces(truss)
    return [intersection(strip, faces) for strip in near]


def closed_faces(truss: Truss) -> BaseGeometry:
    """All that members' centrelines close off."""
    lines = [shapely.LineString([(a.x, a.y), (b.x, b.y)]) for a, b in map(truss.ends, truss.members)]
    faces = shapely.polygonize([shapely.union_all(lines)])
    return union(list(faces.geoms))


def _ends(region: BaseGeometry, chords: Floats) -> Floats:
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon"]
    lines = [shapely.get_coordinates(ring) for part in parts for ring in shapely.get_rings(part)]
    edges = (
        np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in lines]) if lines else np.empty((0, 2, 2))
    )
    if not len(edges):
        return edges
    chord_lines = shapely.union_all(shapely.linestrings(chords))
    along = [
        shapely.distance(chord_lines, shapely.points(edges[:, 0] * (1 - t) + edges[:, 1] * t)) for t in (0, 0.5, 1)
    ]
    return edges[np.max(along, axis=0) > 10 * SAME_IN]
