"""Trusses solved and checked together answer as each does by itself: stacks of one shape, sets of many shapes,
some that can move among them, and cases and loads in any order."""

import copy
import itertools

import numpy as np
import pytest

from tests.random_trusses import LUMBER, random_truss
from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.checks.combined import forces, may_bend
from trusses.analysis.format.document import read
from trusses.analysis.frame.solve import STACK, Mechanism, solve, solve_stack
from trusses.analysis.loads.combinations import cases, superposition

#: As a share of the largest value of its kind.
WITHIN = 1e-12
QUANTITIES = ("displacements", "reactions", "end_axial", "end_shear", "end_moment", "peak_moment")


def alike(seed, count):
    """Different trusses of one shape and of the same kinds of loads: other joints, lumber, plies, spacing, sizes of
    loads, windows, bearings and restraint."""
    out = []
    for i in range(count):
        rng, one = np.random.default_rng(1000 * seed + i), random_truss(seed)
        for member in one["members"]:
            member["lumber"] = str(rng.choice(LUMBER))
        one["plies"], one["spacing_in"] = int(rng.integers(1, 4)), float(rng.choice([12, 19.2, 24]))
        # longer members, so that every load still stands on its own
        for xy in one["joints"].values():
            xy[0], xy[1] = 1.5 * xy[0] + rng.uniform(-2, 2), 1.5 * xy[1] + rng.uniform(-2, 2)
        for load in itertools.chain(*one["loads"].values()):
            load |= {key: load[key] * float(rng.uniform(0.5, 1.5)) for key in ("psf", "plf", "down_lb") if key in load}
            load |= {"to_x_in": load["to_x_in"] + float(rng.uniform(0, 9))} if "to_x_in" in load else {}
        one["mark"] = f"X{i}"
        one["bearings"][0]["width_in"] = float(rng.choice([3.5, 5.5]))
        one["lateral_restraint"] = {"top_chord_in": float(rng.choice([0, 24, 36])), "bottom_chord_in": 120}
        out.append(one)
    return out


def sliding(document):
    """The same truss with nothing that holds it from going sideways."""
    moving = copy.deepcopy(document)
    moving["bearings"][0]["restrains"] = "y"
    moving["mark"] = "moves"
    return moving


def same(ours, theirs, within=WITHIN):
    """Two analyses of one truss: every quantity of every case and combination, and every check."""
    assert ours.truss == theirs.truss
    assert [case.name for case in ours.cases] == [case.name for case in theirs.cases]
    assert ours.combinations == theirs.combinations
    for one, other in zip(*((of.results.by_case, of.results.combined) for of in (ours, theirs)), strict=True):
        for quantity in QUANTITIES:
            apart = np.abs(getattr(one, quantity) - getattr(other, quantity)).max(initial=0.0)
            assert apart <= within * np.abs(getattr(other, quantity)).max(initial=1e-30), quantity
    assert len(ours.checks) == len(theirs.checks)
    for check, wanted in zip(ours.checks, theirs.checks, strict=True):
        key = (check.of, check.id, check.rule)
        assert key == (wanted.of, wanted.id, wanted.rule)
        assert (check.combination, check.passes, check.source) == (wanted.combination, wanted.passes, wanted.source), (
            key
        )
        assert (check.at_in is None) == (wanted.at_in is None), key
        assert check.at_in is None or check.at_in == pytest.approx(wanted.at_in, rel=1e-9), key
        for what in ("demand", "capacity", "ratio"):
            assert getattr(check, what) == pytest.approx(getattr(wanted, what), rel=1e-9, abs=1e-9), (key, what)
    assert ours.worst_ratio == pytest.approx(theirs.worst_ratio, rel=1e-10)
    # the stack's own largest ratio, which a search goes by, and that of the records
    assert ours.worst_ratio == pytest.approx(max(check.ratio for check in ours.checks), rel=1e-12)
    assert ours.document()["findings"] == theirs.document()["findings"]


@pytest.mark.parametrize("seed", range(12))
def test_a_stack_of_different_trusses_is_each_by_itself(seed):
    trusses = [read(document) for document in alike(seed, 9)]
    together = analyse_many(trusses)
    assert len({analysis.as_loaded_ratio for analysis in together}) == 9
    for truss, analysis in zip(trusses, together, strict=True):
        assert analysis.truss is truss
        same(analysis, analyse(truss))


@pytest.mark.parametrize("seed", range(6))
def test_the_places_that_checks_look_at_hold_what_the_results_have_there(seed):
    """Each member's largest and smallest moment and axial force among them, and no other value than its own."""
    together = analyse_many([read(document) for document in alike(seed, 5)])
    solution, factors = together[0].solution, superposition(together[0].truss, together[0].cases)[1]
    bent = may_bend(solution)
    places = forces(solution, factors, bent, solution.along(bent))
    assert sorted(m for group in places for m in group.members) == list(range(len(together[0].truss.members)))
    for t, response in enumerate(analysis.results.combined for analysis in together):
        reach = np.abs(response.peak_moment).max()
        for group in places:
            m, at = group.members, group.at[..., t]
            axial = group.forces[0][..., t]
            moment = np.zeros_like(axial) if group.axial_only else group.forces[2][..., t]
            for row in range(len(at)):
                stations = np.zeros((len(response.length), at.shape[1]))
                stations[m] = at[row].T
                theirs = response.forces(stations)[2][row, m].T
                assert np.abs(moment[row] - theirs).max() <= 1e-10 * reach
            assert np.abs(np.abs(moment).max(axis=1) - np.abs(response.peak_moment[:, m])).max() <= WITHIN * reach
            # within a segment axial force runs straight: it is largest and smallest at segments' ends
            ends = response.axial[:, m] - response.axial_load[:, m] * response.segment_length[m]
            inside = np.concatenate([response.axial[:, m], ends], axis=2)
            for most in (np.max, np.min):
                assert np.abs(most(axial, axis=1) - most(inside, axis=2)).max() <= WITHIN * np.abs(inside).max()


