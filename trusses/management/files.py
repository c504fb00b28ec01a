"""What commands that take truss documents share: how a file is read, how a report is written, what a refusal is."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Callable

from trusses.analysis.format.document import LIMITS, DocumentError
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import LoadError

#: What is wrong with a document or its truss, each a sentence with its place.
REFUSALS = (DocumentError, LoadError, Mechanism)


def content(name: str) -> bytes:
    """What a file holds, up to one byte more than a document may have; - is standard input. Raises DocumentError when
    it can't be read."""
    if name == "-":
        return sys.stdin.buffer.read(LIMITS.bytes + 1)
    try:
        with open(name, "rb") as file:
            return file.read(LIMITS.bytes + 1)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise DocumentError("file-unreadable", problem=why.lower()) from None


def called(name: str) -> str:
    return "standard input" if name == "-" else name


def ends_with(work: Callable[[], int]) -> None:
    """Ends the process with the code that `work` gives; 1 where whoever reads, such as head, has seen enough."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        # a terminal that has no é still gets its report
        sys.stdout.reconfigure(errors="backslashreplace")
    try:
        code = work()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = 1
    if code:
        sys.exit(code)
