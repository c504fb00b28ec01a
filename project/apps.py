"""What Django is told of this room when it starts."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.core.management import CommandError
from django.db import connections
from django.db.migrations.loader import MigrationLoader
from django.db.models.signals import pre_migrate


class ProjectConfig(AppConfig):
    name = "project"

    def ready(self) -> None:
        pre_migrate.connect(refuse_half_replaced, sender=self)


def refuse_half_replaced(using: str, **_: Any) -> None:
    """Raises CommandError for a database that has some of the migrations that one replaces: Django would go by what is
    gone, and leave its tables as they are without a word."""
    loader = MigrationLoader(connections[using], ignore_no_migrations=True)
    for (app, _name), migration in loader.replacements.items():
        lacks = [name for of, name in migration.replaces if (of, name) not in loader.applied_migrations]
        if lacks and len(lacks) < len(migration.replaces):
            raise CommandError(
                f"This database was last migrated before {app} {migration.replaces[-1][1]}, and the steps from there "
                "on are no longer here. Migrate it with commit 0d04e98e first, then with this one."
            )
