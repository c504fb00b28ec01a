"""The demo's sealed drawings: PDFs that the demo writes itself, which say that they are a demonstration without a seal.

One mark has one that counts, one has one that still lacks its acceptance, all others have none. What was cut before
happened while the job only warned; since then it blocks.
"""

from __future__ import annotations

import io

from django.contrib.auth.models import User

from trusses.analysis.format.document import read
from trusses.models import Job, Truss
from trusses.sealing import seals
from trusses.sealing.drawn_pdf import demonstration
from trusses.sealing.models import COVERS, NO_STATE, SealedDrawing, SealRule

NOBODY = "Nobody: a demonstration, no seal"
COMPLETE, WITHOUT_ACCEPTANCE = ("F2", "R10"), "R9"


def said_before(job: Job, designer: User) -> None:
    """While the set was cut and built the job only warned."""
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.WARNS)


def attached(job: Job, designer: User, builder: User) -> None:
    for mark in (*COMPLETE, WITHOUT_ACCEPTANCE):
        drawing = _attached(job, designer, mark)
        seals.record(builder, drawing, seals.Kind.REVIEWED, name="Nobody, for the building designer", on=job.today())
        if mark in COMPLETE:
            department = "Nobody, for the building department"
            seals.record(builder, drawing, seals.Kind.ACCEPTED, name=department, on=job.today())
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.BLOCKS)


def _attached(job: Job, designer: User, mark: str) -> SealedDrawing:
    revision = Truss.objects.select_related("job", "current").get(job=job, mark=mark).current
    content = demonstration(read(revision.document), revision.number)
    return seals.attach(
        designer,
        revision,
        io.BytesIO(content),
        len(content),
        sealed_by=NOBODY,
        licence="none",
        state=NO_STATE,
        sealed_on=job.today(),
        covers=COVERS,
    )
