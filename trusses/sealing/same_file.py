"""One file that is on record for more than one truss: by mistake, or since a sealed set is one file for several marks.

Nobody here reads what a PDF shows. So a file that is on record elsewhere is taken once somebody says that it shows this
truss too, and never for another revision of a mark or its variants.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from trusses.models import Job, Revision
from trusses.refusals import Refused
from trusses.sealing.models import SealedDrawing, SealRecord


def on_record(job: Job, files: Iterable[str]) -> list[SealedDrawing]:
    """Every drawing of a job whose file is one of these, by their SHA-256. What was withdrawn before anything was
    recorded of it was attached by mistake."""
    rows = SealedDrawing.objects.filter(truss__job=job, sha256__in=set(files)).select_related("truss", "revision")
    rows = rows.select_related("attached_by").defer("revision__document", "revision__analysis")
    mistaken = {SealRecord.Kind.WITHDRAWN.value}
    return [one for one in rows.prefetch_related("records") if {row.kind for row in one.records.all()} != mistaken]


def others(drawing: SealedDrawing) -> list[str]:
    """What else the file of a drawing is on record for: “R3 revision 0”."""
    return others_each(drawing.truss.job, [drawing])[drawing.pk]


def others_each(job: Job, drawings: Sequence[SealedDrawing]) -> dict[int, list[str]]:
    """The same of some drawings of a job, by their ids; a query for all."""
    found = on_record(job, [one.sha256 for one in drawings]) if drawings else []
    told: dict[int, list[str]] = {}
    for drawing in drawings:
        same = [one for one in found if one.sha256 == drawing.sha256 and one.revision_id != drawing.revision_id]
        told[drawing.pk] = list(dict.fromkeys(f"{one.truss.mark} revision {one.revision.number}" for one in same))
    return told


def refuse(revision: Revision, sha256: str, *, copies: list[int], also_shows: bool) -> list[dict[str, Any]]:
    """Refuses a file for a revision or, with `copies`, for the repair of these, where it is another's; answers what
    else it is on record for, each `{mark, number, by, on}`. A new revision needs a new drawing, and so does a variant:
    what was sealed for one is never another's of the family, nor a repair's. The file of another mark takes somebody's
    word that it `also_shows` this one, which stands with the drawing that has it already. Raises Refused."""
    job, root = revision.truss.job, revision.truss.variant_of_id or revision.truss_id
    elsewhere, said = [], also_shows
    for one in on_record(job, [sha256]):
        own = one.revision_id == revision.pk and one.copies == copies
        said = said or (own and not any(record.kind == SealRecord.Kind.WITHDRAWN for record in one.records.all()))
        about = {
            "mark": one.truss.mark,
            "number": one.revision.number,
            "by": one.attached_by.get_full_name() or one.attached_by.get_username(),
            "on": job.day_of(one.attached_at).isoformat(),
        }
        if root not in (one.truss_id, one.truss.variant_of_id):
            elsewhere.append(about)
        elif not own and not (copies and one.copies):
            raise Refused("sealed-for-another", "drawing", "drawing", **about)
    if elsewhere and not said:
        this = {"mark": revision.truss.mark, "number": revision.number}
        raise Refused("sealed-elsewhere", "also_shows", "also_shows", others=elsewhere, **this)
    return elsewhere
