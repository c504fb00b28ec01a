"""What a job says of what stands around its trusses, as the analysis takes it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from types import MappingProxyType
from typing import Any

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read_stored
from trusses.models import BearingLink, Job, Revision, Truss
from trusses.once import once, once_each


def of_job(job: Job) -> Surroundings:
    """What holds for every mark of a job, a new one too."""
    return NOTHING_SAID if job.sheathing_km is None else Surroundings(km=job.sheathing_km)


def of_marks(trusses: Collection[Truss]) -> dict[int, Surroundings]:
    """{truss: what is said of it today}: its job's sheathing, and the plates of the wall lines that it stands on."""
    every = {truss.pk: truss for truss in trusses}
    links, km = stands_on(every), once_each("sheathing", {truss.job_id for truss in every.values()}, _sheathing)
    return {
        pk: Surroundings(
            km[truss.job_id],
            MappingProxyType({link.joint: link.wall.plate for link in links[pk] if link.wall and link.wall.plate}),
        )
        for pk, truss in every.items()
    }


def knows(job: Job) -> None:
    """Tells the rest of a page what was read of a job already."""
    once(("sheathing", job.pk), lambda: job.sheathing_km)


def _sheathing(jobs: Collection[int]) -> dict[int, int | None]:
    return dict(Job.objects.filter(pk__in=jobs).values_list("pk", "sheathing_km"))


def stands_on(trusses: Iterable[int]) -> dict[int, list[BearingLink]]:
    """{truss: what its bearings stand on, as far as that is said}."""
    return once_each("stands on", trusses, _stands_on)


def _stands_on(trusses: Collection[int]) -> dict[int, list[BearingLink]]:
    found: dict[int, list[BearingLink]] = {truss: [] for truss in trusses}
    for link in BearingLink.objects.filter(truss__in=trusses).select_related("wall", "carrier", "said_by"):
        found[link.truss_id].append(link)
    return found


def of_mark(truss: Truss) -> Surroundings:
    return of_marks([truss])[truss.pk]


def still_told(analysis: dict[str, Any], document: dict[str, Any], today: Surroundings) -> bool:
    """Whether a stored analysis of that truss document was told what is said today."""
    joints = {bearing["joint"]: bearing for bearing in document["bearings"]}
    return analysis.get("surroundings", {}) == today.written(joints)


def before(revision: Revision, today: Surroundings) -> dict[str, Any]:
    """The analysis of a revision to compare with: as stored, or anew where it was told otherwise than is said today.

    What differs before and after a change is then the change's, not another sheathing's or wall plate's.
    """
    if still_told(revision.analysis, revision.document, today):
        return revision.analysis
    return analyse(read_stored(revision.document), today).document()
