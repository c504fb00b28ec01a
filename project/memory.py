"""How processes keep memory: the C library in the worker's, which analyse trusses, and Python in the web's."""

from __future__ import annotations

import ctypes
import gc
import os

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # malloc.h


def keep_freed(megabytes: int = 32) -> None:
    """Lets glibc keep so much of what a stack of trusses frees for the next one, rather than give it back to the system
    and ask for it again page by page, which took a third of a stack's time. Another C library does as it does."""
    if os.name == "posix" and hasattr(libc := ctypes.CDLL(None), "mallopt"):
        for parameter in (_MMAP_THRESHOLD, _TRIM_THRESHOLD):
            libc.mallopt(parameter, megabytes << 20)


def collect_rarely() -> None:
    """Has Python look for circles of garbage once in 20,000 new objects in place of 700, and never through what is
    there already. A page makes and drops hundreds of thousands of objects with hardly a circle among them; looking was
    up to two fifths of its time (`tests/benchmarks/bench_pages.py`)."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
