"""Where a run crosses copies, and what each answers, and where it lies between two. Inches."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from trusses.analysis.clearance.apart import beyond
from trusses.analysis.clearance.openings import Fit, Nearest, fit, nearest
from trusses.analysis.format.model import Opening
from trusses.analysis.runs.corners import Cramped, cramped, lead
from trusses.analysis.runs.met import Met, met
from trusses.analysis.runs.run import SAME_IN, Leg, Run
from trusses.analysis.runs.stood import ALONG_SINE, Design, Stood, perpendicular
from trusses.analysis.words.phrases import Coded, coded, tell
from trusses.analysis.words.runs import RUNS

#: Where only webs are in the way, a free place farther off than this doesn't count as a move of the run, inches.
NEAR_IN = 24.0
#: A truss farther off than this doesn't bound a bay that a leg runs along in, inches.
BESIDE_IN = 120.0

_Known = dict[tuple["Design", tuple[float, float], "Met"], tuple[Fit, "Nearest | None", "Verdict"]]
Verdict = Literal["clear", "fits", "moves", "redesign", "never"]
VERDICTS: tuple[Verdict, ...] = ("clear", "fits", "moves", "redesign", "never")
"""What a crossing answers, from best to worst: it passes by the truss; it fits; webs are in the way, and it fits if the
run moves a little, or they have to change; a chord would be cut or the truss left as it runs, which no redesign mends,
though the run may fit elsewhere."""


@dataclass(frozen=True)
class Crossing:
    """One copy where a leg crosses it, `path_in` along the run, at `place_in` in plan. `opening` is what the truss must
    keep free, in its own coordinates, and `fit` what `clearance` says of it."""

    stood: Stood
    leg: int
    path_in: float
    place_in: tuple[float, float]
    height_in: float
    sine: float
    met: Met
    opening: Opening
    fit: Fit
    nearest: Nearest | None
    verdict: Verdict

    @property
    def moves(self) -> tuple[float, float] | None:
        """How far right and up, in the truss's own coordinates, to the nearest place where it fits."""
        if self.nearest is None:
            return None
        (x, y), (to_x, to_y) = self.opening.centre, self.nearest.centre_in
        return to_x - x, to_y - y

    @property
    def coded(self) -> Coded:
        by = self.moves
        if self.verdict == "moves" and by:
            return coded("run-moves", right_in=by[0], up_in=by[1])
        if self.verdict == "redesign":
            return coded("run-redesign", members=list(self.fit.called))
        if self.verdict == "never":
            return coded("run-never-chord", members=list(self.fit.called)) if self.fit.cuts_chord else coded("run-out")
        if self.verdict == "clear":
            return coded("run-clear", spare_in=self.fit.spare_in)
        return coded("run-fits", spare_in=self.fit.spare_in)

    @property
    def says(self) -> str:
        return tell(RUNS, [self.coded])


@dataclass(frozen=True)
class Between:
    """A leg that runs along trusses: the bay's clear width and what the run needs of it; `spare_in` to the left and to
    the right of its direction, None where no truss stands there."""

    leg: int
    left: Stood | None
    right: Stood | None
    bay_in: float | None
    needs_in: float
    spare_in: tuple[float | None, float | None]
    verdict: Verdict


@dataclass(frozen=True)
class Crossed:
    """What a run meets, in the order of its path."""

    run: Run
    crossings: tuple[Crossing, ...]
    between: tuple[Between, ...]
    cramped: tuple[Cramped, ...]

    def count(self, *verdicts: Verdict) -> int:
        return sum(one.verdict in verdicts for one in self.crossings)

    @property
    def worst(self) -> Verdict:
        every = [one.verdict for one in self.crossings] + [one.verdict for one in self.between]
        return max(every, key=VERDICTS.index, default="clear")


def cross(run: Run, copies: Sequence[Stood]) -> Crossed:
    """What `run` meets of the copies on its level."""
    there = [one for one in copies if one.level == run.level]
    crossings: list[Crossing] = []
    between: list[Between] = []
    known: _Known = {}
    for i, leg in enumerate(run.legs()):
        crossings += sorted(_crossings(run, i, leg, there, known), key=lambda one: one.path_in)
        between += _between(run, i, leg, there)
    met_once: dict[tuple[Stood, int], Crossing] = {}
    for one in crossings:  # a corner on a truss is one crossing, not two
        met_once.setdefault((one.stood, round(one.path_in * 1024)), one)
    return Crossed(run, tuple(met_once.values()), tuple(between), tuple(cramped(run, there)))


