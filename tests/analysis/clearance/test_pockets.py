"""Pockets and the largest openings in them: against triangles, boxes and corners that a hand can compute."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from trusses.analysis.clearance import convex
from trusses.analysis.clearance.clear_map import HEIGHTS_IN, WIDTHS_TO_HEIGHT, clear_map, written
from trusses.analysis.clearance.free_space import space
from trusses.analysis.clearance.inscribed import circle, rectangle, widest
from trusses.analysis.clearance.openings import fit
from trusses.analysis.clearance.pockets import pockets, walls
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss

EXAMPLES = Path(__file__).parents[1] / "examples"
KEY = "2x4 SPF No.1/No.2"
DEEP = 3.5
#: Boxes of 10 by 4 and 4 by 10 that share a corner.
ELL = shapely.Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)])


def document(
    joints: dict[str, list[float]],
    members: list[tuple[str, str, str]],
    bearings: tuple[str, str],
    openings: tuple[dict[str, object], ...] = (),
) -> Truss:
    return read(
        {
            "format": "chordchange.truss",
            "version": 1,
            "mark": "X",
            "spacing_in": 24,
            "joints": joints,
            "members": [
                {"id": f"M{i}", "role": role, "joints": [a, b], "lumber": KEY} for i, (role, a, b) in enumerate(members)
            ],
            "bearings": [
                {"joint": bearings[0], "restrains": "xy", "width_in": 3.5},
                {"joint": bearings[1], "restrains": "y", "width_in": 3.5},
            ],
            **({"openings": list(openings)} if openings else {}),
        }
    )


def example(name: str) -> Truss:
    return read((EXAMPLES / f"{name}.truss.json").read_bytes())


def gable(half: float = 120, rise: float = 90, **more: tuple[dict[str, object], ...]) -> Truss:
    """An empty gable of 240 by 90 in. with 3.5 in. chords."""
    joints = {"a": [0.0, 0.0], "p": [half, rise], "e": [2 * half, 0.0]}
    sides = [("top_chord", "a", "p"), ("top_chord", "p", "e"), ("bottom_chord", "a", "e")]
    return document(joints, sides, ("a", "e"), **more)


def box(wide: float = 63.5, high: float = 33.5) -> Truss:
    joints = {"a": [0.0, 0.0], "b": [wide, 0.0], "c": [wide, high], "d": [0.0, high]}
    sides = [("bottom_chord", "a", "b"), ("top_chord", "d", "c"), ("web", "a", "d"), ("web", "b", "c")]
    return document(joints, sides, ("a", "b"))


class TestTriangle:
    @pytest.mark.parametrize(("half", "rise"), [(120, 90), (180, 60), (48, 110), (216, 36)])
    def test_the_circle_s_radius_is_2a_over_p_less_half_a_depth(self, half, rise):
        """The inscribed circle of the centerlines has r = 2A/P; wood takes half a depth on each side."""
        (one,) = clear_map(gable(half, rise))
        radius = 2 * (half * rise) / (2 * half + 2 * math.hypot(half, rise)) - DEEP / 2
        assert one.circle.diameter_in / 2 == pytest.approx(radius, abs=1e-6)
        assert one.circle.centre_in == pytest.approx((half, radius + DEEP / 2), abs=1e-6)

    def test_so_in_any_triangle(self):
        random = np.random.default_rng(11)
        for _ in range(40):
            x, y = random.uniform(30, 270), random.uniform(40, 150)
            joints = {"a": [0.0, 0.0], "p": [x, y], "e": [300.0, 0.0]}
            sides = [("top_chord", "a", "p"), ("top_chord", "p", "e"), ("bottom_chord", "a", "e")]
            (one,) = clear_map(document(joints, sides, ("a", "e")))
            perimeter = 300 + math.hypot(x, y) + math.hypot(300 - x, y)
            assert one.circle.diameter_in / 2 == pytest.approx(300 * y / perimeter - DEEP / 2, abs=1e-6)

    @pytest.mark.parametrize("shape", WIDTHS_TO_HEIGHT)
    def test_the_largest_rectangle_of_a_shape(self, shape):
        # its lower side on the bottom chord's face, its upper corners under the rafters', 2 (top - y) 120/90 apart
        base, top = DEEP / 2, 90 - DEEP / 2 * math.hypot(90, 120) / 120
        height = 2 * (top - base) * 120 / 90 / (shape + 2 * 120 / 90)
        (one,) = clear_map(gable())
        found = one.by_shape[shape]
        assert (found.height_in, found.width_in) == pytest.approx((height, shape * height), abs=1e-6)
        assert found.centre_in == pytest.approx((120, base + height / 2), abs=1e-6)

    @pytest.mark.parametrize("height", HEIGHTS_IN)
    def test_the_widest_of_a_height(self, height):
        base, top = DEEP / 2, 90 - DEEP / 2 * math.hypot(90, 120) / 120
        (one,) = clear_map(gable())
        found = one.by_height[height]
        assert found.width_in == pytest.approx(2 * (top - base - height) * 120 / 90, abs=1e-6)
        assert (*found.centre_in, found.height_in) == pytest.approx((120, base + height / 2, height), abs=1e-6)


class TestOpenPanel:
    @pytest.mark.parametrize(("wide", "high"), [(63.5, 33.5), (24, 40), (30, 30)])
    def test_the_circle_is_the_smaller_side_less_a_depth(self, wide, high):
        (one,) = clear_map(box(wide, high))
        assert one.circle.diameter_in == pytest.approx(min(wide, high) - DEEP, abs=1e-6)
        # of all places that are as good the middle one
        assert one.circle.centre_in == pytest.approx((wide / 2, high / 2), abs=1e-6)

    def test_a_rectangle_of_the_panel_s_own_shape_fills_it(self):
        (one,) = clear_map(box())
        assert (one.by_shape[2.0].width_in, one.by_shape[2.0].height_in) == pytest.approx((60, 30), abs=1e-6)

    def test_a_slot_exactly_as_high_as_the_duct_holds_it(self):
        (one,) = clear_map(box(63.5, 12 + DEEP))
        assert one.by_height[12.0].width_in == pytest.approx(60, abs=1e-6)
        assert 14.0 not in one.by_height


class TestWhereWoodJutsIn:
    def test_the_circle_in_a_corner_touches_two_sides_and_the_point(self):
        """Its center (r, r) is r from the point (4, 4): r = (4 - r)√2."""
        found = circle(ELL)
        assert found.diameter_in / 2 == pytest.approx(4 * math.sqrt(2) / (1 + math.sqrt(2)), abs=1e-9)

    @pytest.mark.parametrize(("shape", "height"), [(1.0, 4.0), (2.0, 4.0), (2.5, 4.0), (4.0, 2.5), (0.25, 10.0)])
    def test_rectangles_lie_in_an_arm(self, shape, height):
        found = rectangle(ELL, shape)
        assert (found.height_in, found.width_in) == pytest.approx((height, shape * height), abs=1e-9)

    @pytest.mark.parametrize(("height", "width"), [(3, 10), (4, 10), (5, 4), (10, 4)])
    def test_the_widest_of_a_height(self, height, width):
        found = widest(ELL, height)
        assert found is not None
        assert found.width_in == pytest.approx(width, abs=1e-6)

    def test_nothing_is_higher_than_the_pocket(self):
        assert widest(ELL, 10.001) is None

    def test_around_a_post_in_the_middle(self):
        """A box of 20 with a post of 4: the circle in a corner touches two walls and the post's: r = (8 - r)√2."""
        ring = shapely.Polygon(shapely.box(0, 0, 20, 20).exterior.coords, [shapely.box(8, 8, 12, 12).exterior.coords])
        assert circle(ring).diameter_in / 2 == pytest.approx(8 * math.sqrt(2) / (1 + math.sqrt(2)), abs=1e-9)
        assert rectangle(ring, 1.0).width_in == pytest.approx(8, abs=1e-9)
        found = widest(ring, 8)
        assert found is not None
        assert found.width_in == pytest.approx(20, abs=1e-6)

    @pytest.mark.parametrize("sides", [24, 96])
    def test_a_pocket_of_many_walls(self, sides):
        """About a circle of 30. A square of half side s reaches s(|cos t| + |sin t|) toward a wall of normal t: √2 s
        at 45°."""
        turn = 2 * np.pi / sides * (np.arange(sides) + 0.5)
        round_one = shapely.Polygon(30 / np.cos(np.pi / sides) * np.stack([np.cos(turn), np.sin(turn)], axis=1))
        assert circle(round_one).diameter_in == pytest.approx(60, abs=1e-6)
        assert rectangle(round_one, 1.0).width_in == pytest.approx(60 / math.sqrt(2), abs=1e-6)


