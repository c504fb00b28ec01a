"""The demo's worker process, to be held still while a test looks at what waits for it."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager

import psutil


class Worker:
    """The worker among the children of a demo; it leads a process group of its own."""

    def __init__(self, demo: int):
        pids = [child.pid for child in psutil.Process(demo).children() if "worker" in child.cmdline()]
        assert len(pids) == 1, "the demo has one worker"
        self.pid = pids[0]

    @contextmanager
    def held(self) -> Iterator[None]:
        os.killpg(self.pid, signal.SIGSTOP)
        try:
            yield
        finally:
            os.killpg(self.pid, signal.SIGCONT)
