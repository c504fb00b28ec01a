"""Clear openings: hand-computed geometry, brute force on random ones, and sizes that are no sizes."""

from __future__ import annotations

import dataclasses
import json
import math
import random
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.refused import refused
from trusses.analysis.clearance.openings import OpeningError, fit, fits, nearest
from trusses.analysis.clearance.outline import outline
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.words.phrases import coded

EXAMPLES = Path(__file__).parents[1] / "examples"
KEY = "2x4 SPF No.1/No.2"


def truss(
    joints: dict[str, tuple[float, float]],
    top: list[str],
    bottom: list[str],
    webs: list[str],
    bearings: tuple[str, str],
    flat: bool = False,
) -> Truss:
    """A truss from chains of joints: "A B C" is two members; every piece a 2x4 (3.5 in. deep, or 1.5 in. flat)."""
    members = []
    for role, stem, chains in (("top_chord", "T", top), ("bottom_chord", "B", bottom), ("web", "W", webs)):
        for chain in chains:
            names = chain.split()
            for a, b in pairwise(names):
                number = sum(member["role"] == role for member in members) + 1
                members.append({"id": f"{stem}{number}", "role": role, "joints": [a, b], "lumber": KEY, "flat": flat})
    return read(
        {
            "format": "chordchange.truss",
            "version": 1,
            "mark": "X",
            "spacing_in": 24,
            "joints": {name: list(place) for name, place in joints.items()},
            "members": members,
            "bearings": [
                {"joint": bearings[0], "restrains": "xy", "width_in": 3.5},
                {"joint": bearings[1], "restrains": "y", "width_in": 3.5},
            ],
        }
    )


def box() -> Truss:
    """100 by 40 in., upright webs at 0, 50 and 100."""
    joints = {"a": (0, 0), "b": (50, 0), "c": (100, 0), "d": (0, 40), "e": (50, 40), "f": (100, 40)}
    return truss(joints, ["d e f"], ["a b c"], ["a d", "b e", "c f"], ("a", "c"))  # type: ignore[arg-type]


def example(name: str) -> Truss:
    return read((EXAMPLES / f"{name}.truss.json").read_bytes())


def circle(x: float, y: float, diameter: float, clearance: float = 0.0) -> Opening:
    return Opening("O", "circle", (x, y), diameter_in=diameter, clearance_in=clearance)


def rectangle(x: float, y: float, width: float, height: float, clearance: float = 0.0) -> Opening:
    return Opening("O", "rectangle", (x, y), width_in=width, height_in=height, clearance_in=clearance)


def test_a_circle_between_uprights_has_the_spare_of_its_nearest_wood() -> None:
    # chords' faces at 1.75 and 38.25, webs' at 1.75 and 48.25; radius and clearance 6 in.
    answer = fit(box(), circle(30, 20, 10, 1))
    assert answer.fits
    assert answer.touches == ()
    assert answer.spare_in == pytest.approx(20 - 1.75 - 6, abs=1e-12)
    assert answer.told == coded("fits", spare_in=answer.spare_in)


@pytest.mark.parametrize(("past", "clear"), [(0.0, True), (0.9e-6, True), (1.2e-6, False), (-1e-3, True)])
def test_touching_is_fitting_and_a_millionth_of_an_inch_more_is_not(past: float, clear: bool) -> None:
    answer = fit(box(), circle(50 - 1.75 - 6 + past, 20, 10, 1))
    assert answer.fits is clear
    assert answer.touches == (() if clear else ("W2",))


def test_the_first_example_s_duct_overlaps_its_web_by_the_distance_computed_by_hand() -> None:
    # web from (108, 54) to (144, 0): |24·(-54) - (-34)·36| / √(36² + 54²) from the duct's centre to its centreline
    off = abs(24 * -54 + 34 * 36) / math.hypot(36, 54)
    (answer,) = fits(example("E1"))
    assert answer.touches == ("W1",)
    assert not answer.fits
    assert answer.spare_in == pytest.approx(off - 1.75 - 8, abs=1e-9)
    assert answer.told == coded("webs-in-the-way", members=["W1"], by_in=-answer.spare_in)


def test_a_rectangle_in_the_floor_example_touches_both_webs_and_exactly_fills_its_depth() -> None:
    floor = example("E7")
    (answer,) = fits(floor)
    assert answer.touches == ("W8", "W9")
    assert not answer.cuts_chord
    # between the chords' faces at 1.5 and 14.5 in. there are 13 in.: 12 and 1/2 in. on either side, and no more
    inside = rectangle(108, 8, 1, 12, 0.5)
    assert "T3" not in fit(floor, inside).touches
    assert fit(floor, dataclasses.replace(inside, height_in=12.00001)).cuts_chord


