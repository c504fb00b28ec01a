"""The worker's process seen from inside: whether its children still take work, what its time limit may not break, and
how it ends.

Children of the prefork pool take turns at one lock around their queue. One that is killed while it waits there, as all
idle ones do, takes the lock with it: its successors wait for ever, and so does all that is received from then on.
"""

from __future__ import annotations

import logging
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from time import monotonic
from typing import Any, NoReturn

from billiard.process import active_children
from celery.worker import state
from django.conf import settings

log = logging.getLogger(__name__)

STUCK = 70  # EX_SOFTWARE: whoever supervises sees that it didn't end in order
SOFT_LIMIT = signal.SIGUSR1  # as the pool sends it


@contextmanager
def undisturbed() -> Iterator[None]:
    """A soft time limit that falls in here waits until the end, and is raised there.

    Raised while a transaction begins, it would leave the database with one that Django knows nothing of: SQLite then
    stays locked for everyone, as long as the process lives.
    """
    if threading.current_thread() is not threading.main_thread():
        yield  # signals come to the main thread alone
        return
    fell: list[tuple[int, Any]] = []
    limit = signal.signal(SOFT_LIMIT, lambda *signalled: fell.append(signalled))
    try:
        yield
    finally:
        signal.signal(SOFT_LIMIT, limit)
    if fell and callable(limit):
        limit(*fell[0])


class Watchdog:
    """Looked at again and again; knows since when work was received and nothing of it began."""

    def __init__(self) -> None:
        self.since: float | None = None
        self.begun = 0

    def is_stuck(self) -> bool:
        """Work waits in this process, its children do none, and none began for COMPUTE_STALL_S."""
        begun = state.all_total_count[0]
        if not waits() or state.active_requests or begun != self.begun:
            self.since, self.begun = None, begun
            return False
        if self.since is None:
            self.since = monotonic()
        return monotonic() - self.since >= settings.COMPUTE_STALL_S

    def ends_what_is_stuck(self) -> None:
        if self.is_stuck():
            log.critical(
                "received work and began none of it for %g s: the pool is stuck; this worker ends and is to be started "
                "anew, and what waits is computed then",
                settings.COMPUTE_STALL_S,
            )
            leave(STUCK)


def waits() -> bool:
    """Whether anything that was received isn't finished."""
    return bool(len(state.reserved_requests))


def leave(code: int) -> NoReturn:
    """Ends this process and its children at once. A lock that nobody will open again lets none of them end in order."""
    for child in active_children():
        with suppress(ProcessLookupError, TypeError):
            os.kill(child.pid, signal.SIGKILL)
    logging.shutdown()
    os._exit(code)
