"""Copies that are built to an earlier revision than the current one: they stay by it, they wait, or are made anew.

A designer says which, with a reason; until then none of them is set (`production`). Another revision asks anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction
from django.http import Http404

from trusses.models import Copy, MarkEvent, Revision, Stage, Truss
from trusses.permissions import require
from trusses.refusals import Refused
from trusses.words import runs

VERB = "say what is to be done with copies of an earlier revision"
ANEW = "anew"
WHAT = {
    Copy.Earlier.STAYS.value: "They stay by the revision that they are built to",
    Copy.Earlier.WAITS.value: "They wait: none is set before more is said",
    ANEW: "They are made anew to the current revision, and what is built is not used",
}
LONGEST = 500


@dataclass(frozen=True)
class Group:
    """Copies that are built to one earlier revision, and of which the same was said. `stage` is where they stand, empty
    for those of all stages together; `what` is empty where nobody said anything since the current revision came;
    `event` tells who said it, and why."""

    revision: Revision
    stage: str
    copies: Sequence[Copy]
    what: str
    event: MarkEvent | None

    @property
    def numbers(self) -> str:
        return runs(copy.number for copy in self.copies)

    @property
    def unset(self) -> bool:
        return any(copy.stage != Stage.SET for copy in self.copies)


def groups(truss: Truss, copies: Iterable[Copy]) -> list[Group]:
    """By revision, then in the order of the stages. The copies come with `built_to`."""
    found: dict[tuple[int, int, str], list[tuple[Revision, Copy]]] = {}
    for copy in copies:
        if copy.built_to is not None and copy.built_to_id != truss.current_id:
            what = copy.earlier if copy.earlier_for_id == truss.current_id else ""
            key = copy.built_to.number, Stage.values.index(copy.stage), what
            found.setdefault(key, []).append((copy.built_to, copy))
    said: dict[int, MarkEvent] = {}
    if found:
        for event in truss.events.filter(code=MarkEvent.Code.EARLIER).select_related("by"):
            said |= dict.fromkeys(event.values["copies"], event)
    told = []
    for (_, _, what), pairs in sorted(found.items(), key=lambda one: one[0]):
        those = [copy for _, copy in pairs]
        told.append(Group(pairs[0][0], those[0].stage, those, what, said.get(those[0].number) if what else None))
    return told


def by_word(parted: Iterable[Group]) -> list[Group]:
    """Those of one revision and one word in one, wherever they stand: the newest revision first, then by number."""
    found: dict[tuple[int, str, int | None], list[Group]] = {}
    for one in parted:
        found.setdefault((one.revision.pk, one.what, one.event.pk if one.event else None), []).append(one)
    told = [
        replace(those[0], stage="", copies=[copy for one in those for copy in one.copies]) for those in found.values()
    ]
    return sorted(told, key=lambda one: (-one.revision.number, min(copy.number for copy in one.copies)))


def say(user: Any, truss: Truss, numbers: Iterable[int], what: str, reason: str, seen: Revision | None = None) -> int:
    """Says what is to be done with copies of a mark, by their numbers; how many that changed. `seen` is the revision
    that was current on whoever's page it is. Raises NotAllowed, Http404, Refused."""
    require(user, VERB, truss.job)
    wanted, reason = set(numbers), " ".join(reason.split())
    if what not in WHAT:
        raise Refused("earlier-what", "what")
    if not wanted:
        raise Refused("no-copy", "copies")
    if not reason:
        raise Refused("earlier-reason", "reason")
    if len(reason) > LONGEST:
        raise Refused("reason-long", "reason", most=LONGEST, length=len(reason))
    with transaction.atomic():
        held = Truss.objects.select_for_update(of=("self",)).select_related("current").get(pk=truss.pk)
        if seen is not None and seen.pk != held.current_id:
            raise Refused("newer-revision", mark=held.mark)
        rows = list(held.copies.filter(number__in=wanted).select_related("built_to").order_by("number"))
        if len(rows) != len(wanted):
            raise Http404("Not found.")
        if what == ANEW:  # said twice, those that are made anew already are built to nothing
            rows = [copy for copy in rows if copy.built_to_id is not None]
        if other := [copy.number for copy in rows if copy.built_to_id in (None, held.current_id)]:
            raise Refused("earlier-none", "copies", mark=held.mark, copies=other, current=held.current.number)
        rows = [copy for copy in rows if (copy.earlier, copy.earlier_for_id) != (what, held.current_id)]
        for group in _alike(rows):
            _write(user, held, group, what, reason)
    return len(rows)


def make_anew(user: Any, truss: Truss, copies: Sequence[Copy], reason: str) -> None:
    """What is built of these copies is not used, whichever revision it is of: they begin again. Called under the mark's
    lock, by whoever may."""
    for group in _alike(copies):
        _write(user, truss, group, ANEW, reason)


def _alike(rows: Iterable[Copy]) -> list[list[Copy]]:
    """Parted by stage and revision, so that an event tells both."""
    found: dict[tuple[str, int | None], list[Copy]] = {}
    for copy in rows:
        found.setdefault((copy.stage, copy.built_to_id), []).append(copy)
    return list(found.values())


def _write(user: Any, truss: Truss, copies: Sequence[Copy], what: str, reason: str) -> None:
    numbers, current = [copy.number for copy in copies], truss.current
    rows = Copy.objects.filter(pk__in=[copy.pk for copy in copies])
    built_to = copies[0].built_to
    told = {"copies": numbers, "current": current.number, "reason": reason}
    told |= {"revision": built_to.number if built_to else None}
    if what == ANEW:
        nothing = {"released_to": None, "built_to": None, "found_at_delivery": "", "found_at_setting": ""}
        rows.update(stage=Stage.DESIGNING, earlier="", earlier_for=None, **nothing)
        told |= {"from": copies[0].stage, "to": Stage.DESIGNING.value}
        MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.ANEW, values=told)
    else:
        rows.update(earlier=what, earlier_for=current)
        MarkEvent.objects.create(truss=truss, by=user, code=MarkEvent.Code.EARLIER, values={**told, "what": what})


def says(truss: Truss, copies: Sequence[Copy]) -> str:
    """Which copies the current revision counts for, and by which the others stay: "current for copies 7–12; copies 1–6
    stay by revision 0". Empty where it counts for all."""
    old = groups(truss, copies)
    if not old:
        return ""
    mine = [copy.number for copy in copies if copy.built_to_id in (None, truss.current_id)]
    parts = [f"current for {_those(mine)}" if mine else "no copy is or will be built to it"]
    by: dict[tuple[int, str], list[int]] = {}
    for group in old:
        by.setdefault((group.revision.number, group.what), []).extend(copy.number for copy in group.copies)
    for (number, what), numbers in sorted(by.items(), key=lambda one: min(one[1])):
        one = len(numbers) == 1
        if what == Copy.Earlier.STAYS:
            parts.append(f"{_those(numbers)} stay{'s' if one else ''} by revision {number}")
        else:
            then = "wait" if what else "nobody has said yet what is to be done"
            then = f"{then}{'s' if one else ''}, not to be set" if what else f"{then} with {'it' if one else 'them'}"
            parts.append(f"{_those(numbers)} {'is' if one else 'are'} built to revision {number}, and {then}")
    return "; ".join(parts)


def _those(numbers: Sequence[int]) -> str:
    return f"cop{'y' if len(numbers) == 1 else 'ies'} {runs(numbers)}"
