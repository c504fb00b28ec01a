"""What a run that nobody sent yet would take of rows of restraint, in the trusses that it goes through as they are and
in those beside them. What a redesign does to rows is told with its answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from changes.asks.live_fit import in_rows_way, rows_kept
from trusses.analysis.format.model import Opening
from trusses.analysis.runs.crossing import Crossed
from trusses.models import Job
from trusses.plan import rows
from trusses.plan.copies import standing
from trusses.words.copies import named

_MOST = 4
"""So many sentences: the others come with the answer."""
_CALLED = "of this run"


def rows_met(job: Job, crossed: Crossed) -> list[str]:
    """Where it is in the way of rows, in words: of each truss by itself, then of rows that other trusses share."""
    fits = {one.stood.name: replace(one.opening, id=_CALLED) for one in crossed.crossings if one.verdict == "fits"}
    level = crossed.run.level
    there = {one.name: one.sha256 for one in standing(job).get(level, ()) if one.name in fits} if fits else {}
    alike: dict[tuple[str, Opening], list[str]] = {}
    for name, sha256 in there.items():
        alike.setdefault((sha256, fits[name]), []).append(name)
    meet = {key: names for key, names in alike.items() if rows_kept(key[0]).meet(key[1])}
    if not meet:
        return []
    own: dict[str, list[str]] = {}
    for (sha256, opening), names in meet.items():
        for says in in_rows_way(sha256, opening, ()):
            own.setdefault(says, []).extend(names)
    told = [f"{named(names)}: {says}" for says, names in own.items()]
    return _shortened(
        [*told, *rows.edges_with(job, level, {name: fits[name] for those in meet.values() for name in those})]
    )


def _shortened(told: Sequence[str]) -> list[str]:
    if len(told) <= _MOST:
        return list(told)
    return [*told[:_MOST], f"{len(told) - _MOST} more sentences about rows of restraint come with the answer."]
