"""A weight that copies share is never approved on some of them for less than lies there."""

from __future__ import annotations

import pytest

from changes import workflow
from tests.changes.asking import FITS, LOAD, approve, compute, first_options, nothing_is_decided
from tests.refused import refused
from trusses.models import Copy, Stage

BEAM = {**LOAD, "weight_lb": 400, "shared": "stiff"}


@pytest.fixture
def shared(job, row, builder, needed_by):
    """Computed: weights, each over some copies."""

    def make(*weights):
        asks = [{"truss": row.pk, "kind": "load", "load": one, "copies": copies} for one, copies in weights]
        return compute(workflow.file(builder, job, reason="Beam", needed_by=needed_by, asks=asks))

    return make


@pytest.fixture
def parted(shared, row, job, designer, builder, needed_by):
    """400 lb over copies 1 to 4, of which another request made 3 and 4 a variant since."""
    change = shared((BEAM, [1, 2, 3, 4]))
    asks = [{"truss": row.pk, "kind": "opening", "opening": FITS, "copies": [3, 4]}]
    duct = compute(workflow.file(builder, job, reason="Duct", needed_by=needed_by, asks=asks))
    approve(designer, duct)
    assert sorted((one.copies, one.wish["over"]) for one in change.asks.all()) == [
        ([1, 2], [1, 2, 3, 4]),
        ([3, 4], [1, 2, 3, 4]),
    ]
    return change


def without(change, copies):
    """The asks for these copies, and {ask: option} for the others."""
    left = [one.pk for one in change.asks.filter(copies=copies)]
    rows = change.asks.exclude(pk__in=left)
    return left, {one.pk: one.options.filter(stale=False).first().pk for one in rows}


def cut(*numbers):
    for copy in Copy.objects.filter(number__in=numbers).select_related("truss"):
        Copy.objects.filter(pk=copy.pk).update(stage=Stage.CUT, built_to=copy.truss.current_id)


def test_a_share_of_a_copy_cut_since_is_not_left_to_nobody(shared, designer, builder):
    change = shared((BEAM, [1, 2]), ({**LOAD, "weight_lb": 40, "at_in": 60}, [2, 3]))
    cut(2)
    left, chosen = without(change, [2])
    with refused(workflow.Conflict, "copies-cut-since", mark="K1", copies=[2]):
        approve(designer, change, chosen, leaves=left, reason="Copy 2 is cut")
    assert nothing_is_decided(change)
    compute(workflow.compute_again(builder, change))
    assert change.asks.get(copies=[1]).figures["shares_lb"] == [400]


def test_its_sentence_names_the_copies_that_it_lies_over(shared, client_of, designer):
    change = shared((BEAM, [1, 2]), ({**LOAD, "at_in": 60}, [2, 3]), ({**BEAM, "shared": "continuous"}, [4, 5]))
    page = " ".join(client_of(designer).get(f"/requests/{change.pk}/").content.decode().split())
    for says in (
        "shared by a stiff beam across copies 1 and 2; dead load. Copy 1.",
        "any one of copies 2 and 3 may carry all of it; dead load. Copy 3.",
        "shared by a platform that bends over them; dead load. Copies 4",
    ):
        assert says in page


def test_what_went_to_a_variant_and_is_cut_there_leaves_its_share_to_the_others(parted, designer, builder):
    compute(workflow.compute_again(builder, parted))
    cut(3, 4)
    left, chosen = without(parted, [3, 4])
    with refused(workflow.Conflict, "copies-cut-since", mark="K1-b", copies=[3, 4]):
        approve(designer, parted, chosen, leaves=left, reason="Copies 3 and 4 are cut")
    compute(workflow.compute_again(builder, parted))
    mine = parted.asks.get(copies=[1, 2])
    assert (mine.wish["over"], mine.figures["shares_lb"]) == ([1, 2], [200, 200])
    left, chosen = without(parted, [3, 4])
    approve(designer, parted, chosen, leaves=left, reason="Copies 3 and 4 are cut")


def test_what_went_to_a_variant_is_left_together_with_the_others(parted, designer, builder):
    compute(workflow.compute_again(builder, parted))
    left, chosen = without(parted, [3, 4])
    with refused(workflow.Refused, "left-together", copies=[1, 2]):
        approve(designer, parted, chosen, leaves=left, reason="Not there")
    approve(designer, parted, first_options(parted))
