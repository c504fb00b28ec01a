"""How the C library keeps memory in a process that analyses trusses, which is the worker's alone."""

from __future__ import annotations

import ctypes
import os

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # malloc.h


def keep_freed(megabytes: int = 32) -> None:
    """Lets glibc keep so much of what a stack of trusses frees for the next one, rather than give it back to the system
    and ask for it again page by page, which took a third of a stack's time. Another C library does as it does."""
    if os.name == "posix" and hasattr(libc := ctypes.CDLL(None), "mallopt"):
        for parameter in (_MMAP_THRESHOLD, _TRIM_THRESHOLD):
            libc.mallopt(parameter, megabytes << 20)
