"""What every page knows."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from project.offline.whose import NOBODY, whose
from project.people import DEMO_PEOPLE


def mode(request: HttpRequest) -> dict[str, Any]:
    """`demo` puts the bar of people on the page and says that everything on it is invented; `whose` it is tells scripts
    what of the device's they may show."""
    told = {"demo": settings.DEMO, "demo_people": DEMO_PEOPLE if settings.DEMO else ()}
    return told | {"whose": whose(request.user) if hasattr(request, "user") else NOBODY}
