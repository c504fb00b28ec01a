"""A run of which a decision left some crossings: the parts that were approved, and those that were left. Inches."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from trusses.analysis.runs.run import SAME_IN, Point, Run

#: Whoever kept a crossing rounded its place, inches.
_ROUNDED_IN = 0.5
#: Crossings closer than this along the path are at one place, since what is kept of them is rounded.
_ONE_PLACE_IN = 1e-3


class Part(NamedTuple):
    run: Run
    left: bool


def parts(run: Run, met: Sequence[tuple[Point, bool]]) -> list[Part]:
    """The run in parts, along its path. `met` are the places in plan where it crosses a truss, in the order of the
    path, and whether that crossing was left: a part ends halfway between two of which one was and the other wasn't.
    Of those at one place none goes on where one was left."""
    if not met:
        return [Part(run, left=False)]
    stops: list[tuple[float, bool]] = []
    for far, (_, left) in zip(_along(run, [place for place, _ in met]), met, strict=True):
        if stops and far - stops[-1][0] <= _ONE_PLACE_IN:
            stops[-1] = stops[-1][0], stops[-1][1] or left
        else:
            stops.append((far, left))
    ends, state = [0.0], [stops[0][1]]
    for (here, left), (there, other) in itertools.pairwise(stops):
        if left != other:
            ends.append((here + there) / 2)
            state.append(other)
    ends.append(run.length_in)
    return [Part(_between(run, *held), left) for held, left in zip(itertools.pairwise(ends), state, strict=True)]


def _along(run: Run, places: Sequence[Point]) -> list[float]:
    """How far along the path each place is, not before the one that comes before it."""
    found: list[float] = []
    for x, y in places:
        ways = []
        for leg in run.legs():
            dx, dy = x - leg.start[0], y - leg.start[1]
            s = min(max(dx * leg.ex + dy * leg.ey, 0.0), leg.length)
            off = math.dist((dx, dy), (s * leg.ex, s * leg.ey))
            late = found and leg.before + s < found[-1] - _ONE_PLACE_IN
            ways.append((bool(late), off > _ROUNDED_IN, leg.before + s if off <= _ROUNDED_IN else off, leg.before + s))
        found.append(min(ways)[-1])
    return found


def _between(run: Run, start: float, end: float) -> Run:
    """The run from so far along its path to so far."""
    corners = [(leg.before, leg.start) for leg in run.legs()][1:]
    within = [(far, place, i) for i, (far, place) in enumerate(corners) if start + SAME_IN < far < end - SAME_IN]
    rises = tuple(run.rises[i] for _, _, i in within) if run.rises else ()
    points = (run.place_at(start), *(place for _, place, _ in within), run.place_at(end))
    return replace(run, points=points, height_in=run.height_at(start), rises=rises if any(rises) else ())
