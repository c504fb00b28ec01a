"""The answer while a run is drawn: what it crosses, what each truss says; better lines on demand. Nothing is stored."""

from __future__ import annotations

from typing import Any

from changes.asks.as_cut import AsCut, as_cut
from changes.asks.run import crossing, lettered, read_path
from changes.refusals import Refused
from trusses.analysis.runs.bends import Bent, NotSearched, bent
from trusses.analysis.runs.corners import Cramped
from trusses.analysis.runs.crossing import Between, Crossed, Crossing
from trusses.analysis.runs.lines import SIDEWAYS_IN, UP_IN, Line, changes, lines, moves_sideways
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.runs.run import Run
from trusses.analysis.words.phrases import coded, tell
from trusses.analysis.words.runs import LINES
from trusses.models import Job
from trusses.plan.copies import standing, stood


def run_answer(job: Job, run: Any, *, offers: bool = False) -> dict[str, Any]:
    """What `RunAnswerSerializer` tells; inches. `offers`: also the lines at which fewer trusses need a change. Raises
    Refused."""
    try:
        path = read_path(run, ("run",))
    except Refused as refused:
        raise Refused(refused.code, "run", refused.place, **refused.values) from refused
    crossed = crossing(job, path)
    never, short = changes(crossed)
    cut = {one.letter: one for one in as_cut(job, path.level, lettered(crossed))}
    told = {
        "crossings": [_crossing(name, one, path) | _cut(cut.get(name)) for name, one in lettered(crossed)],
        "passes_by": [one.stood.name for one in crossed.crossings if one.verdict == "clear"],
        "between": [_between(one) for one in crossed.between],
        "corners": [_corner(one) for one in crossed.cramped],
        "pieces": [one._asdict() for one in rigid(crossed)],
        "changes": short,
        "never": never,
        "verdict": crossed.worst,
    }
    if offers:
        found, lacks = better(job, crossed)
        told |= {"lines": [_line(one) for one in found], "lines_lack": lacks}
    return told


def better(job: Job, crossed: Crossed) -> tuple[list[Line | Bent], str]:
    """Lines that ask for fewer changes, best first, the one with bends among them; and in words what was not looked
    for, or that there is none."""
    if changes(crossed) == (0, 0):
        return [], ""
    copies = stood([one for one in standing(job)[crossed.run.level] if one.copy is not None])
    found: list[Line | Bent] = [*lines(crossed.run, copies, crossed)]
    lacks = None
    try:
        if path := bent(crossed.run, copies):
            found.append(path)
    except NotSearched as not_searched:
        lacks = not_searched.told
    if not found and not lacks:
        sideways = moves_sideways(crossed)
        lacks = coded("run-no-better-line", sideways=sideways, sideways_in=SIDEWAYS_IN, up_in=UP_IN)
    return sorted(found, key=lambda one: (one.never, one.changes)), tell(LINES, [lacks] if lacks else [])


def _crossing(name: str, one: Crossing, run: Run) -> dict[str, Any]:
    moves = one.moves
    return {
        "letter": name,
        "truss": one.stood.mark,
        "copy": one.stood.number,
        "at_in": list(one.place_in),
        "x_in": one.opening.centre[0],
        "height_in": one.height_in,
        "falls_in": run.height_in - one.height_in,
        "width_in": one.met.width_in,
        "opening_height_in": one.met.height_in,
        "verdict": one.verdict,
        "spare_in": one.fit.spare_in,
        "touches": list(one.fit.touches),
        "moves_in": list(moves) if moves else None,
        "says": one.says,
    }


def _cut(one: AsCut | None) -> dict[str, Any]:
    return {"as_cut": one.how if one else None, "built_to": one.stands.built_to if one else None}


def _between(one: Between) -> dict[str, Any]:
    return {
        "leg": one.leg + 1,
        "trusses": [held.name for held in (one.left, one.right) if held],
        "bay_in": one.bay_in,
        "needs_in": one.needs_in,
        "spare_in": [None if spare is None else spare for spare in one.spare_in],
        "verdict": one.verdict,
    }


def _corner(one: Cramped) -> dict[str, Any]:
    return {
        "corner": one.corner + 1,
        "truss": one.stood.name,
        "has_in": one.has_in,
        "needs_in": one.needs_in,
        "clear_at_in": [list(place) for place in one.clear_at],
    }


def _line(one: Line | Bent) -> dict[str, Any]:
    told: dict[str, Any] = {"run": one.run.document(), "changes": one.changes, "never": one.never}
    if isinstance(one, Line):
        return told | {
            "along": one.along,
            "sideways_in": one.sideways_in,
            "up_in": one.up_in,
            "bends": 0,
            "longer_in": 0.0,
        }
    return told | {"along": "", "sideways_in": 0.0, "up_in": 0.0, "bends": one.bends, "longer_in": one.longer_in}
