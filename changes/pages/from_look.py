"""What was found of a copy when it came or was set, carried into the form that tells of it as damage."""

from __future__ import annotations

from typing import Any

from changes import photos
from changes.models import Photo
from trusses.copies.looks import POINTS
from trusses.copies.models import Look
from trusses.forms import number_of
from trusses.models import Truss
from trusses.words.copies import DAMAGE

_LONGEST = 500


def look_of(mark: Truss, typed: Any) -> Look | None:
    """The look at a copy of this mark that a form or an address names; None for any other."""
    pk = number_of(str(typed or ""))
    return Look.objects.filter(pk=pk, copy__truss=mark).select_related("copy__truss__job").first() if pk else None


def starts_with(look: Look) -> dict[str, Any]:
    """What the form starts with: which copy, what was found, and how it is damaged where that says it all."""
    wrong = [point for point in POINTS[look.when] if point.name in look.wrong]
    found = ". ".join([*(f"{point.label}: {point.wrong}" for point in wrong), *([look.note] if look.note else ())])
    how = {"how": "bow"} if DAMAGE.intersection(look.wrong) == {"bow"} else {}
    return {"copies": str(look.copy.number), "note": found[:_LONGEST], "look": look.pk, **how}


def photos_of(user: Any, look: Look | None) -> list[Photo]:
    """The photos of a look, kept as those of whoever tells of it. Raises NotAllowed, Refused."""
    if look is None:
        return []
    kept, job = [], look.copy.truss.job
    for digest in look.photos:
        path = photos.path_of(job.pk, digest)
        with path.open("rb") as sent:
            kept.append(photos.keep(user, job, sent, path.stat().st_size))
    return kept
