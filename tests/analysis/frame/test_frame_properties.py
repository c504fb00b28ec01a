"""What must hold of any truss: equilibrium, superposition, mirror and translation, and that listing decides nothing."""

import copy
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.frames import joint_of
from tests.random_trusses import random_truss
from tests.turned import mirrored, moved, reordered
from trusses.analysis.format.document import read
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases

SEEDS = st.integers(min_value=100, max_value=100_000)
few = settings(max_examples=12, deadline=None, derandomize=True)
QUANTITIES = ("displacements", "reactions", "end_axial", "end_shear", "end_moment", "peak_moment")


def solved(document):
    """The truss, and its response by case name: quantity -> array."""
    truss = read(document)
    its = cases(truss)
    return truss, its, solve(truss, its)


def by_case(document):
    _, its, response = solved(document)
    return {case.name: {q: getattr(response, q)[i] for q in QUANTITIES} for i, case in enumerate(its)}


def same(ours, theirs, within=1e-8):
    scale = max(np.abs(theirs).max(), 1e-12)
    return np.abs(ours - theirs).max() <= within * scale


@given(SEEDS)
@few
def test_every_joint_and_the_whole_truss_are_in_equilibrium(seed):
    truss, its, response = solved(random_truss(seed))
    force = np.zeros_like(response.displacements)
    for load in truss.point_loads:
        joint = joint_of(truss, load)
        if joint is not None:
            held = [case.holds(load) for case in its]
            force[held, truss.joint_index[joint]] += (load.right_lb, -load.down_lb)
    for i, bearing in enumerate(truss.bearings):
        force[:, truss.joint_index[bearing.joint]] += response.reactions[:, i]
    for end, sign in ((0, -1), (1, 1)):
        on_member = (
            sign * response.end_axial[..., end, None] * response.along
            + response.end_shear[..., end, None] * response.up
        )
        for m in range(len(truss.members)):
            force[:, response.ends[m, end]] -= on_member[:, m]
    size = np.abs(response.end_axial).max()
    assert np.abs(force).max() < 1e-9 * size
    assert size > 10


@given(SEEDS)
@few
def test_the_bearings_carry_the_loads_and_their_moments(seed):
    """The loads summed straight from the document, about the origin."""
    document = random_truss(seed)
    truss, its, response = solved(document)
    at = {joint.name: np.array((joint.x, joint.y)) for joint in truss.joints}
    for i, case in enumerate(its):
        total = np.zeros(3)
        reach = 1.0
        for place, push in pushes(truss, case, at):
            total += (*push, place[0] * push[1] - place[1] * push[0])
            reach += float(np.abs(push).sum())
        for bearing, push in zip(truss.bearings, response.reactions[i], strict=True):
            place = at[bearing.joint]
            total += (*push, place[0] * push[1] - place[1] * push[0])
        assert np.abs(total[:2]).max() < 1e-8 * reach, case.name
        assert abs(total[2]) < 1e-8 * reach * max(truss.span_in, 1), case.name


def pushes(truss, case, at):
    """Every load of a case as forces at places; a spread one at the middle of what it covers."""
    for load in filter(case.holds, truss.point_loads):
        push = np.array((load.right_lb, -load.down_lb))
        if load.joint is not None:
            yield at[load.joint], push
        else:
            member = truss.member(load.member)
            yield at[member.joints[0]] + load.at_in / truss.length(member) * reach_of(member, at), push
    for load in filter(case.holds, truss.line_loads):
        member = truss.member(load.member)
        length = truss.length(member)
        end = length if load.to_in is None else load.to_in
        middle = (load.from_in + end) / 2 / length
        push = np.array((0.0, -load.plf / 12 * (end - load.from_in)))
        yield at[member.joints[0]] + middle * reach_of(member, at), push
    for load in filter(case.holds, truss.area_loads):
        for member in truss.members:
            if member.role == load.chord:
                yield from spread(truss, load, member, at)


def reach_of(member, at):
    return at[member.joints[1]] - at[member.joints[0]]


def spread(truss, load, member, at):
    first, reach = at[member.joints[0]], reach_of(member, at)
    left, right = max(load.from_x_in, -1e9), min(load.to_x_in, 1e9)
    if reach[0]:
        low, high = sorted(((left - first[0]) / reach[0], (right - first[0]) / reach[0]))
        low, high = max(low, 0.0), min(high, 1.0)
    else:
        low, high = (0.0, 1.0) if left <= first[0] <= right else (0.0, 0.0)
    if high > low:
        per_inch = load.psf / 144 * truss.spacing_in * (high - low)
        # a quarter turn of the member, whichever of the two points down, or right where it is upright
        across = np.array((-reach[1], reach[0])) * (1 if reach[0] < 0 or (reach[0] == 0 and reach[1] < 0) else -1)
        push = {
            "plan": np.array((0.0, -per_inch * abs(reach[0]))),
            "slope": np.array((0.0, -per_inch * math.hypot(*reach))),
            "normal": per_inch * across,
        }[load.along]
        yield first + (low + high) / 2 * reach, push


