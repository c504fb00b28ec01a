"""Whoever asks what a member carries gets one answer: just solved, or from an analysis document read back."""

import json

import numpy as np
import pytest

from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.analysis_document import envelope, read_back
from trusses.analysis.format.document import read

SEEDS = range(8)
ALONG = ("axial", "shear", "moment", "axial_load", "transverse_load", "peak_moment", "extreme_axial")


def both(seed):
    """The results just solved, the analysis document, and the results read back from its JSON."""
    truss = read(random_truss(seed))
    analysis = analyse(truss)
    document = json.loads(json.dumps(analysis.document()))
    return analysis.results, document, read_back(truss, document)


@pytest.mark.parametrize("seed", SEEDS)
def test_each_row_read_back_is_that_of_the_document_to_the_digit(seed):
    solved, document, stored = both(seed)
    assert solved.cases == stored.cases == tuple(document["cases"])
    assert [one.name for one in stored.combinations] == list(document["combinations"])
    assert [one.load_duration for one in stored.combinations] == [one.load_duration for one in solved.combinations]
    for name, row in (document["cases"] | document["combinations"]).items():
        one = stored.under(name)
        assert (*one.cases, *(each.name for each in one.combinations)) == (name,)
        assert dict(zip(stored.truss.names, one.displacements[0].tolist(), strict=True)) == row["displacements_in"]
        assert one.reactions[0].tolist() == list(row["reactions_lb"].values())
        for joint, force in row["reactions_lb"].items():
            assert stored.reaction(name, joint) == tuple(force)
        for m, forces in enumerate(row["members"].values()):
            for quantity, key in (("axial", "axial_lb"), ("shear", "shear_lb"), ("moment", "moment_inlb")):
                assert getattr(one, f"end_{quantity}")[0, m].tolist() == forces[key]


@pytest.mark.parametrize("seed", SEEDS)
def test_forces_along_the_members_read_back_are_those_that_were_solved(seed):
    """Ten digits are stored of the ends; the rest is statics, up to what those digits leave."""
    solved, document, stored = both(seed)
    for ours, theirs in ((stored.by_case, solved.by_case), (stored.combined, solved.combined), (stored, solved)):
        for quantity in ALONG:
            mine, wanted = getattr(ours, quantity), getattr(theirs, quantity)
            assert np.abs(mine - wanted).max(initial=0.0) <= 1e-8 * np.abs(wanted).max(initial=1.0), quantity
        stations = np.linspace(0, 1, 7) * theirs.length[:, None]
        moved = theirs.deflection(stations)
        assert np.abs(ours.deflection(stations) - moved).max() <= 1e-8 * np.abs(moved).max()
    for member, most in envelope(stored)["members"].items():
        for key, value in document["envelope"]["members"][member].items():
            assert most[key] == (pytest.approx(value, rel=1e-8, abs=1e-6) if key.endswith("_lb") else value)


def test_one_combination_alone_is_that_of_all_of_them():
    solved, document, stored = both(3)
    name = solved.combinations[-1].name
    alone = read_back(solved.truss, document, only=name)
    assert (alone.cases, [one.name for one in alone.combinations]) == ((), [name])
    for quantity in ("displacements", "reactions", "end_axial", "end_shear", "end_moment", *ALONG[:5]):
        assert np.array_equal(getattr(alone, quantity), getattr(stored.under(name), quantity)), quantity


def test_rows_that_are_not_there_are_told():
    solved, document, stored = both(1)
    for results in (solved, stored, solved.combined):
        with pytest.raises(KeyError, match=r"D \+ ice"):
            results.under("D + ice")
    with pytest.raises(KeyError):
        solved.combined.under(solved.cases[0])
    with pytest.raises(KeyError, match="nowhere"):
        solved.reaction(solved.cases[0], "nowhere")
    with pytest.raises(KeyError):
        read_back(read(random_truss(2)), document)
    with pytest.raises(KeyError):
        read_back(solved.truss, document, only="D + ice")
