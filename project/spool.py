"""A broker that needs no server: messages as files in a folder.

kombu's own filesystem transport writes into the final name, so that readers take half-written files, and moves what it
takes across file systems, which is no single step. Here a message appears whole by `os.replace`, is taken by one
`os.rename` that one reader wins, and what can't be read is set aside for a person to look at. There are direct queues
only and each process declares its own, so no table of exchanges is kept on disk.
"""

from __future__ import annotations

import logging
import os
import time
import uuid
from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from typing import Any

from django.conf import settings
from kombu.transport import virtual
from kombu.utils.json import dumps, loads

log = logging.getLogger(__name__)


class Channel(virtual.Channel):
    """`waiting/` holds messages, `taken/` the one being read, `bad/` what could not be read."""

    def _folder(self, name: str) -> Path:
        folder = Path(settings.SPOOL_DIR) / name
        # made anew each time: somebody may wipe the spool while workers run
        folder.mkdir(parents=True, exist_ok=True)
        return folder

    def _put(self, queue: str, payload: dict[str, Any], **kwargs: Any) -> None:  # type: ignore[override]
        name = f"{time.time_ns():020d}_{uuid.uuid4()}.{queue}.msg"
        folder = self._folder("waiting")
        unfinished = folder / f".{name}"
        unfinished.write_bytes(dumps(payload).encode("utf-8"))
        unfinished.replace(folder / name)

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        for waiting in self._waiting(queue):
            taken = self._folder("taken") / waiting.name
            try:
                waiting.rename(taken)
            except FileNotFoundError:
                continue  # another worker was first
            try:
                payload = loads(taken.read_bytes().decode("utf-8"))
                if not isinstance(payload, dict) or "properties" not in payload:
                    raise ValueError("it is no message")
            except (ValueError, OSError):
                log.exception("set aside %s, which can't be read", taken.name)
                taken.replace(self._folder("bad") / taken.name)
                continue
            taken.unlink()
            return payload
        raise Empty

    def _waiting(self, queue: str) -> Iterator[Path]:
        """Messages of the queue, oldest first."""
        folder = self._folder("waiting")
        names = sorted(name for name in os.listdir(folder) if not name.startswith("."))
        return (folder / name for name in names if name.partition(".")[2] == f"{queue}.msg")

    def _purge(self, queue: str) -> int:
        names = list(self._waiting(queue))
        for waiting in names:
            waiting.unlink(missing_ok=True)
        return len(names)

    def _size(self, queue: str) -> int:
        return sum(1 for _ in self._waiting(queue))


class Transport(virtual.Transport):
    Channel = Channel
    global_state = virtual.BrokerState()
    driver_type = driver_name = "spool"

    def __init__(self, client: Any, **kwargs: Any) -> None:
        super().__init__(client, **kwargs)
        # what a process has declared is known to all of its connections
        self.state = self.global_state

    @property
    def default_connection_params(self) -> dict[str, Any]:
        return {}

    def driver_version(self) -> str:
        return "1"
