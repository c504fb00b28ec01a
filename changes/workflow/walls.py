"""What is kept of the walls under bearings that are asked to move, and what a decision keeps of them: one that moves
with its wall stands on it."""

from __future__ import annotations

from collections.abc import Iterable

from changes.asks import bearing
from changes.asks.leaving import written
from changes.asks.on_walls import left_by
from changes.asks.standing_asks import Standing
from changes.asks.turned import turned_since
from changes.models import Ask, Decision, Kind
from trusses.models import BearingLink, Job, Revision, WallLine
from trusses.plan.on_walls import Number
from trusses.plan.under import walls_of
from trusses.plan.where import drawn_under
from trusses.variants.homes import root


def keep_walls(decision: Decision) -> None:
    """The bearings that the revisions of a decision have where some were asked to go stand on the walls that these had,
    by its designer's word; but for one under which the plan draws another wall."""
    issues = decision.issues.filter(option__isnull=False).select_related("revision__truss__job")
    for issue in issues.prefetch_related("option__asks"):
        for ask in issue.option.asks.all() if issue.option else ():
            if ask.kind == Kind.BEARING and ask.wish and not ask.replaced:
                _keep(decision, ask, issue.revision)


def keep_left(job: Job, asks: Iterable[Ask]) -> None:
    """Keeps with some asks of bearings which walls these leave and what stands on them: called when they are filed, and
    again before anything is issued that answers them."""
    moved = [ask for ask in asks if ask.kind == Kind.BEARING]
    since = turned_since(moved)
    those = []
    for ask in moved:
        turned = frozenset(Number(*copy) for copy, turns in since.get(ask.pk, {}).items() if len(turns) % 2)
        those.append(Standing(ask, None, turned))
    left = left_by(job, those)
    for ask in moved:
        Ask.objects.filter(pk=ask.pk).update(walls=[written(one) for one in left.get(ask.pk, ())])


def keep_standing(job: Job) -> None:
    """The same of all asks that stand, before the plan draws a wall elsewhere: trusses came since, or the wall did."""
    for ask, left in left_by(Job.objects.get(pk=job.pk)).items():
        Ask.objects.filter(pk=ask).update(walls=[written(one) for one in left])


def _keep(decision: Decision, ask: Ask, revision: Revision) -> None:
    truss = revision.truss
    if ask.revision is None:
        return
    [walls] = walls_of(truss.job, [(ask.on_truss, ask.revision.document)])
    since = turned_since([ask], {ask.pk: decision.at}).get(ask.pk, {})
    copies = [Number(root(truss), number) for number in ask.copies]
    for joint, x in bearing.places(ask.wish or {}).items():
        those = {walls.said(joint, copy, turned=len(since.get(copy, ())) % 2 == 1) for copy in copies}
        wall, now = those.pop() if len(those) == 1 else None, bearing.at(revision.document, x)
        if wall is None or not now or not _may_stand_on(wall, revision, now):
            continue
        BearingLink.objects.get_or_create(
            truss=truss, joint=now, defaults={"wall": wall, "said_by": decision.by, "said_at": decision.at}
        )


def _may_stand_on(wall: WallLine, revision: Revision, joint: str) -> bool:
    return drawn_under(revision.truss, revision.document, [joint]).get(joint, wall.label) == wall.label
