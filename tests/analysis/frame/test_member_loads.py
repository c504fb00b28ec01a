"""Loads along members by hand: what the format's words mean for one member (statics derived beside each)."""

import numpy as np
import pytest

from tests.frames import EA_2X4, EI_2X4, area, column, document, solved
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.frame import member_loads
from trusses.analysis.loads.combinations import LoadError

WHOLE = 1e-9


@pytest.mark.parametrize("up", [True, False])
@pytest.mark.parametrize("role", ["top_chord", "bottom_chord"])
def test_a_positive_normal_load_on_an_upright_chord_pushes_right_and_bends_its_right_face(role, up):
    post = column(role, up, **area("normal", chord=role))
    assert post.reactions == {"A": pytest.approx((-50, 0)), "B": pytest.approx((-50, 0))}
    # pushed right between its ends, the right-hand face, which counts as the lower, is in tension
    assert post.response.peak_moment[0] == pytest.approx([1 * 100**2 / 8])
    # the supports push its ends left, toward the upper face
    assert post.response.end_shear[0, 0] == pytest.approx([50, 50])
    assert post.response.deflection(np.array([[50.0]]))[0, 0, 0] == pytest.approx(
        [5 * 100**4 / 384 / EI_2X4, 0], abs=1e-12
    )


def test_a_plan_load_on_an_upright_chord_has_nothing_to_stand_on():
    assert column(**area("plan")).reactions == {"A": (0, 0), "B": (0, 0)}


def test_a_slope_load_on_an_upright_chord_runs_down_it():
    post = column(**area("slope"))
    assert post.reactions["A"] == pytest.approx((0, 100))
    assert post.response.end_axial[0, 0] == pytest.approx([-100, 0])
    # shortening of a bar under its own even load: w h²/2EA
    assert post.response.displacements[0, 1] == pytest.approx([0, -(100**2) / 2 / EA_2X4])


@pytest.mark.parametrize(("window", "there"), [((0, 49), 0), ((0, 50), 100), ((50, 60), 100), ((51, 90), 0)])
def test_an_upright_chord_stands_in_a_window_whole_or_not_at_all(window, there):
    post = column(**area("slope", from_x_in=window[0], to_x_in=window[1]))
    assert post.reactions["A"][1] == pytest.approx(there)


def rafter(first="A", second="B", **loads):
    """3-4-5: 80 in. of plan, 60 in. of rise, 100 in. long."""
    return solved(
        document({"A": (0, 0), "B": (80, 60)}, [("C1", "top_chord", first, second)], {"A": "xy", "B": "y"}, loads=loads)
    )


@pytest.mark.parametrize(("along", "total"), [("plan", (0, -80)), ("slope", (0, -100)), ("normal", (60, -80))])
@pytest.mark.parametrize("ends", ["AB", "BA"])
def test_what_an_area_is_measured_on(along, total, ends):
    sloped = rafter(*ends, **area(along))
    push = np.sum(list(sloped.reactions.values()), axis=0)
    assert push == pytest.approx([-total[0], -total[1]])


@pytest.mark.parametrize("ends", ["AB", "BA"])
def test_a_window_cuts_through_a_member(ends):
    """From x = 20 to 60 the load lies on the middle 50 in. of the 100: 40 lb down, half to each bearing."""
    cut = rafter(*ends, **area("plan", from_x_in=20, to_x_in=60))
    assert cut.up == pytest.approx([20, 20])
    i = 0
    assert cut.response.segment_start[i] == pytest.approx([0, 25, 75])
    # across the member 0.8 × 0.8 lb/in over 50 in.; R l/2 - w a²/2
    assert cut.response.peak_moment[0] == pytest.approx([16 * 50 - 0.64 * 25**2 / 2])


def test_one_side_left_out_of_a_window_reaches_as_far_as_the_truss():
    assert sum(rafter(**area("plan", to_x_in=20)).up) == pytest.approx(20)
    assert sum(rafter(**area("plan", from_x_in=20)).up) == pytest.approx(60)
    assert sum(rafter(**area("plan", from_x_in=81)).up) == 0


def test_an_uplift_is_a_negative_normal_load():
    lifted = rafter(**area("normal", psf=-6))
    assert lifted.up[0] < 0
    assert lifted.response.peak_moment[0, 0] == pytest.approx(-(100**2) / 8)


