"""Trusses that can move freely are refused in plain words; those that can't are not, however odd their proportions."""

import pickle

import numpy as np
import pytest

from tests.frames import document, joint_of, solved
from tests.random_trusses import random_truss
from trusses.analysis.format.document import read, read_stored
from trusses.analysis.frame.solve import Mechanism, solve_stack
from trusses.analysis.loads.combinations import cases
from trusses.analysis.words import mechanism as mechanism_words

W_JOINTS = {"a": (0, 0), "b": (72, 36), "c": (144, 72), "d": (216, 36), "e": (288, 0), "f": (192, 0), "g": (96, 0)}
W_MEMBERS = {
    "T1": ("top_chord", "a", "b"),
    "T2": ("top_chord", "b", "c"),
    "T3": ("top_chord", "c", "d"),
    "T4": ("top_chord", "d", "e"),
    "B1": ("bottom_chord", "a", "g"),
    "B2": ("bottom_chord", "g", "f"),
    "B3": ("bottom_chord", "f", "e"),
    "W1": ("web", "b", "g"),
    "W2": ("web", "g", "c"),
    "W3": ("web", "c", "f"),
    "W4": ("web", "f", "d"),
}
LOADS = {"area": [{"case": "dead", "chord": "top_chord", "psf": 10, "along": "plan"}]}


def w_truss(without=(), hinges=("a", "c", "e"), bearings=None, joints=(), members=()):
    kept = {name: member for name, member in (W_MEMBERS | dict(members)).items() if name not in without}
    return document(
        W_JOINTS | dict(joints),
        [(name, *member) for name, member in kept.items()],
        bearings or {"a": "xy", "e": "y"},
        hinges=list(hinges),
        loads=LOADS,
    )


def refusal(source):
    with pytest.raises(Mechanism) as caught:
        solved(source)
    return caught.value


def test_its_sentence_is_made_when_somebody_asks_for_it(monkeypatch):
    asked = []
    monkeypatch.setattr(mechanism_words, "moves", lambda **values: asked.append(values) or "told")
    moves = pickle.loads(pickle.dumps(refusal(w_truss(without=["B2"]))))
    assert not asked
    assert str(moves) == "told"
    values = {"joint": "f", "direction": "sideways", "almost": False, "code": "no-tie", "values": {"joint": "g"}}
    assert asked == [moves.coded] == [values]


@pytest.mark.parametrize(
    ("source", "says"),
    [
        (
            w_truss(bearings={"a": "y", "e": "y"}),
            "joint a slides sideways, since no bearing holds the truss sideways",
        ),
        (
            w_truss(bearings={"a": "xy"}),
            "joint e moves up and down, since the bearings let the whole truss turn",
        ),
        (
            w_truss(without=["B2"]),
            "joint f slides sideways, since no member ties it to joint g",
        ),
        (
            w_truss(joints={"z": (-24, -12)}, members={"T0": ("top_chord", "z", "a")}),
            "joint z moves up and down, since the chord can turn in the hinge at joint a",
        ),
        (
            w_truss(without=["W1"], hinges="abce"),
            "joint b moves up and down, since the chord can turn in the hinge at joint b",
        ),
        (
            w_truss(joints={"z": (140, 30)}, members={"W9": ("web", "z", "c")}),
            "joint z slides sideways, since no member ties it to joint f",
        ),
        (
            w_truss(joints={"y": (130, 30), "z": (140, 30)}, members={"W9": ("web", "y", "z")}),
            "joint y moves up and down, since nothing joins it to the rest of the truss",
        ),
        (
            # webs in the chord's own wood, as a stored document may still have them
            read_stored(
                document(
                    {"a": (0, 0), "b": (100, 0), "m": (50, 0)},
                    [("T", "top_chord", "a", "b"), ("W1", "web", "a", "m"), ("W2", "web", "m", "b")],
                    {"a": "xy", "b": "y"},
                    loads=LOADS,
                )
            ),
            "joint m moves up and down, since too few members hold it up and down",
        ),
    ],
)
def test_which_joint_moves_which_way_and_what_lets_it(source, says):
    error = refusal(source)
    assert str(error) == f"the truss can move freely: {says}"
    assert f"joint {error.joint} " in says
    assert error.direction in says


def frame_without_a_diagonal(hinges=()):
    """Three square panels, the middle one open: it stands by its chords' bending unless hinges take that away."""
    at = {f"{row}{i}": (24 * i, 24 if row == "t" else 0) for i in range(4) for row in "tb"}
    members = [(f"{row.upper()}{i}", role, f"{row}{i}", f"{row}{i + 1}") for row, role in ROWS for i in range(3)]
    members += [(f"V{i}", "web", f"t{i}", f"b{i}") for i in range(4)]
    members += [("D0", "web", "t0", "b1"), ("D2", "web", "b2", "t3")]
    return document(at, members, {"b0": "xy", "b3": "y"}, hinges=list(hinges), loads=LOADS)


ROWS = (("t", "top_chord"), ("b", "bottom_chord"))


def test_an_open_panel_stands_by_the_bending_of_its_chords():
    assert sum(solved(frame_without_a_diagonal()).up) == pytest.approx(72 * 10 * 24 / 144)


def test_an_open_panel_hinged_at_its_corners_is_named_with_the_web_that_it_lacks():
    source = frame_without_a_diagonal(["t1", "t2", "b1", "b2"])
    error = refusal(source)
    ends = error.joint, error.values["joint"]
    # every way to tie the two sides together crosses the open panel
    assert {int(end[1]) <= 1 for end in ends} == {True, False}
    source["members"].append({"id": "D1", "role": "web", "joints": list(ends), "lumber": "2x4 SPF No.3"})
    assert sum(solved(source).up) == pytest.approx(72 * 10 * 24 / 144)


