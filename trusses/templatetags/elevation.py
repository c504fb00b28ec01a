"""The drawing on a page. This is the one place that takes a string as safe: `trusses.drawing` escapes what it draws."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from trusses import drawing

register = template.Library()


@register.simple_tag
def elevation(document: dict[str, Any], **how: Any) -> SafeString:
    """The elevation of a truss document; `how` as in `drawing.elevation`."""
    return mark_safe(drawing.elevation(document, **how))


@register.simple_tag
def picture(document: dict[str, Any], *, prefix: str = "picture", **how: Any) -> SafeString:
    """The elevation twice, lettered for a phone and for a desk; the stylesheet shows the one that fits."""
    desk = elevation(document, prefix=f"{prefix}-desk", **how)
    phone = elevation(document, prefix=f"{prefix}-phone", detail="phone", **how)
    return format_html('<div class="for-desk">{}</div><div class="for-phone">{}</div>', desk, phone)
