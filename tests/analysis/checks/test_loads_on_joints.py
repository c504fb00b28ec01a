"""A load at a joint is one load, however it is said: at the joint, or at the end of a member there, listed either way.

The answer that all of them must give is that of the load at the joint, which the frame libraries give too
(`test_oracle`); for the beam it is written out by hand.
"""

import copy
import math

import numpy as np
import pytest

from tests.beams import check
from tests.carried import beam as carrier
from tests.carried import marked, reactions
from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.analysis_document import read_back
from trusses.analysis.format.document import read
from trusses.analysis.load_path.chain import Link, loaded
from trusses.analysis.load_path.landing import Hung, Placed, landings
from trusses.analysis.requirements.joints import joint_demand
from trusses.analysis.shapes.shapes import build


def ways_of_saying(document, joint, force):
    """The document with the force at the joint, and then at that end of every member there, listed either way."""
    yield with_point(document, force | {"joint": joint})
    for i, member in enumerate(document["members"]):
        if joint in member["joints"]:
            length = math.dist(*(document["joints"][name] for name in member["joints"]))
            end = member["joints"].index(joint)
            yield with_point(document, force | {"member": member["id"], "at_in": end * length})
            # what else stands on the member would have to be measured from its other end
            if not any(load.get("member") == member["id"] for kind in ("line", "point") for load in of(document, kind)):
                other = copy.deepcopy(document)
                other["members"][i]["joints"].reverse()
                yield with_point(other, force | {"member": member["id"], "at_in": (1 - end) * length})


def of(document, kind):
    return document["loads"].get(kind, ())


def with_point(document, load):
    other = copy.deepcopy(document)
    other["loads"].setdefault("point", []).append(load)
    return other


def numbers(analysis):
    """What an analysis document says by kind, and of what: those of a member's ends in either order."""
    found = {}
    for row in (*analysis["cases"].values(), *analysis["combinations"].values()):
        for kind in ("displacements_in", "reactions_lb"):
            found.setdefault(kind, []).extend(row[kind].values())
        for forces in row["members"].values():
            for kind, value in forces.items():
                found.setdefault(kind, []).append(np.sort(np.ravel(value)))
    for most in analysis["envelope"]["members"].values():
        found.setdefault("envelope", []).append([most["tension_lb"], most["compression_lb"]])
    for one in analysis["checks"]:
        found[one["of"], one["id"], one["rule"]] = [one["ratio"], one["demand"], one["capacity"]]
    return {kind: np.array(values) for kind, values in found.items()}


def assert_one_answer(document, joint, force):
    first, *others = [numbers(analyse(read(way)).document()) for way in ways_of_saying(document, joint, force)]
    assert others
    for other in others:
        assert other.keys() == first.keys()
        for kind, values in first.items():
            # pounds don't set the tolerance of inches
            assert np.abs(other[kind] - values).max() <= 1e-7 * np.abs(values).max() + 1e-9, kind


@pytest.mark.parametrize("joint", ["B", "C", "G", "A"])
def test_a_w_truss_answers_alike(joint):
    document = build("w", span="24'", pitch="12/12", snow=20)
    joints = {name: tuple(xy) for name, xy in document["joints"].items()}
    named = sorted(joints, key=joints.get)
    assert_one_answer(document, named[ord(joint) - ord("A")], {"case": "dead", "down_lb": 1500})


@pytest.mark.parametrize("seed", range(12))
def test_a_random_truss_answers_alike(seed):
    document = random_truss(seed)
    names = list(document["joints"])
    joint = names[seed * 7 % len(names)]
    case = {key: of(document, "line")[0][key] for key in ("case", "pattern", "acts") if key in of(document, "line")[0]}
    assert_one_answer(document, joint, case | {"down_lb": 900, "right_lb": -350})


def two_pieces(**load):
    """A 2x12 over 16 ft in two pieces that run on through a joint at a third of it, with 2,200 lb there."""
    lumber = "2x12 SPF No.1/No.2"
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "P",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [64, 0], "C": [192, 0]},
        "members": [
            {"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": lumber},
            {"id": "N", "role": "top_chord", "joints": ["B", "C"], "lumber": lumber},
        ],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "C", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"point": [{"case": "dead", "down_lb": 2200} | load]},
        "lateral_restraint": {"top_chord_in": 0},
    }


