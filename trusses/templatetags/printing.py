"""What a page says of itself on the edge of each sheet of paper that it is printed on."""

from __future__ import annotations

from urllib.parse import urlencode

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag
def printed_as(job: str, foot: str, *named: object) -> SafeString:
    """A link to the stylesheet that puts `named`, its parts in a row, on each printed page of a job's page."""
    words = {"named": "".join(str(part) for part in named), "of": job, "foot": foot}
    return format_html('<link rel="stylesheet" media="print" href="{}?{}">', reverse("trusses:print"), urlencode(words))


@register.filter
def revisions_of(sections: object) -> str:
    """The marks of a request and their revisions: R11 revision 1, G1 revision 0."""
    return ", ".join(f"{one.truss.mark} revision {one.revision.number}" for one in sections)  # type: ignore[attr-defined]
