"""Every strength check of whole trusses against a slow second reading: one member, combination and place at a time.

The formulas are written out here in plain floats (NDS 2015/2018), the forces sampled closely along each member. What
the checks give must be the largest that this finds: never less, and more only by what sampling misses.
"""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.uprights import ON_CHORD
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import cases, combinations
from trusses.analysis.lumber import lookup

EXAMPLES = Path(__file__).parents[1] / "examples"
SAMPLES = 121
SIZE = {4: (1.5, 1.5, 1.15), 6: (1.3, 1.3, 1.1)}  # values.md §1.3
FLAT = {4: 1.10, 6: 1.15}  # values.md §1.4


def root(ratio, c):
    half = (1 + ratio) / (2 * c)
    return half - math.sqrt(half**2 - ratio / c)


def strength(piece, member, truss, lengths, cd, n, v, m):
    """The ratio of each rule at one place: n, v, m in lb, lb, in-lb."""
    le_in, le_out, upper, lower = lengths
    depth, breadth = (1.5, piece.width_in) if member.flat else (piece.width_in, 1.5)
    area, modulus = truss.plies * breadth * depth, truss.plies * breadth * depth**2 / 6
    cf = SIZE[piece.nominal[1]] if piece.rule == "visual" else (1.0, 1.0, 1.0)
    held = truss.lateral_restraint.spacing(member.role) if member.is_chord else None
    near = held is not None and held <= 24 and truss.spacing_in <= 24 and truss.plies == 1
    fb_edge = piece.fb * cf[0] * cd * (1.15 if near else 1.0)
    fb_star = fb_edge * (FLAT[piece.nominal[1]] if member.flat else 1.0)
    l_u = upper if m >= 0 else lower
    l_e = 2.06 * l_u if l_u < 7 * depth else max(1.63 * l_u + 3 * depth, 1.84 * l_u)
    f_be = math.inf if depth <= breadth or l_u == 0 else 1.2 * piece.e_min * breadth**2 / (l_e * depth)
    cl = 1.0 if f_be == math.inf else root(f_be / fb_edge, 0.95)
    fb, fv = abs(m) / modulus, 1.5 * abs(v) / area
    found = {"bending": fb / (fb_star * cl), "shear": fv / (piece.fv * cd)}
    if n > 0:
        ft, ft_prime = n / area, piece.ft * cf[1] * cd
        found["tension"] = ft / ft_prime
        found["bending and tension"] = max(ft / ft_prime + fb / fb_star, (fb - ft) / (fb_star * cl))
        return found
    fc, fc_star = -n / area, piece.fc * cf[2] * cd
    f_ce = [0.822 * piece.e_min / (le / d) ** 2 if le else math.inf for le, d in ((le_in, depth), (le_out, breadth))]
    fc_prime = fc_star * min(1.0 if f == math.inf else root(f / fc_star, 0.8) for f in f_ce)
    found["compression"] = fc / fc_prime

    def met(s):
        if fc / s >= min(f_ce):
            return math.inf
        equation = (fc / s / fc_prime) ** 2 + fb / s / (fb_star * cl * (1 - fc / s / f_ce[0]))
        return max(equation, 1.0001) if fc / s / f_ce[1] + (fb / s / f_be) ** 2 >= 1 else equation

    # over 1 it is what the loads have to be divided by: found by halving
    low, high = 1.0, 1e4
    for _ in range(40 if met(1.0) > 1 else 0):
        low, high = ((low + high) / 2, high) if met((low + high) / 2) > 1 else (low, (low + high) / 2)
    found["compression and bending"] = met(1.0) if met(1.0) <= 1 else high
    return found


def slow(truss, its_combinations, response, lengths):
    """The largest ratio of each member and rule over all combinations and samples."""
    stations = np.linspace(0, 1, SAMPLES) * response.length[:, None]
    axial, shear, moment = response.forces(stations)
    worst = {}
    for i, member in enumerate(truss.members):
        piece = lookup(member.lumber)
        for r, combination in enumerate(its_combinations):
            for n, v, m in zip(axial[r, i], shear[r, i], moment[r, i], strict=True):
                at = strength(piece, member, truss, lengths[member.id], combination.load_duration, n, v, m)
                both = abs(n) > 1e-3 and np.abs(moment[r, i]).max() > 1e-3
                for rule, ratio in at.items():
                    if " and " in rule and not both:
                        continue
                    key = (member.id, rule)
                    worst[key] = max(worst.get(key, 0.0), ratio)
    return worst


