"""The frame solver by hand: what the words of the format mean for one member or a few (statics derived beside each)."""

import numpy as np
import pytest

from tests.frames import EI_2X4, SPF, area, beam, column, document, solved
from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.frame.solve import Mechanism, solve, solve_stack
from trusses.analysis.loads.combinations import cases, combinations

WHOLE = 1e-9


CROSS = {"A": (0, 0), "M": (60, 0), "B": (140, 0), "C": (0, -60), "D": (100, 40)}


def crossing(**more):
    """A bottom chord A-M-B and a top chord C-M-D that cross at M, all four ends held."""
    return solved(
        document(
            CROSS,
            [
                ("B1", "bottom_chord", "A", "M"),
                ("B2", "bottom_chord", "B", "M"),
                ("T1", "top_chord", "C", "M"),
                ("T2", "top_chord", "M", "D"),
            ],
            dict.fromkeys("ABCD", "xy"),
            loads={"line": [{"case": "dead", "member": "B1", "plf": 240}]},
            **more,
        )
    )


def slope(truss, member, at, step=1e-3):
    """Turn of a member's axis, counterclockwise."""
    index = truss.truss.member_index[member]
    stations = np.zeros((len(truss.truss.members), 2))
    stations[index] = (at, at + step)
    moved = truss.response.deflection(stations)[0, index]
    return (
        float((moved[1] - moved[0]) @ truss.response.up[index]) / step * float(np.sign(truss.response.along[index, 0]))
    )


def test_where_two_chords_meet_each_keeps_its_own_continuity():
    cross = crossing()
    moments = dict(zip(("B1", "B2", "T1", "T2"), cross.response.end_moment[0, :, 1], strict=True))
    moments["T2"] = cross.response.end_moment[0, 3, 0]
    assert moments["B1"] == pytest.approx(moments["B2"])
    assert moments["T1"] == pytest.approx(moments["T2"])
    assert abs(moments["B1"]) > 100
    # each chord's axis turns smoothly through M, and not with the other's
    bottom = slope(cross, "B1", 60 - 1e-3), slope(cross, "B2", 80 - 1e-3)
    length = 60 * 2**0.5
    top = slope(cross, "T1", length - 1e-3), slope(cross, "T2", 0)
    assert bottom[0] == pytest.approx(bottom[1], rel=1e-3)
    assert top[0] == pytest.approx(top[1], rel=1e-3)
    assert abs(bottom[0] - top[0]) > 0.1 * abs(bottom[0])


def test_at_a_hinge_every_member_is_pinned():
    cross = crossing(hinges=["M"])
    assert cross.response.end_moment == pytest.approx(0, abs=WHOLE)
    assert cross.response.peak_moment[0, 0] == pytest.approx(20 * 60**2 / 8)


def test_a_top_chord_runs_on_over_its_bearing_while_the_bottom_chord_is_pinned_to_it():
    joints = {"Z": (-24, -12), "A": (0, 0), "C": (96, 48), "E": (192, 0)}
    over = solved(
        document(
            joints,
            [
                ("T0", "top_chord", "Z", "A"),
                ("T1", "top_chord", "A", "C"),
                ("T2", "top_chord", "C", "E"),
                ("B1", "bottom_chord", "A", "E"),
            ],
            {"A": "xy", "E": "y"},
            hinges=["C"],
            loads={"point": [{"case": "dead", "joint": "Z", "down_lb": 100}]},
        )
    )
    index = over.truss.member_index
    # 100 lb, 24 in. out
    assert over.response.end_moment[0, index["T0"]] == pytest.approx([0, -2400], abs=WHOLE)
    assert over.response.end_moment[0, index["T1"]] == pytest.approx([-2400, 0], abs=WHOLE)
    assert over.response.end_moment[0, index["B1"]] == pytest.approx([0, 0], abs=WHOLE)
    assert over.up == pytest.approx([100 * 216 / 192, -100 * 24 / 192])


def test_flat_lumber_and_plies_have_their_own_sections():
    def sag(flat, plies):
        source = document({"A": (0, 0), "B": (96, 0)}, [("C1", "top_chord", "A", "B")], {"A": "xy", "B": "y"})
        source["members"][0]["flat"] = flat
        source["plies"] = plies
        source["loads"] = {"line": [{"case": "dead", "member": "C1", "plf": 24}]}
        return solved(source).sag("C1", 48)

    on_edge = 5 * 2 * 96**4 / 384 / (1.4e6 * 1.5 * 3.5**3 / 12)
    assert sag(False, 1) == pytest.approx(on_edge)
    assert sag(False, 3) == pytest.approx(on_edge / 3)
    assert sag(True, 1) == pytest.approx(on_edge * (3.5 / 1.5) ** 2)
    assert sag(True, 2) == pytest.approx(on_edge * (3.5 / 1.5) ** 2 / 2)


