"""The largest openings in each pocket: against triangles and boxes that a hand can compute."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from trusses.analysis.clearance.openings import fit
from trusses.analysis.clearance.pockets import CLOSE_IN, largest
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss

EXAMPLES = Path(__file__).parents[1] / "examples"
KEY = "2x4 SPF No.1/No.2"


def document(joints: dict[str, list[float]], members: list[tuple[str, str, str]], bearings: tuple[str, str]) -> Truss:
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
        }
    )


def example(name: str) -> Truss:
    return read((EXAMPLES / f"{name}.truss.json").read_bytes())


def triangle() -> Truss:
    """An empty gable of 240 by 90 in. with 3.5 in. chords."""
    joints = {"a": [0, 0], "p": [120, 90], "e": [240, 0]}
    return document(joints, [("top_chord", "a", "p"), ("top_chord", "p", "e"), ("bottom_chord", "a", "e")], ("a", "e"))


def test_the_largest_circle_in_a_gable_is_its_inscribed_circle_less_half_a_chord() -> None:
    (pocket,) = largest(triangle())
    radius = 240 * 90 / (240 + 2 * 150) - 1.75
    assert radius - CLOSE_IN < pocket.diameter_in / 2 <= radius + 1e-9
    assert pocket.circle_centre_in == pytest.approx((120, radius + 1.75), abs=0.05)


@pytest.mark.parametrize("aspect", [0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("clearance", [0.0, 1.0])
def test_the_largest_rectangle_in_a_gable(aspect: float, clearance: float) -> None:
    (pocket,) = largest(triangle(), aspect, clearance)
    # its lower side on the bottom chord's face, its upper corners under the rafters' faces, each moved by the clearance
    base, top = 1.75 + clearance, 90 - (1.75 + clearance) * math.hypot(90, 120) / 120
    # at height y the rafters' faces are 2·(top - y)·120/90 apart
    height = 2 * (top - base) * 120 / 90 / (aspect + 2 * 120 / 90)
    assert height - 2 * CLOSE_IN < pocket.height_in <= height + 1e-9
    assert pocket.width_in == pytest.approx(aspect * pocket.height_in)


def test_a_box_holds_a_rectangle_of_its_own_shape_whole() -> None:
    joints = {"a": [0, 0], "b": [63.5, 0], "c": [63.5, 33.5], "d": [0, 33.5]}
    sides = [("bottom_chord", "a", "b"), ("top_chord", "d", "c"), ("web", "a", "d"), ("web", "b", "c")]
    (pocket,) = largest(document(joints, sides, ("a", "b")), 2.0)
    assert pocket.height_in == pytest.approx(30, abs=CLOSE_IN)
    assert pocket.width_in == pytest.approx(60, abs=2 * CLOSE_IN)
    assert pocket.diameter_in == pytest.approx(30, abs=CLOSE_IN)


@pytest.mark.parametrize("name", ["E1", "E3", "E5", "E7", "E10"])
def test_every_pocket_s_openings_fit_and_an_eighth_more_does_not(name: str) -> None:
    one = example(name)
    pockets = largest(one, 1.5, 0.5)
    assert len(pockets) >= 4
    assert [p.circle_centre_in for p in pockets] == sorted(p.circle_centre_in for p in pockets)
    for pocket in pockets:
        for more, fits in ((0.0, True), (0.125, False)):
            round_one = Opening(
                "C", "circle", pocket.circle_centre_in, diameter_in=pocket.diameter_in + more, clearance_in=0.5
            )
            square_one = Opening(
                "R",
                "rectangle",
                pocket.rectangle_centre_in,
                width_in=pocket.width_in + 1.5 * more,
                height_in=pocket.height_in + more,
                clearance_in=0.5,
            )
            assert fit(one, round_one).fits is fits
            assert fit(one, square_one).fits is fits


def test_no_room_is_no_pocket() -> None:
    assert largest(triangle(), 1.0, 40.0) == ()
    assert largest(example("E15")) == ()


@pytest.mark.parametrize(
    ("aspect", "clearance"), [(0.0, 0.0), (math.nan, 0.0), (1e9, 0.0), (1.0, -1.0), (1.0, math.inf)]
)
def test_odd_shapes_are_refused(aspect: float, clearance: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        largest(triangle(), aspect, clearance)
