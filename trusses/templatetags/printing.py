"""What a page says of itself on the edge of each sheet of paper that it is printed on."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django import template
from django.urls import reverse
from django.utils.dateformat import format as date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def printed_as(context: dict[str, Any], job: str, foot: str, *named: object) -> SafeString:
    """A link to the stylesheet that puts `named`, its parts in a row, and the job's day on each printed page of it."""
    today = date_format(context["job"].today(), "M j, Y")
    words = {"named": "".join(str(part) for part in named), "of": job, "foot": foot, "on": f"as of {today}"}
    return format_html('<link rel="stylesheet" media="print" href="{}?{}">', reverse("trusses:print"), urlencode(words))


@register.filter
def revisions_of(sections: object) -> str:
    """What comes behind the number of a request, its marks and their revisions: " · R11 revision 1, G1 revision 0";
    empty where it concerns no mark."""
    # copies of one mark that are answered apart are still of one revision
    named = dict.fromkeys(f"{one.truss.mark} revision {one.revision.number}" for one in sections)  # type: ignore[attr-defined]
    return f" · {', '.join(named)}" if named else ""
