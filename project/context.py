"""What every page knows."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from project.people import DEMO_PEOPLE


def mode(request: HttpRequest) -> dict[str, Any]:
    """`demo` puts the bar of people on the page and says that everything on it is invented."""
    return {"demo": settings.DEMO, "demo_people": DEMO_PEOPLE if settings.DEMO else ()}
