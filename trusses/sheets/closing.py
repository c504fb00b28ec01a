"""What is done, and what is still open, once every truss of a level or of a job is set."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.urls import reverse

from trusses.copies import harmed, looks
from trusses.models import Copy, Job, Stage, Truss
from trusses.production import Open, unsaid, without_seal
from trusses.sheets import fixing
from trusses.words import closing as words


@dataclass(frozen=True)
class Closing:
    says: str
    open: Sequence[Open]


open_besides: list[Callable[[Job], Sequence[Open]]] = []
"""What else of a job may be open once its trusses are set: other apps add their own when they start."""


def closing(job: Job, copies: Sequence[Copy], where: str) -> Closing | None:
    """Of some copies of a job that stand `where`, with their marks; None while one of them isn't set."""
    if not copies or any(copy.stage != Stage.SET for copy in copies):
        return None
    marks: dict[Truss, list[Copy]] = {}
    for copy in copies:
        marks.setdefault(copy.truss, []).append(copy)
    ticks = {truss: [one.done for one in found] for truss, found in zip(marks, _listed(marks), strict=True)}
    every = [one for those in ticks.values() for one in those]
    still = [*_unticked(ticks), *_wrong(marks, copies), *_papers(marks, copies)]
    still += [one for ask in open_besides for one in ask(job)]
    return Closing(words.done(len(copies), where, len(every), sum(every)), still)


def of_job(job: Job) -> Closing | None:
    here = Copy.objects.filter(truss__job=job, truss__current__isnull=False, truss__withdrawn_at=None)
    if here.exclude(stage=Stage.SET).exists():
        return None
    rows = here.select_related("truss__job", "truss__current").order_by("truss", "number")
    return closing(job, list(rows), "of this job")


def _listed(marks: dict[Truss, list[Copy]]) -> Sequence[Sequence[fixing.Listed]]:
    return fixing.listed_each(list(marks))


def _unticked(ticks: dict[Truss, list[bool]]) -> list[Open]:
    return [
        Open(words.not_ticked(truss.mark, len(those), sum(those)), _at(truss, "fixed"))
        for truss, those in ticks.items()
        if not all(those)
    ]


def _wrong(marks: dict[Truss, list[Copy]], copies: Sequence[Copy]) -> list[Open]:
    called = {truss.pk: truss for truss in marks}
    off = harmed.off(copies)
    hurt = {(one.truss, number) for one in off for number in one.copies}
    found: dict[Truss, set[int]] = {}
    for look in looks.open_looks(copies):
        if (look.copy.truss_id, look.copy.number) not in hurt:
            found.setdefault(called[look.copy.truss_id], set()).add(look.copy.number)
    told = [Open(words.damaged(called[one.truss].mark, one.copies), one.at or _at(called[one.truss])) for one in off]
    return told + [
        Open(words.found(truss.mark, sorted(those)), f"{_at(truss)}#looks") for truss, those in found.items()
    ]


def _papers(marks: dict[Truss, list[Copy]], copies: Sequence[Copy]) -> list[Open]:
    bare = {copy.pk for copy in without_seal(copies, Stage.SET)}
    told = []
    for truss, those in marks.items():
        if lacks := [copy.number for copy in those if copy.pk in bare]:
            told.append(Open(words.unsealed(truss.mark, lacks), f"{_at(truss)}#copies"))
        if waits := [copy.number for copy in unsaid(truss, those)]:
            told.append(Open(words.earlier(truss.mark, waits), f"{_at(truss)}#earlier"))
    return told


def _at(truss: Truss, page: str = "mark") -> str:
    return reverse(f"trusses:{page}", args=(truss.job_id, truss.pk))
