"""Two, or eight, at the same moment: real threads on the database, each with its own connection."""

from __future__ import annotations

import copy
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection

from changes import computations as doorbell
from changes import workflow
from changes.models import Computation, Decision, Event, Hold, IdempotencyKey, Issue, Option, Request
from changes.worker import queue
from tests.changes.asking import FITS, HITS_WEB, compute, first_options
from tests.trusses.sent import take_up
from tests.trusses.standing import girder, stand
from trusses.models import Copy, Revision, Role

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def silent(monkeypatch):
    """No worker listens here; what rings is another test's matter."""
    monkeypatch.setattr(doorbell, "ring", lambda pk, *_: None)


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Runs each act in a thread of its own, all from one starting shot; results, or what they raised."""
    shot = threading.Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        shot.wait(10)
        try:
            return act()
        except (workflow.Conflict, workflow.Refused) as trouble:
            return trouble
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as threads:
        return list(threads.map(run, acts))


def fresh(change: Request) -> Request:
    return Request.objects.select_related("job").get(pk=change.pk)


@pytest.mark.parametrize("verdicts", [("approve", "approve"), ("approve", "decline"), ("decline", "send back")])
def test_two_designers_make_one_decision(verdicts, answered, designer, make_person, job):
    change = answered(HITS_WEB)
    other = make_person("second-designer", job, Role.DESIGNER)
    options = first_options(change)

    def decide(who, verdict):
        seen = fresh(change)  # while it waits for a decision
        return lambda: workflow.decide(who, seen, verdict=verdict, options=options, reason="By the numbers.")

    results = at_once(decide(designer, verdicts[0]), decide(other, verdicts[1]))
    decisions = [result for result in results if isinstance(result, Decision)]
    (late,) = (result for result in results if isinstance(result, workflow.Conflict))
    assert [decision.pk for decision in decisions] == [Decision.objects.get().pk]
    assert decisions[0].by.username in late.says
    approved = decisions[0].verdict == "approve"
    assert Revision.objects.count() == Issue.objects.count() + 1 == 1 + approved


def test_two_requests_on_one_truss_approved_at_once_issue_one_revision(answered, designer, truss):
    first, second = answered(FITS), answered(HITS_WEB)

    def approve(change):
        options = first_options(change)
        return lambda: workflow.decide(designer, fresh(change), verdict="approve", options=options)

    results = at_once(approve(first), approve(second))
    assert sorted(type(result).__name__ for result in results) == ["Conflict", "Decision"]
    truss.refresh_from_db()
    assert (truss.current.number, truss.revisions.count(), Issue.objects.count()) == (1, 2, 1)
    assert sorted(Request.objects.values_list("state", flat=True)) == ["approved", "awaiting decision"]


class TestVariants:
    """Two decisions at once on copies of one mark: neither is lost, and no name is given twice."""

    @pytest.fixture
    def for_copy(self, job, builder, truss, needed_by):
        def make(number: int, opening: dict[str, Any]) -> Request:
            asks = [{"truss": truss.pk, "kind": "opening", "opening": opening, "copies": [number]}]
            return compute(workflow.file(builder, job, reason=f"Duct {number}", needed_by=needed_by, asks=asks))

        return make

    @pytest.mark.parametrize(
        ("second", "marks"),
        [
            ({**HITS_WEB, "centre_in": [120, 33]}, {"K1": [3], "K1-b": [1], "K1-c": [2]}),
            (HITS_WEB, {"K1": [3], "K1-b": [1, 2]}),
        ],
        ids=["another design", "the same design"],
    )
    def test_each_copy_ends_in_one_mark(self, for_copy, designer, truss, second, marks):
        changes = [for_copy(1, HITS_WEB), for_copy(2, second)]

        def approve(change):
            options = first_options(change)
            return lambda: workflow.decide(designer, fresh(change), verdict="approve", options=options)

        results = at_once(*map(approve, changes))
        assert [type(result).__name__ for result in results] == ["Decision", "Decision"]
        found: dict[str, list[int]] = {}
        for mark, number in Copy.objects.order_by("number").values_list("truss__mark", "number"):
            found.setdefault(mark, []).append(number)
        assert sorted(map(tuple, found.values())) == sorted(map(tuple, marks.values()))
        assert found.keys() == marks.keys()
        truss.refresh_from_db()
        assert truss.current.number == 0


def test_deciding_against_withdrawing(answered, designer, builder):
    change = answered()
    options = first_options(change)
    results = at_once(
        lambda: workflow.decide(designer, fresh(change), verdict="approve", options=options),
        lambda: workflow.withdraw(builder, fresh(change)),
    )
    assert sum(isinstance(result, workflow.Conflict) for result in results) == 1
    state = fresh(change).state
    assert (state, Decision.objects.count()) in (("approved", 1), ("withdrawn", 0))
    assert Hold.objects.get().standing == "released"


@pytest.mark.parametrize("key", [None, "k-1"])
def test_filing_twice_makes_one_request(key, ask_for):
    results = at_once(*[lambda: ask_for(key=key)] * 4)
    made = Request.objects.get()
    assert (Computation.objects.count(), Hold.objects.count()) == (1, 1)
    if key is None:
        assert sum(isinstance(result, Request) for result in results) == 1
        refused = [result for result in results if isinstance(result, workflow.Refused)]
        assert len(refused) == 3
        assert all(f"request {made.pk} is filed" in each.says for each in refused)
    else:
        assert [result.pk for result in results] == [made.pk] * 4
        assert IdempotencyKey.objects.count() == 1


def test_one_key_with_two_bodies_makes_one_request(ask_for):
    results = at_once(lambda: ask_for(FITS, key="k-1"), lambda: ask_for(HITS_WEB, key="k-1"))
    assert sorted(type(result).__name__ for result in results) == ["Conflict", "Request"]
    assert Request.objects.count() == 1


def test_eight_claimers_win_each_row_once(ask_for):
    rows = [ask_for({**FITS, "centre_in": [100 - n / 4, 20]}).computations.get().pk for n in range(25)]

    def claim_all():
        return [claim for pk in rows if (claim := queue.claim(pk)) is not None]

    won = [claim.pk for claims in at_once(*[claim_all] * 8) for claim in claims]
    assert sorted(won) == rows
    assert set(Computation.objects.values_list("state", "attempts")) == {("running", 1)}
    assert Event.objects.filter(verb="begin computing").count() == 25


def test_eight_sweepers_ring_once_for_a_row(ask_for, monkeypatch):
    heard: list[int] = []
    monkeypatch.setattr(doorbell, "ring", heard.append)
    work = ask_for().computations.get()
    heard.clear()
    Computation.objects.update(next_ring_at=work.queued_at)
    assert sum(at_once(*[queue.sweep] * 8)) == 1
    assert heard == [work.pk]


def test_two_workers_finishing_one_row_write_one_answer(ask_for):
    """The lease ran out under the first while it computed on."""
    from changes.worker import compute as results

    work = ask_for().computations.get()
    first = queue.claim(work.pk)
    write = results.compute(first)
    Computation.objects.update(claimed_at="2020-01-01T00:00Z")
    second = queue.claim(work.pk)
    done = at_once(lambda: queue.finish(first, write), lambda: queue.finish(second, write))
    assert done == [False, True]
    assert (Option.objects.count(), Event.objects.filter(verb="finish computing").count()) == (1, 1)


def test_computing_again_twice_makes_one_computation(answered, builder, designer):
    change = answered()
    Request.objects.update(state="failed")
    at_once(
        lambda: workflow.compute_again(builder, fresh(change)), lambda: workflow.compute_again(designer, fresh(change))
    )
    assert Computation.objects.filter(state="queued").count() == 1
    assert fresh(change).state == "filed"


def test_a_hold_answered_twice_at_once_is_answered_once(ask_for, designer, make_person, job):
    hold = ask_for().holds.get()
    other = make_person("second-designer", job, Role.DESIGNER)
    results = at_once(
        lambda: workflow.answer_hold(designer, Hold.objects.get(pk=hold.pk), acknowledge=True),
        lambda: workflow.answer_hold(other, Hold.objects.get(pk=hold.pk), acknowledge=False, says="It is cut today."),
    )
    assert sum(isinstance(result, workflow.Conflict) for result in results) == 1
    assert Event.objects.filter(verb__endswith="the hold").count() == 1


def test_two_requests_that_load_one_girder_approved_at_once(job, builder, designer, king_post, needed_by):
    """Each was worked out for a girder without the other's load: one is approved, the other is computed again."""
    g1 = girder(job, designer)
    marks = [stand(job, designer, king_post, name, g1, xs) for name, xs in (("K5", (120, 120)), ("K6", (60, 30)))]
    take_up(designer, g1)
    waiting = []
    for truss in marks:
        asks = [{"truss": truss.pk, "kind": "opening", "opening": FITS}]
        change = compute(workflow.file(builder, job, reason=truss.mark, needed_by=needed_by, asks=asks))
        document = copy.deepcopy({**truss.current.document, "openings": [FITS]})
        document["loads"]["area"][0]["psf"] = 12
        option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document)
        compute(change)
        waiting.append((change, {change.asks.get().pk: option.pk}))

    def approve(change, options):
        return lambda: workflow.decide(designer, fresh(change), verdict="approve", options=options)

    results = at_once(*(approve(*each) for each in waiting))
    assert sorted(type(result).__name__ for result in results) == ["Conflict", "Decision"]
    assert sorted(truss.revisions.count() for truss in marks) == [1, 2]
    assert list(g1.revisions.values_list("number", flat=True)) == [0, 1, 2]
    assert Issue.objects.count() == 2
