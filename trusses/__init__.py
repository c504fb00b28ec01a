"""Trusses: the core in `analysis`, the drawing, and the set of a job."""

import ctypes
import os

# A truss makes matrices of a few dozen rows. Threads gain nothing on them, and where several workers share the
# processors each one's threads wait for the others': measured at 15 times slower. Must be set before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def _keep_freed_memory(megabytes: int = 32) -> None:
    """Lets glibc keep so much of what a stack of trusses frees for the next one, rather than give it back to the system
    and ask for it again page by page, which took a third of a stack's time. Another C library does as it does."""
    if os.name == "posix" and hasattr(libc := ctypes.CDLL(None), "mallopt"):
        trim_threshold, mmap_threshold = -1, -3  # malloc.h
        for parameter in (mmap_threshold, trim_threshold):
            libc.mallopt(parameter, megabytes << 20)


_keep_freed_memory()