def test_corners_are_rounded_and_not_drawn_out_to_a_point() -> None:
    # a web at 45°: its lower face runs through (x, x - 1.75·√2); the corner at the upper left comes nearest to it
    joints = {"a": (0.0, 0.0), "b": (100.0, 0.0), "c": (0.0, 100.0), "d": (100.0, 100.0)}
    tilted = truss(joints, ["c d"], ["a b"], ["a c", "a d", "b d"], ("a", "b"))
    clearance, corner = 3.0, (50.0, 40.0)
    apart = (corner[0] - corner[1]) / math.sqrt(2) - 1.75
    answer = fit(tilted, rectangle(corner[0] + 8, corner[1] - 5, 16, 10, clearance))
    assert answer.spare_in == pytest.approx(apart - clearance, abs=1e-9)
    # mitred corners would reach clearance·√2 along the bisector, which here is straight at the web
    assert answer.fits
    assert apart - clearance * math.sqrt(2) < answer.spare_in


def test_overlap_is_how_far_the_opening_would_have_to_move() -> None:
    # a 10 by 30 in. rectangle centred on the middle web: 5 + 1.75 in. sideways, or 40 in. and more up or down
    answer = fit(box(), rectangle(50, 20, 10, 30, 0.5))
    assert answer.touches == ("W2",)
    assert answer.spare_in == pytest.approx(-(5 + 1.75 + 0.5), abs=1e-9)


def test_the_same_truss_listed_in_any_order_and_direction_gives_the_same_answer() -> None:
    document = json.loads((EXAMPLES / "E3.truss.json").read_text())
    opening = rectangle(184, 66, 20, 10, 1)
    want = fit(read(document), opening)
    mixed = random.Random(4)
    for _ in range(5):
        mixed.shuffle(document["members"])
        for member in document["members"]:
            if mixed.random() < 0.5:
                member["joints"].reverse()
                member["joints"] = list(member["joints"])
        got = fit(read(document), opening)
        assert got == dataclasses.replace(want, spare_in=got.spare_in)
        assert got.spare_in == pytest.approx(want.spare_in, abs=1e-9)


class TestOutside:
    def test_beside_above_and_below_it_fits_nothing_and_touches_nothing(self) -> None:
        for x, y in ((-40, 20), (140, 20), (50, 60), (50, -20)):
            answer = fit(box(), circle(x, y, 10, 1))
            assert (answer.fits, answer.outside, answer.touches, answer.cuts_chord) == (False, True, (), False)
            assert answer.spare_in < 0
            assert answer.told == coded("reaches-outside")

    def test_through_a_chord_is_never(self) -> None:
        answer = fit(box(), circle(25, 3, 10))
        assert answer.cuts_chord
        assert answer.touches == ("B1",)
        assert answer.told == {**coded("cuts-chord", members=["B1"]), "called": {"B1": "B1.1"}}

    def test_under_a_scissors_bottom_chord_is_outside(self) -> None:
        scissors = example("E3")
        assert fit(scissors, circle(180, 20, 12)).outside
        assert not fit(scissors, circle(180, 70, 4)).outside

    def test_under_an_overhang_is_outside_and_its_outline_ends_at_the_heels(self) -> None:
        howe = example("E2")
        assert outline(howe).region.bounds == pytest.approx((0, 0, 384, 112))
        assert outline(howe).region.area == pytest.approx(384 * 112 / 2)
        answer = fit(howe, circle(-6, -12, 2))
        assert (answer.outside, answer.touches) == (True, ())

    def test_a_box_of_webs_under_an_overhang_is_outside_too(self) -> None:
        joints = {"t": (-24.0, -12.0), "s": (0.0, -12.0), "a": (0.0, 0.0), "p": (96.0, 48.0), "e": (192.0, 0.0)}
        soffit = truss(joints, ["t a p e"], ["a e"], ["t s", "s a"], ("a", "e"))
        assert fit(soffit, circle(-6, -8, 1)).outside

    @pytest.mark.parametrize("closed", [True, False])
    def test_past_a_bearing_only_what_members_close_is_inside(self, closed: bool) -> None:
        joints = {"a": (0.0, 0.0), "b": (48.0, 0.0), "c": (96.0, 0.0), "d": (120.0, 0.0)}
        joints |= {f"{name}2": (x, 24.0) for name, (x, _) in joints.items()}
        webs = ["a a2", "a b2", "b b2", "b c2", "c c2", *(["c d2", "d d2"] if closed else [])]
        cantilever = truss(joints, ["a2 b2 c2 d2"], ["a b c d"], webs, ("a", "c"))
        assert outline(cantilever).region.area == pytest.approx((120 if closed else 96) * 24)
        answer = fit(cantilever, circle(112, 8, 4))
        assert answer.outside is not closed
        assert answer.fits is closed

    def test_past_an_end_that_no_member_closes(self) -> None:
        joints = {"a": (0.0, 0.0), "b": (50.0, 0.0), "c": (100.0, 0.0), "d": (0.0, 40.0), "e": (50.0, 40.0)}
        joints["f"] = (100.0, 40.0)
        open_ended = truss(joints, ["d e f"], ["a b c"], ["b e", "a e", "b f"], ("a", "c"))
        assert outline(open_ended).region.bounds == pytest.approx((0, 0, 100, 40))
        assert fit(open_ended, circle(94, 10, 10, 1)).fits
        answer = fit(open_ended, circle(96, 10, 10, 1))
        assert answer.outside
        assert not answer.fits
        assert answer.spare_in == pytest.approx(-2)

    def test_a_truss_hung_by_its_top_chord_keeps_the_corner_under_its_end(self) -> None:
        joints = {"t0": (0.0, 20.0), "t1": (40.0, 20.0), "t2": (80.0, 20.0), "b1": (20.0, 0.0), "b2": (60.0, 0.0)}
        hung = truss(joints, ["t0 t1 t2"], ["b1 b2"], ["t0 b1 t1 b2 t2"], ("t0", "t2"), flat=True)
        assert outline(hung).region.area == pytest.approx((80 + 40) / 2 * 20)
        assert fit(hung, circle(20, 14, 6)).fits
        assert fit(hung, circle(4, 6, 3)).outside

    def test_a_lone_chord_encloses_nothing(self) -> None:
        for name in ("E14", "E15"):
            alone = example(name)
            x, y = alone.joints[0].x, alone.joints[0].y
            answer = fit(alone, circle(x + 30, y + 30, 4))
            assert (answer.fits, answer.outside, answer.touches) == (False, True, ())
            assert math.isfinite(answer.spare_in)
            assert nearest(alone, circle(x + 30, y + 30, 4)) is None

    def test_a_hip_and_a_mono_are_bounded_by_what_bounds_them(self) -> None:
        joints = {"a": (0.0, 0.0), "h": (80.0, 40.0), "k": (160.0, 40.0), "e": (240.0, 0.0), "b": (120.0, 0.0)}
        hip = truss(joints, ["a h k e"], ["a b e"], ["h b", "b k"], ("a", "e"))
        assert outline(hip).region.area == pytest.approx((240 + 80) / 2 * 40)
        assert outline(example("E4")).region.area == pytest.approx(168 * 70 / 2)


