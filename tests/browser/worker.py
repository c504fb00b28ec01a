"""The demo's worker process, to be held still while a test looks at what waits for it."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager


class Worker:
    """The worker among the children of a demo; it leads a process group of its own."""

    def __init__(self, demo: int):
        listed = subprocess.run(
            ["ps", "-o", "pid=,args=", "--ppid", str(demo)], capture_output=True, text=True, check=True
        )
        pids = [int(line.split()[0]) for line in listed.stdout.splitlines() if " worker " in line]
        assert len(pids) == 1, listed.stdout
        self.pid = pids[0]

    @contextmanager
    def held(self) -> Iterator[None]:
        os.killpg(self.pid, signal.SIGSTOP)
        try:
            yield
        finally:
            os.killpg(self.pid, signal.SIGCONT)
