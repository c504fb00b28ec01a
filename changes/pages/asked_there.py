"""What other open requests ask of the trusses that a run crosses, told while it is drawn and before it is sent."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from changes.asks.pending import pending
from changes.asks.run import Lettered
from changes.models import Request
from changes.words import asks_there, in_the_way_of
from changes.workflow.waiting import waiting
from trusses.analysis.clearance.apart import overlap
from trusses.analysis.format.document import read_opening
from trusses.models import Job, Truss


@dataclass(frozen=True)
class AskedThere:
    """An open request, of which copies that a run crosses in words, and which of its openings the run comes into."""

    request: Request
    of: str
    into: str


def asked_there(job: Job, met: Sequence[Lettered], but: Iterable[int] = ()) -> list[AskedThere]:
    """The requests that ask of copies that a run crosses or load them, those it comes into first; without those in
    `but`, which the run meets as runs."""
    crossed: dict[str, set[int]] = {}
    for _, one in met:
        crossed.setdefault(one.stood.mark, set()).add(one.stood.number)
    marks = {truss.pk: truss for truss in Truss.objects.filter(job=job, mark__in=crossed)} if crossed else {}
    requests: dict[int, Request] = {}
    found: dict[int, dict[str, set[int]]] = {}
    for pk, there in waiting(marks.values()).items():
        mine = crossed[marks[pk].mark]
        for change in there.requests:
            asks = [ask.copies for ask in change.asks.all() if ask.truss_id == pk and not ask.replaced]
            # an ask that names no copies is of all; who only loads a mark loads any of its copies
            those = set().union(*(mine.intersection(copies) if copies else mine for copies in asks)) if asks else mine
            if those and change.pk not in but:
                requests[change.pk] = change
                found.setdefault(change.pk, {})[marks[pk].mark] = those
    into = _into(marks, met, found)
    told = [AskedThere(requests[pk], asks_there(found[pk]), into.get(pk, "")) for pk in sorted(found)]
    return sorted(told, key=lambda one: not one.into)


def _into(marks: Mapping[int, Truss], met: Sequence[Lettered], asked: Iterable[int]) -> dict[int, str]:
    """{request: which openings that it asks for a run lies in, and where}."""
    asked = set(asked)
    found: dict[int, list[str]] = {}
    for pk, theirs in pending(marks).items():
        for letter, one in met:
            if one.stood.mark != marks[pk].mark:
                continue
            for other in theirs:
                here = not other.copies or one.stood.number in other.copies
                if other.request in asked and here and overlap(one.opening, [read_opening(other.opening)]):
                    found.setdefault(other.request, []).append(letter)
    return {request: in_the_way_of(list(dict.fromkeys(letters))) for request, letters in found.items()}
