"""Sealed PDFs as files: judged before they are kept, kept byte for byte, given out only as what was attached.

Two libraries, each for what it does alone: pypdf reads every object of a file in plain Python, so that what runs or
carries other files is found wherever it stands; pdfium draws pages as they will be printed. Both work in a process of
its own (`judge`), since what they read comes from outside.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from trusses.refusals import Refused
from trusses.sealing import judge

MOST_BYTES = 10 * 1024 * 1024
WITHIN_S = 20


class NotKept(Refused):
    """What the judge refused, by its code."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A PDF that was judged and kept."""

    sha256: str
    size_bytes: int
    pages: int


def keep(job: int, sent: BinaryIO, size: int) -> Kept:
    """Keeps a PDF of a job with pictures of its pages. Raises Refused for what is none, or isn't safe to hand on."""
    if size > MOST_BYTES:
        raise Refused("pdf-too-large", "drawing", "drawing", most_mb=MOST_BYTES // 1024**2)
    content = sent.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise Refused("pdf-too-large", "drawing", "drawing", most_mb=MOST_BYTES // 1024**2)
    digest = hashlib.sha256(content).hexdigest()
    folder = folder_of(job)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as aside:
        pages = judged(content, Path(aside))
        for number in range(1, pages + 1):
            os.replace(Path(aside) / f"{number}.png", picture_of(job, digest, number))
        whole = Path(aside) / "whole.pdf"
        whole.write_bytes(content)
        os.replace(whole, path_of(job, digest))
    return Kept(digest, len(content), pages)


def judged(content: bytes, folder: Path) -> int:
    """How many pages a PDF has; pictures of them stand in the folder then. Raises Refused."""
    try:
        told = subprocess.run(
            [sys.executable, "-I", judge.__file__, str(folder)],
            input=content,
            capture_output=True,
            timeout=WITHIN_S,
            env={},
            check=False,
        )
        answer = json.loads(told.stdout or b"null")
    except (subprocess.TimeoutExpired, ValueError):
        answer = None
    if not isinstance(answer, dict):
        # it was ended by a limit, or broke
        raise Refused("pdf-broken", "drawing", "drawing")
    if "refused" in answer:
        raise NotKept(answer["refused"], "drawing", "drawing", **answer["values"])
    return int(answer["pages"])


def content_of(job: int, sha256: str) -> bytes | None:
    """The PDF as it was attached; None where the file is gone or isn't that any more."""
    try:
        content = path_of(job, sha256).read_bytes()
    except FileNotFoundError:
        return None
    return content if hashlib.sha256(content).hexdigest() == sha256 else None


def folder_of(job: int) -> Path:
    return Path(settings.DATA_DIR) / "sealed" / str(job)


def path_of(job: int, sha256: str) -> Path:
    return folder_of(job) / f"{sha256}.pdf"


def picture_of(job: int, sha256: str, page: int) -> Path:
    return folder_of(job) / f"{sha256}-{page}.png"
