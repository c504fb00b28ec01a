"""What must hold of any whole analysis, its checks too: where a truss stands, which way it faces, how it is listed and
how hard it is loaded change what they must and nothing else."""

import copy
import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.random_trusses import random_truss
from tests.turned import mirrored, moved, reordered
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import canonical, read, sha256

SEEDS = st.integers(min_value=100, max_value=100_000)
few = settings(max_examples=10, deadline=None, derandomize=True)
#: Rules whose ratio is a stress, a pressure or a deflection over what is allowed: they go with the load.
LINEAR = {"tension", "compression", "bending", "shear", "bearing", "live deflection", "total deflection"}


def restrained(seed):
    """A random truss with what its checks ask for: restraint, ceiling, use."""
    rng, document = np.random.default_rng(seed), random_truss(seed)
    webs = [member["id"] for member in document["members"] if member["role"] == "web"]
    held = {"top_chord_in": float(rng.choice([0, 24, 48])), "webs": {webs[0]: 1, webs[-1]: 2}}
    held |= {} if rng.random() < 0.3 else {"bottom_chord_in": float(rng.choice([24, 120]))}
    return document | {
        "lateral_restraint": held,
        "use": str(rng.choice(["roof", "floor"])),
        "ceiling": str(rng.choice(["none", "gypsum", "plaster"])),
        "uplift_dead_share": float(rng.choice([0.6, 1.0])),
    }


def checks(document):
    """(of, id, rule) -> the check, once what is worst of the stack is what is worst of the records."""
    analysis = analyse(read(document))
    found = {(check.of, check.id, check.rule): check for check in analysis.checks}
    assert len(found) == len(analysis.checks)
    assert len(found) > len(document["members"])
    assert analysis.worst_ratio == pytest.approx(max(check.ratio for check in found.values()), rel=1e-12)
    return analysis, found


def same(ours, theirs, within=1e-7):
    (mine, my_checks), (other, its_checks) = ours, theirs
    assert my_checks.keys() == its_checks.keys()
    for key, check in my_checks.items():
        assert check.ratio == pytest.approx(its_checks[key].ratio, rel=within, abs=within), key
        assert check.capacity == pytest.approx(its_checks[key].capacity, rel=within), key
    assert mine.worst_ratio == pytest.approx(other.worst_ratio, rel=within)
    assert {c.name for c in mine.combinations} == {c.name for c in other.combinations}


@given(SEEDS.filter(lambda seed: seed % 3))
@few
def test_a_mirrored_truss_has_the_same_checks(seed):
    """No upright chords here, as for the frame's forces."""
    document = restrained(seed)
    same(checks(document), checks(mirrored(document)))


@given(SEEDS, st.integers(-4000, 4000), st.integers(-4000, 4000))
@few
def test_where_the_truss_stands_changes_no_check(seed, right, up):
    document = restrained(seed)
    same(checks(document), checks(moved(document, right, up)), within=1e-6)


@given(SEEDS)
@few
def test_how_the_truss_is_listed_changes_no_check(seed):
    document = restrained(seed)
    same(checks(document), checks(reordered(document, seed)))


@given(SEEDS, st.sampled_from([0.5, 2.0, 3.0]))
@few
def test_all_loads_times_a_number_give_that_many_times_every_stress(seed, factor):
    document = restrained(seed)
    (once, its), (often, more) = checks(document), checks(loaded(document, factor))
    told = 0
    for key, check in its.items():
        if key[2] in LINEAR and not (key[2] == "bending" and check.terms["RB"] > 50):
            assert more[key].ratio == pytest.approx(factor * check.ratio, rel=1e-7, abs=1e-9), key
            told += 1
        elif key[2] == "slenderness":
            assert more[key].ratio == pytest.approx(check.ratio, rel=1e-12), key
        else:
            # they add up terms that go with the load, its square, and more where it nears buckling
            assert (more[key].ratio > check.ratio) == (factor > 1), key
    assert told > len(document["members"])
    assert (often.worst_ratio > once.worst_ratio) == (factor > 1) or once.worst_ratio == often.worst_ratio


def loaded(document, factor):
    more = copy.deepcopy(document)
    for kind, keys in (("area", ["psf"]), ("line", ["plf"]), ("point", ["down_lb", "right_lb"])):
        for load in more["loads"][kind]:
            load |= {key: load[key] * factor for key in keys if key in load}
    return more


@given(SEEDS, st.integers(2, 3))
@few
def test_so_many_plies_under_so_many_times_the_loads_are_stressed_as_one(seed, plies):
    """Where Cr, which only single trusses take, isn't: spaced too far for it."""
    document = restrained(seed) | {"plies": 1, "spacing_in": 48.0}
    same(checks(document), checks(loaded(document, plies) | {"plies": plies}))


@given(SEEDS)
@few
def test_a_document_written_and_read_again_is_the_same_record_with_the_same_hash(seed):
    document = restrained(seed)
    truss = read(document)
    assert read(json.dumps(document)) == read(json.dumps(truss.document)) == truss
    # a canonical document has its names in alphabetical order, joints among them
    again = read(canonical(truss.document))
    assert again.joints == tuple(sorted(truss.joints, key=lambda joint: joint.name))
    assert replace(again, joints=truss.joints) == truss
    assert canonical(again.document) == canonical(truss.document)
    assert sha256(again.document) == sha256(truss.document) == sha256(document)
    assert read(json.dumps(dict(reversed(document.items())), indent=3)) == truss
    other = copy.deepcopy(document)
    other["joints"]["t1"][1] += 1e-9
    assert sha256(read(other).document) != sha256(document)
    assert read(other) != truss
