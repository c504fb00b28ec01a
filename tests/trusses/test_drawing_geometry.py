"""Outlines, cuts and dimensions against what a pencil finds."""

from __future__ import annotations

import math

import pytest

from tests.trusses.drawn import LUMBER, RECTANGLE, ROUND, Drawn, example, king_post
from trusses.drawing import elevation
from trusses.drawing.measures import heels, height, seat
from trusses.drawing.outline import outlines
from trusses.drawing.shape import shape

PIXEL = 0.02  # paths are written to a hundredth of a pixel, about 5 to the inch here


def corners(found, expected, within=PIXEL):
    """Whether two outlines have the same corners, wherever they start."""
    assert len(found) == len(expected)
    assert sorted(found) == [pytest.approx(corner, abs=within) for corner in sorted(expected)]


@pytest.fixture(scope="module")
def drawn():
    return Drawn(elevation(king_post()))


class TestKingPost:
    """2x4s at 9 in 12: half a depth is 1.75 in., 2.1875 in. on a plumb line across the top chord."""

    def test_top_chord(self, drawn):
        # plumb at the peak and at the wall's outer face, level with the bottom chord's underside at the heel
        heel = [(-1.75, 0.875), (-1.75, -1.75), (0.4375 / 0.75, -1.75)]
        corners(drawn.wood("T1"), [*heel, (120, 87.8125), (120, 92.1875)])
        corners(drawn.wood("T2"), [*[(240 - x, y) for x, y in heel], (120, 87.8125), (120, 92.1875)])

    def test_bottom_chord_is_tucked_beneath_the_top_chord(self, drawn):
        corners(drawn.wood("B1"), [(0.4375 / 0.75, -1.75), (3.9375 / 0.75, 1.75), (120, 1.75), (120, -1.75)])

    def test_web_fills_the_space_between_the_chords(self, drawn):
        corners(drawn.wood("W1"), [(118.25, 1.75), (121.75, 1.75), (121.75, 86.5), (120, 87.8125), (118.25, 86.5)])

    def test_a_chord_that_runs_on_is_not_cut(self, drawn):
        across = [(a, b) for a, b in drawn.edges("B1") if abs(a[0] - 120) < PIXEL and abs(b[0] - 120) < PIXEL]
        assert not across
        spliced = Drawn(elevation(king_post(hinges=["A", "B", "C", "D"])))
        assert [(a, b) for a, b in spliced.edges("B1") if abs(a[0] - 120) < PIXEL and abs(b[0] - 120) < PIXEL]

    def test_heights(self):
        post = shape(king_post())
        wood = outlines(post)
        assert height(post, wood) == pytest.approx((-1.75, 92.1875))
        assert [(side, low, high) for _, side, low, high in heels(post, wood)] == [
            (-1, pytest.approx(-1.75), pytest.approx(0.875, abs=1e-5)),
            (1, pytest.approx(-1.75), pytest.approx(0.875, abs=1e-5)),
        ]


def test_a_heel_reaches_the_outer_face_of_a_wider_wall():
    wide = [{"joint": joint, "restrains": "y", "width_in": 7.25} for joint in ("A", "C")]
    heel = Drawn(elevation(king_post(bearings=wide))).wood("T1")
    # the upper edge at x = -3.625: 0.75 * -3.625 + 2.1875 in., below the bottom chord's top
    assert sorted(heel)[:2] == [pytest.approx(corner, abs=PIXEL) for corner in ((-3.625, -1.75), (-3.625, -0.53125))]


def test_lumber_laid_flat_is_as_deep_as_it_is_thick():
    # E7: 2x4s laid flat, 1.5 in. deep; its end posts stand flush with both chords over a wall of 3.5 in.
    floor = Drawn(elevation(example("E7")))
    corners(floor.wood("T1"), [(-1.75, 14.5), (-1.75, 16), (36, 14.5), (36, 16)])
    corners(floor.wood("B1"), [(-1.75, 0), (-1.75, 1.5), (18, 0), (18, 1.5)])
    post = floor.wood("W1")
    assert (min(y for _, y in post), max(y for _, y in post)) == pytest.approx((1.5, 14.5), abs=PIXEL)
    assert min(x for x, _ in post) == pytest.approx(-0.75, abs=PIXEL)


