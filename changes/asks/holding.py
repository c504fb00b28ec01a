"""What holds a place in copies that are cut already: runs of requests that are open or approved, and the openings of
the drawing that each copy was built to. Two may each fit a copy as it was built and yet lie in one another."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any, NamedTuple

from django.db.models import Prefetch, Q

from changes.asks.wishes import Wish
from changes.models import OPEN_STATES, Ask, Request, Run, State
from trusses.analysis.clearance.apart import inside, overlap
from trusses.analysis.format.document import DocumentError
from trusses.analysis.runs.crossing import Crossing, cross
from trusses.analysis.runs.run import Run as CoreRun
from trusses.analysis.runs.run import RunError, read_run
from trusses.models import Job

HOW = FITS, IN_ITS_WAY, DAMAGED, TAKEN = "fits", "in the way", "damaged", "taken"
"""What holds of a cut copy: the run goes through it; its wood is in the way; it isn't as its drawing says; what goes
through there already is in the way."""


class Holds(NamedTuple):
    """What takes the place: a request's run, another run of the same request (neither of the two), or an opening of the
    drawing."""

    request: int | None = None
    opening: str = ""


class Other(NamedTuple):
    """A run that holds its place, but in the copies that it leaves: (truss, number)."""

    run: CoreRun
    request: int | None
    leaves: Collection[tuple[int, int]]


def others(job: Job, level: str, but: Run | None = None) -> list[Other]:
    """The runs that hold their place on a level. Who asked first goes first: `but`, which was asked for already, yields
    to what is approved and to what was asked for before it."""
    rows = Run.objects.filter(request__job=job, wish__level=level, request__state__in=(*OPEN_STATES, State.APPROVED))
    if but is not None:
        rows = rows.exclude(request=but.request_id).filter(Q(request__state=State.APPROVED) | Q(pk__lt=but.pk))
    asks = Prefetch("asks", Ask.objects.filter(replaced=False))
    found = []
    for one in rows.select_related("request").prefetch_related("request__decisions", asks):
        mine = list(one.asks.all())
        left = left_of(one.request, mine)
        if left == mine:
            continue
        leaves = {(ask.truss_id or 0, number) for ask in left for number in ask.copies}
        found += _read(one.wish, one.request_id, {*leaves, *_named(not_through(one))})
    return found


def beside(before: Sequence[Wish], level: str) -> list[Other]:
    """The runs that were read before in the same request."""
    runs = {id(wish.run): wish.run for wish in before if wish.run and wish.run["wish"]["level"] == level}
    rows = [(run["wish"], [row for row in run["as_cut"] if row["how"] != FITS]) for run in runs.values()]
    return [other for wish, without in rows for other in _read(wish, None, _named(without))]


def left_out(run: Run) -> list[str]:
    """The names of the cut copies that a run was asked without."""
    return [f"{row['mark']}-{number}" for row in not_through(run) for number in row["copies"]]


def _named(rows: Iterable[dict[str, Any]]) -> set[tuple[int, int]]:
    return {(row["truss"], number) for row in rows for number in row["copies"]}


def _read(wish: Any, request: int | None, leaves: Collection[tuple[int, int]]) -> list[Other]:
    try:
        return [Other(read_run(wish), request, leaves)]
    except (DocumentError, RunError):  # no rule of today's makes what was asked for unreadable
        return []


def holds(those: Sequence[tuple[int, Crossing]], runs: Sequence[Other]) -> dict[int, Holds]:
    """What takes the place of some crossings of copies, each with its truss, by their place in that list. A run that
    lies wholly within an opening of the drawing goes through that, as it is meant to."""
    found: dict[int, Holds] = {}
    for i, (_, one) in enumerate(those):
        kept = [held for held in one.stood.design.truss.openings if not inside(one.opening, held)]
        if met := overlap(one.opening, kept):
            found[i] = Holds(opening=met.opening)
    copies = list({one.stood.name: one.stood for _, one in those}.values())
    for other in runs:
        through = [one for one in cross(other.run, copies).crossings if one.verdict == "fits"]
        for i, (truss, one) in enumerate(those):
            if (truss, one.stood.number) not in other.leaves and overlap(
                one.opening, [each.opening for each in through if each.stood == one.stood]
            ):
                found[i] = Holds(other.request)
    return found


def left_of(change: Request, asks: Iterable[Ask]) -> list[Ask]:
    """Those of a run's asks for which its decision issued nothing."""
    decided = list(change.decisions.all()) if change.state == State.APPROVED else []
    return [ask for ask in asks if decided and ask.pk in decided[-1].leaves]


def not_through(run: Run) -> list[dict[str, Any]]:
    """The cut copies that a run was asked without, as they are recorded with it."""
    return [row for row in run.as_cut if row["how"] != FITS]
