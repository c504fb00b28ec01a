"""What every page has in common, whichever app it is of."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

API = "/api/"


def explain_method(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """An address that only takes what a form sends, opened by hand or by a reload, says so instead of a bare 405."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code != 405 or response.content or request.path.startswith(API):
            return response
        page = render(request, "405.html", status=405)
        page["Allow"] = response["Allow"]
        return page

    return middleware
