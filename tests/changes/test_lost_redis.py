"""A Redis that hangs: it takes connections and answers nothing, as one does that swaps or whose machine is stopped."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from celery import current_app
from django.urls import reverse
from django.utils import timezone

from changes import computations as doorbell
from project import celery
from tests.changes.asking import FITS
from tests.changes.test_worker import in_state, running, wait_for, worker  # noqa: F401 (a fixture)

LOST_S = float(os.environ.get("LOST_S", 15))
AT_MOST_S = 2.0
"""What a page may wait for Redis."""


@pytest.fixture
def redis(tmp_path: Path) -> Iterator[SimpleNamespace]:
    """A Redis of its own, which can be told to hang and to go on."""
    if shutil.which("redis-server") is None:
        pytest.skip("there is no redis-server")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = ["redis-server", "--bind", "127.0.0.1", "--port", str(port), "--save", "", "--appendonly", "no"]
    command += ["--dir", str(tmp_path)]
    servers: list[subprocess.Popen[bytes]] = []

    def starts() -> None:
        servers.append(subprocess.Popen(command, stdout=subprocess.DEVNULL))
        until = time.monotonic() + 10
        while socket.socket().connect_ex(("127.0.0.1", port)):
            assert time.monotonic() < until
            time.sleep(0.05)

    def ends() -> None:
        servers[-1].kill()
        servers[-1].wait()

    starts()
    yield SimpleNamespace(
        url=f"redis://127.0.0.1:{port}/0",
        hangs=lambda: servers[-1].send_signal(signal.SIGSTOP),
        goes_on=lambda: servers[-1].send_signal(signal.SIGCONT),
        ends=ends,
        starts=starts,
    )
    ends()


@pytest.fixture
def rings_by(settings) -> Iterator[Callable[[str], None]]:
    """Lets this process ring by the Redis at an address."""
    conf = current_app.conf
    old = {key: conf[key] for key in ("broker_url", "broker_transport_options")}

    def turn(**options: Any) -> None:
        conf.update(options)
        current_app._pool = None
        current_app.amqp._producer_pool = None

    def to(url: str) -> None:
        settings.REDIS_URL = url
        turn(broker_url=url, broker_transport_options=celery.REDIS)

    yield to
    turn(**old)


@pytest.fixture
def mute() -> Iterator[tuple[str, list[socket.socket]]]:
    """The address of a server that takes connections and says nothing, and those that it took."""
    with socket.socket() as server:
        server.bind(("127.0.0.1", 0))
        server.listen()
        server.settimeout(0.1)
        taken: list[socket.socket] = []
        done = threading.Event()

        def take() -> None:
            while not done.is_set():
                with suppress(TimeoutError):
                    taken.append(server.accept()[0])

        taking = threading.Thread(target=take)
        taking.start()
        yield f"redis://127.0.0.1:{server.getsockname()[1]}/0", taken
        done.set()
        taking.join()
        for one in taken:
            one.close()


def test_a_page_waits_for_a_mute_one_once_and_briefly(mute, rings_by, client_of, builder, ask_for, caplog):
    """Filing asks it once, for no longer than its limits; a page that polls and other filings don't ask again."""
    address, taken = mute
    assert max(celery.REDIS["socket_timeout"], celery.REDIS["socket_connect_timeout"]) <= AT_MOST_S
    assert celery.REDIS["max_retries"] == 0
    change = ask_for()
    rings_by(address)
    doorbell.ring(change.computations.get().pk)
    assert len(taken) == 1
    assert "the sweep will ring again" in caplog.text
    change.computations.update(next_ring_at=timezone.now() - timedelta(seconds=1))
    assert client_of(builder).get(reverse("changes:progress", args=[change.pk])).status_code == 200
    doorbell.ring(change.computations.get().pk)
    assert len(taken) == 1


def test_after_a_sweeps_time_it_is_asked_again(mute, rings_by, ask_for, monkeypatch, settings):
    address, taken = mute
    rings_by(address)
    for n, later in enumerate((0, settings.COMPUTE_SWEEP_S + 5), start=1):
        monkeypatch.setattr(doorbell, "monotonic", lambda later=later: time.monotonic() + later)
        doorbell.ring(n)
        assert len(taken) == n


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("lost", "back"), [("hangs", "goes_on"), ("ends", "starts")])
def test_a_worker_that_lost_it_comes_back_by_itself(redis, rings_by, worker, ask_for, lost, back):  # noqa: F811
    """It is lost in the middle of a computation; what was filed before and meanwhile is computed as well."""
    rings_by(redis.url)
    one = worker(slow_s=60, REDIS_URL=redis.url, COMPUTE_SWEEP_S="10")
    before = [ask_for({**FITS, "centre_in": [100 - n, 20]}) for n in range(3)]
    wait_for(lambda: running(before[0]))
    getattr(redis, lost)()
    meanwhile = ask_for({**FITS, "centre_in": [90, 20]})
    time.sleep(LOST_S / 2)
    one.go.touch()
    time.sleep(LOST_S / 2)
    getattr(redis, back)()
    for change in (*before, meanwhile):
        wait_for(in_state(change, "awaiting decision"), 60)
    after = ask_for({**FITS, "centre_in": [89, 20]})
    wait_for(in_state(after, "awaiting decision"), 60)
    assert one.process.poll() is None
