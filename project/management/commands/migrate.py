"""Django's `migrate`, which says so where a database was last migrated before steps that are no longer here."""

from __future__ import annotations

from typing import Any

from django.core.management import CommandError
from django.core.management.commands import migrate
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder


class Command(migrate.Command):
    def handle(self, *args: Any, **options: Any) -> None:
        refuse_half_replaced(options["database"])
        super().handle(*args, **options)


def refuse_half_replaced(database: str) -> None:
    """Raises CommandError for a database that has some of the steps that one migration replaces and not all: Django
    would go by what is gone, and leave tables as they are or say something else."""
    applied = MigrationRecorder(connections[database]).applied_migrations()
    files = MigrationLoader(None, ignore_no_migrations=True)
    for migration in files.disk_migrations.values():
        lacks = [step for step in migration.replaces if step not in applied]
        if lacks and len(lacks) < len(migration.replaces):
            app, name = migration.replaces[-1]
            raise CommandError(
                f"This database was last migrated before {app} {name}, and the steps from there on are no longer here. "
                "Migrate it with commit bcf5d27c first, then with this one."
            )
