"""Bodies of the API, bounded before they are read: a stream that never ends must not fill the memory."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser


class TooLarge(APIException):
    status_code = 413
    default_code = "too_large"


class BoundedJSONParser(JSONParser):
    """JSON of at most DATA_UPLOAD_MAX_MEMORY_SIZE bytes, no deeper than Python can follow."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None) -> Any:
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        body = stream.read(most + 1)
        if len(body) > most:
            raise TooLarge(f"The body is larger than {most:,} bytes, the most that is taken here.")
        try:
            return super().parse(io.BytesIO(body), media_type, parser_context)
        except RecursionError as trouble:
            raise ParseError("The body is nested too deeply to be read.") from trouble
