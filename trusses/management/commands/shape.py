"""`manage.py shape KIND --span "36'" --pitch 6 …`: write the truss document of a shape of the trade."""

from __future__ import annotations

import json
from argparse import RawDescriptionHelpFormatter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from trusses.analysis.shapes.load_fields import SNOW
from trusses.analysis.shapes.shapes import KINDS, Field, ShapeError, build, kind_named

_METAVARS = {"whole": "N", "factor": "NUMBER"}
_WITH_GROUND_SNOW = {field.name for field in SNOW} - {"ground_snow"}


def _every_field() -> dict[str, tuple[Field, set[str]]]:
    """The fields of all shapes by name, each with what it starts from in the shapes that have it."""
    every: dict[str, tuple[Field, set[str]]] = {}
    for kind in KINDS.values():
        for field in kind.fields:
            every.setdefault(field.name, (field, set()))[1].add(field.shown_start)
    return every


class Command(BaseCommand):
    help = "Print the truss document of a shape of the trade, with its load arrangements. Needs no database."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        kinds = "\n".join(f"  {kind.key:12} {kind.says}" for kind in KINDS.values())
        parser.epilog = f"Shapes:\n{kinds}\n\nLengths: 36', 12' 3 1/2\", 12-3, 147.5 (inches). Loads in psf."
        parser.formatter_class = RawDescriptionHelpFormatter
        parser.add_argument("kind", metavar="KIND", help="the shape, one of those listed below")
        parser.add_argument("--out", metavar="FILE", type=Path, help="write to FILE instead of standard output")
        parser.add_argument("--no-arrangements", action="store_true", help="leave the load arrangements out")
        for field, starts in _every_field().values():
            parser.add_argument(
                f"--{field.name.replace('_', '-')}",
                dest=f"field_{field.name}",
                metavar=field.unit.upper().replace(" ", "-")
                or {"whole": "N", "factor": "NUMBER"}.get(field.sort, "TEXT"),
                help=_told(field, starts),
            )

    def handle(self, *args: Any, **options: Any) -> None:
        given = {
            name.removeprefix("field_"): value
            for name, value in options.items()
            if name.startswith("field_") and value is not None
        }
        if lone := sorted(given.keys() & _WITH_GROUND_SNOW) if "ground_snow" not in given else []:
            words = ", ".join(f"--{name.replace('_', '-')}" for name in lone)
            raise CommandError(f"{words} says something of snow on the ground: give --ground-snow too.")
        try:
            kind = kind_named(options["kind"])
            document = build(kind.key, arranged=not options["no_arrangements"], **given)
        except ShapeError as error:
            raise CommandError(error.says) from None
        text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
        if options["out"] is None:
            self.stdout.write(text, ending="")
        else:
            _save(options["out"], text)
        if kind.use == "roof" and not ({"snow", "ground_snow", "wind_up", "wind_down"} & given.keys()):
            self.stderr.write(
                "No snow and no wind are in it: give --ground-snow or --snow, --wind-up, --wind-down for the site."
            )


def _told(field: Field, starts: set[str]) -> str:
    says = [f"{field.label}.", field.says]
    if field.choices:
        says.append(f"One of {', '.join(key for key, _ in field.choices)}.")
    if known := sorted(starts - {""}):
        says.append(f"Starts from {' or '.join(known)}{', by shape' if len(known) > 1 else ''}.")
    return " ".join(part for part in says if part).replace("%", "%%")


def _save(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise CommandError(f"{path} can't be written: {error.strerror}.") from None
