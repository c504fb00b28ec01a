"""The worker as a real separate process, on whatever database and broker the settings name; killed, and yet once."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psutil
import pytest
from django.conf import settings as django_settings
from django.db import connection

from changes import workflow
from changes.models import Computation, Event, Option, Request
from changes.worker import watchdog
from tests.changes.asking import FITS, HITS_WEB, first_options

pytestmark = pytest.mark.django_db(transaction=True)
ROOT = Path(__file__).resolve().parents[2]
# A lease shorter than any limit of a worker that is killed: it never finishes, so nothing runs twice.
QUICK = {
    "COMPUTE_LEASE_S": "3",
    "COMPUTE_SWEEP_S": "0.3",
    "COMPUTE_SOFT_LIMIT_S": "20",
    "COMPUTE_HARD_LIMIT_S": "30",
    "ATLAS_SEARCHES": "0",
}


def database_url() -> str:
    """The test's own database, for another process."""
    held = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{Path(held['NAME']).resolve()}"
    where = f"{quote(held['HOST'], safe='')}:{held['PORT']}" if held["PORT"] else quote(held["HOST"], safe="")
    return f"postgres://{quote(held['USER'])}:{quote(held['PASSWORD'])}@{where}/{held['NAME']}"


def wipe_broker() -> None:
    """Every message is lost, as when somebody flushes Redis or clears the folder."""
    if django_settings.REDIS_URL:
        import redis

        server = redis.Redis.from_url(django_settings.REDIS_URL)
        server.delete("chord-change", "unacked", "unacked_index")
    else:
        shutil.rmtree(django_settings.SPOOL_DIR, ignore_errors=True)


def ended(pid: int) -> bool:
    """Gone, or nobody has collected it yet."""
    return not psutil.pid_exists(pid) or psutil.Process(pid).status() == psutil.STATUS_ZOMBIE


class Worker:
    def __init__(self, data: Path, env: dict[str, str], slow_s: float | None) -> None:
        include = [] if slow_s is None else ["--include", "tests.changes.slow"]
        command = [sys.executable, "-m", "celery", "-A", "project", "worker", "-c", "1", "-l", "INFO", *include]
        own = {"DATABASE_URL": database_url(), "DATA_DIR": str(data), "SLOW_S": str(slow_s)}
        env = {**os.environ, **own, **QUICK, **env}
        self.log, self.go = data / "worker.log", data / "go"
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=env, stdout=self.log.open("a"), stderr=subprocess.STDOUT, start_new_session=True
        )

    def kill(self) -> None:
        """kill -9, parent and children alike."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(10)

    def children(self) -> list[int]:
        return [child.pid for child in psutil.Process(self.process.pid).children() if not ended(child.pid)]

    def stop(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(15)
            except subprocess.TimeoutExpired:
                self.kill()


@pytest.fixture
def worker(tmp_path, settings, transactional_db) -> Iterator[Callable[..., Worker]]:
    """Starts workers of this test's database and broker; stops those that still run."""
    settings.SPOOL_DIR = tmp_path / "spool"  # where the worker has it, from DATA_DIR
    wipe_broker()
    started: list[Worker] = []

    def start(slow_s: float | None = None, **env: str) -> Worker:
        started.append(Worker(tmp_path, env, slow_s))
        return started[-1]

    yield start
    for each in started:
        each.stop()
    wipe_broker()


def wait_for(what: Callable[[], Any], seconds: float = 60) -> Any:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := what():
            return found
        time.sleep(0.02)
    rows = list(Computation.objects.values("state", "attempts", "rings", "trouble"))
    pytest.fail(f"not within {seconds} s; {rows}")


def running(change: Request) -> Computation | None:
    return change.computations.filter(state="running").first()


def in_state(change: Request, state: str) -> Callable[[], bool]:
    return lambda: Request.objects.filter(pk=change.pk, state=state).exists()


def assert_computed_once(change: Request) -> None:
    change.refresh_from_db()
    assert change.state == "awaiting decision"
    assert change.computations.get().state == "done"
    assert Event.objects.filter(request=change, verb="finish computing").count() == 1
    assert Event.objects.filter(request=change, verb="begin computing").count() == 1
    ranks = list(change.options.values_list("rank", flat=True))
    assert ranks == list(range(len(ranks)))
    assert change.asks.get().verdict == ("fits" if len(ranks) == 1 else "options")


def test_it_computes_what_is_filed_and_what_is_drawn(worker, ask_for, designer):
    worker()
    change = ask_for(HITS_WEB)
    wait_for(in_state(change, "awaiting decision"))
    assert_computed_once(change)
    change.refresh_from_db()
    ask = change.asks.get()
    option = workflow.draw_option(designer, change, ask=ask, document=change.options.first().document)
    wait_for(lambda: Option.objects.filter(pk=option.pk, passes=True).exists())
    workflow.decide(designer, change, verdict="approve", options={ask.pk: option.pk})
    assert change.state == "approved"


def test_killed_in_the_middle_it_is_computed_once_by_the_next(worker, ask_for):
    first = worker(slow_s=60)
    change = ask_for(HITS_WEB)
    wait_for(lambda: running(change))
    first.kill()
    assert in_state(change, "computing")()
    worker()
    wait_for(in_state(change, "awaiting decision"))
    assert_computed_once(change)
    assert change.computations.get().attempts == 2


