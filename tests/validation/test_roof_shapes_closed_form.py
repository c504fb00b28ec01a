"""Roof-truss shapes in closed form, pinned at every joint: derived for this project (values.md §4.2), no published
source claimed. Slope 6:12, span 24, rise 6; unit load P at each top joint and P/2 at the heels. Tension positive.

The figures are those printed in values.md to three decimals, held to half a unit of the last.
"""

import pytest

from tests.frames import pin_jointed

P = 1000.0
TOP = {"a": (0, 0), "b": (6, 3), "c": (12, 6), "d": (18, 3), "e": (24, 0)}
LOADS = {"a": P / 2, "b": P, "c": P, "d": P, "e": P / 2}
HELD = {"a": "xy", "e": "y"}


def in_units_of_p(joints, members, down=LOADS, held=HELD):
    truss = pin_jointed(joints, members, held, down=down)
    assert truss.up == pytest.approx([sum(down.values()) / 2] * 2)
    return {name: force / P for name, force in truss.axial.items()}


def test_w():
    forces = in_units_of_p(TOP | {"f": (16, 0), "g": (8, 0)}, "ab bc cd de ag gf fe bg gc cf fd")
    outer, upper = pytest.approx(-3.354, abs=5e-4), pytest.approx(-2.795, abs=5e-4)
    assert [forces[m] for m in ("ab", "de")] == [outer, outer]
    assert [forces[m] for m in ("bc", "cd")] == [upper, upper]
    assert [forces[m] for m in ("ag", "gf", "fe")] == pytest.approx([3.0, 2.0, 3.0])
    assert [forces[m] for m in ("bg", "gc", "cf", "fd")] == pytest.approx([-0.901, 0.901, 0.901, -0.901], abs=5e-4)


def test_howe():
    forces = in_units_of_p(TOP | {"f": (6, 0), "g": (12, 0), "h": (18, 0)}, "ab bc cd de af fg gh he bf cg dh bg dg")
    assert [forces[m] for m in ("ab", "bc")] == pytest.approx([-3.354, -2.236], abs=5e-4)
    assert [forces[m] for m in ("af", "fg", "gh", "he")] == pytest.approx([3.0] * 4)
    assert [forces[m] for m in ("bf", "cg", "dh")] == pytest.approx([0.0, 1.0, 0.0], abs=1e-9)
    assert [forces[m] for m in ("bg", "dg")] == pytest.approx([-1.118] * 2, abs=5e-4)


def test_pratt():
    forces = in_units_of_p(TOP | {"f": (6, 0), "g": (12, 0), "h": (18, 0)}, "ab bc cd de af fg gh he bf cg dh fc hc")
    assert [forces[m] for m in ("ab", "bc")] == pytest.approx([-3.354, -3.354], abs=5e-4)
    assert [forces[m] for m in ("af", "fg", "gh", "he")] == pytest.approx([3.0, 2.0, 2.0, 3.0])
    assert [forces[m] for m in ("bf", "cg", "dh")] == pytest.approx([-1.0, 0.0, -1.0], abs=1e-9)
    assert [forces[m] for m in ("fc", "hc")] == pytest.approx([1.414] * 2, abs=5e-4)


def test_scissors():
    forces = in_units_of_p(TOP | {"g": (12, 3)}, "ab bc cd de ag ge bg dg cg")
    assert [forces[m] for m in ("ab", "bc", "cd", "de")] == pytest.approx([-6.708, -4.472, -4.472, -6.708], abs=5e-4)
    assert [forces[m] for m in ("ag", "ge")] == pytest.approx([6.185] * 2, abs=5e-4)
    assert [forces[m] for m in ("bg", "dg", "cg")] == pytest.approx([-2.0, -2.0, 3.0])


def test_king_post():
    forces = in_units_of_p(
        {"a": (0, 0), "c": (4, 3), "e": (8, 0), "g": (4, 0)}, "ac ce ag ge cg", down={"c": P, "g": P}
    )
    assert [forces[m] for m in ("ac", "ce")] == pytest.approx([-1.667] * 2, abs=5e-4)
    assert [forces[m] for m in ("ag", "ge", "cg")] == pytest.approx([1.333, 1.333, 1.0], abs=5e-4)
