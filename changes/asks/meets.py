"""Other runs of a job that a run comes too near to, wherever along it that is: within a truss their openings say so,
between two nothing else does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any, NamedTuple

from changes.asks.holding import Standing, not_through, standing_runs
from changes.asks.on_plan import called, in_parts
from changes.asks.run import copies_on
from changes.models import Run as FiledRun
from trusses.analysis.format.document import DocumentError
from trusses.analysis.runs.meeting import Meeting, bay_of, meeting, over_each_other
from trusses.analysis.runs.parts import Part
from trusses.analysis.runs.run import Run, RunError, read_run
from trusses.analysis.runs.stood import Stood
from trusses.analysis.words.phrases import Coded, coded
from trusses.models import Job
from trusses.once import once
from trusses.solid.heights import in_common
from trusses.solid.kept import heights_of


class Meets(NamedTuple):
    """Where a run comes into another: the other's request and what it is called, the place, and the trusses on both
    sides of that, the same twice within one; the other's `level` where that isn't the run's."""

    request: int
    called: str
    there: Meeting
    beside: tuple[str | None, str | None]
    level: str = ""

    @property
    def told(self) -> Coded:
        there = {"path_in": self.there.path_in, "within_in": list(self.there.within_in), "by_in": self.there.by_in}
        return coded(
            "run-joins-run" if self.there.joins else "run-meets-run",
            called=self.called,
            request=self.request,
            beside=list(self.beside),
            level=self.level,
            **there,
        )

    def document(self) -> dict[str, Any]:
        at = {"path_in": self.there.path_in, "at_in": list(self.there.at), "by_in": self.there.by_in}
        at |= {"within_in": list(self.there.within_in)}
        return {
            "request": self.request,
            "name": self.called,
            "level": self.level,
            "beside": list(self.beside),
            **at,
            "joins": self.there.joins,
        }


def meets(job: Job, run: Run, copies: Sequence[Stood], asked: FiledRun | None = None) -> list[Meets]:
    """What a run comes into of those that are asked for or approved, joints of branches last; of other levels where it
    is known how high both bear above one and the same. `asked`: the run itself where it was asked for already, or the
    one that it is another line of."""
    asked_for = [(pk, other) for pk, other in _asked_for(job) if asked is None or pk != asked.pk]
    several = any(other.level != run.level for _, other in asked_for)
    high = in_common(heights_of(job)) if several else {}
    with_theirs: dict[str, Sequence[Stood]] = {run.level: copies}
    for level in {other.level for _, other in asked_for} - {run.level}:
        if {level, run.level} <= high.keys() and (theirs := copies_on(job, level)):
            with_theirs[level] = [*copies, *theirs]
    asked_for = [(pk, other) for pk, other in asked_for if other.level in with_theirs]
    near = {pk: other for pk, other in asked_for if meeting(run, other, with_theirs[other.level], high)}
    if not near:
        return []
    there = standing_runs(job)
    own = next((one for one in there if one.run == asked), None)
    mine = _kept(own, run) if own and own.run.wish == run.document() else [(0.0, run)]
    found = []
    for one in there:
        if one.run.pk not in near:
            continue
        other = near[one.run.pk]
        met = [
            here._replace(path_in=before + here.path_in, within_in=_on(before, here.within_in))
            for before, part in mine
            for _, held in _kept(one, other)
            if (here := meeting(part, held, with_theirs[other.level], high))
        ]
        if met:
            deepest = max(met, key=lambda here: (not here.joins, here.by_in))
            low, up = (held.name if held else None for held in bay_of(deepest.at, copies))
            on = other.level if other.level != run.level else ""
            found.append(Meets(one.run.request_id, called(one.run.name, other), deepest, (low, up), on))
    return sorted(found, key=lambda each: (each.there.joins, each.there.path_in))


class Unsaid(NamedTuple):
    """A run of another level that lies over or under a run, and isn't held against it, since nobody said how high both
    levels bear."""

    request: int
    called: str
    level: str
    own: str

    @property
    def told(self) -> Coded:
        return coded("run-not-compared", called=self.called, request=self.request, level=self.level, own=self.own)

    def document(self) -> dict[str, Any]:
        return {"request": self.request, "name": self.called, "level": self.level}


def not_compared(job: Job, run: Run, asked: FiledRun | None = None) -> list[Unsaid]:
    """The runs of other levels that `meets` leaves out though they come near it on the plan. `asked` as there."""
    others = {pk: other for pk, other in _asked_for(job) if other.level != run.level and over_each_other(run, other)}
    if asked is not None:
        others.pop(asked.pk, None)
    if not others:
        return []
    high = in_common(heights_of(job))
    others = {pk: other for pk, other in others.items() if not {other.level, run.level} <= high.keys()}
    return [
        Unsaid(one.run.request_id, called(one.run.name, others[one.run.pk]), others[one.run.pk].level, run.level)
        for one in (standing_runs(job) if others else ())
        if one.run.pk in others and any(over_each_other(run, part) for _, part in _kept(one, others[one.run.pk]))
    ]


def _on(before: float, within: tuple[float, float]) -> tuple[float, float]:
    return before + within[0], before + within[1]


def _asked_for(job: Job) -> list[tuple[int, Run]]:
    """Every run of a job, whatever became of it: most are far off, which is told without asking that."""
    return once(("runs asked for", job.pk), lambda: list(_readable(job)))


def _readable(job: Job) -> Iterator[tuple[int, Run]]:
    for pk, wish in FiledRun.objects.filter(request__job=job).values_list("pk", "wish"):
        with suppress(DocumentError, RunError):  # no rule of today's makes what was asked for unreadable
            yield pk, read_run(wish)


def _kept(one: Standing, run: Run) -> list[tuple[float, Run]]:
    """What of a run is to be built, each part with how far along the run it begins."""
    return list(_from_start(in_parts(run, one.asks, one.left, not_through(one.run))))


def _from_start(those: Sequence[Part]) -> Iterator[tuple[float, Run]]:
    before = 0.0
    for part in those:
        if not part.left:
            yield before, part.run
        before += part.run.length_in