def test_both_ways_find_the_same_in_convex_pockets():
    """Each three walls at once, and the plane halved into squares: neither knows the other."""
    random = np.random.default_rng(3)
    for _ in range(30):
        region = shapely.convex_hull(shapely.multipoints(random.uniform(0, 60, (12, 2))))
        bounds = walls(region)
        round_one, by_shape, by_height = convex.inscribed(bounds, WIDTHS_TO_HEIGHT, HEIGHTS_IN)
        assert round_one.diameter_in == pytest.approx(circle(region).diameter_in, abs=1e-7)
        for shape, found in by_shape.items():
            assert found.width_in == pytest.approx(rectangle(region, shape).width_in, abs=1e-7)
        for height in HEIGHTS_IN:
            other = widest(region, height)
            assert (height in by_height) == (other is not None)
            if other is not None:
                assert by_height[height].width_in == pytest.approx(other.width_in, abs=1e-6)


@pytest.mark.parametrize("name", ["E1", "E2", "E3", "E5", "E7", "E10"])
def test_every_opening_that_is_named_fits_and_none_that_is_larger(name):
    one = example(name)
    room = space(one)
    found = clear_map(one)
    assert len(found) >= 4
    for pocket in found:
        for more, fits in ((0.0, True), (1e-5, False)):
            (x, y), wide = pocket.circle.centre_in, pocket.circle.diameter_in + more
            assert fit(room, Opening("C", "circle", (x, y), diameter_in=wide)).fits is fits
            for shape, square in pocket.by_shape.items():
                size = {"width_in": square.width_in + shape * more, "height_in": square.height_in + more}
                assert fit(room, Opening("R", "rectangle", square.centre_in, **size)).fits is fits
            for height, level in pocket.by_height.items():
                size = {"width_in": level.width_in + 10 * more, "height_in": height}
                assert fit(room, Opening("R", "rectangle", level.centre_in, **size)).fits is fits