def test_neighbouring_webs_share_the_angle_between_them():
    truss = king_post()
    truss["joints"] |= {"E": [60, 45], "F": [180, 45]}
    truss["members"] = [m for m in truss["members"] if m["role"] == "bottom_chord"] + [
        {"id": "T1", "role": "top_chord", "joints": ["A", "E"], "lumber": LUMBER},
        {"id": "T2", "role": "top_chord", "joints": ["E", "B"], "lumber": LUMBER},
        {"id": "T3", "role": "top_chord", "joints": ["B", "F"], "lumber": LUMBER},
        {"id": "T4", "role": "top_chord", "joints": ["F", "C"], "lumber": LUMBER},
        {"id": "W1", "role": "web", "joints": ["D", "E"], "lumber": LUMBER},
        {"id": "W2", "role": "web", "joints": ["D", "F"], "lumber": LUMBER},
    ]
    wood = outlines(shape(truss))
    # by symmetry they meet on the plumb line through D, 1.75 in. off their centrelines: 1.75 / sin(53.13°) above it
    for name in ("W1", "W2"):
        assert max(y for x, y in wood[name].corners if abs(x - 120) < 1e-6) == pytest.approx(1.75 / 0.8, abs=1e-5)
    assert max(x for x, _ in wood["W1"].corners) == pytest.approx(120, abs=1e-5)
    assert min(x for x, _ in wood["W2"].corners) == pytest.approx(120, abs=1e-5)


def test_a_bearing_is_full_under_a_sloping_chord():
    # E3's bottom chord rises 3 in 12, 5.5 in. deep: its underside at the wall's inner face, 1.75 in. in
    scissors = shape(example("E3"))
    expected = 1.75 * 0.25 - 2.75 * math.hypot(1, 0.25)
    assert seat(scissors, scissors.held_up[0]) == pytest.approx(expected)


def test_an_overhang_runs_on_over_its_bearing_and_ends_plumb():
    drawn = Drawn(elevation(example("E2")))
    tail = drawn.wood("TL1")
    assert sorted(x for x, _ in tail)[:2] == pytest.approx([-18, -18], abs=PIXEL)
    assert drawn.texts("dim-overall") == ["35'-0\" overall"]
    assert drawn.texts("dim-bearings") == ["1'-6\"", "32'-0\" span", "1'-6\""]


@pytest.mark.parametrize("detail", ["sheet", "phone"])
class TestOpenings:
    def test_a_rectangle_is_measured_to_its_near_edge(self, detail):
        # left edge 60 - 12 = 48 from the centre of the wall, whose face is 1.75 in.; bottom edge 6 over a face at 1.75
        drawn = Drawn(elevation(king_post(openings=[RECTANGLE]), detail=detail))
        assert drawn.texts("dim-opening") == ['4 1/4"', "3'-10 1/4\"", "2'-0\""]

    def test_a_round_one_is_measured_to_its_centre_from_the_nearer_wall(self, detail):
        # 240 - 1.75 - 180 = 58.25 in.; 20 - 1.75 = 18.25 in. up
        drawn = Drawn(elevation(king_post(openings=[ROUND]), detail=detail))
        assert drawn.texts("dim-opening") == ["1'-6 1/4\"", "4'-10 1/4\""]

    def test_its_clearance_is_hatched_around_it(self, detail):
        drawn = Drawn(elevation(king_post(openings=[ROUND]), detail=detail))
        scale = float(drawn.root.get("data-scale"))
        (band,) = drawn.of_class("clearance")
        assert band.get("stroke") == "url(#elevation-hatch)"
        # a line 1 in. wide about a circle of 5.5 in. covers 5 to 6 in.
        assert float(band.get("stroke-width")) / scale == pytest.approx(1, abs=PIXEL)
        assert float(band.get("r")) / scale == pytest.approx(5.5, abs=PIXEL)
        assert not Drawn(elevation(king_post(openings=[RECTANGLE]), detail=detail)).of_class("clearance")

    def test_a_script_finds_what_it_needs_to_drag_it(self, detail):
        drawn = Drawn(elevation(king_post(), ask=ROUND, detail=detail))
        (asked,) = drawn.of_class("opening", "ask")
        assert {
            name: asked.get(f"data-{name}") for name in ("opening", "shape", "centre-x", "centre-y", "diameter")
        } == {
            "opening": "O2",
            "shape": "circle",
            "centre-x": "180",
            "centre-y": "20",
            "diameter": "10",
        }
        (grip,) = drawn.of_class("grip")
        us = [u for u, _ in drawn.inches(grip.get("d"))]
        assert (max(us) - min(us)) * float(drawn.root.get("data-scale")) >= 44 - 1e-6


def test_panel_points_run_from_the_left_bearing():
    drawn = Drawn(elevation(example("E1")))
    xs = sorted({x for m in example("E1")["members"] if m["role"] == "bottom_chord" for x in _xs(m)})
    assert xs == [0, 144, 288, 432]
    assert drawn.texts("dim-panels") == ["12'-0\"", "24'-0\"", "36'-0\""]
    assert not Drawn(elevation(example("E1"), detail="phone")).of_class("dim-panels")