@pytest.mark.parametrize(
    "place", [{"joint": "B"}, {"member": "M", "at_in": 64}, {"member": "N", "at_in": 0}, {"member": "N", "at_in": 0.01}]
)
def test_a_beam_s_shear_beside_a_load_is_the_larger_reaction(place):
    """R = 2200 · 128/192 = 1466.7 lb; fv = 1.5 R / (1.5 · 11.25); Fv' = 135 · 0.9 for dead load (values.md)."""
    found = check(two_pieces(**place))
    shear = max(found[member, "shear"].ratio for member in "MN")
    assert shear == pytest.approx(1.5 * 2200 * 128 / 192 / (1.5 * 11.25) / (135 * 0.9), rel=1e-4)
    assert shear == pytest.approx(1.073, abs=5e-4)
    most = max(found[member, "bending"].demand for member in "MN")
    assert most == pytest.approx(2200 * 64 * 128 / 192 / (1.5 * 11.25**2 / 6), rel=1e-3)


def test_joint_plates_are_asked_for_the_same_whatever_the_load_is_said_to_stand_on():
    document = build("w", span="24'", pitch="12/12", snow=20)
    joint = document["members"][1]["joints"][0]
    demands = []
    for way in ways_of_saying(document, joint, {"case": "dead", "down_lb": 1500}):
        truss = read(way)
        demand = joint_demand(read_back(truss, analyse(truss).document()))
        demands.append(
            {(p.joint, frozenset(p.members)): lb for p, lb in zip(demand.pieces, demand.size.T, strict=True)}
        )
    first, *others = demands
    assert others
    for other in others:
        for key, lb in first.items():
            assert other[key] == pytest.approx(lb, rel=1e-6, abs=1e-4), key


class TestHung:
    """A girder whose bottom chord is two pieces, B1 and B2, that meet at the joint M, 15 ft from its left."""

    def girder(self, *points, turned=False):
        document = carrier("G1", 360, *points)
        document["joints"] = {"A": [0, 0], "M": [180, 7], "B": [360, 0]}
        lumber = document["members"][0]["lumber"]
        second = ["B", "M"] if turned else ["M", "B"]
        document["members"] = [
            {"id": "B1", "role": "bottom_chord", "joints": ["A", "M"], "lumber": lumber},
            {"id": "B2", "role": "bottom_chord", "joints": second, "lumber": lumber},
        ]
        return document

    @pytest.mark.parametrize("turned", [False, True])
    @pytest.mark.parametrize("off", [0.0, 1 / 32])
    def test_the_end_of_one_piece_is_the_start_of_the_next(self, turned, off):
        document = self.girder(turned=turned)
        length = math.hypot(180, 7)
        truss, carried = read(document), read(carrier("R5", 144, {"case": "dead", "joint": "B", "down_lb": 4000}))
        start = length if turned else 0.0
        told = [Hung("B1", length - off), Hung("B2", start - off if turned else off)]
        landed = [landings(Placed(truss, 1), Placed(carried, 1), "B", [one]) for one in told]
        assert landed[0] == landed[1]
        answers = []
        for one in told:
            marks = {"G1": marked(document), "R5": marked(carried.document)}
            answers.append(loaded(marks, [Link("R5", "B", "G1", (one,))], "G1")[0])
        assert answers[0] == answers[1]
        assert answers[0]["loads"]["point"][0]["at_in"] == length
        # it stands on the joint: half of it comes to each bearing, and the document is read without a complaint
        assert reactions(answers[0]) == {"A": 2000, "B": 2000}
        (load,) = answers[0]["loads"]["point"]
        joined = analyse(read(self.girder({"case": "dead", "joint": "M", "down_lb": load["down_lb"]}, turned=turned)))
        assert analyse(read(answers[0])).worst_ratio == pytest.approx(joined.worst_ratio)