def test_deflection_is_the_moment_integrated_twice():
    """Central second differences of the deflection against -M/EI, away from where loads change."""
    many = beam([90, 120, 80], {1: 6, 3: -4}, [(2, 50, 400), (2, 51, -130), (3, 10, 60)])
    step = 0.5
    for member, at in (("S1", 33.0), ("S2", 20.0), ("S2", 90.0), ("S3", 40.0), ("S3", 5.0)):
        down = [many.sag(member, at + d) for d in (-step, 0, step)]
        curvature = (down[0] - 2 * down[1] + down[2]) / step**2
        assert curvature == pytest.approx(-many.moment(member, at) / EI_2X4, rel=2e-4)


def test_forces_along_a_member_lead_from_its_one_end_to_the_other():
    """Across a member's inside, and halfway to it, by statics from what its two ends are pushed with."""
    post = column(**area("slope"))
    axial, _, _ = post.response.forces(np.array([[0.0, 25.0, 100.0]]))
    assert axial[0, 0] == pytest.approx([-100, -75, 0], abs=WHOLE)
    for seed in (1, 3, 8):
        response = solve(truss := read(random_truss(seed)), cases(truss))
        axial, shear, moment = (f[..., 0] for f in response.forces(response.length[:, None]))
        for ours, end in ((axial, response.end_axial), (-shear, response.end_shear), (moment, response.end_moment)):
            assert np.abs(ours - end[..., 1]).max() < 1e-9 * np.abs(end).max()


def test_deflection_at_a_member_s_ends_is_that_of_its_joints():
    for seed in (1, 3, 8):
        truss = read(random_truss(seed))
        response = solve(truss, cases(truss))
        ends = np.stack([np.zeros_like(response.length), response.length], axis=1)
        scale = np.abs(response.displacements).max()
        apart = response.deflection(ends) - response.displacements[:, response.ends]
        assert np.abs(apart).max() < 1e-12 * scale


def test_combining_is_superposition_and_keeps_peaks_exact():
    truss = read(random_truss(4))
    its = cases(truss)
    combos = combinations(truss, its)
    response, both = solve(truss, its), analyse(truss).results.combined
    stations = response.length[:, None] * np.linspace(0, 1, 301)
    assert both.displacements.shape == (len(combos), len(truss.joints), 2)
    row = max(range(len(combos)), key=lambda i: len(combos[i].factors))
    assert len(combos[row].factors) > 1
    sum_ = sum(f * response.end_axial[[c.name for c in its].index(n)] for n, f in combos[row].factors.items())
    assert both.end_axial[row] == pytest.approx(sum_, abs=1e-7)
    sampled = np.abs(both.forces(stations)[2]).max(axis=2)
    peaks = np.abs(both.peak_moment)
    assert (peaks >= sampled - 1e-6).all()
    # the largest of 301 samples misses the top of a parabola by at most q (l/600)²/2, and a kink by V l/600
    reach = response.length / 600
    missed = np.abs(both.transverse_load).max(axis=2) * reach**2 / 2 + np.abs(both.shear).max(axis=2) * 2 * reach
    assert (peaks <= sampled + missed + 1e-6).all()


def test_a_stack_is_each_truss_by_itself():
    first = random_truss(7)
    documents = []
    for i in range(70):
        other = random_truss(7)
        for joint in other["joints"].values():
            joint[0] *= 1 + i / 200
        other["plies"] = 1 + i % 3
        other["members"][i % len(other["members"])]["lumber"] = SPF
        other["loads"]["area"] = other["loads"]["area"][: len(first["loads"]["area"]) - i % 2]
        documents.append(other)
    trusses = [read(d) for d in documents]
    its = cases(trusses[0])
    for truss, together in zip(trusses, solve_stack(trusses, its), strict=True):
        alone = solve(truss, its)
        for name in ("displacements", "reactions", "end_axial", "end_shear", "end_moment", "peak_moment"):
            wanted = getattr(alone, name)
            assert getattr(together, name) == pytest.approx(wanted, abs=1e-10 * np.abs(wanted).max()), name