@pytest.mark.parametrize("ends", ["AB", "BA"])
def test_line_and_point_loads_are_measured_from_the_first_joint(ends):
    at = 30.0 if ends == "AB" else 70.0
    one = rafter(
        *ends,
        line=[{"case": "dead", "member": "C1", "plf": 12, "from_in": at - 10, "to_in": at + 10}],
        point=[{"case": "dead", "member": "C1", "at_in": at, "down_lb": 100}],
    )
    # both centred 30 in. up the slope from A
    assert one.up == pytest.approx([120 * 0.7, 120 * 0.3])


def test_a_point_load_may_push_along_the_member():
    along = rafter(point=[{"case": "dead", "member": "C1", "at_in": 40, "down_lb": -60, "right_lb": 80}])
    # straight up the slope: held at A alone, so the lower 40 in. are pulled
    assert along.reactions["A"] == pytest.approx((-80, -60))
    assert along.response.end_axial[0, 0] == pytest.approx([100, 0], abs=WHOLE)
    axial, shear, moment = along.response.forces(np.array([[0.0, 39.9, 40.0, 100.0]]))
    assert axial[0, 0] == pytest.approx([100, 100, 0, 0], abs=WHOLE)
    assert shear == pytest.approx(0, abs=WHOLE)
    assert moment == pytest.approx(0, abs=WHOLE)


@pytest.mark.parametrize(("at", "joint"), [(0.0, "A"), (100.0, "B")])
def test_a_load_on_a_member_s_very_end_is_one_at_the_joint(at, joint):
    force = {"case": "dead", "down_lb": 70, "right_lb": 30}
    on_member = rafter(point=[force | {"member": "C1", "at_in": at}])
    at_joint = rafter(point=[force | {"joint": joint}])
    for name in ("displacements", "reactions", "end_axial", "end_shear", "end_moment", "axial", "shear", "moment"):
        assert getattr(on_member.response, name) == pytest.approx(getattr(at_joint.response, name)), name


def test_a_web_carries_its_load_as_a_simple_span():
    sides = {"A": (0, 0), "B": (100, 0), "C": (100, 60)}
    frame = solved(
        document(
            sides,
            [("B1", "bottom_chord", "A", "B"), ("T1", "top_chord", "A", "C"), ("W1", "web", "C", "B")],
            {"A": "xy", "B": "xy"},
            loads={"point": [{"case": "dead", "member": "W1", "at_in": 30, "down_lb": 0, "right_lb": 80}]},
        )
    )
    web = frame.truss.member_index["W1"]
    assert frame.response.peak_moment[0, web] == pytest.approx(80 * 60 / 4)
    assert frame.response.end_moment == pytest.approx(0, abs=WHOLE)
    assert frame.response.end_shear[0, web] == pytest.approx([40, 40])


def test_loads_that_cut_the_members_to_dust_are_refused():
    names = [f"J{i}" for i in range(120)]
    dust = document(
        {name: (i, 0) for i, name in enumerate(names)},
        [(f"S{i}", "top_chord", names[i], names[i + 1]) for i in range(119)],
        {names[0]: "xy", names[-1]: "y"},
        loads={
            "area": [
                {"case": "dead", "chord": "top_chord", "psf": 1, "along": "plan", "from_x_in": 5 + i / 1000}
                | {"case": "snow", "pattern": f"{i % 6}"}
                for i in range(900)
            ]
        },
    )
    with refused(LoadError, "too-many-pieces", "loads"):
        analyse(read(dust))


@pytest.mark.parametrize(("most", "fits"), [(6, True), (5, False)])
def test_each_piece_counts_once_for_each_case(monkeypatch, most, fits):
    """Three parts of a beam loaded in either of two cases are six pieces."""
    monkeypatch.setattr(member_loads, "MOST_PIECES", most)
    loads = [
        {"case": case, "member": "S1", "plf": 12, "from_in": at, "to_in": at + 10}
        for case, starts in (("dead", (0, 20)), ("snow", (40,)))
        for at in starts
    ]
    source = document({"A": (0, 0), "B": (90, 0)}, [("S1", "top_chord", "A", "B")], {"A": "xy", "B": "y"})
    if fits:
        assert solved(source | {"loads": {"line": loads}}).up == pytest.approx([10 * (85 + 65) / 90, 10 * 30 / 90])
    else:
        with refused(LoadError, "too-many-pieces", "loads"):
            solved(source | {"loads": {"line": loads}})


def test_loads_less_than_a_billionth_of_a_member_apart_cut_it_once():
    points = [{"case": "dead", "member": "C1", "at_in": at, "down_lb": 100} for at in (50.0, 50.0 + 5e-8)]
    cut = rafter(point=points)
    assert cut.response.segment_start[0] == pytest.approx([0, 50])
    assert cut.up == pytest.approx([100, 100])
