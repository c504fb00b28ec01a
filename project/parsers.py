"""Bodies of the API, bounded before they are read: a stream that never ends must not fill the memory."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser
from rest_framework.response import Response
from rest_framework.views import exception_handler

TOO_DEEP = "The body is nested too deeply to be read."
TOO_LARGE = "The body is larger than {:,} bytes, the most that is taken here."


class TooLarge(APIException):
    status_code = 413
    default_code = "too_large"


def explain(trouble: Exception, context: dict[str, Any]) -> Response | None:
    """The API's answer to an exception: as the framework has it, and in words where the body is too large or deep."""
    if isinstance(trouble, RequestDataTooBig):
        trouble = TooLarge(TOO_LARGE.format(settings.DATA_UPLOAD_MAX_MEMORY_SIZE))
    if isinstance(trouble, RecursionError):
        # what the parser could just follow, a refusal that quotes it may not
        trouble = ParseError(TOO_DEEP)
    return exception_handler(trouble, context)


class BoundedJSONParser(JSONParser):
    """JSON of at most DATA_UPLOAD_MAX_MEMORY_SIZE bytes, no deeper than Python can follow."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None) -> Any:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(most + 1)
        if len(body) > most:
            raise TooLarge(TOO_LARGE.format(most))
        try:
            return super().parse(io.BytesIO(body), media_type, parser_context)
        except RecursionError as trouble:
            raise ParseError(TOO_DEEP) from trouble
