"""What holds a place in copies that are cut already: runs of requests that are open or approved, and the openings of
the drawing that each copy was built to. Two may each fit a copy as it was built and yet lie in one another."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from django.db.models import Prefetch, Q

from changes.asks.wishes import Wish
from changes.models import OPEN_STATES, Ask, Decision, Event, Kind, Request, Run, State
from trusses.analysis.clearance.apart import inside, overlap
from trusses.analysis.format.document import DocumentError
from trusses.analysis.runs.crossing import Crossing, cross
from trusses.analysis.runs.run import Run as CoreRun
from trusses.analysis.runs.run import RunError, read_run
from trusses.models import Job, Truss
from trusses.once import once
from trusses.variants.homes import root

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


class Standing(NamedTuple):
    """A run that has its place: those of its asks that count, those of them that were `left`, and whether it was
    approved."""

    run: Run
    asks: list[Ask]
    left: list[Ask]
    approved: bool


def standing_runs(job: Job, level: str | None = None) -> list[Standing]:
    """The runs of a job that are asked for or approved, also what a request issued before it was opened again for its
    damage, whatever became of that. Not one that a decision left whole, since nothing was issued for it, nor one that
    an answer replaced."""
    return once(("standing runs", job.pk, level), lambda: list(_standing_runs(job, level)))


def _standing_runs(job: Job, level: str | None) -> Iterator[Standing]:
    rows = Run.objects.filter(request__job=job)
    if level is not None:
        rows = rows.filter(wish__level=level)
    asks = Prefetch("asks", Ask.objects.select_related("truss"))
    answers = Prefetch("request__events", Event.objects.filter(verb="answer"))
    for one in rows.select_related("request").prefetch_related("request__decisions", answers, asks).order_by("pk"):
        issuing = [each for each in one.request.decisions.all() if issues(each)]
        decided = {int(pk) for each in issuing for pk in (*each.options, *each.leaves)}
        # what was on record alone has no option that says so
        recorded = issuing and all(each.at < issuing[-1].at for each in one.request.events.all())
        stands = bool(recorded) or one.request.state in (*OPEN_STATES, State.APPROVED)
        mine = [ask for ask in one.asks.all() if ask.pk in decided or (stands and not ask.replaced)]
        left = [ask for ask in mine if any(ask.pk in each.leaves for each in issuing)]
        if left != mine:
            yield Standing(one, mine, left, bool(issuing) or one.request.state == State.APPROVED)


def issues(decision: Decision) -> bool:
    """Whether it approved more than that damage goes on."""
    return decision.verdict == Decision.Choice.APPROVE and decision.ends_by != Decision.EndsBy.KEEP_OFF


def others(job: Job, level: str, but: Run | None = None, instead: Run | None = None) -> list[Other]:
    """The runs that hold their place on a level. Who asked first goes first: `but`, which was asked for already, yields
    to what is approved and to what was asked for before it. What takes the place of a run, `instead`, yields to all but
    its request's."""
    found = []
    for one, _, left, approved in standing_runs(job, level):
        if but is not None and (one.request_id == but.request_id or not (approved or one.pk < but.pk)):
            continue
        if instead is not None and one.request_id == instead.request_id:
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


def filled(trusses: Iterable[int]) -> set[tuple[int, str]]:
    """(truss, opening) of the openings in drawings of marks that a request was approved for: something of its own goes
    through each. Variants keep the openings of their mark."""
    roots = {pk: of or pk for pk, of in Truss.objects.filter(pk__in=trusses).values_list("pk", "variant_of")}
    kin = Q(truss__in=roots.values()) | Q(truss__variant_of__in=roots.values())
    rows = Ask.objects.filter(kin, kind=Kind.OPENING, run=None, opening__isnull=False)
    found = set()
    for ask in rows.select_related("truss", "request").prefetch_related("request__decisions"):
        issuing = [one for one in ask.request.decisions.all() if issues(one)]
        approved = any(str(ask.pk) in one.options for one in issuing) or (issuing and not ask.replaced)
        if approved and ask.opening:
            found |= {(pk, ask.opening["id"]) for pk, own in roots.items() if own == root(ask.on_truss)}
    return found


def holds(
    those: Sequence[tuple[int, Crossing]], runs: Sequence[Other], full: Collection[tuple[int, str]] = ()
) -> dict[int, Holds]:
    """What takes the place of some crossings of copies, each with its truss, by their place in that list. A run that
    lies wholly within an opening of the drawing goes through that, as it is meant to, unless that is `full`."""
    found: dict[int, Holds] = {}
    for i, (truss, one) in enumerate(those):
        openings = one.stood.design.truss.openings
        kept = [held for held in openings if (truss, held.id) in full or not inside(one.opening, held)]
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