def test_a_mechanism_in_a_stack_stands_in_its_own_place():
    good = document({"A": (0, 0), "B": (60, 40), "C": (120, 0)}, LEANING, {"A": "xy", "C": "xy"}, hinges=["B"])
    flat = document({"A": (0, 0), "B": (60, 0), "C": (120, 0)}, LEANING, {"A": "xy", "C": "xy"}, hinges=["B"])
    good["loads"] = flat["loads"] = {"point": [{"case": "dead", "joint": "B", "down_lb": 100}]}
    trusses = [read(d) for d in (good, flat, good)]
    outcomes = solve_stack(trusses, cases(trusses[0]))
    assert isinstance(outcomes[1], Mechanism)
    assert outcomes[1].joint == "B"
    for outcome in (outcomes[0], outcomes[2]):
        assert outcome.reactions[0] == pytest.approx(np.array([[75, 50], [-75, 50]]))


LEANING = [("T1", "top_chord", "A", "B"), ("T2", "top_chord", "B", "C")]


def test_trusses_of_different_shapes_are_no_stack():
    one = read(document({"A": (0, 0), "B": (60, 0)}, [("C1", "top_chord", "A", "B")], {"A": "xy", "B": "y"}))
    other = read(document({"A": (0, 0), "B": (60, 0)}, [("C1", "top_chord", "B", "A")], {"A": "xy", "B": "y"}))
    with pytest.raises(ValueError, match="one shape"):
        solve_stack([one, other], ())
    assert solve_stack([], ()) == []


def test_a_truss_without_loads_has_no_cases_and_still_may_not_move():
    quiet = solved(document({"A": (0, 0), "B": (60, 0)}, [("C1", "top_chord", "A", "B")], {"A": "xy", "B": "y"}))
    assert quiet.response.displacements.shape == (0, 2, 2)
    assert quiet.response.peak_moment.shape == (0, 1)
    with pytest.raises(Mechanism):
        solved(document({"A": (0, 0), "B": (60, 0)}, [("C1", "top_chord", "A", "B")], {"A": "y", "B": "y"}))


def test_a_member_held_at_both_ends_has_nothing_to_solve():
    held = solved(
        document(
            {"A": (0, 0), "B": (60, 0)},
            [("C1", "top_chord", "A", "B")],
            {"A": "xy", "B": "xy"},
            loads={"line": [{"case": "dead", "member": "C1", "plf": 12}]},
        )
    )
    assert held.up == pytest.approx([30, 30])
    assert held.response.peak_moment[0] == pytest.approx([60**2 / 8])


@pytest.mark.parametrize("gap", [10.0, 0.5, 0.02])
def test_a_stub_beside_long_panels_costs_no_digits(gap):
    """Two more joints on a simple span, however close, change nothing: wL²/8, 5wL⁴/384EI."""
    length, w = 480.0, 2.0
    at = {"A": 0, "B": 240 - gap / 2, "C": 240 + gap / 2, "D": length}
    span = solved(
        document(
            {name: (x, 0) for name, x in at.items()},
            [("S1", "top_chord", "A", "B"), ("S2", "top_chord", "C", "B"), ("S3", "top_chord", "C", "D")],
            {"A": "xy", "D": "y"},
            loads={"area": [{"case": "dead", "chord": "top_chord", "psf": 12, "along": "plan"}]},
        )
    )
    assert span.up == pytest.approx([w * length / 2] * 2, rel=1e-9)
    assert span.response.peak_moment[0, 1] == pytest.approx(w * length**2 / 8, rel=1e-9)
    assert span.sag("S2", gap / 2) == pytest.approx(5 * w * length**4 / 384 / EI_2X4, rel=1e-7)


def test_a_long_beam_of_many_joints_is_no_mechanism():
    """399 panels: the softest motion that is still a beam's."""
    panels, length, w = 399, 3990.0, 0.01
    names = [f"J{i}" for i in range(panels + 1)]
    long = solved(
        document(
            {name: (length * i / panels, 0) for i, name in enumerate(names)},
            [(f"S{i}", "bottom_chord", names[i], names[i + 1]) for i in range(panels)],
            {names[0]: "xy", names[-1]: "y"},
            loads={"area": [{"case": "dead", "chord": "bottom_chord", "psf": w * 6, "along": "plan"}]},
        )
    )
    assert long.up == pytest.approx([w * length / 2] * 2, rel=1e-6)
    middle = panels // 2
    assert long.response.peak_moment[0, middle] == pytest.approx(w * length**2 / 8, rel=1e-6)
