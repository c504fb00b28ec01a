"""Another line of a run: a designer asks whether it will do, and its builder says yes with one tap."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import Http404

from changes.asks.as_cut import AsCut, as_cut, read_without
from changes.asks.holding import left_out
from changes.asks.run import crossing, lettered, read_path, refuse_run
from changes.asks.wishes import Document
from changes.models import Ask, Decision, Kind, Request, Run
from changes.permissions import require
from changes.refusals import Refused
from changes.workflow.filing import answer

YES_ALONG = "Yes, along that line."


def read_lines(change: Request, verdict: str, lines: Mapping[int, Any]) -> dict[str, Document]:
    """The other lines of a request's runs, {run id: run}, as the decision keeps them. Raises Refused for what could not
    be asked for; Http404 for a run that isn't the request's."""
    if lines and verdict != Decision.Choice.SEND_BACK:
        raise Refused("lines-when-sent-back", "lines", "lines")
    runs = Run.objects.filter(request=change, asks__replaced=False).distinct().in_bulk()
    found = {}
    for pk, line in lines.items():
        if pk not in runs:
            raise Http404("Not found.")
        try:
            found[str(pk)] = _read(change, runs[pk], line, f"lines.{pk}")
        except Refused as refused:
            raise Refused(refused.code, "lines", refused.place, **refused.values) from refused
    return found


def _read(change: Request, run: Run, line: Any, at: str) -> Document:
    path = read_path(line, (at,))
    crossed = crossing(change.job, path)
    refuse_run(crossed, at)
    if path.document() == run.wish:
        raise Refused("line-as-asked", "lines", at)
    cut = as_cut(change.job, path.level, lettered(crossed), asked=run)
    read_without({"without": _stuck(run, cut)}, cut, at, at)
    return path.document()


def _stuck(run: Run, cut: Sequence[AsCut]) -> list[str]:
    """Of the cut copies that a run was asked without, those that it doesn't get through."""
    stuck = {one.name for one in cut if not one.fits}
    return [name for name in left_out(run) if name in stuck]


def answer_along(user: Any, change: Request, decision: int) -> Request:
    """The builder's yes to the lines that a decision asks about: filed again along them. Raises NotAllowed, Refused,
    Conflict."""
    require(user, "answer", change)
    last = change.decisions.order_by("-pk").first()
    if last is None or last.pk != decision or not last.lines:
        raise Refused("line-offered-no-more", "along")
    rows = list(change.asks.filter(replaced=False).select_related("truss", "run").order_by("pk"))
    if any(ask.kind not in (Kind.RUN, Kind.OPENING) for ask in rows):
        raise Refused("moves-openings-only", "along")
    asks: list[Document] = []
    for run in {ask.run.pk: ask.run for ask in rows if ask.run}.values():
        asks.append(_asked(change, run, last.lines.get(str(run.pk), run.wish)))
    asks += [_opening(ask) for ask in rows if not ask.run]
    return answer(user, change, says=YES_ALONG, asks=asks)


def _asked(change: Request, run: Run, wish: Document) -> Document:
    """The run along a line, without those of the cut copies that it was asked without and that are in its way there."""
    path = read_path(wish, ("run",))
    cut = as_cut(change.job, path.level, lettered(crossing(change.job, path)), asked=run)
    return {"kind": Kind.RUN, "run": wish, "together": run.together, "without": _stuck(run, cut)}


def _opening(ask: Ask) -> Document:
    return {"truss": ask.truss, "kind": ask.kind, "opening": ask.opening, "copies": ask.copies}
