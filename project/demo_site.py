"""The demo's shop and site: copies moved on by the hands whose move it is. Everything is invented."""

from __future__ import annotations

from django.contrib.auth.models import User

from trusses import demo_asks, demo_set
from trusses.copies import earlier, looks
from trusses.job import surroundings
from trusses.models import STAGE_ORDER, Copy, Job, Role, Stage, Truss
from trusses.permissions import STAGE_MOVES
from trusses.production import move
from trusses.revisions import issue_revision, read_and_analyse
from trusses.sheets import fixing


def moved_on(job: Job, people: dict[str, User]) -> None:
    """Each mark's copies to where the set has them, step by step."""
    hands = {Role.DESIGNER: people["designer"], Role.SITE_LEAD: people["site-lead"]}
    marks = {truss.mark: truss for truss in Truss.objects.filter(job=job).select_related("job", "current")}
    for mark in demo_set.marks():
        truss, reached = marks[mark.mark], [stage for stage, count in mark.stages for _ in range(count)]
        ids = list(truss.copies.order_by("number").values_list("pk", flat=True))
        for (_, to), role in STAGE_MOVES.items():
            those = [pk for pk, at in zip(ids, reached, strict=True) if STAGE_ORDER[at] >= STAGE_ORDER[to]]
            if those and to == Stage.DELIVERED:
                sound = {"bow": True, "plates": True, "wood": True}
                looks.tick(hands[role], truss, those, to, points=sound, counted=len(those))
            elif those:
                move(hands[role], truss, those, to)


def revised(job: Job, designer: User) -> Truss:
    """The next revision of a mark of which some copies are built: most of them stay by the old one, of one nobody has
    said yet what is to be done, one is made anew, and the rest is released to the new one.

    Issued by the set's own function: a decision would have made a variant of what isn't cut, as it does elsewhere here.
    """
    mark, document = demo_asks.next_revision()
    truss = Truss.objects.select_related("job", "current").get(job=job, mark=mark)
    read, analysis = read_and_analyse(document, surroundings.of_mark(truss))
    issue_revision(truss, truss.current, read, analysis, designer)
    *stay, _unsaid, broken = [copy.number for copy in truss.copies.order_by("number") if copy.built_to_id]
    earlier.say(designer, truss, stay, Copy.Earlier.STAYS, "No light hangs in the west porch (invented).")
    earlier.say(designer, truss, [broken], earlier.ANEW, "It fell off the stack (invented).")
    released = truss.copies.filter(stage=Stage.RELEASED).values_list("pk", flat=True)
    move(designer, truss, released, Stage.RELEASED, seen=truss.current)
    return truss


def looked_at(job: Job, site_lead: User) -> None:
    """What the site lead found when trusses came and were set, and what is fixed beside them."""
    marks = {truss.mark: truss for truss in Truss.objects.filter(job=job).select_related("job", "current")}
    entry, floor = marks["R10"], marks["F2"]

    def of(truss: Truss, *numbers: int) -> list[int]:
        return list(truss.copies.filter(number__in=numbers).values_list("pk", flat=True))

    sound = {"bow": True, "plates": True, "wood": True}
    looks.tick(site_lead, entry, of(entry, 4), Stage.SET, points=sound | {"plates": False}, note=_LOOSE)
    looks.tick(site_lead, floor, of(floor, 16), Stage.DELIVERED, points=sound | {"bow": False}, note=_BOWED)
    stands = marks["F3"]
    for item in fixing.items(stands)[:1]:
        fixing.tick(
            site_lead, stands, item.key, done=True, anchored=item.anchored or "blocking at both ends (invented)"
        )


_LOOSE = "A plate at the heel stands off by half an inch (invented)."
_BOWED = "Bowed by an inch over its length, from lying on uneven ground (invented)."
