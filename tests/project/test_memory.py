"""Only the process that analyses trusses keeps what they free."""

from __future__ import annotations

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
