"""The worker: one task that computes one row, and the sweep beside it.

A message only names a row. It may come twice, late or never: the row decides whether there is something to do.
"""

from __future__ import annotations

import logging
import threading
from typing import Any

from billiard.exceptions import SoftTimeLimitExceeded
from celery import shared_task
from celery.signals import worker_ready, worker_shutting_down
from django.conf import settings
from django.db import connections

from changes.computations import ATLAS_TASK, TASK
from changes.worker import atlases, queue, watchdog
from changes.worker import compute as results
from trusses.analysis.words.phrases import Coded

log = logging.getLogger(__name__)


@shared_task(name=TASK)
def compute(pk: int) -> None:
    """Claims the row, computes, finishes. Trouble is logged in full; the row keeps why, as a code.

    The time limit breaks the computation alone, never a transaction of the row.
    """
    mine = None
    try:
        with watchdog.undisturbed():
            mine = queue.claim(pk)
        if mine is None:
            return
        write = results.compute(mine)
        with watchdog.undisturbed():
            finished = queue.finish(mine, write)
        if not finished:
            log.info("computation %s was lost before it finished", pk)
    except queue.Lost as lost:
        log.info("%s", lost)
    except SoftTimeLimitExceeded:
        log.warning("computation %s took longer than %s s", pk, settings.COMPUTE_SOFT_LIMIT_S)
        _give_back(mine, queue.stopped("took-too-long", seconds=settings.COMPUTE_SOFT_LIMIT_S))
    except Exception:
        log.exception("computation %s broke", pk)
        _give_back(mine, queue.stopped("broke"))


@shared_task(name=ATLAS_TASK)
def survey(pk: int) -> None:
    """Goes on with an atlas for a few seconds, unless somebody waits for something else."""
    mine = None
    try:
        with watchdog.undisturbed():
            mine = atlases.claim(pk)
        if mine is None:
            return
        atlas = atlases.go_on(mine)
        with watchdog.undisturbed():
            atlases.give_back(mine, atlas)
    except Exception:
        # the row counts the attempt and is taken up again when its lease has run out
        log.exception("atlas %s broke", pk)


def _give_back(mine: queue.Claim | None, trouble: Coded) -> None:
    """Gives the row back by a new connection: nobody knows what was broken off in the old one. Where that can't be done
    either, this child ends and with it all that it holds; the sweep finds the row when its lease has run out."""
    for connection in connections.all(initialized_only=True):
        if not connection.in_atomic_block:
            connection.close()
    if mine is None:
        return
    try:
        with watchdog.undisturbed():
            queue.give_back(mine, trouble)
    except Exception:
        log.exception("computation %s could not be given back: this child ends", mine.pk)
        watchdog.leave(watchdog.STUCK)


_stop = threading.Event()


@worker_ready.connect
def start_sweeping(**_: Any) -> None:
    """A daemon thread of the worker's main process: it dies with the worker, unlike the child of `worker -B`."""
    if settings.COMPUTE_LEASE_S <= settings.COMPUTE_HARD_LIMIT_S:
        log.warning("COMPUTE_LEASE_S must be longer than COMPUTE_HARD_LIMIT_S, or rows are computed twice at once")
    _stop.clear()
    threading.Thread(target=_sweep_for_ever, name="sweep", daemon=True).start()


@worker_shutting_down.connect
def stop_sweeping(**_: Any) -> None:
    """A worker with work in hand finishes it. The pool takes seconds to end in order, for nothing when it is idle."""
    _stop.set()
    if not watchdog.waits():
        log.info("nothing to finish: this worker ends")
        watchdog.leave(0)


def _sweep_for_ever() -> None:
    dog = watchdog.Watchdog()
    while not _stop.is_set():
        dog.ends_what_is_stuck()
        try:
            queue.sweep()
        except Exception:
            # the database may be away for a while; the next round tries again
            log.exception("the sweep broke")
        finally:
            connections.close_all()
        _stop.wait(settings.COMPUTE_SWEEP_S)
