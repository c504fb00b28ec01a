"""How far members run between what holds them ("How checks read the document")."""

import copy
import math

import pytest

from tests.beams import beam, gable
from trusses.analysis.checks.unbraced_lengths import lengths
from trusses.analysis.format.document import read
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.topology import topology

SPF = "2x4 SPF No.1/No.2"
RAFTER = math.hypot(96, 32)


def of(document, member):
    return of_stack([document], member)[0]


def of_stack(documents, member):
    """In plane, out of plane, upper and lower edge, of one member of each of some documents of one shape."""
    trusses = [read(document) for document in documents]
    shape = topology(trusses[0])
    held = lengths(trusses, shape, geometry(trusses, shape))
    i = trusses[0].member_index[member]
    every = (held.in_plane, held.out_of_plane, held.upper, held.lower)
    return [tuple(one[i, t] for one in every) for t in range(len(trusses))]


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


def reversed_pieces(document, *names):
    """The document with the joints of some members named the other way round."""
    turned = copy.deepcopy(document)
    for member in turned["members"]:
        if member["id"] in names:
            member["joints"].reverse()
    return turned


@pytest.mark.parametrize("turned", [(), ("T1",), ("T1b",), ("T1", "T1b")], ids=str)
def test_what_a_splice_in_a_rafter_holds_goes_by_its_bend_whichever_way_the_pieces_are_named(turned):
    """At 4 in 12: spliced on the line from heel to peak, half an inch off it, and 10 in. above it."""
    for off, holds in ((0, False), (0.5, False), (10, True)):
        cut = reversed_pieces(split(gable(), at=[48, 16 + off], member="T1"), *turned)
        pieces = [math.hypot(48, 16 + off), math.hypot(48, 16 - off)]
        lengths_in_plane = [of(cut, name)[0] for name in ("T1", "T1b")]
        assert lengths_in_plane == pytest.approx(pieces if holds else [sum(pieces)] * 2)


@pytest.mark.parametrize(("rise", "holds"), [(4, False), (5, True)])
def test_a_chord_runs_on_up_to_a_twentieth(rise, holds):
    """From level to a rise of 4 or of 5 in 96: the sine of the bend is 0.0416 and 0.0520, against 0.05."""
    cut = split(beam(192, SPF), at=[96, 0])
    cut["joints"]["B"] = [192, rise]
    assert of(cut, "M")[0] == pytest.approx(96 if holds else 96 + math.hypot(96, rise))


def test_a_chord_that_turns_back_on_itself_is_held_where_it_turns():
    """120 in. to the right and 60 in. back, an inch higher: hardly any sine, and no straight line."""
    cut = split(beam(96, SPF), at=[120, 0])
    cut["joints"]["B"] = [60, 1]
    assert of(cut, "M")[0] == 120


@pytest.mark.parametrize("way", [1, -1], ids=["rising", "falling"])
@pytest.mark.parametrize(("restrains", "holds"), [("x", True), ("y", False), ("xy", True)])
def test_a_bearing_holds_a_steep_chord_that_it_stops_from_moving_sideways(restrains, holds, way):
    """A chord at 3 to 4, steeper than 45 degrees."""
    document = split(beam(100, SPF), at=[30, 40 * way])
    document["joints"]["B"] = [60, 80 * way]
    document["bearings"].append({"joint": "J", "restrains": restrains, "width_in": 3.5})
    assert of(document, "M")[0] == pytest.approx(50 if holds else 100)


def test_each_truss_of_a_stack_has_its_own_bends():
    """One splice, straight in the first and the last truss, bent in the one between."""
    straight, bent = split(beam(96, SPF, restraint=24), at=[36, 0]), split(beam(96, SPF, restraint=16), at=[36, 20])
    longer = copy.deepcopy(straight)
    longer["joints"]["B"] = [120, 0]
    in_order = of_stack([straight, bent, longer], "M")
    assert [found[0] for found in in_order] == pytest.approx([96, math.hypot(36, 20), 120])
    assert [found[1] for found in in_order] == [24, 16, 24]
    assert of_stack([bent, straight], "M") == [in_order[1], in_order[0]]


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
