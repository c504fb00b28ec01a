"""What an atlas promises of an opening, in words; the atlas is the worker's (`worker.atlases`). No verdict."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from changes.models import Atlas
from changes.words import told
from trusses import verdicts
from trusses.analysis.clearance.openings import Fit, Space
from trusses.analysis.format.document import sha256
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign import atlas
from trusses.job import surroundings
from trusses.models import Truss


def key_of(truss: Truss) -> dict[str, Any]:
    """Which atlas is that of a mark's current revision, as things are said today."""
    said = surroundings.of_mark(truss)
    about = sha256({"km": said.km, "wall_plates": dict(said.wall_plates)})
    return {"sha256": truss.current.sha256, "said": about, "version": atlas.VERSION}


def wanted(truss: Truss) -> bool:
    """Whether anything may be promised of a mark: a girder with hangers is never called passing, whatever its lumber
    says, nor are some other kinds."""
    known = verdicts.known(truss)
    return not (known.carries or known.kinds)


def likely(truss: Truss, room: Space, opening: Opening, found: Fit) -> str:
    """What a redesign of today's truss (`room`) would most likely take, where `opening` is `found` not to fit and the
    atlas has a way; else empty."""
    if found.fits or found.cuts_chord or found.outside:
        return ""
    if not wanted(truss):
        return ""
    row = Atlas.objects.filter(**key_of(truss)).values_list("pk", "searches").first()
    way = _kept(*row).promise(room, opening) if row else None
    return told([way.told]) if way else ""


@lru_cache(maxsize=64)
def _kept(pk: int, searches: int) -> atlas.Atlas:
    """An atlas as it was after so many searches."""
    return atlas.Atlas.read(Atlas.objects.values_list("found", flat=True).get(pk=pk))