def test_a_killed_child_is_made_good_by_its_own_worker(worker, ask_for):
    """The main process lives on and starts another child; the lease has to run out first."""
    one = worker(slow_s=20)
    change = ask_for()
    wait_for(lambda: running(change))
    for child in one.children():
        os.kill(child, signal.SIGKILL)
    one.go.touch()
    wait_for(in_state(change, "awaiting decision"))
    assert_computed_once(change)
    assert change.computations.get().attempts >= 2


def test_lost_messages_are_computed_all_the_same(worker, ask_for):
    changes = [ask_for({**FITS, "centre_in": [100 - n, 20]}) for n in range(3)]
    wipe_broker()
    worker()
    for change in changes:
        wait_for(in_state(change, "awaiting decision"))
        assert_computed_once(change)


def test_messages_that_come_twice_or_for_nothing_do_no_harm(worker, ask_for):
    from changes.computations import ring

    change = ask_for()
    for _ in range(5):
        ring(change.computations.get().pk)
    ring(987654321)
    worker()
    wait_for(in_state(change, "awaiting decision"))
    time.sleep(1)
    assert_computed_once(change)
    assert change.computations.get().attempts == 1


def test_one_that_outlives_its_lease_has_no_effect(worker, ask_for):
    """The lease must be longer than the hard limit; here it isn't, and still there is one answer."""
    slow = worker(slow_s=60, COMPUTE_LEASE_S="1", COMPUTE_SOFT_LIMIT_S="60", COMPUTE_HARD_LIMIT_S="70")
    change = ask_for()
    wait_for(lambda: running(change))
    worker(COMPUTE_LEASE_S="1")
    wait_for(in_state(change, "awaiting decision"))
    slow.go.touch()
    wait_for(lambda: "is no longer this worker's" in slow.log.read_text())
    assert_computed_once(change)


def test_what_takes_too_long_fails_with_a_sentence(worker, ask_for, builder):
    slow = worker(slow_s=60, COMPUTE_SOFT_LIMIT_S="0.5", COMPUTE_ATTEMPTS="2")
    change = ask_for()
    wait_for(in_state(change, "failed"))
    work = change.computations.get()
    assert (work.state, work.attempts) == ("failed", 2)
    assert work.trouble_says == "the computation took longer than 0.5 seconds."
    slow.stop()
    change.refresh_from_db()
    workflow.compute_again(builder, change)
    worker()
    wait_for(in_state(change, "awaiting decision"))
    assert change.options.get().passes is True


def test_what_is_withdrawn_in_the_middle_is_dropped(worker, ask_for, builder):
    one = worker(slow_s=20)
    change, after = ask_for(), ask_for(HITS_WEB)
    wait_for(lambda: running(change))
    workflow.withdraw(builder, change)
    one.go.touch()
    wait_for(in_state(after, "awaiting decision"))
    change.refresh_from_db()
    assert (change.state, change.options.count(), change.computations.get().state) == ("withdrawn", 0, "dropped")


def test_the_worker_stops_when_told(worker, ask_for):
    one = worker()
    change = ask_for()
    wait_for(in_state(change, "awaiting decision"))
    one.process.terminate()
    assert one.process.wait(30) == 0


def test_an_idle_worker_has_nothing_to_finish(worker):
    one = worker()
    wait_for(lambda: "ready." in one.log.read_text())
    children = one.children()
    one.process.terminate()
    assert one.process.wait(30) == 0
    assert "nothing to finish: this worker ends" in one.log.read_text()
    wait_for(lambda: all(map(ended, children)))


def test_one_whose_idle_children_were_all_killed_ends_and_the_next_computes(worker, ask_for):
    """On the spool the killed child takes the lock of the pool's queue with it; its successors wait for ever. On Redis
    each child has a queue of its own, and mostly nothing is stuck."""
    one = worker(COMPUTE_STALL_S="1")
    wait_for(lambda: "ready." in one.log.read_text())
    for child in (before := one.children()):
        os.kill(child, signal.SIGKILL)
    wait_for(lambda: one.children() and not set(one.children()) & set(before))
    change = ask_for()
    if django_settings.REDIS_URL:
        wait_for(lambda: in_state(change, "awaiting decision")() or one.process.poll())
        if one.process.poll() is None:
            return
    assert wait_for(one.process.poll) == watchdog.STUCK
    assert "the pool is stuck; this worker ends and is to be started anew" in one.log.read_text()
    assert in_state(change, "filed")()
    worker()
    wait_for(in_state(change, "awaiting decision"))
    assert_computed_once(change)


def test_the_whole_way_through_two_kills(worker, ask_for, designer):
    """Twelve requests, a killed worker, a wiped broker, another killed worker: twelve answers, twelve effects."""
    changes = [ask_for({**FITS, "centre_in": [100 - n, 20]}) for n in range(6)]
    first = worker(slow_s=0.5)
    wait_for(lambda: Computation.objects.filter(state="running").exists())
    first.kill()
    changes += [ask_for({**HITS_WEB, "centre_in": [120, 20 + n / 4]}) for n in range(6)]
    wipe_broker()
    second = worker(slow_s=0.5)
    wait_for(lambda: Computation.objects.filter(state="done").count() >= 4)
    second.kill()
    worker()
    for change in changes:
        wait_for(in_state(change, "awaiting decision"), 120)
        assert_computed_once(change)
    chosen = first_options(changes[0])
    changes[0].refresh_from_db()
    workflow.decide(designer, changes[0], verdict="approve", options=chosen)
