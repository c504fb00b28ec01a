"""The demo's shop and site: copies moved on by the hands whose move it is. Everything is invented."""

from __future__ import annotations

from django.contrib.auth.models import User

from trusses import demo_set
from trusses.copies import looks
from trusses.models import STAGE_ORDER, Job, Role, Stage, Truss
from trusses.permissions import STAGE_MOVES
from trusses.production import move
from trusses.sheets import fixing


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


def looked_at(job: Job, site_lead: User) -> None:
    """What the site lead found when trusses came and were set, and what is fixed beside them."""
    marks = {truss.mark: truss for truss in Truss.objects.filter(job=job).select_related("job", "current")}
    entry, floor = marks["R10"], marks["F2"]

    def of(truss: Truss, *numbers: int) -> list[int]:
        return list(truss.copies.filter(number__in=numbers).values_list("pk", flat=True))

    sound = {"bow": True, "plates": True, "wood": True}
    looks.tick(site_lead, entry, of(entry, 4), Stage.SET, points=sound | {"plates": False}, note=_LOOSE)
    for item in fixing.items(floor)[:2]:
        fixing.tick(site_lead, floor, item.key, done=True, anchored=item.anchored or "blocking at both ends (invented)")


_LOOSE = "A plate at the heel stands off by half an inch (invented)."
