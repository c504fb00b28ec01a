"""Where a question is about, on the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import template

from trusses.models import Job
from trusses.plan.copies import standing
from trusses.plan.level import draw
from trusses.plan.overlays import Met, Path
from trusses.plan.page import level_of

register = template.Library()


@register.simple_tag
def plan_asked(job: Job, place: dict[str, Any]) -> str:
    """The plan of the level of a place that was tapped, with a mark there; empty where no level was said, or nothing
    stands on it any more."""
    here = standing(job).get(place.get("level", ""), [])
    if not here:
        return ""
    at = place["x_in"], place["y_in"]
    mark = Path("", [at], 12.0, [Met("?", at, "redesign")])
    plan = level_of(job, place["level"], here)
    return draw(replace(plan, paths=[mark]))
