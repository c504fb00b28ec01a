"""What every page has in common, whichever app it is of."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.once import page

API = "/api/"


def explain_method(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """An address that only takes what a form sends, opened by hand or by a reload, says so instead of a bare 405."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code != 405 or response.content or request.path.startswith(API):
            return response
        explained = render(request, "405.html", status=405)
        explained["Allow"] = response["Allow"]
        return explained

    return middleware


def reads_once(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """A page that only reads asks the database the same thing once."""

    def middleware(request: HttpRequest) -> HttpResponse:
        if request.method not in ("GET", "HEAD"):
            return get_response(request)
        with page():
            return get_response(request)

    return middleware
