"""Where the most of some regions overlap, exactly: the places that the fewest of them leave out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from trusses.analysis.clearance.overlay import difference, intersection, union

#: Of all corners so many are tried first, to know how few regions can be left out at most.
_TRIED = 400


class Best(NamedTuple):
    """`area` holds every place of the domain that `missed` regions leave out, and no place that fewer do."""

    area: BaseGeometry
    missed: int


def most_overlap(regions: Sequence[BaseGeometry], domain: BaseGeometry) -> Best:
    """The places of `domain`, an area, a line or a point, that lie in as many of `regions` as any does.

    Like regions are taken together. Then the domain is cut by one after another, and kept are the places that `k` of
    those so far leave out, for each k up to what some corner is already known to reach: no two layers overlap, and
    nothing depends on how regions are sampled. A region's border belongs to it.
    """
    weights: dict[bytes, int] = {}
    alike: dict[bytes, BaseGeometry] = {}
    for region in regions:
        key = shapely.to_wkb(region)
        alike[key] = region
        weights[key] = weights.get(key, 0) + 1
    order = sorted(alike, key=lambda key: -weights[key])
    bound = _reached([alike[key] for key in order], [weights[key] for key in order], domain)
    layers: list[BaseGeometry | None] = [domain, *([None] * bound)]
    for key in order:
        layers = _cut(layers, alike[key], weights[key])
    for missed, layer in enumerate(layers):
        if layer is not None:
            return Best(layer, missed)
    return Best(domain, len(regions))  # a bound that rounding took away: nothing is claimed


def _cut(layers: Sequence[BaseGeometry | None], region: BaseGeometry, weight: int) -> list[BaseGeometry | None]:
    """The layers once `region` counts: what lies in it stays where it is, the rest goes `weight` layers down."""
    found: list[list[BaseGeometry]] = [[] for _ in layers]
    for k, layer in enumerate(layers):
        if layer is None:
            continue
        found[k].append(intersection(layer, region))
        if k + weight < len(layers):
            found[k + weight].append(difference(layer, region))
    parts = [[one for one in those if not one.is_empty] for those in found]
    return [union(those) if len(those) > 1 else those[0] if those else None for those in parts]


def _reached(regions: Sequence[BaseGeometry], weights: Sequence[int], domain: BaseGeometry) -> int:
    """How many are left out at the best of some places: the least can't be more."""
    corners = np.concatenate([shapely.get_coordinates(one) for one in [domain, *regions]])
    step = max(len(corners) // _TRIED, 1)
    places = [*shapely.points(corners[::step]), domain.representative_point(), shapely.Point(0, 0)]
    inside = [place for place in places if domain.distance(place) < 1e-9]
    left_out = np.zeros(len(inside), dtype=int)
    for region, weight in zip(regions, weights, strict=True):
        shapely.prepare(region)
        left_out += weight * ~shapely.covers(region, inside)
    return int(left_out.min()) if inside else sum(weights)