@given(SEEDS)
@few
def test_chord_moments_balance_at_every_joint(seed):
    truss, _, response = solved(random_truss(seed))
    balance = {}
    for m, member in enumerate(truss.members):
        hand = np.sign(response.along[m] @ np.array((response.up[m, 1], -response.up[m, 0])))
        for end, sign in ((0, -1), (1, 1)):
            turn = sign * hand * response.end_moment[:, m, end]
            key = (member.role, member.joints[end])
            balance[key] = balance.get(key, 0) + turn
            if member.role == "web" or member.joints[end] in truss.hinges:
                assert np.abs(response.end_moment[:, m, end]).max() == 0
    size = max(np.abs(response.end_moment).max(), 1.0)
    assert max(np.abs(total).max() for total in balance.values()) < 1e-8 * size


@given(SEEDS, st.floats(min_value=-3, max_value=3).filter(lambda f: abs(f) > 1e-3))
@few
def test_all_loads_times_a_number_give_that_many_times_everything(seed, factor):
    document = random_truss(seed)
    more = copy.deepcopy(document)
    for kind, keys in (("area", ["psf"]), ("line", ["plf"]), ("point", ["down_lb", "right_lb"])):
        for load in more["loads"][kind]:
            for key in keys:
                load[key] = load.get(key, 0) * factor
    once, often = by_case(document), by_case(more)
    for case, quantities in once.items():
        for quantity in QUANTITIES:
            assert same(often[case][quantity], factor * quantities[quantity]), (case, quantity)


@given(SEEDS)
@few
def test_loads_act_independently(seed):
    """A case is the sum of what each of its loads does alone."""
    document = random_truss(seed)
    for kind in document["loads"].values():
        for load in kind:
            load["case"] = "snow"
            load.pop("pattern", None)
            load.pop("acts", None)
    whole = by_case(document)["snow"]
    parts = []
    for kind, loads in document["loads"].items():
        for load in loads:
            parts.append(by_case(document | {"loads": {kind: [load]}})["snow"])
    for quantity in QUANTITIES[:-1]:
        assert same(sum(part[quantity] for part in parts), whole[quantity]), quantity


@given(SEEDS.filter(lambda seed: seed % 3))
@few
def test_a_mirrored_truss_answers_mirrored(seed):
    """No upright chords here: on those a normal load pushes right in the mirror too."""
    document = random_truss(seed)
    upright = [m["id"] for m in document["members"] if len({document["joints"][j][0] for j in m["joints"]}) == 1]
    assert not [name for name in upright if not name.startswith("V")]
    leaning = np.array([m["id"] not in upright for m in document["members"]])
    straight, turned = by_case(document), by_case(mirrored(document))
    for case, quantities in straight.items():
        for quantity in ("displacements", "reactions"):
            assert same(turned[case][quantity] * (-1, 1), quantities[quantity]), (case, quantity)
        assert same(turned[case]["end_axial"], quantities["end_axial"]), case
        for quantity in ("end_shear", "end_moment", "peak_moment"):
            assert same(turned[case][quantity][leaning], quantities[quantity][leaning]), (case, quantity)
            # an upright web's lower face is its right-hand one, and the mirror has made that the left
            if not leaning.all():
                assert same(-turned[case][quantity][~leaning], quantities[quantity][~leaning]), (case, quantity)


@given(SEEDS, st.floats(-5000, 5000), st.floats(-5000, 5000))
@few
def test_where_the_truss_stands_changes_nothing(seed, right, up):
    document = random_truss(seed)
    here, there = by_case(document), by_case(moved(document, right, up))
    for case, quantities in here.items():
        for quantity in QUANTITIES:
            assert same(there[case][quantity], quantities[quantity], 1e-6), (case, quantity)


@given(SEEDS)
@few
def test_the_order_and_direction_of_members_change_nothing(seed):
    document = random_truss(seed)
    other = reordered(document, seed)
    sides = {member["id"]: member["joints"] for member in document["members"]}
    order = [list(sides).index(member["id"]) for member in other["members"]]
    swap = np.array([member["joints"] != sides[member["id"]] for member in other["members"]])
    joints = [list(document["joints"]).index(name) for name in other["joints"]]
    held = [bearing["joint"] for bearing in document["bearings"]]
    bearings = [held.index(bearing["joint"]) for bearing in other["bearings"]]
    ours, theirs = by_case(document), by_case(other)
    assert ours.keys() == theirs.keys()
    for case, quantities in ours.items():
        assert same(theirs[case]["displacements"], quantities["displacements"][joints]), case
        assert same(theirs[case]["reactions"], quantities["reactions"][bearings]), case
        for quantity in ("end_axial", "end_shear", "end_moment"):
            wanted = quantities[quantity][order]
            wanted[swap] = wanted[swap][:, ::-1]
            assert same(theirs[case][quantity], wanted), (case, quantity)
        assert same(theirs[case]["peak_moment"], quantities["peak_moment"][order]), case


