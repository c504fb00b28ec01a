"""How far members run between what holds them ("How checks read the document")."""

import copy
import math

import pytest

from tests.beams import beam, gable
from trusses.analysis.document import read
from trusses.analysis.solver.geometry import geometry
from trusses.analysis.solver.topology import topology
from trusses.analysis.stability import lengths

SPF = "2x4 SPF No.1/No.2"
RAFTER = math.hypot(96, 32)


def of(document, member):
    truss = read(document)
    shape = topology(truss)
    held = lengths([truss], shape, geometry([truss], shape))
    i = truss.member_index[member]
    return held.in_plane[i, 0], held.out_of_plane[i, 0], held.upper[i, 0], held.lower[i, 0]


def split(document, *, at, member="M", **more):
    """The document with one member cut in two at a joint J."""
    cut = copy.deepcopy(document)
    cut["joints"]["J"] = at
    (piece,) = [m for m in cut["members"] if m["id"] == member]
    cut["members"].append(piece | {"id": f"{member}b", "joints": ["J", piece["joints"][1]]})
    piece["joints"] = [piece["joints"][0], "J"]
    return cut | more


def test_a_lone_member_runs_between_its_bearings():
    assert of(beam(96, SPF, restraint=24), "M") == (96, 24, 24, 96)


def test_a_top_chord_is_held_on_its_upper_edge_and_a_bottom_chord_on_its_lower():
    assert of(beam(96, SPF, role="top_chord", restraint=16), "M") == (96, 16, 16, 96)
    assert of(beam(96, SPF, role="bottom_chord", restraint=16), "M") == (96, 16, 96, 16)


def test_restraint_wider_than_the_chord_leaves_the_ends():
    assert of(beam(96, SPF, restraint=120), "M") == (96, 96, 96, 96)


def test_restraint_unstated_means_the_ends_of_the_chord_and_zero_means_continuous():
    assert of(beam(96, SPF, restraint=None), "M") == (96, 96, 96, 96)
    assert of(beam(96, SPF, restraint=0), "M") == (96, 0, 0, 96)
    truss = gable(lateral_restraint={})
    assert of(truss, "T1") == pytest.approx((RAFTER, 2 * RAFTER, 2 * RAFTER, RAFTER))
    assert of(truss, "B2") == pytest.approx((96, 192, 96, 192))


def test_a_splice_where_nothing_else_meets_does_not_shorten_the_chord():
    spliced = split(beam(96, SPF, restraint=24), at=[36, 0])
    assert of(spliced, "M") == of(spliced, "Mb") == (96, 24, 24, 96)


def test_a_bend_holds_the_chord_and_a_hair_of_one_does_not():
    assert of(split(beam(96, SPF), at=[48, 1]), "M")[0] == pytest.approx(2 * math.hypot(48, 1))
    assert of(split(beam(96, SPF), at=[48, 16]), "M")[0] == pytest.approx(math.hypot(48, 16))


@pytest.mark.parametrize(("restrains", "expected"), [("y", 36), ("xy", 36), ("x", 96)])
def test_a_bearing_holds_the_chord_that_it_stops_from_moving_sideways(restrains, expected):
    document = split(beam(96, SPF), at=[36, 0])
    document["bearings"].append({"joint": "J", "restrains": restrains, "width_in": 3.5})
    assert of(document, "M")[0] == expected


def test_a_web_holds_the_chord_and_webs_run_between_their_joints():
    truss = gable()
    assert of(truss, "B1")[0] == of(truss, "B2")[0] == 96
    assert of(truss, "W") == (32, 32, 32, 32)
    without = copy.deepcopy(truss)
    without["members"] = [m for m in without["members"] if m["id"] != "W"]
    assert of(without, "B1")[0] == of(without, "B2")[0] == 192


def test_the_other_chord_holds_a_chord():
    """A bottom chord that runs on beyond the heel: held there by the top chord that ends on it."""
    document = split(gable(), at=[-24, 0], member="B1")
    document["members"] = [m for m in document["members"] if m["id"] != "B1b"]
    (first,) = [m for m in document["members"] if m["id"] == "B1"]
    first["joints"] = ["J", "A"]
    document["members"].append(first | {"id": "B3", "joints": ["A", "B"]})
    assert of(document, "B1")[0] == 24
    assert of(document, "B3")[0] == 96


@pytest.mark.parametrize(("rows", "expected"), [(1, 16), (2, 32 / 3), (3, 8)])
def test_rows_across_a_web_divide_it_evenly_out_of_plane_only(rows, expected):
    truss = gable(lateral_restraint={"webs": {"W": rows}})
    in_plane, out_of_plane, _, _ = of(truss, "W")
    assert (in_plane, out_of_plane) == pytest.approx((32, expected))
