"""The trusses of a job as they stand side by side in plan, and which of them keep their design when a mark changes.

Each copy stands with what it was built to, or with the current revision of its mark while it isn't cut; copies stand in
their row in the order of their numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from trusses.analysis.format.model import Truss as Design
from trusses.analysis.requirements.restraint_rows import Standing, neighbours
from trusses.designs import design_of, turned_design
from trusses.models import Copy, Placement, Revision, Truss
from trusses.once import once, once_each


@dataclass(frozen=True)
class Stood:
    """One place in plan: what stands there, by which revision, and whether it can still change."""

    standing: Standing
    truss: int
    revision: Revision
    changes: bool


def stood_with(truss: Truss) -> list[list[Stood]]:
    """All that stands where copies of this mark do, a list for each level and direction."""
    return once(("stood with", truss.pk), lambda: _stood_with(truss))


def _stood_with(truss: Truss) -> list[list[Stood]]:
    rows = Placement.objects.filter(truss__job=truss.job_id, truss__current__isnull=False)
    rows = rows.filter(level__in=truss.placements.values("level")).select_related("truss__current").order_by("pk")
    rows = rows.defer("truss__current__analysis")  # large; who needs the analysis of one asks for it
    own = list(dict.fromkeys((row.level, row.direction) for row in rows if row.truss_id == truss.pk))
    there = [row for row in rows if (row.level, row.direction) in own]
    copies: dict[int, list[Copy]] = {}
    for copy in Copy.objects.filter(placement__in=there).order_by("number"):
        copies.setdefault(copy.placement_id or 0, []).append(copy)
    every = {row.truss.current.pk: row.truss.current for row in there if row.truss.current}
    if older := {c.built_to_id for those in copies.values() for c in those if c.built_to_id} - every.keys():
        every |= Revision.objects.defer("analysis").in_bulk(older)
    revisions = {pk: (one, design_of(one.document)) for pk, one in every.items()}
    return [
        [
            one
            for row in there
            if (row.level, row.direction) == way
            for one in _row(row, copies.get(row.pk, []), revisions)
        ]
        for way in own
    ]


def _row(row: Placement, copies: Sequence[Copy], revisions: Mapping[int, tuple[Revision, Design]]) -> Iterable[Stood]:
    for i in range(row.count):
        copy = copies[i] if i < len(copies) else None
        built_to = copy.built_to_id if copy else None
        revision, design = revisions[built_to or row.truss.current_id or 0]  # those without a current one are left out
        along, across = (
            (row.origin_x_in, row.origin_y_in) if row.direction == "x" else (row.origin_y_in, row.origin_x_in)
        )
        yield Stood(
            Standing(
                f"{row.level}: {row.truss.mark}" if copy is None else row.truss.mark,
                copy.number if copy else i + 1,
                turned_design(revision.document) if row.turned else design,
                across + i * row.spacing_in,
                along,
            ),
            row.truss_id,
            revision,
            copy is None or (copy.can_change and built_to is None),
        )


def kept_beside(truss: Truss) -> list[tuple[list[Standing], Revision]]:
    """What stands next to copies of a mark that can still change and keeps its design, by revision."""
    found: dict[int, tuple[list[Standing], Revision]] = {}
    for stood in stood_with(truss):
        goes = {i for i, one in enumerate(stood) if one.truss == truss.pk and one.changes}
        for pair in neighbours([one.standing for one in stood]):
            for i in set(pair) - goes if goes & set(pair) else ():
                those, _ = found.setdefault(stood[i].revision.pk, ([], stood[i].revision))
                those += [] if stood[i].standing in those else [stood[i].standing]
    analysed = once_each("analysed", found, Revision.objects.in_bulk)
    return [(those, analysed[pk]) for pk, (those, _) in found.items()]
