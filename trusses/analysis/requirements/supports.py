"""What a truss asks of what is below it: for the person who sizes the header, post, footing or connection."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from trusses.analysis.checks.check import HOLD_DOWN
from trusses.analysis.checks.stack import WALL_PLATE
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings
from trusses.analysis.frame.results import Results
from trusses.analysis.lumber import lookup
from trusses.analysis.words import findings as words
from trusses.analysis.words.phrases import moved

#: Widths are told up to the next sixteenth of an inch.
_SIXTEENTHS = 16
# a force below this is what ten digits leave of larger ones
_LEAST_LB = 0.01
_CHANGED_LB = 0.5
#: A ratio that is larger by less is the same, told to ten digits.
_MORE = 1 + 1e-8

#: What governs the width of a bearing.
CHORD, PLATE = "chord", "wall plate"


@dataclass(frozen=True)
class Force:
    """The most that happens over all combinations: pounds, and by which combination and load duration factor.
    `weights_gone`: it happens where the weights on the truss aren't there."""

    lb: float
    by: str | None
    load_duration: float | None
    weights_gone: bool = False

    @property
    def told(self) -> str | None:
        """By what it happens, in words; None where nothing does."""
        return words.without_weights(self.by) if self.by and self.weights_gone else self.by


@dataclass(frozen=True)
class Support:
    """One bearing. `down` presses on what is below; `uplift` and `sideways` are what a connection there must hold.

    `required_width_in` is the length along the span that keeps the pressure across the grain within Fc-perp of the
    chord, and of the wall plate below where its lumber is said: R / (b Fc-perp'), NDS 3.10.2 with
    Cb = 1, up to the next sixteenth; None where nothing presses. `governs` says which of the two asks for it, `plate`
    is the lumber below.
    `by_case` is what each load case puts on it, unfactored, in pounds, down positive.
    """

    joint: str
    width_in: float
    required_width_in: float | None
    down: Force
    uplift: Force
    sideways: Force
    by_case: Mapping[str, float]
    governs: str = CHORD
    plate: str | None = None

    @property
    def wide_enough(self) -> bool:
        return self.required_width_in is None or self.required_width_in <= self.width_in


