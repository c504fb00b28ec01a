"""What is uploaded, bounded by its announced size before a byte of it is read: nothing endless may fill a disk."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadhandler import MemoryFileUploadHandler


class BoundedUploadHandler(MemoryFileUploadHandler):
    """Refuses a body of more than UPLOAD_MAX_BYTES, with the page 400.html. Smaller ones are a form's to judge."""

    def handle_raw_input(  # type: ignore[override]  # Django gives bytes
        self, input_data: Any, META: dict[str, Any], content_length: int, boundary: bytes, encoding: str | None = None
    ) -> Any:
        if content_length > settings.UPLOAD_MAX_BYTES:
            raise RequestDataTooBig(f"{content_length:,} bytes were sent; {settings.UPLOAD_MAX_BYTES:,} can be.")
        return super().handle_raw_input(input_data, META, content_length, boundary, encoding)  # type: ignore[arg-type]
