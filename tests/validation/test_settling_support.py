"""A continuous beam whose middle support settles, against a formula derived here and against PyNite.

Derived: without the middle support a beam of spans a and b sinks there by P a² b² / (3 EI (a + b)) under a load P (any
handbook's simple beam with a load anywhere). So lifting that point by δ takes P = 3 EI (a + b) δ / (a² b²), which bends
the beam by P a b / (a + b) = 3 EI δ / (a b): for equal spans L that is 3 EI δ / L², hogging over a support that stands
high, sagging over one that settles.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.frames import EI_2X4, document
from tests.pynite_oracle import Oracle
from tests.random_trusses import random_truss
from trusses.analysis.findings.missed_bearing import Movement, interior, movement
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Bearing, Truss
from trusses.analysis.frame.results import of_solution
from trusses.analysis.frame.solve import stacks


def moved(source: dict[str, Any], at: str | None = None) -> tuple[Truss, Bearing, Movement]:
    truss = read(source)
    bearing = next(b for b in interior(truss) if at in (None, b.joint))
    _, solution = next(iter(stacks([truss])))
    found = movement(truss, solution, bearing)
    assert isinstance(found, Movement)
    return truss, bearing, found


def two_spans(a: float, b: float) -> dict[str, Any]:
    return document(
        {"A": (0, 0), "M": (a, 0), "B": (a + b, 0)},
        [("S1", "bottom_chord", "A", "M"), ("S2", "bottom_chord", "M", "B")],
        {"A": "xy", "M": "y", "B": "y"},
        loads={"line": [{"case": "dead", "member": "S1", "plf": 24}, {"case": "snow", "member": "S2", "plf": 50}]},
    )


@pytest.mark.parametrize(("a", "b"), [(120, 120), (96, 150)])
def test_the_moment_over_a_support_that_moves(a, b):
    rise = 0.25
    truss, _, found = moved(two_spans(a, b))
    assert found.per_inch == pytest.approx(3 * EI_2X4 * (a + b) / (a * b) ** 2, rel=1e-9)
    row = of_solution(truss, found.solution.combine(np.array([[0, 0, rise * found.per_inch]])), 0)
    assert row.end_moment[0, 0, 1] == pytest.approx(-3 * EI_2X4 * rise / (a * b), rel=1e-9)
    assert row.end_moment[0, 1, 0] == pytest.approx(row.end_moment[0, 0, 1], rel=1e-9)
    # the support itself moved, and what it pushes the others hold down: the row is in equilibrium by itself
    assert row.displacements[0, 1, 1] == pytest.approx(rise, rel=1e-9)
    assert row.reactions[0, :, 1].sum() == pytest.approx(0, abs=1e-9)
    assert row.reactions[0, 1, 1] == pytest.approx(rise * found.per_inch, rel=1e-9)
    assert row.moment[0].max() <= 1e-9


def braced() -> dict[str, Any]:
    """A truss with webs on three bearings of which the middle one is off center, loaded all along its top chord."""
    bottom = {f"b{i}": (48.0 * i, 0.0) for i in range(7)}
    top = {f"t{i}": (48.0 * i, 30.0) for i in range(7)}
    chords = [
        (f"{letter.upper()}{i}", role, f"{letter}{i}", f"{letter}{i + 1}")
        for letter, role in (("t", "top_chord"), ("b", "bottom_chord"))
        for i in range(6)
    ]
    webs = [(f"V{i}", "web", f"b{i}", f"t{i}") for i in range(7)]
    webs += [(f"D{i}", "web", f"b{i}", f"t{i + 1}") for i in range(3)]
    webs += [(f"D{i}", "web", f"b{i + 1}", f"t{i}") for i in range(3, 6)]
    return document(
        {**bottom, **top},
        chords + webs,
        {"b0": "xy", "b2": "y", "b6": "y"},
        loads={"area": [{"case": "dead", "chord": "top_chord", "psf": 15, "along": "plan"}]},
    )


@pytest.mark.parametrize("source", [two_spans(96, 150), braced()], ids=["beam", "truss"])
@pytest.mark.parametrize("rise", [0.25, -0.25])
def test_pynite_with_the_support_displaced_says_the_same(source, rise):
    truss, bearing, found = moved(source)
    oracle = Oracle(source)
    oracle.model.def_node_disp(bearing.joint, "DY", rise)
    oracle.solve()
    first = np.zeros((1, len(found.solution.displacements)))
    first[0, [0, -1]] = 1.0, rise * found.per_inch
    ours = of_solution(truss, found.solution.combine(first), 0)
    axial, shear, moment = oracle.end_forces("dead")
    pairs = [
        (ours.end_axial[0], axial),
        (ours.end_shear[0], shear),
        (ours.end_moment[0], moment),
        (ours.displacements[0], oracle.displacements("dead")),
        (ours.reactions[0], oracle.reactions("dead")),
    ]
    for mine, theirs in pairs:
        assert np.abs(mine - theirs).max() <= 1e-6 * max(np.abs(theirs).max(), 1e-3)
    assert oracle.displacements("dead")[truss.joint_index[bearing.joint], 1] == pytest.approx(rise)


@pytest.mark.parametrize("seed", [1, 2, 4, 5])
def test_random_trusses_with_a_third_bearing_answer_as_pynite_says(seed):
    """A roof truss of any shape, on one more bearing under its bottom chord."""
    source = random_truss(seed)
    held = {bearing["joint"] for bearing in source["bearings"]}
    bottom = sorted(
        {joint for m in source["members"] if m["role"] == "bottom_chord" for joint in m["joints"]} - held,
        key=lambda joint: source["joints"][joint][0],
    )
    joint = bottom[len(bottom) // 2]
    source["bearings"].append({"joint": joint, "restrains": "y", "width_in": 3.5})
    truss, _, found = moved(source, joint)
    oracle = Oracle(source)
    oracle.model.def_node_disp(joint, "DY", 0.25)
    oracle.solve()
    case = found.solution.cases[0].name
    row = np.zeros((1, len(found.solution.displacements)))
    row[0, [0, -1]] = 1.0, 0.25 * found.per_inch
    ours = of_solution(truss, found.solution.combine(row), 0)
    axial, _, moment = oracle.end_forces(case)
    assert np.abs(ours.end_axial[0] - axial).max() <= 1e-6 * np.abs(axial).max()
    assert np.abs(ours.end_moment[0] - moment).max() <= 1e-6 * np.abs(moment).max()
    assert np.abs(ours.reactions[0] - oracle.reactions(case)).max() <= 1e-6 * np.abs(oracle.reactions(case)).max()
