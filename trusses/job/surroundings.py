"""What a job says of what stands around its trusses, as the analysis takes it."""

from __future__ import annotations

from collections.abc import Collection
from types import MappingProxyType
from typing import Any

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.format.document import read_stored
from trusses.models import Job, Revision, Truss
from trusses.once import once_each


def of_job(job: Job) -> Surroundings:
    """What holds for every mark of a job, a new one too."""
    return NOTHING_SAID if job.sheathing_km is None else Surroundings(km=job.sheathing_km)


def of_marks(trusses: Collection[Truss]) -> dict[int, Surroundings]:
    """{truss: what is said of it today}: its job's sheathing, and the plates of the wall lines that it stands on."""
    return once_each("surroundings", [truss.pk for truss in trusses], _of_marks)


def _of_marks(trusses: Collection[int]) -> dict[int, Surroundings]:
    rows = Truss.objects.filter(pk__in=trusses).order_by("pk", "stands_on")
    km: dict[int, int | None] = {}
    plates: dict[int, dict[str, str]] = {}
    told = "pk", "job__sheathing_km", "stands_on__joint", "stands_on__wall__plate"
    for truss, km[truss], joint, plate in rows.values_list(*told):
        if plate:
            plates.setdefault(truss, {})[joint] = plate
    return {truss: Surroundings(km[truss], MappingProxyType(plates.get(truss, {}))) for truss in km}


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
