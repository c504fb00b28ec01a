"""How far members run between what holds them ("How checks read the document")."""

import copy
import math

import pytest

from tests.beams import beam, check, find, gable
from trusses.analysis.checks.unbraced_lengths import lengths
from trusses.analysis.format.document import read, read_stored
from trusses.analysis.frame.geometry import geometry
from trusses.analysis.frame.topology import topology

SPF = "2x4 SPF No.1/No.2"
RAFTER = math.hypot(96, 32)


def of(document, member, reader=read):
    return of_stack([document], member, reader)[0]


def of_stack(documents, member, reader=read):
    """In plane, out of plane, upper and lower edge, of one member of each of some documents of one shape."""
    trusses = [reader(document) for document in documents]
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
    # the other edge: between the bearings, 192 in.
    assert of(truss, "T1") == pytest.approx((RAFTER, 2 * RAFTER, 2 * RAFTER, 192))
    assert of(truss, "B2") == pytest.approx((96, 192, 192, 192))


@pytest.mark.parametrize(("spacing", "inner"), [(0, 96), (48, 96), (96, 96), (120, 120), (400, 192)])
def test_the_edge_that_restraint_does_not_hold_takes_at_least_its_spacing(spacing, inner):
    """Panels of 96 in., 192 in. from end to end: the larger of panel and spacing, and no more than the chord."""
    truss = gable(lateral_restraint={"top_chord_in": 24, "bottom_chord_in": spacing})
    outer = min(spacing, 192)
    assert of(truss, "B1") == of(truss, "B2") == (96, outer, inner, outer)
    assert of(truss, "T1") == pytest.approx((RAFTER, 24, 24, RAFTER))


@pytest.mark.parametrize("mirror", [False, True])
def test_with_no_restraint_stated_the_inner_edge_runs_between_the_bearings_beside_it(mirror):
    """Bearings at 0, 72 and 192 in., a tail of 30 in. beyond the last: 72, 120, and the tail, which reaches into no
    span, the longest."""
    document = split(beam(192, SPF, role="bottom_chord", restraint=None), at=[72, 0])
    document["bearings"].append({"joint": "J", "restrains": "y", "width_in": 3.5})
    document["joints"]["E"] = [222, 0]
    document["members"].append(document["members"][0] | {"id": "tail", "joints": ["B", "E"]})
    if mirror:
        document["joints"] = {name: [-x, y] for name, (x, y) in document["joints"].items()}
    assert [of(document, name)[2] for name in ("M", "Mb", "tail")] == [72, 120, 120]
    assert {of(document, name)[3] for name in ("M", "Mb", "tail")} == {222}


def test_lu_of_a_sagging_bottom_chord_that_nothing_holds_decides():
    """The gable's bottom chord, hinged at midspan, sags over 96 in. panels, held nowhere sideways but at its bearings,
    192 in. apart. NDS 3.3.3: lu/d = 54.9, le = 1.84·192 = 353.28 in., RB = √(353.28·3.5/1.5²) = 23.44, FbE =
    1.2·510,000/549.5 = 1,113.6 psi. Under dead load Fb* = 875·1.5·0.9 = 1,181.25 psi, FbE/Fb* = 0.9427: CL = 1.0225 -
    √(1.0225² - 0.9427/0.95) = 0.792. Over the panel of 96 in. alone it would be 0.952."""
    document = gable(hinges=["A", "B", "P", "C"], lateral_restraint={"top_chord_in": 24})
    bending = check(document)["B2", "bending"]
    assert (bending.combination, bending.terms["lu"]) == ("D", 192)
    assert bending.terms["CL"] == pytest.approx(0.792, abs=5e-4)


HALF = math.hypot(50, 40)


def crossed(**more):
    """A panel 100 in. wide and 80 in. high between two chords, braced by two diagonals that are joined where they
    cross: V1 A-J and V2 J-E, U1 D-J and U2 J-B, 64.03 in. each; J is a joint of webs alone."""
    web = {"role": "web", "lumber": SPF}
    pairs = {"V1": "AJ", "V2": "JE", "U1": "DJ", "U2": "JB", "P1": "AD", "P2": "BE"}
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "X",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [100, 0], "D": [0, 80], "E": [100, 80], "J": [50, 40]},
        "members": [
            {"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": SPF},
            {"id": "T1", "role": "top_chord", "joints": ["D", "E"], "lumber": SPF},
            *({"id": name, "joints": list(ends), **web} for name, ends in pairs.items()),
        ],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"point": [{"case": "snow", "joint": "E", "down_lb": 0, "right_lb": -400}]},
        "lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 24},
        **more,
    }