def test_panel_points_of_a_cantilever_run_both_ways_from_its_left_bearing():
    inboard = [{"joint": joint, "restrains": "y", "width_in": 3.5} for joint in ("E", "C")]
    truss = king_post(bearings=inboard)
    truss["joints"]["E"] = [40, 0]
    truss["members"][2]["joints"] = ["A", "E"]
    truss["members"].append({"id": "B3", "role": "bottom_chord", "joints": ["E", "D"], "lumber": LUMBER})
    drawn = Drawn(elevation(truss))
    # from the bearing at 40 in. to the joints at 0, 120 and 240 in.
    assert drawn.texts("dim-panels") == ["3'-4\"", "6'-8\"", "16'-8\""]
    assert drawn.texts("dim-bearings") == ["3'-4\" overhang", "16'-8\" span"]


def _xs(member):
    joints = example("E1")["joints"]
    return [joints[name][0] for name in member["joints"]]


def test_pitch_marks_give_the_rise_in_12_once_for_each_slope():
    assert Drawn(elevation(king_post())).texts("pitch") == ["12", "9"]
    assert Drawn(elevation(example("E3"))).texts("pitch") == ["12", "7", "12", "3"]
    # 60.84 / 81.12 is 9 in 12; 38.61 / 83.16 is 5.571, to the nearest sixteenth 5 9/16
    assert Drawn(elevation(example("E6"))).texts("pitch") == ["12", "9", "12", "5 9/16"]
    assert Drawn(elevation(example("E7"))).texts("pitch") == []


@pytest.mark.parametrize("outside", [[9_000, 9_000], [-400, 10], [120, -300]])
def test_an_opening_anywhere_leaves_the_scale_alone(outside):
    asked = Drawn(elevation(king_post(), ask=ROUND | {"centre_in": outside}))
    assert asked.root.get("data-scale") == Drawn(elevation(king_post())).root.get("data-scale")
    assert len(asked.of_class("opening")) == 1


def lone(a, b, role="top_chord", lumber=LUMBER):
    return {
        "mark": "M",
        "spacing_in": 24,
        "joints": {"A": a, "B": b},
        "members": [{"id": "M1", "role": role, "joints": ["A", "B"], "lumber": lumber}],
        "hinges": ["A", "B"],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "x", "width_in": 3.5},
        ],
    }


def odd(**changes):
    return king_post() | changes


ODD = {
    "column": lone([0, 0], [0, 120]),
    "column upside down": lone([0, 120], [0, 0], role="bottom_chord"),
    "steep": lone([0, 0], [10, 120]),
    "short": lone([0, 0], [2, 0]),
    "long": lone([0, 0], [12_000, 0]),
    "deep": lone([0, 0], [12, 3], lumber="2x12 DF-L No.2"),
    "no bearing that holds up": odd(bearings=[{"joint": "A", "restrains": "x", "width_in": 3.5}]),
    "one bearing": odd(bearings=[{"joint": "D", "restrains": "xy", "width_in": 3.5}]),
    "three bearings": odd(
        bearings=[{"joint": j, "restrains": "y", "width_in": 3.5} for j in ("A", "D", "C")],
    ),
    "wide bearing": odd(bearings=[{"joint": j, "restrains": "xy", "width_in": 60} for j in ("A", "C")]),
    "post under the eave": odd(
        joints={"A": [0, 0], "B": [120, 90], "C": [240, 0], "D": [120, 0], "E": [240, -80]},
        members=[*king_post()["members"], {"id": "P", "role": "bottom_chord", "joints": ["C", "E"], "lumber": LUMBER}],
        bearings=[{"joint": j, "restrains": "xy", "width_in": 3.5} for j in ("A", "E")],
    ),
    "chords on one line": odd(
        members=[m | {"role": "bottom_chord" if m["id"] == "B1" else "top_chord"} for m in king_post()["members"]]
    ),
    "webs alone": odd(members=[m | {"role": "web"} for m in king_post()["members"]]),
    "far from zero": odd(joints={n: [x + 5_000, y - 3_000] for n, (x, y) in king_post()["joints"].items()}),
}


@pytest.mark.parametrize("detail", ["sheet", "phone", "thumb"])
@pytest.mark.parametrize("name", ODD)
def test_odd_trusses_are_drawn_within_the_picture(name, detail):
    truss = ODD[name]
    drawn = Drawn(elevation(truss, detail=detail, ask=RECTANGLE))
    _, _, width, high = (float(n) for n in drawn.root.get("viewBox").split())
    scale, x0, y0 = (float(drawn.root.get(f"data-{n}")) for n in ("scale", "x0", "y0"))
    for member in truss["members"]:
        for x, y in drawn.wood(member["id"]):
            assert -0.01 <= x0 + scale * x <= width + 0.01
            assert -0.01 <= y0 - scale * y <= high + 0.01
