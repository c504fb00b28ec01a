"""The same races and the same killed workers on PostgreSQL and Redis, as an office runs them.

Where DATABASE_URL and REDIS_URL are set, all tests run on those already; this file is for a run on SQLite that is told
by TEST_DATABASE_URL and TEST_REDIS_URL where the services are.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest

ROOT = Path(__file__).resolve().parents[2]


def service(name: str, what: str) -> str:
    url = os.environ.get(f"TEST_{name}", "")
    if not url:
        pytest.skip(f"no {what}: TEST_{name} is not set")
    return url


TESTS = {
    # what rests on the database's locks and the broker's messages; time limits and stops are the same anywhere
    "the worker": (
        ["test_worker.py"],
        "computes_what_is_filed or killed or lost_messages or twice or two_kills or outlives",
    ),
    "the rows": (["test_races.py", "test_queue.py", "test_overtaken.py", "test_filing.py"], ""),
}


@pytest.mark.services
@pytest.mark.parametrize("what", TESTS)
def test_on_postgresql_and_redis(what, tmp_path):
    # a database and a Redis of its own for each, since they run at once
    files, chosen = TESTS[what]
    place = list(TESTS).index(what) + 1
    env = {
        **os.environ,
        "DATABASE_URL": urlsplit(service("DATABASE_URL", "PostgreSQL"))._replace(path=f"/services_{place}").geturl(),
        "REDIS_URL": urlsplit(service("REDIS_URL", "Redis"))._replace(path=f"/{place}").geturl(),
        "DATA_DIR": str(tmp_path),
    }
    for name in [name for name in env if name.startswith(("PYTEST_", "COV_"))]:
        del env[name]
    command = [sys.executable, "-m", "pytest", "-c", ".pytest.ini", "-q", "-p", "no:xdist", "-k", chosen]
    command += [f"tests/changes/{one}" for one in files]
    done = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, timeout=900, check=False)
    assert done.returncode == 0, done.stdout[-8000:] + done.stderr[-2000:]