def supports(
    results: Results,
    every_check: Sequence[Mapping[str, Any]],
    said: Surroundings = NOTHING_SAID,
    findings: Sequence[Mapping[str, Any]] = (),
) -> tuple[Support, ...]:
    """Every bearing, in the document's order. `every_check` and `findings` are those of the analysis document: the
    pressure that it stored is held to the plate that it was told of, or to one that is `said` since; uplift is that
    without the weights on the truss where it is larger, as far as the document says it."""
    checks = {(check["id"], check["rule"]): check for check in every_check if check["of"] == "bearing"}
    reactions, by_case = results.combined.reactions, results.by_case.reactions
    without = _without_weights(findings)
    found = []
    for i, bearing in enumerate(results.truss.bearings):
        level, up = reactions[:, i, 0], reactions[:, i, 1]
        chord, told = (checks.get((bearing.joint, rule)) for rule in ("bearing", WALL_PLATE))
        plate = lookup(told["terms"]["lumber"]) if told else said.plate(bearing.joint)
        of_chord = chord["ratio"] if chord else 0.0
        of_plate = chord["demand"] / plate.fc_perp if chord and plate else 0.0
        needs = bearing.width_in * max(of_chord, of_plate) if chord else None
        found.append(
            Support(
                joint=bearing.joint,
                width_in=bearing.width_in,
                required_width_in=None if needs is None else _next_sixteenth(needs),
                down=_most(results, up.tolist()),
                uplift=_larger(results, _most(results, (-up).tolist()), without.get(bearing.joint)),
                sideways=_most(results, abs(level).tolist()),
                by_case={name: _plain(float(by_case[c, i, 1])) for c, name in enumerate(results.cases)},
                governs=PLATE if of_plate > of_chord * _MORE else CHORD,
                plate=plate.key if plate else None,
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class Change:
    """One figure of a bearing, before and after a change, pounds; None where that side has no such bearing or case.
    `was`: its joint before, another one where it moved, empty where it is new; `moved_in`: how far to the right."""

    joint: str
    what: str
    lb: tuple[float | None, float | None]
    was: str
    moved_in: float = 0.0

    @property
    def changed(self) -> bool:
        before, after = self.lb
        return before is None or after is None or abs(after - before) >= _CHANGED_LB

    @property
    def at_most(self) -> bool:
        """Whether it is the most over all combinations, and not what one load case puts there."""
        return self.what in _ORDER

    @property
    def by_lb(self) -> float | None:
        before, after = self.lb
        return None if before is None or after is None else after - before

    @property
    def more(self) -> bool:
        """Whether what is below has to carry or to hold more than before, at most over all combinations."""
        before, after = self.lb
        return self.at_most and after is not None and after - (before or 0.0) >= _CHANGED_LB

    @property
    def new_uplift(self) -> bool:
        """Whether it is lifted where it wasn't, so that it needs a tie where none was needed."""
        return self.what == UPLIFT and self.more and (self.lb[0] or 0.0) < _CHANGED_LB

    @property
    def moved(self) -> str:
        """8" to the left; empty where it stays."""
        return moved(self.moved_in, 0.0)


Point = tuple[float, float]
_ONE_PLACE_IN = 0.01


def places(document: Mapping[str, Any]) -> dict[str, Point]:
    """{joint: where it is, inches} of the bearings of a truss document."""
    held = [bearing["joint"] for bearing in document["bearings"]]
    return {joint: (float(document["joints"][joint][0]), float(document["joints"][joint][1])) for joint in held}


def paired(before: Mapping[str, Point], after: Mapping[str, Point]) -> dict[str, str]:
    """{joint of a bearing after a change: its joint before} of those that were there before. Of those that stand where
    none stood as many as went elsewhere have moved, in their order along the span; else they are new."""
    stay = {
        now: then for now, at in after.items() for then, there in before.items() if math.dist(at, there) < _ONE_PLACE_IN
    }
    came = sorted(after.keys() - stay.keys(), key=lambda joint: after[joint])
    went = sorted(before.keys() - set(stay.values()), key=lambda joint: before[joint])
    return stay | (dict(zip(came, went, strict=True)) if len(came) == len(went) else {})


def changes(
    before: Mapping[str, Any], after: Mapping[str, Any], stood: Mapping[str, Point], stands: Mapping[str, Point]
) -> list[Change]:
    """What two analysis documents of one mark put on each bearing: every case, down positive, then down and uplift at
    most over all combinations. `stood` and `stands`: where their bearings are, as `places` has it; one that moved is
    one bearing."""
    rows = []
    sides = [_figures(analysis) for analysis in (before, after)]
    same = paired(stood, stands)
    bearings = [(joint, same.get(joint, "")) for joint in sides[1]]
    bearings += [("", joint) for joint in sides[0] if joint not in same.values()]
    for now, was in sorted(bearings, key=lambda one: stands[one[0]] if one[0] else stood[one[1]]):
        mine = sides[0].get(was, {}), sides[1].get(now, {})
        by = stands[now][0] - stood[was][0] if now and was else 0.0
        each = [
            Change(now or was, what, (mine[0].get(what), mine[1].get(what)), was, by)
            for what in dict.fromkeys([*mine[0], *mine[1]])
        ]
        rows += sorted(each, key=lambda row: _ORDER.get(row.what, 0))
    return rows


#: What is told after the cases.
DOWN, UPLIFT = "down, at most", "uplift, at most"
_ORDER = {DOWN: 1, UPLIFT: 2}


def _figures(analysis: Mapping[str, Any]) -> dict[str, dict[str, float | None]]:
    found: dict[str, dict[str, float | None]] = {}
    for joint, most in at_most(analysis).items():
        cases = {name: _plain(row["reactions_lb"][joint][1]) for name, row in analysis["cases"].items()}
        found[joint] = {**cases, DOWN: most["down_lb"], UPLIFT: most["uplift_lb"]}
    return found


def at_most(analysis: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """{joint of a bearing: down_lb, down_by, uplift_lb, uplift_by}: the most that each presses and is lifted, pounds,
    and by which combination; in words `uplift_says`. Lifted is that without the weights on the truss where it is
    larger: they may be gone."""
    without = _without_weights(analysis.get("findings", ()))
    found = {}
    for joint, most in analysis["envelope"]["reactions_lb"].items():
        found[joint] = {**most, "uplift_says": most.get("uplift_by")}
        if (more := without.get(joint)) and more["force_lb"] > most["uplift_lb"]:
            by = more["combination"]
            found[joint] |= {"uplift_lb": more["force_lb"], "uplift_by": by, "uplift_says": words.without_weights(by)}
    return found


def _without_weights(findings: Sequence[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    """By the bearing's joint, what lifts it where the weights are gone; analyses stored before say it in words only."""
    told = [one["values"] for one in findings if one["code"] == HOLD_DOWN and "values" in one]
    return {values["joint"]: values for values in told}


def _larger(results: Results, uplift: Force, without: Mapping[str, Any] | None) -> Force:
    if without is None or without["force_lb"] <= uplift.lb:
        return uplift
    by = without["combination"]
    duration = next((one.load_duration for one in results.combinations if one.name == by), None)
    return Force(without["force_lb"], by, duration, weights_gone=True)


def _plain(down: float) -> float:
    return 0.0 if abs(down) < _LEAST_LB else float(down)


def _most(results: Results, values: list[float]) -> Force:
    most = max(range(len(values)), key=values.__getitem__)
    if values[most] < _LEAST_LB:
        return Force(0.0, None, None)
    combination = results.combinations[most]
    return Force(values[most], combination.name, combination.load_duration)


def _next_sixteenth(inches: float) -> float:
    # what rounding adds to a whole sixteenth is none of the next
    return math.ceil(inches * _SIXTEENTHS - 1e-6) / _SIXTEENTHS
