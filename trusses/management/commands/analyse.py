"""`manage.py analyse FILE …`: analyse truss documents, without any database."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from typing import Any

from django.core.management.base import BaseCommand

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.format.document import LIMITS, DocumentError, read
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import LoadError
from trusses.sheets.report import report

_REFUSALS = (DocumentError, LoadError, Mechanism)


class Command(BaseCommand):
    help = "Analyse truss documents: forces, reactions, checks, openings and findings. Needs no database."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="a truss document; - is standard input")
        parser.add_argument(
            "--json", action="store_true", help="print one analysis document per line instead of a report"
        )

    def handle(self, *args: Any, files: list[str], **options: Any) -> None:
        """Exits with 1 when any document is wrong or its truss can move freely; failed checks are no error."""
        if isinstance(sys.stdout, io.TextIOWrapper):
            # a terminal that has no é still gets its report
            sys.stdout.reconfigure(errors="backslashreplace")
        try:
            refused = self._each(files, options["json"])
        except BrokenPipeError:
            # whoever reads, such as head, has seen enough
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(1)
        if refused:
            sys.exit(1)

    def _each(self, files: list[str], as_json: bool) -> int:
        """Prints each file's analysis or error; how many were refused."""
        refused = 0
        for name in files:
            try:
                analysis = analyse(read(_content(name)))
            except _REFUSALS as error:
                refused += 1
                self.stderr.write(f"{'standard input' if name == '-' else name}: {error}")
                if as_json:
                    self.stdout.write(json.dumps({"error": str(error)}))
            else:
                self.stdout.write(_as_json(analysis) if as_json else report(analysis))
        return refused


def _as_json(analysis: Analysis) -> str:
    return json.dumps(analysis.document(), separators=(",", ":"), allow_nan=False)


def _content(name: str) -> bytes:
    """What a file holds, up to one byte more than a document may have. Raises DocumentError when it can't be read."""
    if name == "-":
        return sys.stdin.buffer.read(LIMITS.bytes + 1)
    try:
        with open(name, "rb") as file:
            return file.read(LIMITS.bytes + 1)
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise DocumentError("file-unreadable", problem=why.lower()) from None