def toggle(offset, scale=1.0, lumber="2x4 SPF No.1/No.2"):
    """Two bars between walls, hinged in the middle, which is `offset` in. off their line."""
    return document(
        {"A": (0, 0), "B": (100 * scale, offset * scale), "C": (200 * scale, 0)},
        [("T1", "top_chord", "A", "B", lumber), ("T2", "top_chord", "B", "C", lumber)],
        {"A": "xy", "C": "xy"},
        hinges=["B"],
        loads={"point": [{"case": "dead", "joint": "B", "down_lb": 100}]},
    )


@pytest.mark.parametrize("scale", [0.1, 1.0, 1000.0])
@pytest.mark.parametrize("offset", [0.0, 1e-9, 1e-5, 5e-4])
def test_bars_in_line_can_move_whatever_their_size(offset, scale):
    error = refusal(toggle(offset, scale))
    assert (error.joint, error.direction) == ("B", "up and down")
    assert str(error).startswith("the truss can move almost freely" if offset > 1e-7 else "the truss can move freely")


@pytest.mark.parametrize("scale", [0.1, 1.0, 1000.0])
@pytest.mark.parametrize("offset", [0.01, 0.1, 5.0])
def test_bars_a_little_off_line_push_as_statics_says(offset, scale):
    """Thrust P l/2 over twice the rise."""
    held = solved(toggle(offset, scale))
    assert held.reactions["A"] == pytest.approx((50 * 100 / offset, 50), rel=1e-6)


def test_stiffness_alone_makes_no_mechanism():
    """The slenderest flat chord beside twelve plies of the deepest: 9 orders between their stiffnesses."""
    source = document(
        {"A": (0, 0), "B": (600, 0), "C": (600.05, 0), "D": (1200, 0)},
        [
            ("S1", "bottom_chord", "A", "B", "2x3 SPF No.3"),
            ("S2", "bottom_chord", "B", "C", "2x12 SP No.1"),
            ("S3", "bottom_chord", "C", "D", "2x3 SPF No.3"),
        ],
        {"A": "xy", "D": "y"},
        plies=12,
        loads={"point": [{"case": "dead", "joint": "B", "down_lb": 10}]},
    )
    source["members"][0]["flat"] = True
    beam = solved(source)
    assert beam.up == pytest.approx([10 * 600 / 1200, 10 * 600 / 1200], rel=1e-9)
    assert beam.response.end_moment[0, 0, 1] == pytest.approx(5 * 600, rel=1e-9)


def test_every_bearing_taken_from_random_trusses_in_turn_leaves_something_free():
    found = 0
    for seed in range(24):
        source = random_truss(seed)
        for held in list(source["bearings"]):
            one = source | {"bearings": [held | {"restrains": "y"}]}
            error = refusal(one)
            assert error.joint in source["joints"]
            assert str(error).startswith("the truss can move freely: joint ")
            found += 1
    assert found >= 48


def test_webs_taken_from_random_trusses_either_leave_them_standing_or_name_a_joint():
    """Never garbage: what is solved is in equilibrium, and all of it finite."""
    outcomes = {"stands": 0, "moves": 0}
    for seed in range(40):
        source = random_truss(seed)
        rng = np.random.default_rng(seed)
        webs = [m["id"] for m in source["members"] if m["role"] == "web"]
        gone = set(rng.choice(webs, size=int(rng.integers(1, 4)), replace=False))
        source["members"] = [m for m in source["members"] if m["id"] not in gone]
        source["hinges"] = sorted(
            {*source["hinges"], *(j for m in source["members"] for j in m["joints"] if rng.random() < 0.2)}
        )
        kept = {m["id"] for m in source["members"]}
        for kind in ("line", "point"):
            source["loads"][kind] = [x for x in source["loads"][kind] if x.get("member", "T1") in kept]
        joints = {j for m in source["members"] for j in m["joints"]}
        source["hinges"] = [j for j in source["hinges"] if j in joints]
        if joints != set(source["joints"]):
            continue
        truss = read(source)
        outcome = solve_stack([truss], cases(truss))[0]
        if isinstance(outcome, Mechanism):
            assert outcome.joint in joints
            outcomes["moves"] += 1
        else:
            # the bearings carry what the members bring there, to a millionth of the largest force
            size = np.abs(outcome.end_axial).max()
            assert np.isfinite(outcome.displacements).all()
            brought = members_on_joints(truss, outcome) + given_to_joints(truss)
            for i, bearing in enumerate(truss.bearings):
                brought[:, truss.joint_index[bearing.joint]] += outcome.reactions[:, i]
            assert np.abs(brought).max() < 1e-6 * size
            outcomes["stands"] += 1
    assert min(outcomes.values()) >= 5, outcomes


def members_on_joints(truss, response):
    """What the members' ends push their joints with, (r, j, 2)."""
    force = np.zeros_like(response.displacements)
    for end, sign in ((0, -1), (1, 1)):
        push = (
            sign * response.end_axial[..., end, None] * response.along
            + response.end_shear[..., end, None] * response.up
        )
        for m in range(len(truss.members)):
            force[:, response.ends[m, end]] -= push[:, m]
    return force


def given_to_joints(truss):
    its = cases(truss)
    force = np.zeros((len(its), len(truss.joints), 2))
    for load in truss.point_loads:
        joint = joint_of(truss, load)
        if joint is not None:
            held = [case.holds(load) for case in its]
            force[held, truss.joint_index[joint]] += (load.right_lb, -load.down_lb)
    return force
