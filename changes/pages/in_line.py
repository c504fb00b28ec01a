"""How far a run passes beside openings that trusses which it crosses have already, and the line that goes through them:
lengths of a run and of an opening aren't measured from the same place, so that the same figure is two places."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from changes.asks.live_run import Takes
from changes.asks.run import Lettered
from changes.pages.run_form import typed_run
from trusses.analysis.format.model import Opening
from trusses.analysis.runs.crossing import Crossing
from trusses.analysis.runs.run import Run
from trusses.analysis.words.phrases import moved

NEAR_IN = 12.0
"""Farther off in either direction nobody means that opening."""
HAIR_IN = 1 / 16
"""What a tape doesn't tell."""


def beside(one: Crossing) -> tuple[Opening, float, float] | None:
    """The opening of a crossing's truss that is nearest to it, at most a foot off, and how far right and up from the
    run it is in the truss's own plane, inches; None where there is none."""
    x, y = one.opening.centre
    found = [(held, held.centre[0] - x, held.centre[1] - y) for held in one.stood.design.truss.openings]
    near = [each for each in found if max(abs(each[1]), abs(each[2])) <= NEAR_IN]
    return min(near, key=lambda each: abs(each[1]) + abs(each[2]), default=None)


def said(one: Crossing) -> str:
    """The same in a sentence; empty where no opening is near."""
    if (found := beside(one)) is None:
        return ""
    held, right, up = found
    if max(abs(right), abs(up)) < HAIR_IN:
        return f"In line with its opening {held.id}."
    return f"Its opening {held.id} is {moved(right, up)} of here: not in line."


def lines_through(run: Run, met: Iterable[Lettered], takes: Takes) -> list[Mapping[str, Any]]:
    """For each opening beside which the run passes, once for a mark: the run shifted as a whole to go through its
    middle, as the fields say it; no line that can't be asked for."""
    found: dict[tuple[str, str], Mapping[str, Any]] = {}
    for called, to in _shifted(run, met):
        if called not in found and takes(to):
            found[called] = {"called": f"opening {called[1]} of {called[0]}", "typed": typed_run(to)}
    return list(found.values())


def _shifted(run: Run, met: Iterable[Lettered]) -> Iterator[tuple[tuple[str, str], Run]]:
    for _, one in met:
        if (near := beside(one)) is None or max(abs(near[1]), abs(near[2])) < HAIR_IN:
            continue
        held, right, up = near
        along = right * one.stood.turn
        by = (along, 0.0) if one.stood.along == "x" else (0.0, along)
        points = tuple((x + by[0], y + by[1]) for x, y in run.points)
        yield (one.stood.mark, held.id), replace(run, points=points, height_in=run.height_in + up)