@pytest.mark.parametrize("seed", [3, 4])
def test_more_than_one_stack_of_one_shape(seed):
    trusses = [read(document) for document in alike(seed, STACK + 5)]
    together = analyse_many(trusses)
    assert len({id(analysis.solution) for analysis in together}) == 2
    for i in (0, 1, STACK - 1, STACK, STACK + 1, STACK + 4):
        assert together[i].truss is trusses[i]
        same(together[i], analyse(trusses[i]))


def test_where_a_truss_is_in_its_stack_and_with_whom_changes_nothing():
    trusses = [read(document) for document in alike(7, 8)]
    order = np.random.default_rng(1).permutation(8)
    straight, shuffled = analyse_many(trusses), analyse_many([trusses[i] for i in order])
    for place, i in enumerate(order):
        same(shuffled[place], straight[i])
    for few in (trusses[:3], trusses[5:]):
        for analysis in analyse_many(few):
            same(analysis, straight[trusses.index(analysis.truss)])


def test_a_set_of_many_shapes_keeps_its_order_with_those_that_move_in_their_places():
    documents = [one for seed in range(8) for one in alike(seed, 3)]
    documents += [sliding(documents[i]) for i in (0, 4, 4, 13, 23)]
    documents = [documents[i] for i in np.random.default_rng(5).permutation(len(documents))]
    trusses = [read(document) for document in documents]
    outcomes = analyse_many(trusses)
    assert sum(isinstance(outcome, Mechanism) for outcome in outcomes) == 5
    for truss, outcome in zip(trusses, outcomes, strict=True):
        if truss.mark == "moves":
            assert isinstance(outcome, Mechanism)
            with pytest.raises(Mechanism) as alone:
                analyse(truss)
            assert str(outcome) == str(alone.value)
        else:
            assert outcome.truss is truss
            same(outcome, analyse(truss))


@pytest.mark.parametrize("at", [0, 3, 6])
def test_one_that_folds_in_the_middle_of_a_stack_leaves_the_others_alone(at):
    """Of the same shape, and a mechanism by its dimensions alone: three joints in one line, a hinge between."""
    documents = [folding(rise) for rise in (30.0, 24.0, 18.0, 40.0, 12.0, 50.0)]
    trusses = [read(document) for document in documents]
    with_it = [*trusses[:at], read(folding(0.0)), *trusses[at:]]
    outcomes = analyse_many(with_it)
    assert isinstance(outcomes.pop(at), Mechanism)
    for truss, outcome in zip(trusses, outcomes, strict=True):
        same(outcome, analyse(truss))
    stack = solve_stack(with_it, cases(trusses[0]))
    assert isinstance(stack.pop(at), Mechanism)
    for truss, response in zip(trusses, stack, strict=True):
        equal(response, solve(truss, cases(truss)))


def folding(rise):
    lumber = "2x4 DF-L No.2"
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": f"R{rise:g}",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [60, rise], "C": [120, 0]},
        "members": [
            {"id": "T1", "role": "top_chord", "joints": ["A", "B"], "lumber": lumber},
            {"id": "T2", "role": "top_chord", "joints": ["B", "C"], "lumber": lumber},
        ],
        "hinges": ["B"],
        "bearings": [{"joint": joint, "restrains": "xy", "width_in": 3.5} for joint in "AC"],
        "loads": {"area": [{"case": "dead", "chord": "top_chord", "psf": 10, "along": "plan"}]},
    }


def equal(ours, theirs, rows=None, within=WITHIN):
    for quantity in QUANTITIES:
        mine, wanted = getattr(ours, quantity), getattr(theirs, quantity)
        wanted = wanted if rows is None else wanted[rows]
        assert np.abs(mine - wanted).max() <= within * np.abs(wanted).max(), quantity


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_cases_is_the_order_of_the_rows_and_nothing_else(seed):
    truss = read(random_truss(seed))
    its_cases = cases(truss)
    straight = solve(truss, its_cases)
    order = np.random.default_rng(seed).permutation(len(its_cases))
    equal(solve(truss, [its_cases[i] for i in order]), straight, order)
    for i, case in enumerate(its_cases):
        equal(solve(truss, [case]), straight, [i])


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_loads_orders_the_cases_and_changes_no_result(seed):
    document = random_truss(seed)
    turned = copy.deepcopy(document)
    turned["loads"] = {kind: loads[::-1] for kind, loads in reversed(document["loads"].items())}
    ours, theirs = analyse(read(document)), analyse(read(turned))
    names = [case.name for case in theirs.cases]
    equal(ours.results.by_case, theirs.results.by_case, [names.index(case.name) for case in ours.cases], within=1e-11)
    assert {c.name: (dict(c.factors), c.load_duration) for c in ours.combinations} == {
        c.name: (dict(c.factors), c.load_duration) for c in theirs.combinations
    }
    for check, other in zip(ours.checks, theirs.checks, strict=True):
        assert (check.of, check.id, check.rule) == (other.of, other.id, other.rule)
        assert check.ratio == pytest.approx(other.ratio, rel=1e-9, abs=1e-9)
    assert ours.worst_ratio == pytest.approx(theirs.worst_ratio, rel=1e-10)
