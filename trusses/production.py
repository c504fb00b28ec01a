"""Where the copies of a mark are in production, and moving them on. Who may move which is in `permissions`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Count
from django.http import Http404

from trusses.bearings.standing import carried
from trusses.models import STAGE_ORDER, Copy, Revision, Stage, Truss
from trusses.permissions import STAGE_MOVES, role_in
from trusses.revisions import Refused

FOUND_FIELDS = {Stage.DELIVERED: "found_at_delivery", Stage.SET: "found_at_setting"}
"""Where what was found is kept, by the stage that is ticked."""

before_cut: list[Callable[[Sequence[Copy]], str | None]] = []
"""What may keep the saw waiting: each is asked with the copies that are about to be cut, and answers with one
sentence why not, or None. Other apps add theirs when they start; this one imports none of them."""


def stage_counts(trusses: Iterable[Truss]) -> dict[int, dict[str, int]]:
    """How many copies of each mark are in each stage, by the mark's id and in the stages' order; one query."""
    marks = [truss.pk for truss in trusses]
    rows = Copy.objects.filter(truss__in=marks).order_by().values_list("truss", "stage").annotate(n=Count("pk"))
    counted = {(truss, stage): n for truss, stage, n in rows}
    return {mark: {stage: counted[mark, stage] for stage in STAGE_ORDER if (mark, stage) in counted} for mark in marks}


def furthest_behind(counts: Mapping[str, int]) -> str:
    """The stage of the copy that is furthest behind; a mark without copies is still being designed."""
    return min(counts, key=STAGE_ORDER.__getitem__, default=Stage.DESIGNING.value)


def move(
    user: Any, truss: Truss, copies: Iterable[int], to: str, *, found: str = "", seen: Revision | None = None
) -> int:
    """Move copies (by id) of one mark on to the stage `to`; answers how many moved.

    Copies that are there already, or further, stay as they are: a second tick is harmless. `found` is kept for the
    copies that move. `seen` is the revision on the page when the saw was told to go: another one being current
    refuses the cut. Raises PermissionDenied, Http404 for a copy that is not of this mark, Refused.
    """
    start = next((at for at, then in STAGE_MOVES if then == to), None)
    if start is None:
        raise Refused("Say to which stage the copies go: released, cut, built, delivered or set.", "to")
    role = STAGE_MOVES[start, Stage(to)]
    if role_in(user, truss.job) != role:
        raise PermissionDenied(f"Only a {role.label} of this job can say that a copy is {to}.")
    longest = Copy._meta.get_field("found_at_delivery").max_length or 0
    if len(found) > longest:
        raise Refused(f"What was found can have {longest} characters; this has {len(found)}.", "found")
    wanted = set(copies)
    rows = list(truss.copies.filter(pk__in=wanted))
    if not wanted or len(rows) != len(wanted):
        if wanted:
            raise Http404("Not found.")
        raise Refused("Choose at least one copy.", "copies")
    _refuse_early(rows, start, to)
    with transaction.atomic():
        return _move(truss, [copy for copy in rows if copy.stage == start], start, Stage(to), found, seen)


def _refuse_early(copies: Sequence[Copy], start: Stage, to: str) -> None:
    early = [copy for copy in copies if STAGE_ORDER[copy.stage] < STAGE_ORDER[start]]
    if early:
        numbers = ", ".join(str(copy.number) for copy in early)
        raise Refused(f"Copy {numbers} is {early[0].stage}, not {start} yet, so it can't be {to}.", "copies")


def _move(truss: Truss, copies: list[Copy], start: Stage, to: Stage, found: str, seen: Revision | None) -> int:
    rows = Copy.objects.filter(pk__in=[copy.pk for copy in copies], stage=start)
    change: dict[str, Any] = {"stage": to}
    if to in FOUND_FIELDS and found:
        change[FOUND_FIELDS[to]] = found
    if to == Stage.CUT and copies:
        if behind := carried(truss).behind:
            raise Refused(
                f"The drawing of {truss.mark} doesn't have what {' and '.join(behind)} put on it today: the saw waits"
                " until it is written in.",
                "copies",
            )
        for keeps_waiting in before_cut:
            if why := keeps_waiting(copies):
                raise Refused(why, "copies")
        current = seen or truss.current
        rows, change["built_to"] = rows.filter(truss__current=current), current
    moved = rows.update(**change)
    if to == Stage.CUT and copies and not moved and not Truss.objects.filter(pk=truss.pk, current=current).exists():
        raise Refused(f"{truss.mark} has a newer revision than the one on your page. Look at it before the saw starts.")
    return moved