@given(SEEDS, st.sampled_from([("SPF No.3", 1.2e6), ("DF-L Select Structural", 1.9e6), ("SPF 2400f-2.0E", 2.0e6)]))
@few
def test_a_stiffer_lumber_in_every_member_changes_no_force_and_divides_the_displacements(seed, other):
    grade, e = other
    document = random_truss(seed)

    def of(name):
        pieces = [m | {"lumber": f"{m['lumber'].split(' ')[0]} {name}"} for m in document["members"]]
        return by_case(document | {"members": pieces})

    spf, stiff = of("SPF No.1/No.2"), of(grade)
    for case, quantities in spf.items():
        assert same(stiff[case]["displacements"] * e / 1.4e6, quantities["displacements"]), case
        for quantity in QUANTITIES[1:]:
            assert same(stiff[case][quantity], quantities[quantity]), (case, quantity)


@given(SEEDS, st.floats(-40, 40), st.floats(36, 60))
@few
def test_two_webs_that_meet_in_the_air_carry_nothing_and_change_nothing(seed, right, up):
    document = random_truss(seed)
    first, second = (document["joints"][joint] for joint in ("t0", "t1"))
    tip = [(first[0] + second[0]) / 2 + right, max(first[1], second[1]) + up]
    more = copy.deepcopy(document)
    more["joints"]["air"] = tip
    more["members"] += [
        {"id": f"Z{joint}", "role": "web", "joints": ["air", joint], "lumber": "2x4 DF-L No.2"}
        for joint in ("t0", "t1")
    ]
    without, with_them = by_case(document), by_case(more)
    for case, quantities in without.items():
        largest = np.abs(quantities["end_axial"]).max()
        for quantity in ("end_axial", "end_shear", "end_moment", "peak_moment"):
            assert np.abs(with_them[case][quantity][-2:]).max() <= 1e-10 * largest, (case, quantity)
            assert same(with_them[case][quantity][:-2], quantities[quantity]), (case, quantity)
        assert same(with_them[case]["displacements"][:-1], quantities["displacements"]), case
        assert same(with_them[case]["reactions"], quantities["reactions"]), case


@given(SEEDS, st.floats(0.1, 0.9))
@few
def test_a_load_cut_in_two_is_the_same_load(seed, share):
    document = random_truss(seed)
    xs = [x for x, _ in document["joints"].values()]
    lengths = {m["id"]: math.dist(*(document["joints"][j] for j in m["joints"])) for m in document["members"]}
    cut = copy.deepcopy(document)
    windows, lines = [], []
    for load in document["loads"]["area"]:
        left, right = load.get("from_x_in", min(xs) - 1), load.get("to_x_in", max(xs) + 1)
        at = left + share * (right - left)
        windows += [load | {"from_x_in": left, "to_x_in": at}, load | {"from_x_in": at, "to_x_in": right}]
    for load in document["loads"]["line"]:
        left, right = load.get("from_in", 0.0), load.get("to_in", lengths[load["member"]])
        at = left + share * (right - left)
        lines += [load | {"from_in": left, "to_in": at}, load | {"from_in": at, "to_in": right}]
    cut["loads"] |= {"area": windows, "line": lines}
    whole, halves = by_case(document), by_case(cut)
    for case, quantities in whole.items():
        for quantity in QUANTITIES:
            assert same(halves[case][quantity], quantities[quantity]), (case, quantity)


@pytest.mark.parametrize("seed", [1, 2, 4])
def test_gravity_presses_the_top_chord_and_pulls_the_bottom_one(seed):
    """Common practice for a gable truss on two bearings (no source)."""
    document = random_truss(seed)
    document["hinges"] = []
    document["bearings"] = document["bearings"][:2]
    document["loads"] = {"area": [{"case": "dead", "chord": "top_chord", "psf": 20, "along": "plan"}]}
    truss, _, response = solved(document)
    for m, member in enumerate(truss.members):
        axial = response.end_axial[0, m].mean()
        if member.role == "top_chord" and member.id.startswith("T"):
            assert axial < 0, member.id
        if member.role == "bottom_chord":
            assert axial > 0, member.id