class TestWhatIsTold:
    def test_the_pieces_around_a_pocket_and_the_opening_in_it(self):
        held = {"id": "O1", "shape": "circle", "centre_in": [120, 20], "diameter_in": 10}
        (one,) = clear_map(gable(openings=(held,)))
        assert (one.number, one.pocket.members, one.pocket.openings) == (1, ("M0", "M1", "M2"), ("O1",))
        # an opening is no wood
        assert one.circle == clear_map(gable())[0].circle

    def test_as_json(self):
        told = written(gable(), clear_map(gable()))
        (pocket,) = told["pockets"]
        assert (told["mark"], pocket["number"], pocket["members"]) == ("X", 1, ["M0", "M1", "M2"])
        assert [one["width_to_height"] for one in pocket["rectangles"]] == list(WIDTHS_TO_HEIGHT)
        assert [one["height_in"] for one in pocket["widest"]] == list(HEIGHTS_IN)
        assert pocket["circle"]["diameter_in"] == pytest.approx(2 * (2 * 120 * 90 / 540 - DEEP / 2), abs=1e-6)

    def test_pockets_count_from_the_left(self):
        xs = [one.circle.centre_in[0] for one in clear_map(example("E1"))]
        assert len(xs) == 5
        assert xs[0] == min(xs)
        assert xs[-1] == max(xs)
        assert [one.number for one in clear_map(example("E1"))] == [1, 2, 3, 4, 5]

    def test_a_column_and_a_crack_have_none(self):
        assert clear_map(example("E15")) == ()
        (crack,) = pockets(space(box(63.5, 4.4)))
        assert crack.region.area == pytest.approx(60 * 0.9)
        assert clear_map(box(63.5, 4.4)) == ()
