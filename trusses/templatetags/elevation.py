"""The drawing on a page. This is the one place that takes a string as safe: `trusses.drawing` escapes what it draws."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.safestring import SafeString, mark_safe

from trusses import drawing

register = template.Library()


@register.simple_tag
def elevation(document: dict[str, Any], **how: Any) -> SafeString:
    """The elevation of a truss document; `how` as in `drawing.elevation`."""
    return mark_safe(drawing.elevation(document, **how))


@register.simple_tag
def thumbnail(document: dict[str, Any], row: int) -> SafeString:
    """The small elevation of a list; `row` tells it from the others on the page."""
    return mark_safe(drawing.thumbnail(document, width_px=320, prefix=f"thumb{row:d}"))
