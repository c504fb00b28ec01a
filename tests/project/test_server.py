"""The office's web server: as many half-sent requests as it has threads, and more, don't stop it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HALVES = (b"GET /sign-in/ HTTP/1.1\r\nHost: localhost\r\nX-Half", b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\n")


@pytest.fixture
def server(tmp_path: Path) -> Iterator[int]:
    """One worker with two threads, which waits a second for what is still to come; its port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    own = {"DATA_DIR": str(tmp_path), "DATABASE_URL": f"sqlite:///{tmp_path / 'rows.sqlite3'}", "MODE": "development"}
    env = {**os.environ, **own, "WEB_WORKERS": "1", "WEB_THREADS": "2", "WEB_READ_S": "1"}
    command = ["gunicorn", "-c", "python:project.server", "-b", f"127.0.0.1:{port}", "project.wsgi"]
    log = tmp_path / "log"
    with log.open("wb") as out:
        process = subprocess.Popen([sys.executable, "-m", *command], cwd=ROOT, env=env, stdout=out, stderr=out)
    until = time.monotonic() + 60
    while answers(port, 2) != 200:
        assert process.poll() is None, log.read_text()
        assert time.monotonic() < until, log.read_text()
        time.sleep(0.2)
    yield port
    process.terminate()
    process.wait(30)


def answers(port: int, seconds: float) -> int:
    try:
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=seconds) as answer:
            return answer.status
    except (urllib.error.URLError, OSError):
        return 0


def test_half_sent_requests_do_not_stop_it(server: int) -> None:
    half: list[socket.socket] = []
    for n in range(8):
        half.append(socket.create_connection(("127.0.0.1", server)))
        half[-1].sendall(HALVES[n % 2])
    time.sleep(0.5)
    assert answers(server, 40) == 200
    for one in half:
        one.close()
