"""What comes next of a mark: from an issued revision to a seal on record, the saw, the press, the site.

Each step tells whose it is. It leads to the page where it is done, and that page alone says whether it may be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from trusses.models import STAGE_ORDER, Copy, Job, Revision, Role, Stage, Truss
from trusses.permissions import STAGE_MOVES, VERBS
from trusses.production import KeptOff, kept_from_saw, kept_off
from trusses.sealing.models import COVERS
from trusses.sealing.seals import ATTACH, RECORDS, Seal, asked, seals_of
from trusses.verdicts import builds

SEAL, SHEET, COPIES = "seal", "sheet", "mark"
"""The page where a step is done, by its name among the set's addresses."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a mark. `copies` are those that wait for it, where it is one of copies, and `stage` is where all of
    them stand, where that is one."""

    name: str
    done: bool
    where: str
    roles: frozenset[Role]
    copies: tuple[int, ...] = ()
    stage: str = ""


def steps(revision: Revision, copies: Sequence[Copy], seal: Seal | None, *, builds: bool | None = None) -> list[Step]:
    """Of a current revision, in order. `builds`: whether its sheet says yes, where that was asked already."""
    missing = seal.missing if seal else ()
    wanted = (*asked(revision.truss.job).steps(), *(one for one in COVERS if one in missing))
    found = [Step("sealed", seal is not None, SEAL, VERBS[ATTACH])]
    there = seal is not None
    found += [Step(one, there and one not in missing, SEAL, VERBS[RECORDS.get(one, ATTACH)]) for one in wanted]
    if seal is not None and seal.counts and builds is False:
        found.append(Step("sheet", False, SHEET, frozenset({Role.DESIGNER})))
    for (start, to), role in STAGE_MOVES.items():
        those = [copy for copy in copies if _waits(copy, start, to, revision)]
        waits, stages = tuple(sorted(copy.number for copy in those)), {copy.stage for copy in those}
        left = any(STAGE_ORDER[copy.stage] < STAGE_ORDER[to] for copy in copies) or bool(waits)
        found.append(Step(to.value, bool(copies) and not left, COPIES, frozenset({role}), waits, _one(stages)))
    return found


def _one(stages: set[str]) -> str:
    return next(iter(stages)) if len(stages) == 1 else ""


def _waits(copy: Copy, start: Stage, to: Stage, revision: Revision) -> bool:
    """Copies that are released to an earlier revision are released anew; the saw cuts to the current one alone."""
    old = copy.stage == Stage.RELEASED and copy.released_to_id != revision.pk
    return old if to == Stage.RELEASED and copy.stage == Stage.RELEASED else copy.stage == start and not old


def to_release(copies: Iterable[Copy], revision: Revision) -> list[Copy]:
    """Those of a mark's copies that wait for the release to its current revision."""
    return [copy for copy in copies if _waits(copy, Stage.DESIGNING, Stage.RELEASED, revision)]


def next_of(found: Iterable[Step]) -> Step | None:
    return next((step for step in found if not step.done), None)


def of_revision(revision: Revision, copies: Sequence[Copy] | None = None) -> list[Step]:
    """The steps as a page shows them; none where nothing more is made of a revision. `copies`: all of its mark, where
    the page has them."""
    truss = revision.truss
    if not revision.is_current or truss.withdrawn_at:
        return []
    if copies is None:
        copies = list(truss.copies.only("number", "stage", "released_to", "truss"))
    seal = seals_of(truss.job, [revision.pk]).get(revision.pk)
    sure = builds(revision) if seal is not None and seal.counts else None
    return steps(revision, copies, seal, builds=sure) if copies else []


def stopped(truss: Truss, step: Step) -> tuple[int, ...]:
    """The copies among those that wait for a step which something keeps from the saw or from being set."""
    return stopped_each([(truss, step)])[0]


def stopped_each(waits: Sequence[tuple[Truss, Step]]) -> list[tuple[int, ...]]:
    """The same for the steps of several marks, asked once for each job and step."""
    groups: dict[tuple[int, str], dict[int, Step]] = {}
    for truss, step in waits:
        if step.copies and step.name in (Stage.CUT, Stage.SET):
            groups.setdefault((truss.job_id, step.name), {})[truss.pk] = step
    kept: dict[tuple[int, str], set[int]] = {}
    for (_, name), marks in groups.items():
        for one in _kept(name, marks):
            for copy in one.copies:
                kept.setdefault((copy.truss_id, name), set()).add(copy.number)
    return [tuple(sorted(kept.get((truss.pk, step.name), ()))) for truss, step in waits]


def _kept(name: str, marks: Mapping[int, Step]) -> Iterable[KeptOff]:
    light = ("built_to__document", "built_to__analysis")
    rows = Copy.objects.filter(truss__in=marks).select_related("truss__job", "truss__current", "built_to")
    rows = rows.defer(*light, "truss__current__document", "truss__current__analysis").order_by("truss", "number")
    copies = [copy for copy in rows if copy.number in marks[copy.truss_id].copies]
    return kept_from_saw(copies) if name == Stage.CUT else kept_off(copies)


def waiting(jobs: Mapping[int, Role]) -> list[tuple[Truss, Step]]:
    """The marks of some jobs that wait for the person, whose role in each is told, with the step that they wait for."""
    marks = Truss.objects.filter(job__in=jobs, withdrawn_at=None, current__isnull=False)
    light = ("current__document", "current__analysis")
    by_job: dict[Job, list[Truss]] = {}
    for truss in marks.select_related("job", "current", "current__issue").defer(*light).order_by("job", "mark"):
        by_job.setdefault(truss.job, []).append(truss)
    copies: dict[int, list[Copy]] = {}
    for copy in Copy.objects.filter(truss__job__in=jobs).only("number", "stage", "released_to", "truss"):
        copies.setdefault(copy.truss_id, []).append(copy)
    found = []
    for job, trusses in by_job.items():
        seals = seals_of(job, [truss.current.pk for truss in trusses])
        told = {}
        for truss in trusses:
            truss.current.truss = truss
            if here := copies.get(truss.pk):
                told[truss] = steps(truss.current, here, seals.get(truss.current.pk))
        if jobs[job.pk] == Role.DESIGNER:
            for truss in _said_no(truss for truss, one in told.items() if _uses_sheet(one)):
                told[truss] = steps(truss.current, copies[truss.pk], seals[truss.current.pk], builds=False)
        found += [(truss, step) for truss, one in told.items() for step in _turns(one, jobs[job.pk])]
    return found


def _uses_sheet(found: Sequence[Step]) -> bool:
    step = next_of(found)
    return step is not None and step.name in (Stage.RELEASED, Stage.CUT)


def _said_no(marks: Iterable[Truss]) -> list[Truss]:
    """Those of some marks whose sheets say no; their revisions are read together, and only here as a whole."""
    by_current = {truss.current.pk: truss for truss in marks}
    if not by_current:
        return []
    for revision in Revision.objects.filter(pk__in=by_current).select_related("issue"):
        truss = by_current[revision.pk]
        truss.current, revision.truss = revision, truss
    return [truss for truss in by_current.values() if not builds(truss.current)]


def _turns(found: Sequence[Step], role: Role) -> list[Step]:
    """Of a site lead what came or is to be set, whatever else is left; of others the step that is next, while it is
    theirs."""
    if role == Role.SITE_LEAD:
        return [step for step in found if step.copies and step.roles == {role}]
    step = next_of(found)
    own = step is not None and role in step.roles
    # records are a builder's as well, who attaches none; the designer sees to them
    return [step] if step and own and role == Role.DESIGNER else []
