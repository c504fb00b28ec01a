"""The drawing on a page. Here alone are drawings taken as safe: `drawing` and `plan` escape what they draw."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from trusses import drawing
from trusses.plan.plan import Row
from trusses.plan.plan import plan as draw_plan

register = template.Library()


@register.simple_tag
def elevation(document: dict[str, Any], **how: Any) -> SafeString:
    """The elevation of a truss document; `how` as in `drawing.elevation`."""
    return mark_safe(drawing.elevation(document, **how))


@register.simple_tag
def picture(
    document: dict[str, Any], *, prefix: str = "picture", desk_px: float | None = None, **how: Any
) -> SafeString:
    """The elevation twice, lettered for a phone and for a desk; the stylesheet shows the one that fits.

    `desk_px` is how wide the desk's place for it is, where that is less than the page.
    """
    desk = elevation(document, prefix=f"{prefix}-desk", width_px=desk_px, **how)
    phone = elevation(document, prefix=f"{prefix}-phone", detail="phone", **how)
    return format_html('<div class="for-desk">{}</div><div class="for-phone">{}</div>', desk, phone)


@register.simple_tag
def plan(rows: list[Row], chosen: str) -> SafeString:
    """The plan of one level."""
    return mark_safe(draw_plan(rows, chosen))
