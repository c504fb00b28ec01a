"""The usual arrangements of loads, written into a truss document as patterns where it lacks them.

An explicit step, so that results always follow from the document alone. Which arrangements is this project's choice,
after ASCE 7 §4.3.3 (partial live load) and §7.6 (unbalanced snow):

- live: all; each half of the span; each side of every open panel (a chase), as the shear in that panel needs; each
  span and each overhang by itself where there are several. Over more than three bearings also the two on either side of
  each bearing with every other one beyond them, which bends the chord there the most, and every other one, which bends
  the loaded ones the most between their bearings.
- snow: balanced; on gables and hips of 1/2 in 12 to 7 in 12 also left and right, the unbalanced snow of ASCE 7 §7.6.1.
  From the ground snow `snow` writes it as the code has it, and it counts. Here, without the ground snow, the whole
  balanced snow on one side of the ridge and none on the other stands in for it: lighter than the code on the drifted
  side, and bare where the code keeps 0.3 of the balanced snow. A roof on three bearings or more, one with a valley and
  one whose top chord is no single line have left and right too, for the partial snow of §7.5 and §7.6.3.
- wind: up and down. Where only one way is given, the other takes the same pressures reversed: a placeholder, to be
  replaced by the site's own.
- roof live: all and each half. No code asks for these, so a document without them lacks nothing.

What a document has is judged by its effect, whatever its patterns are called. Loads that act alone stay as they are.
"""

from __future__ import annotations

import copy
import itertools
import math
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from typing import Any

from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.format.model import Truss
from trusses.analysis.loads.roof_planes import roof_of
from trusses.analysis.loads.snow import drifts
from trusses.analysis.loads.snow_rules import LOW_SLOPE
from trusses.analysis.loads.windows import Window, clipped, open_panels, total_lb

Document = dict[str, Any]
Loads = list[tuple[str, Document]]  # each with the list that holds it: "area", "line" or "point"
Patterns = dict[str | None, Loads]

REQUIRED = ("live", "snow", "wind")
_ARRANGED = (*REQUIRED, "roof_live")
_ALWAYS: Window = (-math.inf, math.inf)
_END_IN = 1e-4
#: A pattern loads a window when it has this share of the most that any pattern has there. Beside drifts a balanced snow
#: has much less than they (more than what they leave to windward), but about the same on both sides;
_LOADED = 0.9
_LOADED_BESIDE_DRIFT, _EVEN = 0.31, 0.4
#: and leaves one free when it has no more than this share; the code's unbalanced snow leaves 0.3 on the free side.
_FREE_OF_SNOW = 0.5
#: On low slopes the balanced snow is often the code's least snow (§7.3.4), and the unbalanced a share of a lighter one.
_LOADED_OF_LEAST, _FREE_OF_LEAST = 0.5, 0.35


#: Times that a case is gone through before it is given up.
_ROUNDS = 4


class ArrangementError(DocumentError):
    """Loads that can't be arranged."""


@dataclass(frozen=True, slots=True)
class _Arrangement:
    """A pattern that a case calls for: every window of `loaded` full, every window of `free` (nearly) empty.

    `share` is what counts as full and `left_free` as empty, of the most that any pattern has in a window; the least
    share of a loaded window is at least `even` of the greatest.
    """

    name: str
    loaded: tuple[Window, ...]
    free: tuple[Window, ...] = ()
    share: float = _LOADED
    left_free: float = 0.1
    even: float = 0.0


def arrange(document: Document) -> Document:
    """A copy of `document` with the usual patterns written in; equal to it where they all stand there already.

    Patterns that stand there keep their meaning. Raises DocumentError for a document that is wrong, and its kind
    ArrangementError where loads up and down stand so that what is written in still doesn't have what was asked for.
    """
    truss = read(document)
    arranged = copy.deepcopy(document)
    for case in _ARRANGED:
        written: dict[str, str] = {}
        for _ in range(_ROUNDS):
            patterns = _patterns(arranged, case)
            lacking = list(_lacking(truss, case, patterns))
            if not lacking:
                break
            # what is written in can be the new most of a window, and the rest is then measured by it
            _write(arranged, case, _complete(truss, case, patterns, lacking, written))
        else:
            if case in REQUIRED and (short := list(_lacking(truss, case, _patterns(arranged, case)))):
                lacking_still = [arrangement.name for arrangement in short]
                raise ArrangementError("arrangement-impossible", "loads", case=case, lacking=lacking_still)
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
    for wanted in map(_open, _wanted(truss, case) if patterns else ()):
        most = {w: max(total(pattern, w) for pattern in patterns) for w in (*wanted.loaded, *wanted.free)}
        if not any(most[w] > 0 for w in wanted.loaded) or not (
            not wanted.free or any(most[w] > 0 for w in wanted.free)
        ):
            continue
        if not any(_is(wanted, {w: total(pattern, w) for w in most}, most) for pattern in patterns):
            yield wanted


