"""What an atlas promises of an opening, in words; the atlas is the worker's (`worker.atlases`). No verdict."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

from changes.models import Atlas
from changes.words import told
from trusses import verdicts
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.clearance.openings import Fit, Space
from trusses.analysis.format.document import sha256
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign import atlas
from trusses.analysis.redesign.building import Building
from trusses.job import surroundings
from trusses.job.building import of_job
from trusses.models import Truss


def said_of(truss: Truss) -> tuple[Surroundings, Building]:
    """What an atlas of a mark rests on beside its truss, as said today. Without rates, which only order what passes."""
    return surroundings.of_mark(truss), replace(of_job(truss.job), rates=None)


def key_of(truss: Truss, around: Surroundings, building: Building) -> dict[str, Any]:
    """Which atlas is that of a mark's current revision, where this is said of it (`said_of`)."""
    stock = None if building.lumber is None else sorted(building.lumber)
    limits = [building.tolerance_in, building.from_joints_in, building.longest_piece_in, stock]
    about = sha256({"km": around.km, "wall_plates": dict(around.wall_plates), "building": limits})
    return {"sha256": truss.current.sha256, "said": about, "version": atlas.VERSION}


def wanted(truss: Truss) -> bool:
    """Whether anything may be promised of a mark: a girder with hangers is never called passing, whatever its lumber
    says, nor are some other kinds."""
    known = verdicts.known(truss)
    return not (known.carries or known.kinds)


def likely(truss: Truss, room: Space, opening: Opening, found: Fit) -> str:
    """What a redesign of today's truss (`room`) would most likely take, where `opening` is `found` not to fit and the
    atlas has a way; else empty."""
    if found.fits or found.never:
        return ""
    if not wanted(truss):
        return ""
    around, building = said_of(truss)
    row = Atlas.objects.filter(**key_of(truss, around, building)).values_list("pk", "searches").first()
    way = _kept(*row).promise(room, opening, building) if row else None
    return told([way.told]) if way else ""


@lru_cache(maxsize=64)
def _kept(pk: int, searches: int) -> atlas.Atlas:
    """An atlas as it was after so many searches."""
    return atlas.Atlas.read(Atlas.objects.values_list("found", flat=True).get(pk=pk))
