"""A QR code as an SVG that needs no style: its modules are all that comes of the address, so nothing can break out."""

from __future__ import annotations

import segno
from django import template
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def qr(address: str) -> SafeString:
    """The code with its quiet zone, four modules wide (ISO/IEC 18004), sized by the stylesheet alone."""
    # without a width and height of its own it has a viewBox, so that it is scaled and not cut to its place
    return mark_safe(segno.make(address, error="m").svg_inline(omitsize=True, border=4, light="#fff", svgclass="qr"))
