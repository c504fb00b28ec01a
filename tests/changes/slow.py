"""For a worker that is to be caught in the act: `celery … --include tests.changes.slow` waits before each answer.

It waits SLOW_S seconds, or until the file DATA_DIR/go is there; in steps so short that a soft time limit ends them as
it ends a computation.
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from changes.worker import answering

_answer = answering._answer


def slowly(*args: Any) -> Any:
    until = time.monotonic() + float(os.environ["SLOW_S"])
    go = Path(os.environ["DATA_DIR"], "go")
    while time.monotonic() < until and not go.exists():
        time.sleep(0.02)
    return _answer(*args)


answering._answer = slowly
