"""`manage.py clear FILE …`: the largest circle and rectangles in each pocket of trusses, without any database."""

from __future__ import annotations

import argparse
import json
from typing import Any

from django.core.management.base import BaseCommand

from trusses.analysis.clearance.clear_map import clear_map, written
from trusses.analysis.format.document import DocumentError, read
from trusses.management.files import called, content, ends_with
from trusses.sheets.clear_report import clear_report


class Command(BaseCommand):
    help = "Print each pocket's largest circle and rectangles, from truss documents. Needs no database."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="a truss document; - is standard input")
        parser.add_argument("--json", action="store_true", help="print one truss per line instead of a report")

    def handle(self, *args: Any, files: list[str], **options: Any) -> None:
        """Exits with 1 when any document is wrong; a truss without pockets is none."""
        ends_with(lambda: max([self._told(name, options["json"]) for name in files]))

    def _told(self, name: str, as_json: bool) -> int:
        try:
            truss = read(content(name))
        except DocumentError as error:
            self.stderr.write(f"{called(name)}: {error}")
            if as_json:
                self.stdout.write(json.dumps({"error": str(error)}))
            return 1
        found = clear_map(truss)
        if as_json:
            self.stdout.write(json.dumps(written(truss, found), separators=(",", ":"), allow_nan=False))
        else:
            self.stdout.write(clear_report(truss, found))
        return 0
