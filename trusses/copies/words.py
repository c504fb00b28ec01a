"""Where copies stand and to what they are built, in short lines for a sheet, a list and the plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from zoneinfo import ZoneInfo

from django.db.models import Q

from trusses.copies import trail
from trusses.models import CHANGEABLE_STAGES, STAGE_ORDER, Copy, Job, Revision, Stage, Truss
from trusses.words import runs


def stand(truss: Truss, copies: Sequence[Copy]) -> list[str]:
    """Copies of one mark by where they stand, with who put them there and when: "1–6 cut, Designer, Nov 27"."""
    groups: dict[str, list[Copy]] = {}
    for copy in copies:
        groups.setdefault(copy.stage, []).append(copy)
    moved, said, named = trail.of_family(truss), [], _named(truss, copies)
    for stage in sorted(groups, key=STAGE_ORDER.__getitem__):
        for hand in trail.hands(truss, groups[stage], moved):
            by = _by(hand, truss.job)
            for to, those in _released(truss, hand.copies, named).items():
                said.append(f"{runs(copy.number for copy in those)} {stage}{to}{by}")
    return said


def _named(truss: Truss, copies: Sequence[Copy]) -> dict[int, str]:
    """What revisions are called to which copies are released and that aren't their mark's current one: by the mark that
    they are of, since a variant's first is another than its mark's."""
    at = {copy.released_to_id or 0 for copy in copies if copy.stage == Stage.RELEASED}
    others = at - {0, truss.current_id}
    rows = Revision.objects.filter(pk__in=others).values_list("pk", "truss__mark", "number") if others else ()
    return {pk: f"{mark} revision {number}" for pk, mark, number in rows}


def _released(truss: Truss, copies: Sequence[Copy], named: Mapping[int, str]) -> dict[str, list[Copy]]:
    found: dict[str, list[Copy]] = {}
    for copy in copies:
        other = named.get(copy.released_to_id or 0, "") if copy.stage == Stage.RELEASED else ""
        found.setdefault(f" to {other}, not yet to this" if other else "", []).append(copy)
    return found


def _by(hand: trail.Hand, job: Job) -> str:
    if hand.event is None:
        return ""
    at = hand.event.at.astimezone(ZoneInfo(job.time_zone))
    who = (hand.event.by.get_full_name() or hand.event.by.username) if hand.event.by else "a program"
    return f", said by {who} on {at:%b} {at.day}"


def kin(truss: Truss) -> list[tuple[Truss, str]]:
    """The other marks of its family, each with the numbers of its copies; those without any have ended."""
    first = truss.variant_of_id or truss.pk
    rows = Truss.objects.filter(Q(pk=first) | Q(variant_of=first)).exclude(pk=truss.pk).order_by("pk")
    return [(one, runs(copy.number for copy in one.copies.all())) for one in rows.prefetch_related("copies")]


def by_stage(marks: Iterable[Truss]) -> Mapping[int, list[tuple[str, str]]]:
    """For each of some marks: (numbers, what they are) by stage and revision, such as ("1–6", "cut to revision 0").

    Revisions are named where copies are released or built to one; one that isn't current is told so.
    """
    every = {truss.pk: truss for truss in marks}
    rows = Copy.objects.filter(truss__in=every).order_by("number")
    of_revision = [f"{to}{field}" for to in ("released_to", "built_to") for field in ("", "__number", "__truss__mark")]
    fields, extra = ("truss", "number", "stage", *of_revision), ("earlier", "earlier_for")
    found: dict[int, dict[tuple[int, str, str], list[int]]] = {pk: {} for pk in every}
    for pk, number, stage, *to_which, what, what_for in rows.values_list(*fields, *extra):
        current = every[pk].current_id
        to, which, mark = to_which[:3] if stage in CHANGEABLE_STAGES else to_which[3:]
        of = f"{mark} " if mark != every[pk].mark else ""
        told = "" if to is None or (stage == "designing") else to_revision(stage, f"{of}revision {which}")
        if told and to != current:
            stays = stage not in CHANGEABLE_STAGES and what == Copy.Earlier.STAYS and what_for == current
            told += ", stays by it" if stays else ", superseded"
        found[pk].setdefault((STAGE_ORDER[stage], stage, told), []).append(number)
    return {
        pk: [(runs(numbers), f"{stage}{told}") for (_, stage, told), numbers in sorted(groups.items())]
        for pk, groups in found.items()
    }


def to_revision(stage: str, revision: str) -> str:
    """What follows a stage to tell to which revision a copy is: " to revision 0" where the stage itself is to one, else
    ", built to revision 0"."""
    return f"{', built' if stage in (Stage.DELIVERED, Stage.SET) else ''} to {revision}"
