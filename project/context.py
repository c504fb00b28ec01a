"""What every page knows."""

from django.conf import settings

from project.people import DEMO_PEOPLE


def mode(request):
    """`demo` puts the bar of people on the page and says that everything on it is invented."""
    return {"demo": settings.DEMO, "demo_people": DEMO_PEOPLE if settings.DEMO else ()}
