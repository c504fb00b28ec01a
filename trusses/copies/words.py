"""Where copies stand and to what they are built, in short lines for a sheet, a list and the plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from zoneinfo import ZoneInfo

from django.db.models import Q

from trusses.copies import trail
from trusses.models import CHANGEABLE_STAGES, STAGE_ORDER, Copy, Job, Truss
from trusses.words import runs


def stand(truss: Truss, copies: Sequence[Copy]) -> list[str]:
    """Copies of one mark by where they stand, with who put them there and when: "1–6 cut, Designer, Nov 27"."""
    groups: dict[str, list[Copy]] = {}
    for copy in copies:
        groups.setdefault(copy.stage, []).append(copy)
    moved, said = trail.of_family(truss), []
    for stage in sorted(groups, key=STAGE_ORDER.__getitem__):
        for hand in trail.hands(truss, groups[stage], moved):
            by = _by(hand, truss.job)
            said.append(f"{runs(copy.number for copy in hand.copies)} {stage}{by}")
    return said


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
    fields = ("truss", "number", "stage", "released_to", "released_to__number", "built_to", "built_to__number")
    extra = ("earlier", "earlier_for")
    found: dict[int, dict[tuple[int, str, str], list[int]]] = {pk: {} for pk in every}
    for pk, number, stage, released, released_no, built, built_no, what, what_for in rows.values_list(*fields, *extra):
        current = every[pk].current_id
        to, which = (released, released_no) if stage in CHANGEABLE_STAGES else (built, built_no)
        told = "" if to is None or (stage == "designing") else f" to revision {which}"
        if told and to != current:
            stays = stage not in CHANGEABLE_STAGES and what == Copy.Earlier.STAYS and what_for == current
            told += ", stays by it" if stays else ", superseded"
        found[pk].setdefault((STAGE_ORDER[stage], stage, told), []).append(number)
    return {
        pk: [(runs(numbers), f"{stage}{told}") for (_, stage, told), numbers in sorted(groups.items())]
        for pk, groups in found.items()
    }
