"""Three hundred random trusses against two general-purpose libraries, PyNite and CALFEM, each asked by itself.

Each quantity is held to 1e-6 of the largest value of its own kind in its case, so that pounds don't set the tolerance
of inches.
"""

import math

import numpy as np
import pytest
from Pynite.Member3D import Member3D

from tests import calfem_oracle, pynite_oracle
from tests.random_trusses import closer, random_truss
from trusses.analysis.format.document import read
from trusses.analysis.frame import solve as frame
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases

WITHIN = 1e-6
LIBRARIES = {"pynite": pynite_oracle.Oracle, "calfem": calfem_oracle.Oracle}
SEEDS = range(300)


@pytest.fixture(autouse=True)
def each_member_is_worked_out_once(monkeypatch):
    """PyNite makes a member's matrices, and its end forces once the frame is solved, anew at every call, for two thirds
    of its time; nothing moves here."""
    once(monkeypatch)


def once(monkeypatch):
    for name in ("T", "_ke_unc", "_partition_D", "ke", "fer", "f", "F"):
        monkeypatch.setattr(Member3D, name, _kept(name, getattr(Member3D, name)))


def _kept(name, made):
    def get(member, *combination):
        kept = member.__dict__.setdefault("kept", {})
        if (name, *combination) not in kept:
            kept[name, *combination] = made(member, *combination)
        return kept[name, *combination]

    return get


def close(ours, theirs):
    largest = np.abs(theirs).max()
    return np.abs(ours - theirs).max() <= WITHIN * largest if largest > 1e-9 else np.abs(ours).max() <= 1e-6


def compared(document, library):
    """The response and the oracle, once every quantity of theirs at joints and the peak moments have been compared."""
    truss = read(document)
    its_cases = cases(truss)
    response, oracle = solve(truss, its_cases), library(document).solve()
    assert {case.name for case in its_cases} == set(oracle.cases)
    for row, case in enumerate(its_cases):
        axial, shear, moment = oracle.end_forces(case.name)
        assert close(response.displacements[row], oracle.displacements(case.name)), case.name
        assert close(response.reactions[row], oracle.reactions(case.name)), case.name
        assert close(response.end_axial[row], axial), case.name
        assert close(response.end_shear[row], shear), case.name
        assert close(response.end_moment[row], moment), case.name
        hogging, sagging = oracle.peaks(case.name).T
        peak = response.peak_moment[row]
        assert close(np.abs(peak), np.maximum(-hogging, sagging)), case.name
        # of a sagging and a hogging peak of one size either may be named
        assert close(peak, np.where(peak > 0, sagging, hogging)), case.name
    return response, oracle, its_cases


@pytest.mark.parametrize(
    ("seed", "library"), [(seed, name) for seed in SEEDS for name in LIBRARIES if name == "calfem" or seed % 3 == 0]
)
def test_a_random_truss_answers_as_the_library_says(seed, library):
    """One library for all, and the slower one for a third: what both must agree with is the same answer."""
    compared(random_truss(seed), LIBRARIES[library])


@pytest.mark.parametrize("seed", range(0, 300, 10))
def test_points_along_its_members_move_as_calfem_says(seed):
    along_and_moments(random_truss(seed))


@pytest.mark.parametrize("seed", range(300, 320))
def test_both_chords_may_run_on_over_one_joint(seed):
    """A bottom chord's tail and an overhang at the heel: two rotations at one joint, which only CALFEM's can have."""
    document = random_truss(seed - seed % 3 + 1)
    x, y = document["joints"]["t0"]
    document["joints"] |= {"b-": [x - 20.0, y - 3.0], "t-": [x - 12.0, y - 6.0]}
    document["members"] = [member for member in document["members"] if member["id"] != "O-"]
    for name, role, joint in (("Q-", "bottom_chord", "b-"), ("O-", "top_chord", "t-")):
        document["members"].append({"id": name, "role": role, "joints": [joint, "t0"], "lumber": "2x6 SP No.1"})
    document["loads"]["line"] = [load for load in document["loads"]["line"] if load["member"] != "O-"]
    document["loads"]["point"] = [load for load in document["loads"]["point"] if load.get("member") != "O-"]
    document["loads"]["line"].append({"case": "dead", "member": "Q-", "plf": 40.0 + seed})
    response, _ = along_and_moments(document)
    truss = read(document)
    turned = {
        m.id: response.end_moment[0, i, m.joints.index("t0")] for i, m in enumerate(truss.members) if "t0" in m.joints
    }
    assert np.abs([turned["Q-"], turned["O-"]]).min() > 1


def along_and_moments(document):
    response, oracle, its_cases = compared(document, calfem_oracle.Oracle)
    cuts = list(oracle.cuts.values())
    stations = np.zeros((len(cuts), max(len(cut.places) for cut in cuts)))
    for i, cut in enumerate(cuts):
        stations[i, : len(cut.places)] = cut.places
    moved = response.deflection(stations)
    for row, case in enumerate(its_cases):
        theirs = np.zeros(moved.shape[1:])
        for i, (name, cut) in enumerate(oracle.cuts.items()):
            theirs[i, : len(cut.places)] = oracle.moved(case.name, name)
            theirs[i, len(cut.places) :] = theirs[i, 0]
        assert close(moved[row], theirs), case.name
    return response, oracle


