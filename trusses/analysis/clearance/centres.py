"""Where the centre of an opening of one size may stand in a pocket, exact to a millionth of an inch. Inches.

The pocket loses, along each wall, what the opening's sum with it covers and a strip as wide as what must be kept from
that: all of it straight. Round is the region's edge only about a corner that wood juts in with, and arcs are drawn only
about those corners of the sums that still reach what is left.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.free_space import TOUCH_IN, grown, margin
from trusses.analysis.clearance.overlay import difference, union
from trusses.analysis.clearance.pockets import Pocket
from trusses.analysis.format.model import Opening

Floats = NDArray[np.float64]
#: As near as `fit` measures.
EXACT_IN = TOUCH_IN / 2
#: For a picture, and for whoever wants few numbers.
DRAWN_IN = 2e-3
#: A corner no farther than this from what is left has no say in it.
_REACH_IN = 1e-9


def centres(pocket: Pocket, opening: Opening, corner_in: float = EXACT_IN) -> shapely.MultiPolygon:
    """All centres at which an opening of this size is clear of the pocket's walls, as areas; the place of `opening`
    doesn't matter. Arcs are drawn as straight lines on their free side, never more than `corner_in` off. A slot exactly
    as high as the opening is an area a millionth of an inch high."""
    keep = max(margin(opening) - TOUCH_IN / 2, 0.0)
    flat = Opening("", "rectangle", (0.0, 0.0), width_in=opening.size[0], height_in=opening.size[1])
    if opening.shape == "circle":
        flat = Opening("", "circle", (0.0, 0.0), diameter_in=0.0)
    sums = grown(pocket.walls.lines, np.zeros(len(pocket.walls.lines)), flat)
    left = difference(pocket.region, union([one for one in shapely.polygons(sums) if one.area > 0]))
    if keep <= 0:
        return _areas(left)
    left = difference(left, union(_strips(sums, keep)))
    corners = np.unique(sums.reshape(-1, 2), axis=0)
    reaching = shapely.distance(shapely.points(corners), left) < keep - _REACH_IN
    discs = [_disc(corner, keep, corner_in) for corner in corners[reaching]]
    return _areas(difference(left, union(discs)) if discs else left)


def _areas(found: BaseGeometry) -> shapely.MultiPolygon:
    """Without the lines and points that are left over where two areas touch."""
    return shapely.MultiPolygon(
        [part for part in shapely.get_parts(found) if part.geom_type == "Polygon" and part.area]
    )


def _strips(sums: Floats, keep: float) -> list[shapely.Polygon]:
    """Outside of each side of convex polygons (n, k, 2), counter-clockwise, a rectangle so wide."""
    sides = np.stack([sums, np.roll(sums, -1, axis=1)], axis=2).reshape(-1, 2, 2)
    run = sides[:, 1] - sides[:, 0]
    length = np.hypot(run[:, 0], run[:, 1])
    sides, run, length = sides[length > 1e-12], run[length > 1e-12], length[length > 1e-12]
    out = np.stack([run[:, 1], -run[:, 0]], axis=1) / length[:, None] * keep
    return list(shapely.polygons(np.concatenate([sides, sides[:, ::-1] + out[:, None]], axis=1)))


def _disc(centre: Floats, radius: float, corner_in: float) -> shapely.Polygon:
    """About a circle, so that nothing inside counts as free."""
    count = math.ceil(math.pi / math.acos(1 / (1 + corner_in / radius)))
    turn = 2 * math.pi / count * np.arange(count)
    return shapely.Polygon(centre + radius / math.cos(math.pi / count) * np.stack([np.cos(turn), np.sin(turn)], axis=1))
