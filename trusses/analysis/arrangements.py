"""The usual arrangements of loads, written into a truss document as patterns where it lacks them.

An explicit step, so that results always follow from the document alone. Which arrangements is this project's choice,
after ASCE 7 §4.3.3 (partial live load) and §7.6 (unbalanced snow):

- live: all; each half of the span; each side of every open panel (a chase), as the shear in that panel needs; each
  span and each overhang by itself where there are several.
- snow: balanced; left and right: the whole balanced snow on one side of the ridge and none on the other. That stands in
  for the unbalanced snow of ASCE 7 §7.6.1, whose drift needs the ground snow: it is lighter than the code on the
  drifted side, and leaves bare the side where the code keeps 0.3 of the balanced snow. A designer who knows the drift
  writes it, and it counts.
- wind: up and down. Where only one way is given, the other takes the same pressures reversed: a placeholder, to be
  replaced by the site's own.
- roof live: all and each half. No code asks for these, so a document without them lacks nothing.

What a document has is judged by its effect, whatever its patterns are called. Loads that act alone stay as they are.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from trusses.analysis.document import read
from trusses.analysis.load_windows import Window, clipped, open_panels, total_lb
from trusses.analysis.model import Truss

Document = dict[str, Any]
Loads = list[tuple[str, Document]]  # each with the list that holds it: "area", "line" or "point"
Patterns = dict[str | None, Loads]

REQUIRED = ("live", "snow", "wind")
_ARRANGED = (*REQUIRED, "roof_live")
_ALWAYS: Window = (-math.inf, math.inf)
#: A pattern loads a window when it has this share of the most that any pattern has there (a drift is most on its side,
#: and a balanced snow is still one beside it),
_LOADED = 0.9
_LOADED_BESIDE_DRIFT = 0.5
#: and leaves one free when it has no more than this share; the code's unbalanced snow leaves 0.3 on the free side.
_FREE = {"live": 0.1, "roof_live": 0.1, "snow": 0.5}


@dataclass(frozen=True, slots=True)
class _Arrangement:
    """A pattern that a case calls for: every window of `loaded` full, every window of `free` (nearly) empty."""

    name: str
    loaded: tuple[Window, ...]
    free: tuple[Window, ...] = ()
    share: float = _LOADED


def arrange(document: Document) -> Document:
    """A copy of `document` with the usual patterns written in; equal to it where they all stand there already.

    Patterns that stand there keep their meaning. Raises DocumentError for a document that is wrong.
    """
    truss = read(document)
    arranged = copy.deepcopy(document)
    for case in _ARRANGED:
        patterns = _patterns(document, case)
        if lacking := list(_lacking(truss, case, patterns)):
            _write(arranged, case, _complete(truss, case, patterns, lacking))
    return arranged


def missing(truss: Truss) -> tuple[str, ...]:
    """The arrangements that the loads of `truss` call for and that its document lacks, such as ``live/left``."""
    return tuple(
        f"{case}/{arrangement.name}"
        for case in REQUIRED
        for arrangement in _lacking(truss, case, _patterns(truss.document, case))
    )


def _patterns(document: Document, case: str) -> Patterns:
    """The loads of `case` by pattern, pattern-less ones among each; under None alone where no load has a pattern."""
    loads = [
        (sort, load)
        for sort in ("area", "line", "point")
        for load in document.get("loads", {}).get(sort, [])
        if load["case"] == case and "acts" not in load
    ]
    names = dict.fromkeys(load["pattern"] for _, load in loads if "pattern" in load)
    if loads and not names:
        return {None: loads}
    return {name: [held for held in loads if held[1].get("pattern", name) == name] for name in names}


def _lacking(truss: Truss, case: str, patterns: Patterns) -> Iterator[_Arrangement]:
    totals: dict[tuple[str | None, Window], float] = {}

    def total(pattern: str | None, window: Window) -> float:
        if (pattern, window) not in totals:
            totals[pattern, window] = total_lb(truss, patterns[pattern], window)
        return totals[pattern, window]

    if case == "wind":
        ways = [total(pattern, _ALWAYS) for pattern in patterns]
        if any(ways) and min(ways) >= 0:
            yield _Arrangement("up", (_ALWAYS,))
        if any(ways) and max(ways) <= 0:
            yield _Arrangement("down", (_ALWAYS,))
        return
    for wanted in _wanted(truss, case) if patterns else ():
        most = {w: max(total(pattern, w) for pattern in patterns) for w in (*wanted.loaded, *wanted.free)}
        if not any(most[w] > 0 for w in wanted.loaded) or not (
            not wanted.free or any(most[w] > 0 for w in wanted.free)
        ):
            continue
        if not any(
            all(total(pattern, w) >= wanted.share * most[w] for w in wanted.loaded)
            and all(total(pattern, w) <= _FREE[case] * most[w] for w in wanted.free)
            for pattern in patterns
        ):
            yield wanted


def _wanted(truss: Truss, case: str) -> Iterator[_Arrangement]:
    middle = _ridge(truss) if case == "snow" else _midspan(truss)
    left, right = (-math.inf, middle), (middle, math.inf)
    if case == "snow":
        yield _Arrangement("balanced", (left, right), share=_LOADED_BESIDE_DRIFT)
    else:
        yield _Arrangement("all", (left, right))
    yield _Arrangement("left", (left,), (right,))
    yield _Arrangement("right", (right,), (left,))
    if case != "live":
        return
    panels = open_panels(truss)
    for number, (start, end) in enumerate(panels, 1):
        chase = f"chase {number}" if len(panels) > 1 else "chase"
        before, after = (-math.inf, start), (end, math.inf)
        yield _Arrangement(f"left of {chase}", (before,), (after,))
        yield _Arrangement(f"right of {chase}", (after,), (before,))
    stretches = _stretches(truss)
    for name, (start, end) in stretches if len(stretches) > 1 else ():
        yield _Arrangement(
            name, ((start, end),), tuple(w for w in ((-math.inf, start), (end, math.inf)) if w[0] < w[1])
        )


def _midspan(truss: Truss) -> float:
    xs = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    return (min(xs) + max(xs)) / 2


def _ridge(truss: Truss) -> float:
    """The middle of what is highest; midspan where that is at an end, as in a mono truss."""
    tops = [truss.joint(name) for member in truss.members if member.role == "top_chord" for name in member.joints]
    tops = tops or list(truss.joints)
    highest = max(joint.y for joint in tops)
    xs = [joint.x for joint in tops if joint.y > highest - 1e-3]
    ridge, all_x = (min(xs) + max(xs)) / 2, [joint.x for joint in tops]
    width = max(all_x) - min(all_x)
    return ridge if min(all_x) + 0.1 * width < ridge < max(all_x) - 0.1 * width else _midspan(truss)


def _stretches(truss: Truss) -> list[tuple[str, Window]]:
    """The spans between bearings, and the overhangs beyond them, from the left."""
    xs = sorted({truss.joint(bearing.joint).x for bearing in truss.bearings})
    ends = [joint.x for joint in truss.joints]
    spans = [(f"span {i + 1}", (xs[i], xs[i + 1])) for i in range(len(xs) - 1)]
    if min(ends) < xs[0] - 1:
        spans.insert(0, ("left overhang", (-math.inf, xs[0])))
    if max(ends) > xs[-1] + 1:
        spans.append(("right overhang", (xs[-1], math.inf)))
    return spans


def _complete(truss: Truss, case: str, patterns: Patterns, lacking: list[_Arrangement]) -> dict[str, Loads]:
    """The patterns of `case` with those that lack, by name. What stood there without a pattern is the whole load."""
    held: dict[str, Loads] = {}
    for pattern, loads in patterns.items():
        held[pattern or _name_of_whole(truss, case, loads)] = loads
    for arrangement in lacking:
        name = arrangement.name
        while name in held:
            name += " too"
        if case == "wind":
            held[name] = [(sort, _reversed(load)) for sort, load in next(iter(patterns.values()))]
        else:
            held[name] = _loads_for(truss, arrangement, patterns)
    return held


def _name_of_whole(truss: Truss, case: str, loads: Loads) -> str:
    if case == "wind":
        return "up" if total_lb(truss, loads, _ALWAYS) < 0 else "down"
    return "balanced" if case == "snow" else "all"


def _loads_for(truss: Truss, arrangement: _Arrangement, patterns: Patterns) -> Loads:
    """In each window that is to be loaded, what the pattern with the most load has there."""
    best = [max(patterns.values(), key=lambda loads, w=w: total_lb(truss, loads, w)) for w in arrangement.loaded]  # type: ignore[misc]
    if not arrangement.free and all(loads is best[0] for loads in best):
        return best[0]
    return [
        (sort, part)
        for loads, window in zip(best, arrangement.loaded, strict=True)
        for sort, load in loads
        if (part := clipped(truss, sort, load, window)) is not None
    ]


def _reversed(load: Document) -> Document:
    return {key: -value if key in ("psf", "plf", "down_lb", "right_lb") else value for key, value in load.items()}


def _write(document: Document, case: str, patterns: dict[str, Loads]) -> None:
    """Put `patterns` where the loads of `case` stood in `document`."""
    loads = document["loads"]
    for sort in ("area", "line", "point"):
        old = loads.get(sort, [])
        gone = [i for i, load in enumerate(old) if load["case"] == case and "acts" not in load]
        new = [
            {"case": case, "pattern": name}
            | {key: value for key, value in load.items() if key not in ("case", "pattern")}
            for name, held in patterns.items()
            for held_sort, load in held
            if held_sort == sort
        ]
        if gone or new:
            kept = [load for i, load in enumerate(old) if i not in gone]
            at = gone[0] if gone else len(kept)
            loads[sort] = [*kept[:at], *new, *kept[at:]]
