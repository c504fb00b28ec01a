"""Fifty random trusses against PyNite, a general-purpose frame library.

Each quantity is held to 1e-6 of the largest value of its own kind in its case, so that pounds don't set the tolerance
of inches.
"""

import numpy as np
import pytest

from tests.pynite_oracle import Oracle
from tests.random_trusses import random_truss
from trusses.analysis.document import read
from trusses.analysis.frame import solve
from trusses.analysis.loads import cases

WITHIN = 1e-6
PLACES = (0.23, 0.5, 0.81)


def close(ours, theirs):
    largest = np.abs(theirs).max()
    return np.abs(ours - theirs).max() <= WITHIN * largest if largest > 1e-9 else np.abs(ours).max() <= 1e-6


@pytest.mark.parametrize("seed", range(50))
def test_a_random_truss_answers_as_pynite_says(seed):
    document = random_truss(seed)
    truss = read(document)
    its_cases = cases(truss)
    response = solve(truss, its_cases)
    oracle = Oracle(document).solve()
    assert {case.name for case in its_cases} == set(oracle.cases)
    stations = response.length[:, None] * np.array(PLACES)
    along = response.forces(stations)[2]
    for row, case in enumerate(its_cases):
        axial, shear, moment = oracle.end_forces(case.name)
        assert close(response.displacements[row], oracle.displacements(case.name)), case.name
        assert close(response.reactions[row], oracle.reactions(case.name)), case.name
        assert close(response.end_axial[row], axial), case.name
        assert close(response.end_shear[row], shear), case.name
        assert close(response.end_moment[row], moment), case.name
        i = seed % len(truss.members)
        cut = [oracle.moment(truss.members[i].id, at, case.name) for at in stations[i]]
        largest = np.abs(response.peak_moment[row]).max()
        assert np.abs(along[row, i] - cut).max() <= WITHIN * largest + 1e-6
        assert largest >= max(np.abs(along[row]).max(), np.abs(moment).max()) * (1 - WITHIN)


def test_the_fifty_hold_everything_that_the_format_can_say():
    documents = [random_truss(seed) for seed in range(50)]
    loads = [(kind, load, d) for d in documents for kind, these in d["loads"].items() for load in these]
    roles = [{m["id"]: m["role"] for m in d["members"]} for d in documents]
    upright = [
        [m for m in d["members"] if m["role"] != "web" and len({d["joints"][j][0] for j in m["joints"]}) == 1]
        for d in documents
    ]
    held = {
        "overhang": sum("t-" in d["joints"] or "t+" in d["joints"] for d in documents),
        "hinge": sum(bool(d["hinges"]) for d in documents),
        "plies": sum(d["plies"] > 1 for d in documents),
        "flat": sum(any(m["flat"] for m in d["members"]) for d in documents),
        "three bearings": sum(len(d["bearings"]) > 2 for d in documents),
        "upright chord": sum(map(bool, upright)),
        "window": sum("from_x_in" in load for _, load, _ in loads),
        "push along": sum(bool(load.get("right_lb")) and "member" in load for _, load, _ in loads),
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
    assert min(held.values()) >= 5, held
