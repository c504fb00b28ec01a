"""What inspectors want corrected of a mark and haven't accepted yet, on whichever page it is told."""

from __future__ import annotations

from typing import Any

from django import template

from trusses.copies import disputed
from trusses.models import Job, Truss

register = template.Library()


@register.inclusion_tag("trusses/_disputed.html")
def corrections_open(truss: Truss, *, sheet: bool = False, inspects: str = "") -> dict[str, Any]:
    """On a `sheet` as one of the lines of its status; for an inspector by the token of the link."""
    found = disputed.of(truss)
    return {"disputes": found, "says": disputed.says(found), "truss": truss, "sheet": sheet, "inspects": inspects}


@register.simple_tag
def corrections_say(truss: Truss) -> str:
    """1 correction open; empty where there is none."""
    return disputed.says(disputed.of(truss))


@register.simple_tag
def corrections_in(job: Job) -> str:
    """2 corrections open, of the job itself too; empty where there is none."""
    return disputed.says(disputed.in_job(job))
