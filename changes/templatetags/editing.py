"""The fields of the form in which a designer edits an option: their ids, and that what was typed there is refused."""

from __future__ import annotations

from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.filter
def at_field(edit: Any, name: str) -> SafeString:
    """The attributes of the field of a name: its id, and which of an edit's `troubles` are about it."""
    about = " ".join(f"trouble-{n}" for n, one in enumerate(edit.troubles, start=1) if name in one.fields)
    refused = format_html(' aria-invalid="true" aria-describedby="{}"', about) if about else ""
    return format_html('id="of-{}"{}', name, refused)
