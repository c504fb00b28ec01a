"""What happens between the computation and the decision: another revision, another computation, the saw."""

from __future__ import annotations

from changes import workflow
from changes.worker import compute as results
from changes.worker import queue
from tests.changes.asking import FITS, HITS_WEB, approve, compute, first_options, nothing_is_decided
from tests.refused import refused


def test_an_overtaken_request_waits_for_another_computation(answered, designer, builder, truss):
    first, second = answered(FITS), answered(HITS_WEB)
    approve(designer, first)
    assert [ask.truss.mark for ask in second.overtaken] == ["K1"]
    overtaken = second.events.get(verb="overtaken")
    assert overtaken.told.startswith(f"K1 has revision 1 now, from request {first.pk}.")
    with refused(workflow.Conflict, "option-overtaken", mark="K1", number=1, computed_from=0):
        approve(designer, second)
    second.refresh_from_db()
    assert second.state == "awaiting decision"
    workflow.compute_again(builder, second)
    compute(second)
    assert second.overtaken == []
    approve(designer, second)
    truss.refresh_from_db()
    assert truss.current.number == 2
    assert {tuple(opening["centre_in"]) for opening in truss.current.document["openings"]} == {(100, 20), (120, 20)}


def test_a_revision_issued_while_it_was_computed_is_noticed(answered, ask_for, designer):
    first, second = answered(FITS), ask_for(HITS_WEB)
    mine = queue.claim(second.computations.get().pk)
    write = results.compute(mine)
    approve(designer, first)
    assert queue.finish(mine, write)
    second.refresh_from_db()
    assert (second.state, [ask.truss.mark for ask in second.overtaken]) == ("awaiting decision", ["K1"])
    with refused(workflow.Conflict, "option-overtaken", mark="K1", number=1, computed_from=0):
        approve(designer, second)


def test_an_option_of_an_earlier_computation_is_refused(answered, designer, builder):
    change = answered()
    old = first_options(change)
    workflow.decide(designer, change, verdict="send back", reason="Which duct?")
    workflow.answer(builder, change, says="The trunk.")
    compute(change)
    with refused(workflow.Conflict, "option-stale"):
        approve(designer, change, old)
    change.refresh_from_db()
    assert change.state == "awaiting decision"


def test_when_all_copies_were_cut_meanwhile_nothing_is_approved(answered, designer, truss):
    change = answered()
    truss.copies.update(stage="cut")
    with refused(workflow.Refused, "past-change"):
        approve(designer, change)
    assert nothing_is_decided(change)


def test_copies_that_were_cut_keep_what_they_were_built_to(answered, designer, truss):
    change = answered()
    truss.copies.filter(number=1).update(stage="cut", built_to=truss.current)
    with refused(workflow.Conflict, "copies-cut-since", mark="K1", copies=[1]):
        approve(designer, change)
    workflow.compute_again(designer, change)
    compute(change)
    approve(designer, change)
    (cut,) = truss.copies.all()
    assert (cut.number, cut.stage, cut.built_to.number, truss.revisions.count()) == (1, "cut", 0, 1)
    assert [copy.number for copy in truss.job.trusses.get(mark="K1-b").copies.all()] == [2, 3]
