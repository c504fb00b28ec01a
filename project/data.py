"""Whose data a database holds: the demo keeps away from real ones, and production from the demo's."""

from __future__ import annotations

import logging

from django.conf import settings
from django.contrib.auth import get_user_model
from django.db import DatabaseError, connection

from project.people import DEMO_PEOPLE
from trusses.models import Job

log = logging.getLogger(__name__)

OWN_DATABASE = "The demo starts in a database of its own: leave DATABASE_URL and DATA_DIR unset, or name an empty one."


class NotADemo(ValueError):
    """The database holds something that is not the demo's; the demo keeps away from it."""


def refuse_real_data() -> None:
    """Raises NotADemo unless the database is empty or a demo's. Asked before anything is written, tables included."""
    tables = set(connection.introspection.table_names())
    if not tables:
        return
    if Job._meta.db_table not in tables:
        raise NotADemo(f"This database holds tables of something else ({min(tables)}). {OWN_DATABASE}")
    try:
        real, invented = (Job.objects.filter(is_demo=is_demo).exists() for is_demo in (False, True))
    except DatabaseError as trouble:
        raise NotADemo(
            f"This database is of another version and can't be read ({trouble}). {OWN_DATABASE}"
        ) from trouble
    if real:
        raise NotADemo(f"This database holds jobs that are not the demo's. {OWN_DATABASE}")
    names = {name for name, _, _ in DEMO_PEOPLE}
    if not invented and get_user_model().objects.exclude(username__in=names).exists():
        raise NotADemo(f"This database holds people who are not the demo's. {OWN_DATABASE}")


def refuse_to_serve() -> None:
    """Ends the process, with a sentence, where a server or a worker starts on data of the other kind."""
    says = ""
    try:
        if settings.DEMO:
            refuse_real_data()
        elif settings.PRODUCTION and Job.objects.filter(is_demo=True).exists():
            says = "This database holds the demo's job and people. Production starts in a database of its own."
    except NotADemo as refused:
        says = str(refused)
    except DatabaseError:
        # it is away, or not migrated yet: then there is nothing to serve, and what is asked for says so
        log.exception("whose data the database holds could not be read")
    finally:
        connection.close()
    if says:
        raise SystemExit(f"MODE={settings.MODE}: {says}")
