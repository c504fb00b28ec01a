"""Whose a page is: what a browser keeps for one account it never shows to another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

HEADER = "Kept-For"
NOBODY = "nobody"


def whose(user: Any) -> str:
    """A name for the account that says nothing of it outside; `nobody` where none is signed in."""
    return salted_hmac("kept-for", str(user.pk)).hexdigest()[:16] if user.is_authenticated else NOBODY


def tells_whose(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Every page says whose it is. A browser that meets another account's, or nobody's, throws away what it kept."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if response.status_code == 200 and response.get("Content-Type", "").startswith("text/html"):
            response[HEADER] = whose(request.user)
        return response

    return middleware