class TestNearest:
    def test_a_slot_exactly_as_high_as_the_opening_is_still_a_place(self) -> None:
        floor = box()
        found = nearest(floor, rectangle(30, 27, 10, 35.5, 0.5))
        assert found is not None
        assert found.centre_in == pytest.approx((30, 20), abs=1e-5)
        assert found.moved_in == pytest.approx(7, abs=1e-5)

    def test_the_place_is_on_a_sixteenth_where_that_costs_nothing(self) -> None:
        found = nearest(box(), circle(45.1, 20, 10, 1))
        assert found is not None
        assert found.centre_in == (42.25, 20)

    def test_nowhere(self) -> None:
        assert nearest(box(), circle(25, 20, 40)) is None

    def test_from_outside_back_in(self) -> None:
        found = nearest(box(), circle(-100, 20, 10, 1))
        assert found is not None
        assert found.centre_in == pytest.approx((1.75 + 6, 20), abs=0.01)


class TestBadSizes:
    @pytest.mark.parametrize(
        ("opening", "code", "values"),
        [
            (circle(50, 20, -3), "opening-size-not-over-0", {"measure": "diameter", "size_in": -3}),
            (circle(50, 20, 0), "opening-size-not-over-0", {"measure": "diameter", "size_in": 0}),
            (circle(50, 20, math.nan), "opening-not-finite", {"measure": "diameter", "shown": "nan"}),
            (circle(50, 20, math.inf), "opening-not-finite", {"measure": "diameter", "shown": "inf"}),
            (circle(50, 20, 5, -1), "opening-clearance-below-0", {"clearance_in": -1}),
            (circle(math.nan, 20, 5), "opening-not-finite", {"measure": "x", "shown": "nan"}),
            (circle(50, 1e300, 5), "opening-too-large", {"measure": "y", "size_in": 1e300}),
            (rectangle(50, 20, 5, -2), "opening-size-not-over-0", {"measure": "height", "size_in": -2}),
            (rectangle(50, 20, 1e9, 2), "opening-too-large", {"measure": "width", "size_in": 1e9}),
            (
                Opening("O", "rectangle", (50, 20), width_in=5),
                "opening-lacks-size",
                {"shape": "rectangle", "measure": "height"},
            ),
            (Opening("O", "circle", (50, 20)), "opening-lacks-size", {"shape": "circle", "measure": "diameter"}),
        ],
    )
    def test_are_refused_by_name(self, opening: Opening, code: str, values: dict[str, Any]) -> None:
        for ask in (fit, nearest):
            with refused(OpeningError, code, "opening O", **values):
                ask(box(), opening)

    def test_an_opening_of_400_ft_is_answered_and_fits_nowhere(self) -> None:
        answer = fit(example("E5"), rectangle(100, 7, 4800, 4800, 1))
        assert answer.cuts_chord
        assert not answer.fits
        assert len(answer.touches) == 44
        assert nearest(example("E5"), circle(100, 7, 4800, 1)) is None
