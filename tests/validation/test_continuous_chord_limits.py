"""Limit checks for continuous chords with pinned webs: derived for this project (values.md §4.5).

W truss, span 288 in., rise 72 in., 2x4 chords (A 5.25 in², I 5.359 in⁴, E 1.4e6 psi), top chords continuous over the
quarter point and hinged at heels and peak, bottom chord continuous, w = 4 lb/in. of plan (1152 lb).
"""

import numpy as np
import pytest

from tests.frames import document, solved
from trusses.analysis.format.document import read
from trusses.analysis.frame import geometry

W = 4.0
JOINTS = {"a": (0, 0), "b": (72, 36), "c": (144, 72), "d": (216, 36), "e": (288, 0), "f": (192, 0), "g": (96, 0)}
CHORDS = [("T1", "a", "b"), ("T2", "b", "c"), ("T3", "c", "d"), ("T4", "d", "e")]
BOTTOM = [("B1", "a", "g"), ("B2", "g", "f"), ("B3", "f", "e")]
WEBS = [("W1", "b", "g"), ("W2", "g", "c"), ("W3", "c", "f"), ("W4", "f", "d")]
#: b's reaction on rigid supports is 1.25 w l, and a pinned truss sends P = w l there: webs ±0.901 P.
PINNED_WEB = 0.901388 * W * 72


def w_truss(hinges=("a", "c", "e"), lumber="2x4 SPF No.1/No.2", plies=1):
    return document(
        JOINTS,
        [
            *((name, "top_chord", *ends, lumber) for name, *ends in CHORDS),
            *((name, "bottom_chord", *ends, lumber) for name, *ends in BOTTOM),
            *((name, "web", *ends, lumber) for name, *ends in WEBS),
        ],
        {"a": "xy", "e": "y"},
        hinges=list(hinges),
        plies=plies,
        loads={"area": [{"case": "dead", "chord": "top_chord", "psf": 24, "along": "plan"}]},
    )


@pytest.fixture
def stiff(monkeypatch):
    """Axial stiffness a million times that of the lumber."""
    real = geometry.rigidities
    monkeypatch.setattr(geometry, "rigidities", lambda *pieces: real(*pieces) * np.array([1e6, 1.0])[:, None])


def quarter_point_moment(truss):
    index = truss.truss.member_index["T1"]
    return truss.response.end_moment[0, index, 1]


def test_axially_stiff_members_make_the_chord_a_beam_on_rigid_supports(stiff):
    truss = solved(w_truss())
    # two-span beam: w l²/8 hogging over the middle
    assert quarter_point_moment(truss) == pytest.approx(-W * 72**2 / 8, rel=1e-4)
    assert truss.up == pytest.approx([576, 576])
    assert [truss.axial[b] for b in ("B1", "B2", "B3")] == pytest.approx([936, 576, 936], rel=1e-4)
    webs = [truss.axial[w] for w in ("W1", "W2", "W3", "W4")]
    assert webs == pytest.approx([1.25 * PINNED_WEB * sign for sign in (-1, 1, 1, -1)], rel=1e-4)


def test_real_axial_stiffness():
    truss = solved(w_truss())
    assert quarter_point_moment(truss) == pytest.approx(-2457.5, abs=0.05)
    assert [truss.axial[b] for b in ("B1", "B2", "B3")] == pytest.approx([931, 575, 931], abs=0.5)
    assert [truss.axial[w] for w in ("W1", "W2", "W3", "W4")] == pytest.approx([-321, 320, 320, -321], abs=0.5)
    # -1025 and -857 are halfway along the panels: the load's part along the chord grows evenly from end to end
    assert truss.response.end_axial[0, :4].mean(axis=1) == pytest.approx([-1025, -857, -857, -1025], abs=0.5)


@pytest.mark.parametrize("lumber", ["2x4 SPF 2400f-2.0E", "2x4 SPF No.3"])
def test_lumber_s_stiffness_changes_displacements_and_no_force(lumber):
    one, other = solved(w_truss()), solved(w_truss(lumber=lumber))
    assert other.response.end_axial == pytest.approx(one.response.end_axial, rel=1e-9, abs=1e-9)
    assert other.response.end_moment == pytest.approx(one.response.end_moment, rel=1e-9, abs=1e-6)
    e = {"2x4 SPF 2400f-2.0E": 2.0e6, "2x4 SPF No.3": 1.2e6}[lumber]
    assert other.response.displacements == pytest.approx(one.response.displacements * 1.4e6 / e, rel=1e-9, abs=1e-12)


def test_hinges_at_every_joint_return_the_pinned_truss_and_simple_spans():
    truss = solved(w_truss(hinges=list(JOINTS)))
    p = W * 72
    assert [truss.axial[b] for b in ("B1", "B2", "B3")] == pytest.approx([3 * p, 2 * p, 3 * p])
    assert [truss.axial[w] for w in ("W1", "W2", "W3", "W4")] == pytest.approx(
        [PINNED_WEB * sign for sign in (-1, 1, 1, -1)], rel=1e-5
    )
    # halfway along its panel a chord has what it has in the pinned truss: a load along it comes half to either end
    assert truss.response.end_axial[0, :4].mean(axis=1) / p == pytest.approx([-3.354, -2.795, -2.795, -3.354], abs=5e-4)
    assert truss.response.peak_moment[0, :4] == pytest.approx([W * 72**2 / 8] * 4)
    assert truss.response.end_moment == pytest.approx(0, abs=1e-9)


def test_plies_share_the_load():
    one, three = solved(w_truss()), solved(w_truss(plies=3))
    assert three.response.end_axial == pytest.approx(one.response.end_axial)
    assert three.response.displacements == pytest.approx(one.response.displacements / 3)


def test_the_document_is_what_the_check_says_it_is():
    truss = read(w_truss())
    assert truss.spacing_in * 24 / 144 == W
    assert sum(solved(truss).up) == pytest.approx(1152)
