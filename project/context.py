"""What every page knows."""

from django.conf import settings


def mode(request):
    """`demo` puts the bar of people on the page and says that everything on it is invented."""
    return {"demo": settings.DEMO}