def rows(**webs):
    return {"lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 24, "webs": webs}}


def test_a_web_runs_on_sideways_through_a_joint_of_webs_alone():
    for name in ("V1", "V2", "U1", "U2"):
        in_plane, out_of_plane, _, _ = of(crossed(), name)
        assert (in_plane, out_of_plane) == pytest.approx((HALF, 2 * HALF))
    assert of(crossed(), "P1") == (80, 80, 80, 80)


@pytest.mark.parametrize("turned", [(), ("V1",), ("V2",), ("V1", "V2")], ids=str)
def test_rows_part_the_length_through_a_loose_joint_where_they_stand(turned):
    """One row in the middle of V1: from there through J to E, half of V1 and all of V2. With one on V2 too, the
    halves on both sides of J."""
    one = reversed_pieces(crossed(**rows(V1=1)), *turned)
    assert [of(one, name)[1] for name in ("V1", "V2")] == pytest.approx([1.5 * HALF] * 2)
    both = reversed_pieces(crossed(**rows(V1=1, V2=1)), *turned)
    assert [of(both, name)[1] for name in ("V1", "V2")] == pytest.approx([HALF] * 2)
    assert of(both, "U1")[1] == pytest.approx(2 * HALF)


def test_a_web_that_ends_on_the_side_of_another_runs_on_into_the_longer_part():
    """S ends square on the side of V1 and V2, whose joint is 30 in. from A and 98.06 in. from E: neither goes on more
    nearly straight."""
    document = crossed()
    document["members"] = [m for m in document["members"] if m["id"] not in ("U1", "U2")]
    along, up = 50 / HALF, 40 / HALF
    document["joints"]["J"] = [30 * along, 30 * up]
    document["joints"]["S"] = [30 * along + 20 * up, 30 * up - 20 * along]
    document["members"] += [
        {"id": "S", "role": "web", "joints": ["J", "S"], "lumber": SPF},
        {"id": "S2", "role": "bottom_chord", "joints": ["S", "B"], "lumber": SPF},
    ]
    assert of(document, "S")[1] == pytest.approx(20 + (2 * HALF - 30))
    assert of(document, "V1")[1] == of(document, "V2")[1] == pytest.approx(2 * HALF)


def test_each_truss_of_a_stack_has_its_own_runs():
    longer = crossed(**rows(V1=1))
    longer["joints"]["J"] = [25, 20]
    (_, plain, _, _), (_, moved, _, _) = of_stack([crossed(), longer], "V2")
    assert plain == pytest.approx(2 * HALF)
    assert moved == pytest.approx(0.25 * HALF + 1.5 * HALF)


@pytest.mark.parametrize(("spacing", "lean", "held"), [(24, 0, True), (48, 0, False), (None, 0, False), (48, 10, True)])
def test_a_web_runs_straight_on_through_a_chord_that_is_not_held_there(spacing, lean, held):
    """Webs of 40 in. above and below a chord's panel point: nothing says that one of the restraints, 48 in. apart,
    stands just there. A web that turns there leans on the chord."""
    document = crossed(
        lateral_restraint={"top_chord_in": 24} | ({} if spacing is None else {"bottom_chord_in": spacing})
    )
    document["members"] = [m for m in document["members"] if m["id"] not in ("U1", "U2", "V1", "V2")]
    document["joints"] |= {"J": [50, 40], "F": [50 + lean, 80], "G": [50, 0], "K": [90, 40]}
    document["members"][0]["joints"], document["members"][1]["joints"] = ["A", "G"], ["D", "F"]
    document["members"] += [
        {"id": "M", "role": "bottom_chord", "joints": ["J", "K"], "lumber": SPF},
        {"id": "T2", "role": "top_chord", "joints": ["F", "E"], "lumber": SPF},
        {"id": "B2", "role": "bottom_chord", "joints": ["G", "B"], "lumber": SPF},
        {"id": "V", "role": "web", "joints": ["G", "J"], "lumber": SPF},
        {"id": "U", "role": "web", "joints": ["J", "F"], "lumber": SPF},
    ]
    assert of(document, "V")[1] == pytest.approx(40 if held else 80)


def test_the_check_and_the_finding_of_a_web_through_a_loose_joint():
    """400 lb to the left at E: V2 and V1 take what half of it asks of a diagonal, 128.06 in. long and held nowhere
    between: le/d = 128.06/1.5 = 85.4, over 50 by 1.707. Held at J it would be 42.7."""
    document = crossed()
    found = check(document)
    pressed = [name for name in ("V1", "V2", "U1", "U2") if (name, "slenderness") in found]
    assert len(pressed) == 2
    for name in pressed:
        assert found[name, "slenderness"].ratio == pytest.approx(2 * HALF / 1.5 / 50)
    (unheld,) = [finding for finding in find(document) if finding.code == "joint-unheld"]
    assert unheld.where == "joint J"
    assert unheld.values["members"] == pressed
    assert unheld.values["length_in"] == pytest.approx(2 * HALF)
    # rows on one piece alone leave the other and what is beside J: 64.03 + 64.03/4 = 80.0 in., le/d 53.4
    slender = {finding.values["web"] for finding in find(document) if finding.code == "web-too-slender"}
    assert slender == set(pressed)
    held = crossed(**rows(**dict.fromkeys(pressed, 1)))
    assert all(check(held)[name, "slenderness"].ratio == pytest.approx(HALF / 1.5 / 50) for name in pressed)
    assert "joint-unheld" not in {finding.code for finding in find(gable())}


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
    """120 in. to the right and 60 in. back, an inch higher: hardly any sine, and no straight line. Only a document that
    was stored before this was refused has it."""
    cut = split(beam(96, SPF), at=[120, 0])
    cut["joints"]["B"] = [60, 1]
    assert of(cut, "M", read_stored)[0] == 120


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
