"""What a sheet says of the runs that go through its openings: how high each run's middle is there, above what it was
asked from and above the floor below, since a tape on site stands on that."""

from __future__ import annotations

from collections.abc import Sequence

from changes.asks.on_plan import called, crossings_of
from changes.asks.run import storey_below
from changes.asks.weights import issues_of
from changes.models import Ask
from trusses.analysis.format.document import DocumentError
from trusses.analysis.runs.run import Run, RunError, read_run
from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import copies
from trusses.analysis.words.runs import above, at_height, storey
from trusses.models import Revision
from trusses.solid.heights import OverFloor


def runs_through(revision: Revision) -> dict[str, list[str]]:
    """{opening: a sentence for each run} of the revision, and of those of its mark before it that issued them."""
    found: dict[str, list[str]] = {}
    over: dict[str, OverFloor | None] = {}
    for issue in issues_of(revision).prefetch_related("option__asks__run"):
        for ask in issue.option.asks.all() if issue.option else ():
            if ask.run is None or not ask.opening:
                continue
            try:
                run = read_run(ask.run.wish)
            except (DocumentError, RunError):  # no rule of today's makes what was asked for unreadable
                continue
            if run.level not in over:
                over[run.level] = storey_below(revision.truss.job, run.level)
            says = f"{called(ask.run.name, run)}, request {ask.request_id}: {told(run, ask, revision, over[run.level])}"
            found.setdefault(ask.opening["id"], []).append(says)
    return found


def told(run: Run, ask: Ask, revision: Revision, over: OverFloor | None) -> str:
    """Its middle is 3'-8" above the top of the wall plate, 11'-9 1/8" above the floor …; where it is another height in
    some copies, each with its copies."""
    by: dict[float, list[int]] = {}
    for one in crossings_of(ask):
        by.setdefault(round(one["height_in"] * 16) / 16, []).append(one["copy"])
    use = str(revision.document.get("use", ""))
    parts = [_height(run, high, use, over) + _where(by, numbers) for high, numbers in sorted(by.items())]
    falls = f" It falls {feet_inches(run.slope)} a foot." if run.slope > 0 else ""
    falls = falls or (f" It rises {feet_inches(-run.slope)} a foot." if run.slope else "")
    return f"its middle is {'; '.join(parts)}.{falls}"


def _where(by: dict[float, list[int]], numbers: Sequence[int]) -> str:
    return f" in {copies(numbers)}" if len(by) > 1 else ""


def _height(run: Run, high: float, use: str, over: OverFloor | None) -> str:
    says = at_height(high, above(run.datum, use))
    if run.datum == "storey":
        return f"{says} ({storey(run.bearing_above_floor_in, run.bearing_assumed)})"
    if run.datum == "bearing" and over:
        return f"{says}, {at_height(high + over.inches, above('storey'))} ({storey(over.inches, over.assumed)})"
    return says
