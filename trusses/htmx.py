"""A request as htmx's middleware leaves it."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails


class HtmxRequest(HttpRequest):
    htmx: HtmxDetails
