"""The demo's shop and site: copies moved on by the hands whose move it is. Everything is invented."""

from __future__ import annotations

from django.contrib.auth.models import User

from trusses import demo_set
from trusses.models import STAGE_ORDER, Job, Role, Truss
from trusses.permissions import STAGE_MOVES
from trusses.production import move


def moved_on(job: Job, people: dict[str, User]) -> None:
    """Each mark's copies to where the set has them, step by step."""
    hands = {Role.DESIGNER: people["designer"], Role.SITE_LEAD: people["site-lead"]}
    marks = {truss.mark: truss for truss in Truss.objects.filter(job=job).select_related("job", "current")}
    for mark in demo_set.marks():
        truss, reached = marks[mark.mark], [stage for stage, count in mark.stages for _ in range(count)]
        ids = list(truss.copies.order_by("number").values_list("pk", flat=True))
        for (_, to), role in STAGE_MOVES.items():
            if those := [pk for pk, at in zip(ids, reached, strict=True) if STAGE_ORDER[at] >= STAGE_ORDER[to]]:
                move(hands[role], truss, those, to)
