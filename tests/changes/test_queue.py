"""The worker's side of a row: claims, leases, attempts, the sweep. The worker as a process is in test_worker.py."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import timedelta

import pytest
from billiard.pool import soft_timeout_sighandler
from celery import current_app
from celery.exceptions import SoftTimeLimitExceeded
from django.db import OperationalError, connection, transaction
from django.utils import timezone

from changes import computations as doorbell
from changes import workflow
from changes.models import Computation, Event, Option
from changes.worker import answering, queue, tasks, watchdog
from changes.worker import compute as results
from tests.changes.asking import FITS, compute
from trusses.analysis.words.phrases import coded


@pytest.fixture
def work(ask_for) -> Computation:
    return ask_for().computations.get()


@pytest.fixture
def rung(monkeypatch) -> list[int]:
    """The rows for which the bell rang."""
    heard: list[int] = []
    monkeypatch.setattr(current_app, "send_task", lambda name, args, **_: heard.append(*args))
    return heard


def age(work: Computation, seconds: float) -> None:
    """Moves a row's past further back."""
    work.refresh_from_db()
    back = timedelta(seconds=seconds)
    claimed = work.claimed_at - back if work.claimed_at else None
    Computation.objects.filter(pk=work.pk).update(claimed_at=claimed, next_ring_at=work.next_ring_at - back)


def test_a_claim_is_won_once(work):
    mine = queue.claim(work.pk)
    assert mine is not None
    assert (mine.attempts, mine.row.count()) == (1, 1)
    assert queue.claim(work.pk) is None
    work.refresh_from_db()
    assert (work.state, work.request.state) == ("running", "computing")


def test_a_lease_that_ran_out_is_claimed_anew_and_the_first_has_no_effect(work, settings):
    first = queue.claim(work.pk)
    age(work, settings.COMPUTE_LEASE_S + 1)
    second = queue.claim(work.pk)
    assert first is not None
    assert second is not None
    assert (second.attempts, first.row.exists(), second.row.exists()) == (2, False, True)
    write = results.compute(second)
    assert queue.finish(first, write) is False
    assert not Option.objects.exists()
    with pytest.raises(queue.Lost):
        queue.Teller(first)(0.5, "still at it")
    assert queue.finish(second, write) is True
    assert queue.finish(second, write) is False
    assert Option.objects.count() == 1
    assert Event.objects.filter(verb="finish computing").count() == 1


def test_a_row_whose_request_was_withdrawn_is_not_claimed(work, builder):
    workflow.withdraw(builder, work.request)
    assert queue.claim(work.pk) is None
    Computation.objects.filter(pk=work.pk).update(state="queued")  # as if withdrawing had missed it
    assert queue.claim(work.pk) is None
    work.refresh_from_db()
    assert work.state == "dropped"


def test_withdrawing_in_the_middle_drops_what_is_computed(work, builder):
    mine = queue.claim(work.pk)
    write = results.compute(mine)
    workflow.withdraw(builder, work.request)
    with pytest.raises(queue.Lost):
        queue.Teller(mine)(0.5, "still at it")
    assert queue.finish(mine, write) is False
    work.request.refresh_from_db()
    assert (work.request.state, Option.objects.count()) == ("withdrawn", 0)


def test_what_breaks_is_tried_again_then_failed_with_a_plain_sentence(work, settings, monkeypatch, caplog):
    def broken(*_):
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr(answering, "_answer", broken)
    for attempt in range(1, settings.COMPUTE_ATTEMPTS + 1):
        tasks.compute(work.pk)
        work.refresh_from_db()
        assert work.attempts == attempt
    change = work.request
    change.refresh_from_db()
    assert (work.state, change.state) == ("failed", "failed")
    assert work.trouble == {"code": "broke", "place": "", "values": {}}
    assert change.events.last().told == work.trouble_says
    assert caplog.text.count("ZeroDivisionError: secret detail") == settings.COMPUTE_ATTEMPTS
    tasks.compute(work.pk)
    work.refresh_from_db()
    assert work.attempts == settings.COMPUTE_ATTEMPTS


def test_what_takes_too_long_is_failed_after_the_last_attempt(work, settings, monkeypatch):
    def slow(*_):
        raise SoftTimeLimitExceeded

    monkeypatch.setattr(answering, "_answer", slow)
    settings.COMPUTE_ATTEMPTS = 2
    tasks.compute(work.pk)
    work.refresh_from_db()
    assert (work.state, work.request.state) == ("queued", "computing")
    tasks.compute(work.pk)
    work.refresh_from_db()
    work.request.refresh_from_db()
    assert (work.state, work.request.state) == ("failed", "failed")
    assert (work.trouble["code"], work.trouble["values"]) == ("took-too-long", {"seconds": 20})


def test_a_drawn_option_that_breaks_fails_alone(answered, designer, monkeypatch, settings):
    change = answered()
    document = change.options.get().document
    option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document)

    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(results, "drawn", broken)
    settings.COMPUTE_ATTEMPTS = 1
    compute(change)
    option.refresh_from_db()
    assert (change.state, option.passes) == ("awaiting decision", False)
    assert option.says.startswith("It could not be computed: the computation broke")


def test_a_broker_that_is_down_costs_a_line_in_the_log(work, monkeypatch, caplog):
    def down(*_, **__):
        raise OSError("no broker")

    monkeypatch.setattr(current_app, "send_task", down)
    doorbell.ring(work.pk)
    assert "the sweep will ring again" in caplog.text