def comes_to(run: Run, leg: Leg, stood: Stood, along: float, square: float) -> tuple[float, float]:
    """From where to where along a leg its middle comes to the middle of a truss that the run takes wood or space of: on
    the leg, and beyond it by what an end of the run reaches into the truss."""
    reaches = lead(run, stood, along, square) - 1e-9
    end = leg.start[0] + leg.length * leg.ex, leg.start[1] + leg.length * leg.ey
    before, past = leg.before == 0, math.dist(end, run.points[-1]) < SAME_IN
    return -(reaches if before else 1e-9), leg.length + (reaches if past else 1e-9)


def _crossings(run: Run, i: int, leg: Leg, copies: Sequence[Stood], known: _Known) -> Iterator[Crossing]:
    for stood in copies:
        place, across, along, square = perpendicular(leg, stood)
        if abs(square) < ALONG_SINE:
            continue
        s = (stood.across_in - across) / square
        if not -1e-9 <= s <= leg.length + 1e-9:
            low, high = comes_to(run, leg, stood, along, square)
            if not low <= s <= high:
                continue
        as_met = met(run.section, min(abs(square), 1.0), run.slope, stood.design.thickness_in)
        at = place + s * along
        low, high = stood.reach
        half = as_met.width_in / 2 + as_met.clearance_in
        if not low - half < at < high + half:
            continue
        height = run.height_at(leg.before + s)
        path = leg.before + min(max(s, 0.0), leg.length)
        opening = as_met.opening("run", (_tidy(stood.x_at(at)), _tidy(stood.design.begins_y(run) + height)), run.note)
        # like trusses that are met alike answer alike
        alike = (stood.design, opening.centre, as_met)
        if alike not in known:
            known[alike] = _answer(stood.design, opening, as_met)
        plan = (at, stood.across_in) if stood.along == "x" else (stood.across_in, at)
        yield Crossing(stood, i, path, plan, height, abs(square), as_met, opening, *known[alike])


def _tidy(inches: float) -> float:
    """Without the last digits, in which sums of the same lengths differ."""
    return round(inches, 9)


def _answer(design: Design, opening: Opening, as_met: Met) -> tuple[Fit, Nearest | None, Verdict]:
    answer = fit(design.space, opening)
    if answer.fits:
        return answer, None, "fits"
    if answer.outside and not answer.touches and beyond(design.space, opening) is not None:
        return answer, None, "clear"
    found = nearest(design.space, opening, free=design.free(as_met))
    if answer.never:
        return answer, found, "never"
    return answer, found, "moves" if found and found.moved_in <= NEAR_IN else "redesign"


def _between(run: Run, i: int, leg: Leg, copies: Sequence[Stood]) -> Iterator[Between]:
    """The bay that a leg along trusses lies in, for each direction in which some stand."""
    for axis in ("x", "y"):
        beside: list[tuple[float, float, Stood]] = []
        for stood in (one for one in copies if one.along == axis):
            place, across, along, square = perpendicular(leg, stood)
            if abs(square) >= ALONG_SINE:
                break
            ends = sorted((place, place + leg.length * along))
            low, high = stood.reach
            if ends[0] < high and ends[1] > low:
                # left of the leg's direction is positive
                turn = (1 if along > 0 else -1) * (1 if axis == "x" else -1)
                off = [turn * (stood.across_in - across), turn * (stood.across_in - across - leg.length * square)]
                nearest_off = 0.0 if off[0] * off[1] < 0 else min(off, key=abs)
                if abs(nearest_off) <= BESIDE_IN:
                    beside.append((nearest_off, stood.design.thickness_in / 2, stood))
        if beside:
            yield _bay(run, i, beside)


def _bay(run: Run, i: int, beside: Sequence[tuple[float, float, Stood]]) -> Between:
    left = min((one for one in beside if one[0] >= 0), key=lambda one: one[0], default=None)
    right = max((one for one in beside if one[0] < 0), key=lambda one: one[0], default=None)
    needs = run.section.room_in
    spare = [None if one is None else abs(one[0]) - one[1] - needs / 2 for one in (left, right)]
    bay = left[0] - right[0] - left[1] - right[1] if left and right else None
    fits = all(one is None or one >= 0 for one in spare)
    verdict: Verdict = "fits" if fits else "moves" if bay is None or bay >= needs else "never"
    return Between(i, left and left[2], right and right[2], bay, needs, (spare[0], spare[1]), verdict)


def letter(i: int) -> str:
    """A, B … Z, AA, AB …: what the crossing of that place on the list is called."""
    name = ""
    i += 1
    while i:
        i, rest = divmod(i - 1, 26)
        name = chr(65 + rest) + name
    return name
