"""Only the process that analyses trusses keeps what they free; only the web's seldom looks for circles."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from project import celery, data, memory

ROOT = Path(__file__).resolve().parents[2]

COUNTED = """
import ctypes
calls = []
class Library(ctypes.CDLL):
    mallopt = staticmethod(lambda *wish: calls.append(wish))
ctypes.CDLL = Library
import trusses.analysis.frame
print(calls)
from project.memory import keep_freed
keep_freed(32)
print(calls)
"""


def test_importing_the_core_changes_nothing_of_the_process() -> None:
    done = subprocess.run(
        [sys.executable, "-c", COUNTED], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.splitlines() == ["[]", "[(-3, 33554432), (-1, 33554432)]"]


def test_the_worker_begins_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    began: list[str] = []
    monkeypatch.setattr(memory, "keep_freed", lambda: began.append("keeps"))
    monkeypatch.setattr(data, "refuse_to_serve", lambda: began.append("may serve"))
    celery.begin()
    assert began == ["may serve", "keeps"]


def test_the_web_server_looks_for_circles_seldom_and_not_through_what_it_began_with() -> None:
    tells = "import gc, project.wsgi; print(gc.get_threshold(), gc.get_freeze_count() > 10_000)"
    environment = os.environ | {"DJANGO_SETTINGS_MODULE": "project.settings"}
    done = subprocess.run(
        [sys.executable, "-c", tells],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout.split() == ["(20000,", "20,", "20)", "True"]
