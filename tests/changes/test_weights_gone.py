"""A weight that may be gone relieves nothing: a mark that comes with it, and a designer's own drawing of one."""

from __future__ import annotations

import copy

import pytest

from changes import workflow
from changes.refusals import Refused
from tests.analysis.checks.test_weights_gone import braced, stone, tub
from tests.changes.asking import approve, compute
from trusses import verdicts
from trusses.revisions import add_mark

pytestmark = pytest.mark.django_db


@pytest.fixture
def balcony(job, designer):
    """A joist of 2x10 with a stone on its overhang, which passes with it and without."""
    held = braced(stone(lb=150), tub(lb=400), lumber="2x10 DF-L No.2")
    return add_mark(job, {**held, "mark": "P1"}, 2, designer)


def test_a_mark_that_passes_by_its_weight_alone_does_not_pass(job, designer, balcony):
    poor = add_mark(job, {**braced(stone(lb=150), tub(lb=400)), "mark": "P2"}, 2, designer)
    assert balcony.current.analysis["passes"]
    assert not poor.current.analysis["passes"]
    says = " ".join(one["says"] for one in poor.current.analysis["findings"])
    assert "D without the 150 lb stone" in says
    assert [one.code for one in verdicts.of_revision(poor.current).why_not] == ["check-fails"]


def test_a_drawing_that_passes_by_a_weight_that_stands_there_already_is_not_approved(balcony, designer):
    """2x8 takes what the stone on the overhang leaves between the bearings, and no more."""
    weaker = copy.deepcopy(balcony.current.document)
    for member in weaker["members"]:
        member["lumber"] = "2x8 DF-L No.2"
    change = compute(workflow.start_revision(designer, balcony, reason="cheaper", document=weaker, copies=[1, 2]))
    option = change.options.get(stale=False)
    assert option.passes is False
    (ask,) = change.asks.all()
    with pytest.raises(Refused) as refused:
        approve(designer, change, {ask.pk: option.pk}, reason="cheaper")
    assert "without the 150 lb stone" in str(option.told) + refused.value.says
