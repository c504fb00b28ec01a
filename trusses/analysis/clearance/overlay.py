"""Areas united, intersected and subtracted, also where rounding or a tangled outline makes one touch itself. Inches."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import shapely
from shapely.errors import GEOSException
from shapely.geometry.base import BaseGeometry

#: Where exact areas can't be overlaid, both are brought to this grid first.
GRID_IN = 1e-6


def union(areas: Sequence[BaseGeometry]) -> BaseGeometry:
    return _overlaid(lambda *parts: shapely.union_all(parts), areas)


def intersection(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    if one.is_empty or other.is_empty:
        return shapely.Polygon()  # areas and lines mixed with nothing are more than GEOS can tell the dimension of
    return _overlaid(shapely.intersection, (one, other))


def difference(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    if one.is_empty or other.is_empty:
        return one
    return _overlaid(shapely.difference, (one, other))


def _overlaid(operation: Callable[..., Any], areas: Sequence[BaseGeometry]) -> BaseGeometry:
    try:
        return operation(*areas)
    except GEOSException:
        return operation(*(shapely.set_precision(shapely.make_valid(area), GRID_IN) for area in areas))