@pytest.mark.parametrize("seed", range(300, 312))
def test_the_way_taken_for_an_ill_conditioned_frame_answers_so_too(seed, monkeypatch):
    usual = compared(random_truss(seed), calfem_oracle.Oracle)[0]
    monkeypatch.setattr(frame, "_WELL_CONDITIONED", 0.0)
    careful = compared(random_truss(seed), calfem_oracle.Oracle)[0]
    assert not np.array_equal(careful.displacements, usual.displacements)


@pytest.mark.parametrize("seed", range(1000, 1020))
def test_loads_that_all_but_meet_answer_as_pynite_says(seed):
    compared(closer(seed), pynite_oracle.Oracle)


def test_the_three_hundred_hold_everything_that_the_format_can_say():
    documents = [random_truss(seed) for seed in SEEDS]
    loads = [(kind, load, d) for d in documents for kind, these in d["loads"].items() for load in these]
    roles = [{m["id"]: m["role"] for m in d["members"]} for d in documents]
    upright = [
        [m for m in d["members"] if m["role"] != "web" and len({d["joints"][j][0] for j in m["joints"]}) == 1]
        for d in documents
    ]
    on_members = [load for kind, load, _ in loads if kind == "point" and "member" in load]
    held = {
        "overhang": sum("t-" in d["joints"] or "t+" in d["joints"] for d in documents),
        "hinge": sum(bool(d["hinges"]) for d in documents),
        "plies": sum(d["plies"] > 1 for d in documents),
        "flat": sum(any(m["flat"] for m in d["members"]) for d in documents),
        "three bearings": sum(len(d["bearings"]) > 2 for d in documents),
        "mixed lumber": sum(len({m["lumber"] for m in d["members"]}) > 2 for d in documents),
        "upright chord": sum(map(bool, upright)),
        "window": sum("from_x_in" in load for _, load, _ in loads),
        "window from a joint": sum(
            load.get("from_x_in") in [x for x, _ in d["joints"].values()] for _, load, d in loads
        ),
        "window through a member": sum(cuts_through(load, d) for kind, load, d in loads if kind == "area"),
        "line in part": sum(kind == "line" and "from_in" in load and "to_in" in load for kind, load, _ in loads),
        "line from the first joint": sum(kind == "line" and "from_in" not in load for kind, load, _ in loads),
        "line to the second": sum(kind == "line" and "to_in" not in load for kind, load, _ in loads),
        "point on a member": len(on_members),
        "point on its first end": sum(load["at_in"] == 0.0 for load in on_members),
        "point on its second end": sum(ends_there(load, d) for _, load, d in loads),
        "point on a bearing": sum(stands_on(load, d, [b["joint"] for b in d["bearings"]]) for _, load, d in loads),
        "point on a hinge": sum(stands_on(load, d, d["hinges"]) for _, load, d in loads),
        "point at the edge of a line": sum(at_an_edge(load, d) for _, load, d in loads),
        "push along": sum(bool(load.get("right_lb")) and "member" in load for _, load, _ in loads),
        "point at a joint": sum("joint" in load for _, load, _ in loads),
        "alone": sum("acts" in load for _, load, _ in loads),
        "pattern": sum("pattern" in load for _, load, _ in loads),
        "load on a web": sum(
            role[load["member"]] == "web"
            for d, role in zip(documents, roles, strict=True)
            for kind in ("line", "point")
            for load in d["loads"][kind]
            if "member" in load
        ),
    }
    held |= {along: sum(load.get("along") == along for _, load, _ in loads) for along in ("plan", "slope", "normal")}
    assert min(held.values()) >= 30, held


def stands_on(load, document, joints):
    """Whether a point load is said to stand on the end of a member at one of the joints."""
    if "at_in" not in load:
        return False
    member = next(m for m in document["members"] if m["id"] == load["member"])
    first, second = (document["joints"][joint] for joint in member["joints"])
    at = {0.0: member["joints"][0], math.dist(first, second): member["joints"][1]}.get(load["at_in"])
    return at in joints


def ends_there(load, document):
    return load.get("at_in") != 0.0 and stands_on(load, document, document["joints"])


def at_an_edge(load, document):
    """Whether a point load stands within a member exactly where a line load on it begins or ends."""
    lines = [line for line in document["loads"]["line"] if line["member"] == load.get("member")]
    return load.get("at_in") in [line[key] for line in lines for key in ("from_in", "to_in") if line.get(key)]


def cuts_through(load, document):
    """Whether an edge of an area load's window falls within a member that it is on."""
    edges = [load[key] for key in ("from_x_in", "to_x_in") if key in load]
    runs = [
        sorted(document["joints"][joint][0] for joint in member["joints"])
        for member in document["members"]
        if member["role"] == load["chord"]
    ]
    return any(left < edge < right for edge in edges for left, right in runs)
