"""The demo's sealed drawings: PDFs that the demo writes itself, which say that they are a demonstration without a seal.

Some marks have one that counts, one has one that still lacks its acceptance, one has one of which nothing is
recorded, all others have none; a repair has one too. What was cut before happened while the job only warned; since then
it blocks.
"""

from __future__ import annotations

import io
from typing import Any

from django.contrib.auth.models import User

from trusses.analysis.format.document import read
from trusses.models import Job, Truss
from trusses.sealing import recording, seals
from trusses.sealing.drawn_pdf import demonstration
from trusses.sealing.models import COVERS, NO_STATE, SealedDrawing, SealRule

ENGINEER, LICENCE = "Demo Engineer (invented)", "invented"
NAMES = {
    seals.Kind.REVIEWED: "Demo Building Designer (invented)",
    seals.Kind.ACCEPTED: "Demo Building Department (invented)",
}
COMPLETE, WITHOUT_RECORDS = ("F2", "R10", "R9"), "R6"


def said_before(job: Job, designer: User) -> None:
    """While the set was cut and built the job only warned."""
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.WARNS)


def attached(job: Job, designer: User, builder: User) -> None:
    for mark in (*COMPLETE, WITHOUT_RECORDS):
        drawing = _attached(job, designer, mark)
        if mark in COMPLETE:
            recorded(drawing, builder, seals.Kind.REVIEWED, seals.Kind.ACCEPTED)
    seals.say_what_is_asked(designer, job, review=True, acceptance=True, without=SealRule.Without.BLOCKS)


def attached_anew(job: Job, designer: User, builder: User, mark: str) -> None:
    """To a mark's next revision, reviewed and not accepted yet."""
    recorded(_attached(job, designer, mark), builder, seals.Kind.REVIEWED)


def recorded(drawing: SealedDrawing, by: User, *kinds: seals.Kind) -> None:
    for kind in kinds:
        recording.record(by, drawing, kind, name=NAMES.get(kind, ""), on=drawing.truss.job.today())


def said(job: Job) -> dict[str, Any]:
    """What is said with every drawing: who sealed it, by which licence, when."""
    return {"sealed_by": ENGINEER, "licence": LICENCE, "state": NO_STATE, "sealed_on": job.today()}


def _attached(job: Job, designer: User, mark: str) -> SealedDrawing:
    revision = Truss.objects.select_related("job", "current").get(job=job, mark=mark).current
    content = demonstration(read(revision.document), revision.number)
    return recording.attach(designer, revision, io.BytesIO(content), len(content), covers=COVERS, **said(job))
