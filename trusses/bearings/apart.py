"""Whether some copies of a mark that carries others can go from their fellows: which trusses stand on which copy has to
be seen in plan, and each copy that goes takes along what stands on it. Where places were named, each copy has the
same on it, wherever it goes."""

from __future__ import annotations

from django.db.models import Count, Sum

from trusses.analysis.load_path import chain
from trusses.analysis.load_path.landing import CarryingError
from trusses.bearings.links import chain_of, standing_on
from trusses.models import Truss


def carried_marks(truss: Truss) -> list[str]:
    """What stands on a mark, by name."""
    return sorted(one.mark for one in standing_on(truss))


def why_whole(truss: Truss) -> CarryingError | None:
    """Why the copies of a mark change all or none; None where some can go from the others, as from a mark that carries
    nothing."""
    standing = standing_on(truss)
    if not standing:
        return None
    reached = chain_of(standing)
    links = [link for link in reached.links if link.carrier == truss.mark]
    seen = {link.carried for link in links if not link.hung}
    for one in (truss, *(one for one in standing if one.mark in seen)) if seen else ():
        copies, placed = _counted(one)
        if copies != placed:
            return CarryingError(
                "not-all-in-plan",
                unplaced=one.mark,
                copies=copies,
                places=placed,
                mark=min(seen),
                carrier=truss.mark,
            )
    try:
        chain.carried_by(reached.marks, links, truss.mark)
    except CarryingError as trouble:
        return trouble
    return None


def _counted(truss: Truss) -> tuple[int, int]:
    """How many copies of a mark there are, and how many places in plan."""
    copies = Truss.objects.filter(pk=truss.pk).aggregate(n=Count("copies"))["n"]
    return copies, truss.placements.aggregate(n=Sum("count"))["n"] or 0
