"""What every page has in common, whichever app it is of."""

from __future__ import annotations

import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trusses.once import page

API = "/api/"
_PARTED = re.compile(
    rb"<(textarea|option|script|style|pre)\b.*?</\1\s*>"  # what these hold is a value
    rb"|<[^>]*>"
    rb"|(?<=[0-9]) (?=[0-9]{1,2}/(?:2|4|8|16|32|64)(?![0-9]))",
    re.IGNORECASE | re.DOTALL,
)
_NO_BREAK = "\N{NO-BREAK SPACE}".encode()


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


def keeps_lengths_whole(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """No line of a page ends between an inch and its fraction: 5 3/4"."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not response.streaming and response.get("Content-Type", "").startswith("text/html"):
            response.content = lengths_whole(response.content)
        return response

    return middleware


def lengths_whole(page: bytes) -> bytes:
    """A page in UTF-8 whose text has a space that breaks nowhere before each fraction of an inch. What stands in a tag,
    or is a value that somebody typed, stays as it is. One pass: a form shows again what anybody sent."""
    return _PARTED.sub(lambda found: _NO_BREAK if found[0] == b" " else found[0], page)
