"""The worker's process: `celery -A project worker`. What it may assume and why: DEVELOPERS.md, "The worker"."""

from __future__ import annotations

import os
from typing import Any

from celery import Celery
from celery.signals import worker_init
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "project.settings")
TRANSPORT_ALIASES["spool"] = "project.spool:Transport"

# A broker that hangs may cost a page two seconds at the most; the sweep rings again.
REDIS = {
    "visibility_timeout": 120,
    "unacked_restore_interval": 5,
    "unacked_restore_throttle": 1,
    "socket_timeout": 1.5,
    "socket_connect_timeout": 1.5,
    "socket_keepalive": True,  # a worker that waits for messages notices a machine that is gone without a word
    "max_retries": 0,
}
SPOOL = {"polling_interval": 0.1}


def _defaults() -> dict[str, Any]:
    from django.conf import settings

    return {
        "broker_transport_options": REDIS if settings.REDIS_URL else SPOOL,
        "broker_connection_max_retries": None,
        "broker_connection_retry_on_startup": True,
        "task_default_queue": "chord-change",
        "task_acks_late": True,
        "task_reject_on_worker_lost": True,
        "task_ignore_result": True,
        "task_soft_time_limit": settings.COMPUTE_SOFT_LIMIT_S,
        "task_time_limit": settings.COMPUTE_HARD_LIMIT_S,
        "worker_prefetch_multiplier": 1,
        # the spool has no fan-out, and nobody steers workers by messages
        "worker_enable_remote_control": False,
    }


app = Celery("chord_change", include=["changes.worker.tasks"])
app.add_defaults(_defaults)
app.config_from_object("django.conf:settings", namespace="CELERY")


@worker_init.connect
def begin(**_: Any) -> None:
    """In the worker's main process, before it makes its children, which are as it is."""
    from project.data import refuse_to_serve
    from project.memory import keep_freed

    refuse_to_serve()
    keep_freed()
