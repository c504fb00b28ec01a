"""The trusses of a job as they stand side by side in plan, and which of them keep their design when a mark changes.

Each copy stands with what it was built to, or with the current revision of its mark while it isn't cut; copies stand in
their row in the order of their numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from trusses.analysis.alike import begins_off
from trusses.analysis.requirements.restraint_rows import Standing, neighbours
from trusses.analysis.runs.stood import Design
from trusses.designs import turned_design
from trusses.models import CHANGEABLE_STAGES, Job, Revision, Truss
from trusses.once import once, once_each
from trusses.plan.copies import Placed, designs_of, placed


@dataclass(frozen=True)
class Stood:
    """One place in plan: what stands there, by which revision (its id), and whether it can still change."""

    standing: Standing
    truss: int
    revision: int
    changes: bool


def stood_with(truss: Truss) -> list[list[Stood]]:
    """All that stands where copies of this mark do, a list for each level and direction."""
    return once(("stood with", truss.pk), lambda: _stood_with(truss))


def _stood_with(truss: Truss) -> list[list[Stood]]:
    every = placed(truss.job)
    own = list(dict.fromkeys(_way(one) for one in every if one.row.truss_id == truss.pk))
    there = [one for one in every if _way(one) in own]
    designs = designs_of({one.sha256 for one in there} | {c.sha256 for one in there for c in one.copies if c.sha256})
    return [[stood for one in there if _way(one) == way for stood in _row(one, designs)] for way in own]


def stood_on(job: Job, level: str) -> list[list[Stood]]:
    """All that stands on a level, a list for each direction."""
    every = [one for one in placed(job) if one.row.level == level]
    designs = designs_of({one.sha256 for one in every} | {c.sha256 for one in every for c in one.copies if c.sha256})
    ways = list(dict.fromkeys(map(_way, every)))
    return [[stood for one in every if _way(one) == way for stood in _row(one, designs)] for way in ways]


def _way(one: Placed) -> tuple[str, str]:
    return one.row.level, one.row.direction


def _row(one: Placed, designs: Mapping[str, Design]) -> Iterable[Stood]:
    row = one.row
    along, across = (row.origin_x_in, row.origin_y_in) if row.direction == "x" else (row.origin_y_in, row.origin_x_in)
    for i in range(row.count):
        copy = one.copies[i] if i < len(one.copies) else None
        design = designs[(copy.sha256 if copy else None) or one.sha256].truss
        off = begins_off(designs[one.sha256].truss.document, design.document, turned=row.turned)
        yield Stood(
            Standing(
                f"{row.level}: {row.truss.mark}" if copy is None else row.truss.mark,
                copy.number if copy else i + 1,
                turned_design(design.document) if row.turned else design,
                across + i * row.spacing_in,
                along + off,
                row.turned,
            ),
            row.truss_id,
            (copy.built_to if copy else None) or row.truss.current_id or 0,  # those without a current one are left out
            copy is None or (copy.stage in CHANGEABLE_STAGES and copy.built_to is None),
        )


def kept_beside(truss: Truss) -> list[tuple[list[Standing], Revision]]:
    """What stands next to copies of a mark that can still change and keeps its design, by revision."""
    found: dict[int, list[Standing]] = {}
    for stood in stood_with(truss):
        goes = {i for i, one in enumerate(stood) if one.truss == truss.pk and one.changes}
        for pair in neighbours([one.standing for one in stood]):
            for i in set(pair) - goes if goes & set(pair) else ():
                those = found.setdefault(stood[i].revision, [])
                those += [] if stood[i].standing in those else [stood[i].standing]
    analysed = once_each("analysed", found, Revision.objects.in_bulk)
    return [(those, analysed[pk]) for pk, those in found.items()]
