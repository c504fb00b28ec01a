"""Areas and nothing."""

from __future__ import annotations

import shapely

from trusses.analysis.clearance.overlay import difference, intersection, union

#: What an intersection leaves of areas that touch along a line here and overlap there.
MIXED = shapely.GeometryCollection(
    [shapely.LineString([(0, 0), (1, 1)]), shapely.box(2, 2, 3, 3), shapely.box(5, 5, 6, 6)]
)
NOTHING = shapely.Polygon()


def test_lines_and_areas_mixed_meet_nothing():
    assert intersection(MIXED, NOTHING).is_empty
    assert intersection(NOTHING, MIXED).is_empty
    assert difference(NOTHING, MIXED).is_empty
    assert difference(MIXED, NOTHING).equals(MIXED)
    assert union([MIXED, NOTHING]).area == 2
