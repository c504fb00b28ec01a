"""All centres at which an opening is free: against `fit`, which asks wood for wood and knows no regions."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from tests.analysis.clearance.test_pockets import box, example, gable
from trusses.analysis.clearance.centres import DRAWN_IN, centres
from trusses.analysis.clearance.clear_map import clear_map
from trusses.analysis.clearance.free_space import space
from trusses.analysis.clearance.openings import fit, moved
from trusses.analysis.clearance.pockets import pockets
from trusses.analysis.format.model import Opening

ROUND = Opening("C", "circle", (0.0, 0.0), diameter_in=9.0)
SLEEVE = Opening("S", "circle", (0.0, 0.0), diameter_in=5.0, clearance_in=1.0)
DUCT = Opening("R", "rectangle", (0.0, 0.0), width_in=12.0, height_in=7.0, clearance_in=1.0)
BARE = Opening("B", "rectangle", (0.0, 0.0), width_in=10.0, height_in=6.0)


def all_centres(truss, opening, **how):
    return shapely.MultiPolygon([part for one in pockets(space(truss)) for part in centres(one, opening, **how).geoms])


@pytest.mark.parametrize("opening", [ROUND, SLEEVE, DUCT, BARE], ids=lambda one: one.id)
@pytest.mark.parametrize("name", ["E1", "E2", "E3", "E5"])
def test_a_thousand_random_centres_agree_with_fit(name, opening):
    truss = example(name)
    room, free = space(truss), all_centres(truss, opening)
    left, low, right, high = room.outline.region.bounds
    random = np.random.default_rng(5)
    points = random.uniform([left, low], [right, high], (1000, 2))
    # half of them where it is decided: about the region's edge
    edge = shapely.line_interpolate_point(free.boundary, random.uniform(0, 1, 500), normalized=True)
    points[:500] = shapely.get_coordinates(edge) + random.uniform(-1e-3, 1e-3, (500, 2))
    inside = shapely.intersects_xy(free, points[:, 0], points[:, 1])
    seen = 0
    for point, stands in zip(points, inside, strict=True):
        found = fit(room, moved(opening, (float(point[0]), float(point[1]))))
        assert found.fits == stands or abs(found.spare_in) <= 1e-6
        seen += found.fits
    assert 100 <= seen < 900


def test_in_an_open_panel_the_centres_are_the_panel_less_the_opening():
    """63.5 by 33.5 of 3.5 in. wood leaves 60 by 30; a duct of 12 by 7 with an inch around leaves 46 by 21."""
    (free,) = [centres(one, DUCT) for one in pockets(space(box()))]
    assert free.bounds == pytest.approx((8.75, 6.25, 54.75, 27.25), abs=1e-5)
    assert free.area == pytest.approx(46 * 21, abs=1e-3)


def test_about_the_largest_circle_one_place_is_left():
    truss = gable()
    (one,) = clear_map(truss)
    just = Opening("C", "circle", (0.0, 0.0), diameter_in=one.circle.diameter_in)
    free = centres(one.pocket, just)
    assert not free.is_empty
    assert free.bounds == pytest.approx([*one.circle.centre_in] * 2, abs=1e-5)


@pytest.mark.parametrize("name", ["E1", "E3", "E5"])
def test_a_larger_size_has_no_place_that_a_smaller_one_lacks(name):
    truss = example(name)
    for kind in ("circle", "rectangle"):
        before = space(truss).outline.region
        for size in (4.0, 6.0, 8.0, 11.0):
            sizes = {"diameter_in": size} if kind == "circle" else {"width_in": 1.5 * size, "height_in": size}
            free = all_centres(truss, Opening("X", kind, (0.0, 0.0), **sizes))
            assert free.difference(before).area < 1e-9
            assert free.area < before.area
            before = free


def test_drawn_with_fewer_corners_nothing_more_is_free():
    truss = example("E3")
    exact, drawn = all_centres(truss, DUCT), all_centres(truss, DUCT, corner_in=DRAWN_IN)
    assert drawn.difference(exact).area < 1e-9
    assert shapely.hausdorff_distance(exact, drawn) < 2 * DRAWN_IN
    assert shapely.get_num_coordinates(drawn) <= shapely.get_num_coordinates(exact)
