"""`manage.py analyse FILE …`: analyse truss documents, without any database."""

from __future__ import annotations

import argparse
import json
from typing import Any

from django.core.management.base import BaseCommand

from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.format.document import read
from trusses.management.files import REFUSALS, called, content, ends_with
from trusses.sheets.report import report


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
        ends_with(lambda: self._each(files, options["json"]))

    def _each(self, files: list[str], as_json: bool) -> int:
        """Prints each file's analysis or error; 1 where any was refused."""
        refused = 0
        for name in files:
            try:
                analysis = analyse(read(content(name)))
            except REFUSALS as error:
                refused = 1
                self.stderr.write(f"{called(name)}: {error}")
                if as_json:
                    self.stdout.write(json.dumps({"error": str(error)}))
            else:
                self.stdout.write(_as_json(analysis) if as_json else report(analysis))
        return refused


def _as_json(analysis: Analysis) -> str:
    return json.dumps(analysis.document(), separators=(",", ":"), allow_nan=False)