def of_example(name, *, lighter=1.0, **restraint):
    """An example's truss with its loads made lighter, so that the interactions keep their value."""
    document = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    for kind, size in (("area", "psf"), ("line", "plf"), ("point", "down_lb")):
        for load in document["loads"].get(kind, []):
            load[size] *= lighter
    document["lateral_restraint"] |= restraint
    return read(document)


def lengths_of(truss):
    """le in plane, le out of plane, lu with the upper and with the lower edge pressed: every joint holds here.

    No chord is shorter than its restraint's spacing; the edge that isn't held takes at least that spacing."""
    held = truss.lateral_restraint
    found = {}
    for member in truss.members:
        run = truss.length(member)
        spacing = held.spacing(member.role) if member.is_chord else None
        if not member.is_chord:
            found[member.id] = (run, run / (held.webs.get(member.id, 0) + 1), run, run)
        elif member.role == "top_chord":
            found[member.id] = (run, spacing, spacing, max(run, spacing))
        else:
            found[member.id] = (run, spacing, max(run, spacing), spacing)
    return found


@pytest.mark.parametrize(
    ("name", "lighter", "restraint"),
    [
        ("E1", 0.5, {}),
        ("E1", 0.4, {"bottom_chord_in": 72, "webs": {"W2": 1, "W3": 2}}),
        ("E4", 1.0, {"bottom_chord_in": 60}),
        ("E7", 0.7, {"bottom_chord_in": 48}),
        ("E14", 0.5, {"top_chord_in": 24}),
        ("E15", 1.0, {}),
    ],
)
def test_the_governing_ratio_is_the_largest_along_each_member(name, lighter, restraint):
    truss = of_example(name, lighter=lighter, **restraint)
    its_cases = cases(truss)
    its_combinations = combinations(truss, its_cases)
    response = analyse(truss).results.combined
    expected = slow(truss, its_combinations, response, lengths_of(truss))
    found = {(c.id, c.rule): c.ratio for c in analyse(truss).as_loaded if c.of == "member"}
    strengths = {key: ratio for key, ratio in found.items() if key[1] not in ("slenderness", ON_CHORD)}
    assert {member for member, _ in strengths} == {member.id for member in truss.members}
    for key, ratio in strengths.items():
        assert ratio >= expected[key] * (1 - 1e-3), key
        assert ratio <= expected[key] * (1 + 2e-2) + 1e-9, key
    for key, ratio in expected.items():
        assert key in strengths or ratio < 1e-4, key


def governing(document):
    truss = read(document)
    return {(c.id, c.rule): c for c in analyse(truss).checks}


@pytest.mark.parametrize("name", ["E1", "E4", "E7", "E12"])
def test_the_order_in_which_a_member_names_its_joints_changes_no_ratio(name):
    document = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    document["loads"].pop("line", None)
    document["loads"].pop("point", None)
    turned = json.loads(json.dumps(document))
    for member in turned["members"]:
        member["joints"].reverse()
    before, after = governing(document), governing(turned)
    assert before.keys() == after.keys()
    for key, check in before.items():
        assert after[key].ratio == pytest.approx(check.ratio, rel=1e-6), key


@pytest.mark.parametrize("name", ["E1", "E6", "E12"])
def test_a_truss_seen_from_behind_has_the_same_ratios(name):
    document = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    mirrored = json.loads(json.dumps(document))
    for place in mirrored["joints"].values():
        place[0] = -place[0]
    for load in mirrored["loads"]["area"]:
        ends = (load.pop("from_x_in", None), load.pop("to_x_in", None))
        for key, end in zip(("to_x_in", "from_x_in"), ends, strict=True):
            if end is not None:
                load[key] = -end
    for load in mirrored["loads"].get("point", []):
        if "right_lb" in load:
            load["right_lb"] = -load["right_lb"]
    before, after = governing(document), governing(mirrored)
    assert before.keys() == after.keys()
    for key, check in before.items():
        assert after[key].ratio == pytest.approx(check.ratio, rel=1e-6), key
