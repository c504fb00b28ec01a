"""`manage.py options FILE …`: redesigns in which the openings of truss documents are clear, without any database."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.redesign.wish import Granted, granted
from trusses.management.files import REFUSALS, called, content, ends_with
from trusses.sheets.options_report import options_report

REFUSED, NO_OPTION = 1, 3


class Command(BaseCommand):
    help = (
        "Offer redesigns in which the openings of truss documents are clear and every check passes: the openings that"
        " stand in a document are the wish, the document without them is today's truss. Needs no database."
    )
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="a truss document; - is standard input")
        parser.add_argument("--json", action="store_true", help="print one option per line instead of a report")

    def handle(self, *args: Any, files: list[str], **options: Any) -> None:
        """Exits with 1 when any document is wrong or its truss can move freely, else with 3 when any has no option that
        passes."""
        ends_with(lambda: self._each(files, options["json"]))

    def _each(self, files: list[str], as_json: bool) -> int:
        codes = {0}
        for name in files:
            try:
                truss = read(content(name))
                found = granted(truss)
            except REFUSALS as error:
                codes.add(REFUSED)
                self.stderr.write(f"{called(name)}: {error}")
                if as_json:
                    self.stdout.write(json.dumps({"error": str(error)}))
                continue
            if not found.passes:
                codes.add(NO_OPTION)
            if as_json:
                for line in _lines(truss, found):
                    self.stdout.write(json.dumps(line, separators=(",", ":"), allow_nan=False))
            else:
                self.stdout.write(options_report(truss, found))
        return REFUSED if REFUSED in codes else max(codes)


def _lines(truss: Truss, found: Granted) -> Iterator[dict[str, Any]]:
    for option in found.options:
        yield {
            "mark": truss.mark,
            "title": option.title,
            "says": option.says,
            "changed": list(option.change.touched),
            "board_feet_delta": round(option.change.board_feet, 6),
            "worst_ratio": option.analysis.document()["worst_ratio"],
            "passes": option.passes,
            "document": option.document,
        }
    if found.none:
        none = {"verdict": found.none.verdict, "says": found.none.says, "nearest": found.none.near}
        yield {"mark": truss.mark, "none": none}
