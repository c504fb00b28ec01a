"""What governs along the members is found exactly: no sampling, however close, finds more, and a close one finds it.

The forces are taken at 2,001 places of each member and on both sides of every load, and the equations of NDS 3.9 are
written out here; what lumber can bear comes from the analysis, whose clauses have their own tests.
"""

import itertools
import math

import numpy as np
import pytest

from tests.beams import beam, check
from tests.random_trusses import random_truss
from tests.turned import mirrored, moved, turned_about
from trusses.analysis.analysis import analyse
from trusses.analysis.checks import nds
from trusses.analysis.checks.member_properties import pieces
from trusses.analysis.checks.peaks import Pressed, Pulled, Segment, greatest
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import factors_of
from trusses.analysis.shapes.shapes import build

PLACES = np.linspace(0, 1, 2001)


def stacked(seed):
    """A random truss with its loads made so light that some interactions are under 1 and some over."""
    document = random_truss(seed)
    for kind, size in (("area", "psf"), ("line", "plf"), ("point", "down_lb")):
        for load in document["loads"][kind]:
            load[size] *= 0.3
    return document | {"lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 60}}


def roof(**more):
    return build("w", span="30'", pitch="5/12", snow=31, **more)


def rafter():
    """A steep rafter held at its foot, pushed at its top, under loads along it: its axial force changes sign."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "P",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [90, 120]},
        "members": [{"id": "M", "role": "top_chord", "joints": ["A", "B"], "lumber": "2x4 SPF No.1/No.2"}],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "x", "width_in": 3.5},
        ],
        "loads": {
            "area": [{"case": "snow", "chord": "top_chord", "psf": 30, "along": "slope"}],
            "point": [{"case": "snow", "joint": "B", "down_lb": -220}],
        },
        "lateral_restraint": {"top_chord_in": 24},
    }


def excess(meets, shape):
    """The factor by which loads exceed what is met: by halving, the least s for which loads / s meet it; over 1."""
    low, high = np.ones(shape), np.full(shape, 1e3)
    for _ in range(70):
        middle = np.sqrt(low * high)
        met = meets(middle)
        low, high = np.where(met, low, middle), np.where(met, middle, high)
    return high


def compressed(fc, fb, fc_prime, f_ce, fb_prime, f_be, edges):
    """3.9.2 with bending in the plane; `edges` are Fb' and FbE of both edges."""

    def value(s, fc, fb, fc_prime, fb_prime, f_be):
        with np.errstate(divide="ignore", invalid="ignore"):
            plain = (fc / s / fc_prime) ** 2 + fb / s / (fb_prime * (1 - fc / s / f_ce[0]))
        condition = fc / s / f_ce[1] + (fb / s / f_be) ** 2
        return plain, (fc / s < f_ce[0]) & (fc / s < f_ce[1]) & (plain <= 1) & (condition < 1)

    every = np.broadcast_arrays(fc, fb, fc_prime, fb_prime, f_be)
    ratio, met = value(1.0, *every)
    # so slender that eq. 3.9-4 can fail first: its value counts on the way there
    slender = every[2] / f_ce[1] + np.maximum(*((one / f_be) ** 2 for one, f_be in edges)) >= 1
    ratio = np.where(slender, np.maximum(ratio, every[0] / f_ce[1] + (every[1] / every[4]) ** 2), ratio)
    over = [of[~met] for of in every]
    ratio[~met] = excess(lambda s: value(s, *over)[1], over[0].shape)
    return ratio


def sampled(analysis):
    """The largest ratio of each member and rule over all combinations and places."""
    truss, response = analysis.truss, analysis.results.combined
    near = 1e-9 * response.length[:, None]
    inner = response.segment_start
    x = np.concatenate([PLACES * response.length[:, None], inner, np.maximum(inner - near, 0)], axis=1)
    axial, shear, moment = response.forces(np.minimum(x, response.length[:, None]))
    p = pieces(truss)
    cd = np.array([combination.load_duration for combination in analysis.combinations])[:, None]
    found = {}
    for i, member in enumerate(truss.members):
        n, v, m = axial[:, i], shear[:, i], moment[:, i]

        def of(name, i=i):
            return float(getattr(p, name)[i, 0])

        fb = np.abs(m) / of("modulus")
        bent = (np.abs(m).max(axis=1) > 1e-3)[:, None]
        star, edges = of("fb") * cd, []
        for lu in (of("lu_upper"), of("lu_lower")):
            r_b = (
                0.0
                if of("depth") <= of("breadth")
                else nds.beam_slenderness(nds.effective_length(lu, of("depth")), of("depth"), of("breadth"))
            )
            f_be = nds.beam_buckling(of("e_min"), r_b)
            edges.append((star * nds.beam_stability(star, f_be), f_be))
        fb_prime = np.where(m >= 0, edges[0][0], edges[1][0])
        f_be = np.where(m >= 0, edges[0][1], edges[1][1])
        f_ce = [
            nds.critical_buckling(of("e_min"), of(le) / of(d))
            for le, d in (("le_in_plane", "depth"), ("le_out_of_plane", "breadth"))
        ]
        fc, ft = np.maximum(-n, 0) / of("area"), np.maximum(n, 0) / of("area")
        fc_prime = of("fc") * cd * nds.column_stability(of("fc") * cd, min(f_ce))
        ft_prime = of("ft") * cd
        both = np.maximum(ft / ft_prime + fb / star, (fb - ft) / fb_prime)
        rules = {
            "compression and bending": np.where(
                (n < -1e-3) & bent, compressed(fc, fb, fc_prime, f_ce, fb_prime, f_be, edges), 0
            ),
            "bending and tension": np.where((n > 1e-3) & bent, both, 0),
            "bending": fb / fb_prime,
            "shear": 1.5 * np.abs(v) / of("area") / (of("fv") * cd),
            "tension": ft / ft_prime,
            "compression": fc / fc_prime,
        }
        found |= {(member.id, rule): float(ratio.max()) for rule, ratio in rules.items()}
    return found


def of_documents():
    yield from (stacked(seed) for seed in range(12))
    yield from (roof(), rafter())


@pytest.mark.parametrize("number", range(14))
def test_no_close_sampling_finds_more_along_a_member(number):
    document = list(of_documents())[number]
    document.pop("ply_fastening", None)
    analysis = analyse(read(document))
    dense = sampled(analysis)
    ours = {(one.id, one.rule): one.ratio for one in analysis.as_loaded if one.of == "member" and one.at_in is not None}
    ours = {key: ratio for key, ratio in ours.items() if key[1] != "bearing on the chord"}
    assert ours.keys() <= dense.keys()
    slender = {one.id for one in analysis.as_loaded if one.of == "member" and one.terms.get("RB", 0) > 50}
    for key, ratio in ours.items():
        if key[1] == "bending" and key[0] in slender:
            continue
        assert ratio >= dense[key] * (1 - 1e-8) - 1e-9, key
        # where axial force turns, the limit of an interaction is up to one of 2,000 steps away from the next place
        assert ratio <= dense[key] * (1 + 5e-3) + 1e-6, key
    assert analysis.as_loaded_ratio == max(one.ratio for one in analysis.as_loaded)


def test_where_axial_force_changes_sign_the_interaction_governs_between_the_ends():
    """N of the rafter runs from compression at its foot to tension at its top, and M is greatest where it is pulled."""
    found = check(rafter())["M", "compression and bending"]
    dense = sampled(analyse(read(rafter())))["M", "compression and bending"]
    assert found.ratio == pytest.approx(dense, rel=1e-3)
    assert 0 < found.at_in < 150


@pytest.mark.parametrize("seed", range(12))
def test_the_greatest_of_a_segment_is_no_less_than_anywhere_in_it(seed):
    """Both interactions on random segments, beside 2,001 places of each."""
    rng = np.random.default_rng(seed)
    n = 120
    size = 10 ** rng.uniform(-1, 1, (5, n))
    h = rng.uniform(5, 200, n)
    sign = rng.choice([-1, 1], (5, n))
    axial, v, m, p, q = sign * size * np.array([1500, 60, 3000, 10 ** rng.uniform(-4, 1), 3])[:, None]
    s = Segment(h, axial, v, m, p, q)
    area, modulus = np.full(n, 5.25), np.full(n, 3.06)
    fb_prime = rng.uniform(500, 1500, (2, n))
    pulled = Pulled(area, modulus, np.full(n, 700.0), fb_prime.max(axis=0), fb_prime)
    f_ce = rng.uniform(300, 3000, (2, n))
    pressed = Pressed(area, modulus, 0.9 * f_ce.min(axis=0), *f_ce, fb_prime, fb_prime * rng.uniform(1.05, 3, (2, n)))
    x = PLACES[:, None] * h
    at, _, bent = s.at(x)
    found = 0
    for of in (pulled, pressed):
        counts = of.sign * at > 0
        dense = np.where(counts, of.ratio(at, bent), 0.0)
        known = np.maximum(dense[0], dense[-1])
        place, ratio = greatest(s, of, known)
        most = dense.max(axis=0)
        there = most > known * (1 + 1e-9)
        assert (ratio[there] >= most[there] * (1 - 1e-9)).all()
        assert (ratio[there] <= most[there] * (1 + 5e-3)).all()
        assert ((place >= 0) & (place <= h)).all()
        found += there.sum()
    assert found > 2


@pytest.mark.parametrize("pushed", [500, 900, 1500, 3000])
def test_the_ratio_of_a_slender_beam_column_never_leaps_as_its_load_grows(pushed):
    """A 2x12 of 75 in., held sideways at its ends alone, under wind: le/d = 50 and RB = 27.9, so that eq. 3.9-4 is
    used up while eq. 3.9-3 is under 1."""

    def of(times):
        wind = {"case": "wind", "member": "M", "plf": 1000 * times}
        push = {"case": "wind", "joint": "B", "down_lb": 0, "right_lb": -pushed * times}
        return check(beam(75, "2x12 DF-L Select Structural", restraint=None, loads={"line": [wind], "point": [push]}))[
            "M", "compression and bending"
        ].ratio

    times = np.geomspace(0.2, 2, 40)
    ratio = np.array([of(each) for each in times])
    assert ratio[0] < 1 < ratio[-1]
    growth = np.diff(np.log(ratio)) / np.diff(np.log(times))
    # near its buckling a ratio grows faster than the load, by the power of two at most
    assert (growth > 0.9).all()
    assert (growth < 2).all()
    # halved down to where it passes through 1
    low, high = times[ratio <= 1][-1], times[ratio > 1][0]
    while high / low > 1 + 1e-6:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if of(middle) <= 1 else (low, middle)
    assert of(low) == pytest.approx(1, abs=1e-5)
    assert of(high) == pytest.approx(1, abs=1e-5)


def test_where_a_slender_chord_is_not_bent_rounding_decides_nothing():
    """A 2x4 chord, hinged at both ends of each piece and loaded at a joint alone: whichever edge rounding has as
    pressed there, moved and turned about the truss has the same ratios."""
    document = build("w", span="24'", pitch="5/12", snow=20, stock="40'")
    del document["lateral_restraint"]["bottom_chord_in"]
    document["loads"]["point"] = [{"case": "wind", "joint": "b1", "down_lb": -4000}]
    document["loads"].setdefault("line", [])
    names = {member["id"] for member in document["members"]}
    ways = [document, moved(document, -77.3, 31.1), turned_about(document, names), mirrored(document)]
    first, *others = ({key: one.ratio for key, one in check(way).items()} for way in ways)
    for other in others:
        assert other == pytest.approx(first, rel=1e-6, abs=1e-9)


def chord_parts(truss):
    """From where to where along each chord member one limit counts, the length that it is a share of: by hand."""
    at = sorted((truss.joint(b.joint).x, b.width_in / 2) for b in truss.bearings if "y" in b.restrains)
    chords = [(i, m) for i, m in enumerate(truss.members) if m.is_chord]
    xs = [end.x for _, m in chords for end in truss.ends(m)]
    (left, half_left), (right, half_right) = at[0], at[-1]
    parts = [(-math.inf, left - half_left, 2 * (left - min(xs))), (right + half_right, math.inf, 2 * (max(xs) - right))]
    for number, ((one, _), (other, _)) in enumerate(itertools.pairwise(at)):
        first, last = number == 0, number == len(at) - 2
        parts.append((left - half_left if first else one, right + half_right if last else other, other - one))
    for i, member in chords:
        a, b = truss.ends(member)
        for low, high, length in parts:
            if a.x == b.x:
                if low <= a.x < high:
                    yield i, 0.0, 1.0, length
                continue
            ends = sorted(((low - a.x) / (b.x - a.x), (high - a.x) / (b.x - a.x)))
            start, end = max(ends[0], 0.0), min(ends[1], 1.0)
            if end - start > 1e-9:
                yield i, start, end, length


def deflections(analysis):
    """The largest live and total ratio over all combinations and 2,001 places of every part of every chord."""
    truss, response = analysis.truss, analysis.results.by_case
    factors = factors_of(analysis.combinations, analysis.cases)
    dead = factors * np.array([case.case == "dead" for case in analysis.cases])
    sums = {"live deflection": [factors - dead], "total deflection": [factors + 0.5 * dead, factors]}
    limits = {"live deflection": 240, "total deflection": 180}
    worst = dict.fromkeys(sums, 0.0)
    waiting = list(chord_parts(truss))
    while waiting:
        # one part of each member at once
        parts = {i: (start, end, length) for i, start, end, length in reversed(waiting)}
        waiting = [part for part in waiting if part[1:] != parts[part[0]]]
        stations = np.zeros((len(truss.members), len(PLACES)))
        for i, (start, end, _) in parts.items():
            stations[i] = (start + (end - start) * PLACES) * response.length[i]
        moved = response.deflection(stations)
        for i, (_, _, length) in parts.items():
            down = -moved[:, i, :, 1]
            for rule, of_rule in sums.items():
                most = max(np.abs(each @ down).max() for each in of_rule)
                worst[rule] = max(worst[rule], most * limits[rule] / length)
    return worst


@pytest.mark.parametrize("seed", range(20))
def test_no_close_sampling_finds_more_deflection(seed):
    analysis = analyse(read(random_truss(seed)))
    dense = deflections(analysis)
    for one in analysis.as_loaded:
        if one.of == "truss":
            assert one.ratio >= dense[one.rule] * (1 - 1e-8)
            assert one.ratio <= dense[one.rule] * (1 + 1e-5)


@pytest.mark.parametrize("offset", [3, 6, 11])
def test_beside_a_heel_offset_the_deflection_is_that_of_the_place_not_of_the_sampling(offset):
    """A bottom chord whose end stands out beyond the bearing: the part past the wall's face has a limit of its own, and
    what sinks the most of it is at the face or at the tip."""
    document = roof()
    heel = document["bearings"][0]["joint"]
    x, y = document["joints"][heel]
    document["joints"]["heel out"] = [x - offset, y]
    document["members"].append(
        {"id": "H", "role": "bottom_chord", "joints": ["heel out", heel], "lumber": document["members"][0]["lumber"]}
    )
    document["hinges"] = [name for name in document["hinges"] if name != heel]
    analysis = analyse(read(document))
    dense = deflections(analysis)
    for one in analysis.checks:
        if one.of == "truss":
            assert one.ratio == pytest.approx(dense[one.rule], rel=1e-6)
