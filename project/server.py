"""The office's web server: `gunicorn -c python:project.server project.wsgi`, behind a proxy that ends TLS.

Threads, so that a page that waits for the database keeps nobody else waiting; and a limit on how long a client may let
one wait for the rest of what it began to send, or as many half-sent requests as there are threads would stop it.
"""

from __future__ import annotations

import os
from typing import Any

from gunicorn.workers.gthread import ThreadWorker

_READ_S = float(os.environ.get("WEB_READ_S", "10"))


class Worker(ThreadWorker):
    """gunicorn's own with threads; it waits for the beginning of a request with a limit, and here for the rest too."""

    def handle(self, conn: Any) -> Any:
        begin = type(conn).init

        def init() -> None:
            begin(conn)
            conn.sock.settimeout(_READ_S)

        conn.init = init
        return super().handle(conn)


worker_class = "project.server.Worker"
workers = int(os.environ.get("WEB_WORKERS", str(max(2, os.cpu_count() or 2))))
threads = int(os.environ.get("WEB_THREADS", "8"))
timeout = 30  # a worker whose main thread is silent for so long is ended and started anew
graceful_timeout = 20
keepalive = 5
max_requests, max_requests_jitter = 10_000, 1_000
