"""Another line of a run: a designer asks whether it will do, and its builder says yes with one tap."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.http import Http404

from changes.asks.as_cut import as_cut
from changes.asks.holding import left_out
from changes.asks.kinds import HERE
from changes.asks.reading import read_asks
from changes.asks.run import crossing, lettered, read_path
from changes.asks.turned import DRAWN, as_drawn_now
from changes.asks.wishes import Document, merged
from changes.models import Decision, Kind, Request, Run
from changes.permissions import require
from changes.refusals import Refused
from changes.workflow.filing import answer

YES_ALONG = "Yes, along that line."
MOVES = frozenset(("points_in", "height_in", "rises_in"))
"""What another line of a run may have otherwise: what the builder's page tells of it."""


def read_lines(change: Request, verdict: str, lines: Mapping[int, Any]) -> dict[str, Document]:
    """The other lines of a request's runs, {run id: run}, as the decision keeps them. Raises Refused for what could not
    be asked for, or that its builder could not say yes to; Http404 for a run that isn't the request's."""
    if lines and verdict != Decision.Choice.SEND_BACK:
        raise Refused("lines-when-sent-back", "lines", "lines")
    runs = Run.objects.filter(request=change, asks__replaced=False).distinct().in_bulk()
    found = {}
    for pk, line in lines.items():
        if pk not in runs:
            raise Http404("Not found.")
        try:
            found[str(pk)] = _read(runs[pk], line)
        except Refused as refused:
            raise Refused(refused.code, "lines", refused.place, **refused.values) from refused
    if found:
        _refuse_untaken(change, found)
    return found


def _read(run: Run, line: Any) -> Document:
    read = read_path(line, ("lines", str(run.pk))).document()
    if read == run.wish:
        raise Refused("line-as-asked", "lines", f"lines.{run.pk}")
    for key in {**run.wish, **read}:
        if key not in MOVES and read.get(key) != run.wish.get(key):
            raise Refused("line-moves-only", "lines", f"lines.{run.pk}.{key}")
    return read


def _refuse_untaken(change: Request, lines: Mapping[str, Document]) -> None:
    """Raises Refused where the builder's yes would be refused: it is tried, and taken back."""
    taken = _Taken(change, lines)
    try:
        with transaction.atomic():
            change.asks.exclude(pk__in=taken.stay).update(replaced=True)
            read_asks(change.job, taken.asks())
            transaction.set_rollback(True)
    except Refused as refused:
        raise Refused(refused.code, "lines", taken.called(refused.place), **refused.values) from refused


def answer_along(user: Any, change: Request, decision: int) -> Request:
    """The builder's yes to the lines that a decision asks about: filed again along them, with all else as it stands.
    Raises NotAllowed, Refused, Conflict."""
    require(user, "answer", change)
    last = change.decisions.order_by("-pk").first()
    if last is None or last.pk != decision or not last.lines:
        raise Refused("line-offered-no-more", "along")
    taken = _Taken(change, last.lines)
    return answer(user, change, says=YES_ALONG, asks=taken.asks(), stay=taken.stay)


class _Taken:
    """What a request asks where other lines of its runs are taken; what asks for no design stays (`stay`)."""

    def __init__(self, change: Request, lines: Mapping[str, Document]) -> None:
        self.change, self.lines = change, lines
        rows = list(change.asks.filter(replaced=False).select_related(*DRAWN, "truss__job", "run"))
        self.runs = list({ask.run.pk: ask.run for ask in rows if ask.run}.values())
        rest = [ask for ask in rows if not ask.run]
        self.stay = [ask.pk for ask in rest if not HERE[ask.kind].DESIGNS]
        self.rest = [ask for ask in rest if ask.pk not in self.stay]

    def asks(self) -> list[Any]:
        """In the order in which they were asked, the runs first."""
        along = [self._asked(run, self.lines.get(str(run.pk), run.wish)) for run in self.runs]
        return [*along, *merged(wish for _, wishes in as_drawn_now(self.rest) for wish in wishes)]

    def _asked(self, run: Run, wish: Document) -> Document:
        """The run along a line, without those of the cut copies that it was asked without and that it doesn't get
        through there."""
        path = read_path(wish, ("run",))
        cut = as_cut(self.change.job, path.level, lettered(crossing(self.change.job, path)), instead=run)
        stuck = {one.name for one in cut if not one.fits}
        without = [name for name in left_out(run) if name in stuck]
        return {"kind": Kind.RUN, "run": wish, "together": run.together, "without": without}

    def called(self, place: str) -> str:
        """A place among the asks, as the lines of a decision call it."""
        for i, run in enumerate(self.runs):
            if place.startswith(f"asks[{i}]"):
                return f"lines.{run.pk}{place.removeprefix(f'asks[{i}]').removeprefix('.run')}"
        return "lines"