def test_filing_rings_once_it_is_committed(ask_for, rung, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks() as waiting:
        change = ask_for()
        assert rung == []
    assert len(waiting) == 1
    waiting[0]()
    assert rung == [change.computations.get().pk]


def test_the_sweep_leaves_alone_what_was_just_rung_for(work, rung):
    assert queue.sweep() == 0
    assert rung == []


def test_the_sweep_rings_for_what_got_lost_and_waits_twice_as_long_each_time(work, rung, settings):
    gaps = []
    for n in range(1, 5):
        age(work, 10_000)
        now = timezone.now()
        assert queue.sweep() == 1
        work.refresh_from_db()
        assert work.rings == n
        gaps.append(round((work.next_ring_at - now).total_seconds()))
    assert gaps == [20, 40, 80, 160]  # COMPUTE_SWEEP_S is 10
    assert rung == [work.pk] * 4
    Computation.objects.filter(pk=work.pk).update(rings=40)
    age(work, 10_000)
    queue.sweep()
    work.refresh_from_db()
    assert work.next_ring_at < timezone.now() + timedelta(seconds=doorbell.LONGEST_WAIT_S + 1)


def test_the_sweep_takes_up_what_a_dead_worker_left(work, rung, settings):
    queue.claim(work.pk)
    age(work, settings.COMPUTE_LEASE_S - 1)
    assert queue.sweep() == 0
    age(work, 2)
    assert queue.sweep() == 1
    assert rung == [work.pk]


def test_what_ends_its_worker_every_time_is_failed_by_the_sweep(work, rung, settings):
    for _ in range(settings.COMPUTE_ATTEMPTS):
        assert queue.claim(work.pk) is not None
        age(work, settings.COMPUTE_LEASE_S + 1)
    assert queue.claim(work.pk) is None
    assert queue.sweep() == 0
    work.refresh_from_db()
    work.request.refresh_from_db()
    assert (work.state, work.request.state) == ("failed", "failed")
    assert (work.trouble["code"], work.trouble["values"]) == ("ended-its-worker", {"attempts": 3})
    assert rung == []


def test_the_sweep_takes_the_oldest_twenty(ask_for, rung):
    for n in range(23):
        ask_for({**FITS, "centre_in": [100 - n / 4, 20]})
    Computation.objects.update(next_ring_at=timezone.now() - timedelta(seconds=1))
    assert queue.sweep() == queue.SWEPT_AT_ONCE
    assert rung == sorted(Computation.objects.values_list("pk", flat=True))[:20]
    assert queue.sweep() == 3


def test_progress_is_told_at_most_twice_a_second(work, django_assert_num_queries):
    tell = queue.Teller(queue.claim(work.pk))
    looking = coded("for-a-mark", mark="K1", doing=coded("looking-for-space"))
    with django_assert_num_queries(1):
        tell(0.25, looking)
        tell(0.5, coded("sorted"))
    work.refresh_from_db()
    assert (work.fraction, work.doing) == (0.25, looking)
    assert work.doing_says == "K1: looking for the clear space"


def test_asking_for_a_state_rings_again_when_it_is_time(work, rung):
    assert doorbell.ring_if_due(work) is False
    age(work, 100)
    assert doorbell.ring_if_due(work) is True
    assert doorbell.ring_if_due(work) is False
    assert rung == [work.pk]


@contextmanager
def held_by_another(work: Computation, seconds: float) -> Iterator[None]:
    """Another connection has written to the row and commits after so long; all who write to it wait."""
    began = threading.Event()

    def hold() -> None:
        with transaction.atomic():
            Computation.objects.filter(pk=work.pk).update(rings=1)
            began.set()
            time.sleep(seconds)
        connection.close()

    other = threading.Thread(target=hold)
    other.start()
    assert began.wait(10)
    yield
    other.join()


@pytest.fixture
def soft_limit() -> Iterator[Callable[[float], None]]:
    """As the worker's pool has it: a signal after so many seconds, raised as an exception wherever the process is."""
    before = signal.signal(signal.SIGUSR1, soft_timeout_sighandler)
    fallen: list[threading.Timer] = []

    def falls(after_s: float) -> None:
        fallen.append(threading.Timer(after_s, os.kill, (os.getpid(), signal.SIGUSR1)))
        fallen[-1].start()

    yield falls
    for timer in fallen:
        timer.join()
    signal.signal(signal.SIGUSR1, before)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("place", ["claim", "finish"])
def test_a_time_limit_does_not_break_a_transaction_that_waits_to_begin(work, place, monkeypatch, rung, soft_limit):
    """It falls after half of the time for which another holds the database; the row is whole, and nothing is locked."""
    step = getattr(queue, place)

    def paused(*args):
        with held_by_another(work, 1.0):
            soft_limit(0.5)
            return step(*args)

    monkeypatch.setattr(queue, place, paused)
    tasks.compute(work.pk)
    work.refresh_from_db()
    assert work.state == {"claim": "queued", "finish": "done"}[place]
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(_writes_at_once, work.pk).result(30) == 1
    assert Option.objects.count() == (place == "finish")


def _writes_at_once(pk: int) -> int:
    """Rows written within a second, from another connection."""
    try:
        if connection.vendor == "sqlite":
            connection.ensure_connection()
            connection.cursor().execute("PRAGMA busy_timeout = 1000")
        else:
            connection.cursor().execute("SET lock_timeout = 1000")
        return Computation.objects.filter(pk=pk).update(rings=2)
    finally:
        connection.close()


def test_a_child_that_cannot_give_its_row_back_ends(work, monkeypatch):
    """With it ends whatever its connection holds; the row is taken up when the lease has run out."""
    left: list[int] = []

    def broken(*_):
        raise OperationalError("cannot start a transaction within a transaction")

    monkeypatch.setattr(results, "compute", broken)
    monkeypatch.setattr(queue, "give_back", broken)
    monkeypatch.setattr(watchdog, "leave", left.append)
    tasks.compute(work.pk)
    assert left == [watchdog.STUCK]
    work.refresh_from_db()
    assert work.state == "running"
