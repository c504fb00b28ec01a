"""Better lines as fields write them: to the sixteenth of an inch. What was found between marks of a tape may stand in a
truss, or not fit, on the nearest of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trusses.analysis.runs.bends import Bent
from trusses.analysis.runs.cleared import stands_in
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.lines import Line, changes, goes_through
from trusses.analysis.runs.run import Run, tape_mark
from trusses.analysis.runs.stood import Stood


def written(run: Run) -> Run:
    """Its points, its height and what it goes up by on the nearest marks of a tape."""
    rises = tuple(tape_mark(one) for one in run.rises)
    return replace(run.on_tape(), height_in=tape_mark(run.height_in), rises=rises if any(rises) else ())


def as_written(way: Line | Bent, copies: Sequence[Stood]) -> Line | Bent | None:
    """The line as it is written; None where it then asks for more, leaves a truss that it goes through, or has a corner
    or an end in one."""
    to = written(way.run)
    crossed = way.crossed if to == way.run else cross(to, copies)
    never, short = changes(crossed)
    if (never, short) > (way.never, way.changes) or not goes_through(way.crossed) <= goes_through(crossed):
        return None
    return None if stands_in(crossed, copies) else replace(way, run=to, never=never, changes=short, crossed=crossed)
