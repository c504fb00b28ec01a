"""Commands of manage.py as a person runs them: what they print, on which stream, and with what code they end."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path
from unittest.mock import patch

from django.core.management import execute_from_command_line

ROOT = Path(__file__).resolve().parents[1]


def ran(command: str, *arguments: object, stdin: bytes = b"", **environment: str) -> subprocess.CompletedProcess[bytes]:
    """What the command does without any database: in this process, where none is open to it, or, where it is given an
    environment, in one of its own, whose start takes longer than most answers."""
    words = [command, *map(str, arguments)]
    if environment:
        return subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), *words],
            input=stdin,
            capture_output=True,
            timeout=120,
            check=False,
            cwd=ROOT,
            env={**os.environ, **environment},
        )
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    given = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    code = 0
    with patch.multiple(sys, stdin=given, stdout=out, stderr=err):
        try:
            execute_from_command_line(["manage.py", *words])
        except SystemExit as end:
            code = int(end.code or 0)
    for stream in (out, err):
        stream.flush()
    return subprocess.CompletedProcess(words, code, out.buffer.getvalue(), err.buffer.getvalue())  # type: ignore[attr-defined]