def _open(wanted: _Arrangement) -> _Arrangement:
    """The arrangement with its free windows without their ends: what stands right between two is the loaded one's."""
    free = tuple((start + _END_IN, end - _END_IN) for start, end in wanted.free)
    return replace(wanted, free=free)


def _is(wanted: _Arrangement, has: dict[Window, float], most: dict[Window, float]) -> bool:
    """Whether a pattern that has so much in each window is the wanted one."""
    # where nothing presses down under any pattern, none can be the fuller one
    shares = [has[w] / most[w] for w in wanted.loaded if most[w] > 0]
    return (
        min(shares) >= wanted.share
        and min(shares) >= wanted.even * max(shares)
        and all(has[w] <= wanted.left_free * max(most[w], 0.0) for w in wanted.free)
    )


def _wanted(truss: Truss, case: str) -> Iterator[_Arrangement]:
    if case == "snow":
        yield from _wanted_snow(truss)
        return
    middle = _midspan(truss)
    left, right = (-math.inf, middle), (middle, math.inf)
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
    every = range(len(stretches))
    loaded = [{number} for number in every if len(every) > 1]
    if len(_supports(truss)) > 3:
        # beyond the two beside a bearing every other one bends the chord there the same way
        loaded += [set(every[first::2]) for first in (0, 1)]
        loaded += [{*every[left::-2], *every[left + 1 :: 2]} for left in every[:-1]]
    for which in dict.fromkeys(map(frozenset, loaded)):
        yield _only(stretches, which)


def _only(stretches: Sequence[tuple[str, Window]], loaded: AbstractSet[int]) -> _Arrangement:
    """Those stretches of the truss loaded whole, and the others free."""
    full: list[Window] = []
    free: list[Window] = []
    for there, group in itertools.groupby(range(len(stretches)), lambda number: number in loaded):
        numbers = [*group]
        first, last = numbers[0], numbers[-1]
        start, end = stretches[first][1][0], stretches[last][1][1]
        if there:
            full.append((start, end))
        else:
            # nothing stands beyond the outer ones either
            free.append((-math.inf if first == 0 else start, math.inf if last == len(stretches) - 1 else end))
    return _Arrangement(" and ".join(stretches[number][0] for number in sorted(loaded)), tuple(full), tuple(free))


def _wanted_snow(truss: Truss) -> Iterator[_Arrangement]:
    roof = roof_of(truss)
    ridge = roof.ridge if roof else None
    middle = ridge.x if ridge else _midspan(truss)
    left, right = (-math.inf, middle), (middle, math.inf)
    yield _Arrangement("balanced", (left, right), share=_LOADED_BESIDE_DRIFT, even=_EVEN)
    usual = roof is not None and (roof.single or ridge is not None) and len(_supports(truss)) <= 2
    if usual and not (ridge and drifts(ridge)):
        return
    low = ridge is not None and min(plane.degrees for plane in ridge.beside) < LOW_SLOPE
    loaded, free = (_LOADED_OF_LEAST, _FREE_OF_LEAST) if low else (_LOADED, _FREE_OF_SNOW)
    yield _Arrangement("left", (left,), (right,), loaded, free)
    yield _Arrangement("right", (right,), (left,), loaded, free)


def _midspan(truss: Truss) -> float:
    xs = [truss.joint(bearing.joint).x for bearing in truss.bearings]
    return (min(xs) + max(xs)) / 2


def _stretches(truss: Truss) -> list[tuple[str, Window]]:
    """The spans between bearings, and the overhangs beyond them, from the left."""
    xs = _supports(truss)
    ends = [joint.x for joint in truss.joints]
    spans = [(f"span {i}", span) for i, span in enumerate(itertools.pairwise(xs), 1)]
    if min(ends) < xs[0] - 1:
        spans.insert(0, ("left overhang", (-math.inf, xs[0])))
    if max(ends) > xs[-1] + 1:
        spans.append(("right overhang", (xs[-1], math.inf)))
    return spans


def _supports(truss: Truss) -> list[float]:
    return sorted({truss.joint(bearing.joint).x for bearing in truss.bearings})


def _complete(
    truss: Truss, case: str, patterns: Patterns, lacking: list[_Arrangement], written: dict[str, str]
) -> dict[str, Loads]:
    """The patterns of `case` with those that lack, by name. What stood there without a pattern is the whole load.

    `written` are the names under which arrangements were written in before, which are written anew; it is added to.
    """
    held: dict[str, Loads] = {}
    for pattern, loads in patterns.items():
        held[pattern or _name_of_whole(truss, case, loads)] = loads
    for arrangement in lacking:
        name = written.get(arrangement.name, arrangement.name)
        while name in held and arrangement.name not in written:
            name += " too"
        written[arrangement.name] = name
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
