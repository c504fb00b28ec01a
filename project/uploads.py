"""What is uploaded, bounded by its announced size before a byte of it is read: nothing endless may fill a disk. What is
too large is told so, with how much can be sent; what else can't be taken has the page 400.html."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadhandler import MemoryFileUploadHandler
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string


class BoundedUploadHandler(MemoryFileUploadHandler):
    """Refuses a body of more than UPLOAD_MAX_BYTES, with the page 413.html. Smaller ones are a form's to judge."""

    def handle_raw_input(  # type: ignore[override]  # Django gives bytes
        self, input_data: Any, META: dict[str, Any], content_length: int, boundary: bytes, encoding: str | None = None
    ) -> Any:
        if content_length > settings.UPLOAD_MAX_BYTES:
            raise RequestDataTooBig(f"{content_length:,} bytes were sent; {settings.UPLOAD_MAX_BYTES:,} can be.")
        return super().handle_raw_input(input_data, META, content_length, boundary, encoding)  # type: ignore[arg-type]


def not_taken(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for what is refused before any form reads it, also before it is known whose it is."""
    if not isinstance(exception, RequestDataTooBig):
        return HttpResponse(render_to_string("400.html"), status=400)
    most = {"most_mb": settings.UPLOAD_MAX_BYTES / 1024**2, "typed_mb": settings.DATA_UPLOAD_MAX_MEMORY_SIZE / 1024**2}
    return HttpResponse(render_to_string("413.html", most), status=413)
