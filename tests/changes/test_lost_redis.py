"""A Redis that hangs: it takes connections and answers nothing, as one does that swaps or whose machine is stopped."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from celery import current_app
from django.urls import reverse

from changes.computing import doorbell
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
def office(redis, settings, monkeypatch) -> SimpleNamespace:
    """This process rings by that Redis."""
    settings.REDIS_URL = redis.url
    monkeypatch.setattr(doorbell, "_silent_until", 0.0)
    held = current_app.conf
    old = {key: held[key] for key in ("broker_url", "broker_transport_options")}
    pool = current_app._pool
    held.update(broker_url=redis.url, broker_transport_options=celery.REDIS)
    current_app._pool = None
    current_app.amqp._producer_pool = None
    yield redis
    redis.goes_on()
    held.update(old)
    current_app._pool = pool
    current_app.amqp._producer_pool = None


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("lost", "back"), [("hangs", "goes_on"), ("ends", "starts")])
def test_a_worker_that_lost_it_comes_back_by_itself(office, worker, ask_for, lost, back):  # noqa: F811
    """It is lost in the middle of a computation; what was filed meanwhile is computed as well."""
    one = worker(slow_s=60, REDIS_URL=office.url, COMPUTE_SWEEP_S="10")
    before = [ask_for({**FITS, "centre_in": [100 - n, 20]}) for n in range(3)]
    wait_for(lambda: running(before[0]))
    getattr(office, lost)()
    meanwhile = ask_for({**FITS, "centre_in": [90, 20]})
    time.sleep(LOST_S / 2)
    one.go.touch()
    time.sleep(LOST_S / 2)
    getattr(office, back)()
    for change in (*before, meanwhile):
        wait_for(in_state(change, "awaiting decision"), 60)
    after = ask_for({**FITS, "centre_in": [89, 20]})
    wait_for(in_state(after, "awaiting decision"), 60)
    assert one.process.poll() is None
