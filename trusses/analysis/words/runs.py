"""What is said of a run where it crosses a truss."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from trusses.analysis.words.lengths import feet_inches
from trusses.analysis.words.phrases import Says, counted, listed, moved

_MOST_NAMES = 6
#: What lies farther than this side by side is no one place.
_LONG_IN = 48.0


def _fits(spare_in: float) -> str:
    return f"Fits, with {feet_inches(spare_in)} to spare." if spare_in >= 1 / 32 else "Fits, with nothing to spare."


def _redesign(members: Sequence[str]) -> str:
    webs = listed(members, _MOST_NAMES)
    return f"Needs a redesign: {webs} {'is' if len(members) == 1 else 'are'} in the way."


def corner_clear(moves: Sequence[Sequence[float]]) -> str:
    """Where a corner is clear, by how far it is along x and y of the plan: It is clear 2 3/4" to the right …"""
    return f"It is clear {' or '.join(moved(right, up) for right, up in moves)} on the plan."


def on_plan(right_in: float, up_in: float) -> str:
    return f"{moved(right_in, up_in)} on the plan"


def cleared(shifts: Sequence[Sequence[Any]], way: Callable[[float, float], str] = on_plan) -> str:
    """Each of them a point of so many, its move along x and y, of an end how much longer its leg is, and out of which
    trusses. What goes along with a corner is told with it; `way` says how far and where to on the plan."""
    said: list[str] = []
    for by, those in itertools.groupby(shifts, key=lambda one: way(one[2], one[3])):
        points = list(those)
        out_of = listed(sorted({name for one in points for name in one[5]}), _MOST_NAMES)
        called = [
            f"corner {point + 1}" if 0 < point < last - 1 else f"its {'end' if point else 'beginning'}"
            for point, last, *_ in points
        ]
        longer = points[0][4]
        if len(points) == 1 and longer is not None and out_of:
            how = "farther, past" if longer > 0 else "less far, short of"
            said.append(f"{called[0]} goes {feet_inches(abs(longer))} {how} {out_of}")
        else:
            moves = f"{'moves' if len(points) == 1 else 'move'} {by}"
            said.append(f"{listed(called)} {moves}{f', out of {out_of}' if out_of else ''}")
    return "; ".join(said)


RUNS: Mapping[str, Says] = {
    "run-clear": lambda spare_in: "Passes by without touching it.",
    "run-fits": _fits,
    "run-moves": lambda right_in, up_in: f"Fits if the run moves {moved(right_in, up_in) or 'a hair'} in this truss.",
    "run-redesign": _redesign,
    "run-never-chord": lambda members: f"Never: it would cut {listed(members, _MOST_NAMES)}. A chord is never cut.",
    "run-out": "Never: it would leave the truss, and no opening reaches outside the chords.",
}
"""The answer of one crossing."""


def _spare(spare_in: float) -> str:
    return f"{feet_inches(spare_in)} to spare." if spare_in >= 1 / 32 else "Nothing to spare."


BESIDE_ITS_WORD: Mapping[str, Says] = {
    "run-clear": lambda spare_in: "It doesn't touch it.",
    "run-fits": _spare,
    "run-moves": lambda right_in, up_in: (
        f"It would fit {moved(right_in, up_in) or 'a hair off'}, as this truss's drawing shows it."
    ),
    "run-redesign": lambda members: (
        f"{listed(members, _MOST_NAMES)} {'is' if len(members) == 1 else 'are'} in the way."
    ),
    "run-never-chord": lambda members: f"It would cut {listed(members, _MOST_NAMES)}. A chord is never cut.",
    "run-out": "It would leave the truss, and no opening reaches outside the chords.",
}
"""The same beside the verdict's word."""


def _passes(sides: Sequence[Sequence[Any]]) -> str:
    """Each of them a side, the least and the most that is clear there, and which trusses: It passes above R1, copies 1
    to 8 (2'-1" clear)."""
    said = []
    for side, least, most, called in sides:
        clear = feet_inches(max(least, 0.0))
        if feet_inches(most) != clear:
            clear = f"{clear} to {feet_inches(most)}"
        said.append(f"{side} {listed(called)} ({clear} clear)")
    return f"It passes {listed(said)}."


PASSING: Mapping[str, Says] = {
    "run-passes": _passes,
    "run-meets": lambda low, high, above: (
        f"Its line meets these trusses while its middle is from {feet_inches(abs(low))}"
        f"{' below' if low < 0 <= high else ''} to {at_height(high, above)}."
    ),
    "run-no-height": "At no height does this line go through any of them without cutting a chord.",
}
"""Of what it doesn't touch: on which side it is, and at which heights it would go through."""


def above(datum: str, use: str = "") -> str:
    """What heights of a run count from, the same wherever they are told; `use` is that of the trusses."""
    return {
        "bearing": "the top of the wall plate",
        "ceiling": "the ceiling",
        "floor": "the floor on these trusses" if use == "floor" else "the attic floor",
        "storey": "the floor of the storey below",
    }[datum]


def at_height(inches: float, above: str) -> str:
    """9'-0" above the attic floor; 5" below it."""
    return f"{feet_inches(abs(inches))} {'below' if inches < 0 else 'above'} {above}"


def storey(bearing_in: float, assumed: bool) -> str:
    """How high the trusses bear above that floor, and what the floor is: nothing here knows how thick its sheathing is.
    Bearing at 8'-1 1/8" above the wood of its trusses or its slab, sheathing not counted; assumed."""
    above = "above the bare floor, its sheathing not counted"
    return f"bearing at {feet_inches(bearing_in)} {above}{'; assumed' if assumed else ''}"


def _there(beside: Sequence[str | None], path_in: float, within_in: Sequence[float]) -> str:
    """Between R1-3 and R1-4, 12'-3 1/2" along it; from 1'-0" to 26'-0" along it."""
    if within_in[1] - within_in[0] > _LONG_IN:
        return f"from {feet_inches(within_in[0])} to {feet_inches(within_in[1])} along it"
    names = sorted({name for name in beside if name}, key=list(beside).index)
    where = {0: "where no truss stands", 1: f"beside {''.join(names)}", 2: f"between {' and '.join(names)}"}[len(names)]
    if len(names) == 1 and beside[0] == beside[1]:
        where = f"in {names[0]}"
    return f"{where}, {feet_inches(path_in)} along it"


def _other(called: str, request: int, level: str) -> str:
    """With the level that it is of, where that is another one."""
    return f"{called} (request {request}{f', of {level}' if level else ''})"


def _meets_run(
    called: str,
    request: int,
    beside: Sequence[str | None],
    path_in: float,
    within_in: Sequence[float],
    by_in: float,
    level: str = "",
) -> str:
    there = f"{_other(called, request, level)}, {_there(beside, path_in, within_in)}"
    return (
        f"It comes into another run, {there}: {feet_inches(by_in)} too near there, with"
        " the clear space that both keep. One of them has to move."
    )


def _joins_run(
    called: str,
    request: int,
    beside: Sequence[str | None],
    path_in: float,
    within_in: Sequence[float],
    by_in: float,
    level: str = "",
) -> str:
    there = f"{_other(called, request, level)}, {_there(beside, path_in, within_in)}"
    return (
        f"One begins or ends in the other here: {there}. If it is no branch of it, they"
        f" are {feet_inches(by_in)} too near, and one of them has to move."
    )


def _meets_itself(beside: Sequence[str | None], path_in: float, within_in: Sequence[float], by_in: float) -> str:
    return (
        f"It comes into itself, {_there(beside, path_in, within_in)}: {feet_inches(by_in)} too near there, with the"
        " clear space on both sides. One of its pieces has to move, or goes up or down at a corner."
    )


def _shares_itself(name: str, by_in: float) -> str:
    return (
        f"Two of its openings come {feet_inches(by_in)} into each other in {name}: copies that it crosses nearly alike,"
        " or that are to be of one design, share an opening that holds all of theirs. Its pieces have to be farther"
        " apart there."
    )


def _not_compared(called: str, request: int, level: str, own: str) -> str:
    return (
        f"Not compared with another run, {_other(called, request, level)}, which it crosses or lies beside on the plan:"
        f" nobody said how high the trusses of {own} and of {level} bear, so that whether the two meet isn't known."
    )


MEETING: Mapping[str, Says] = {
    "run-not-compared": _not_compared,
    "run-meets-run": _meets_run,
    "run-joins-run": _joins_run,
    "run-meets-itself": _meets_itself,
    "run-shares-itself": _shares_itself,
}
"""Of another run that it comes into, wherever along it."""


LINES: Mapping[str, Says] = {
    "run-cleared": cleared,
    "run-no-clear-corner": lambda corner, name: (
        f"Other lines were not looked for: corner {corner} stands in {name}, and no line near was found with all of its"
        " corners and ends clear."
    ),
    "run-no-better-line": lambda sideways, sideways_in, up_in: (
        "No line asks for fewer changes: neither moved as a whole,"
        f" {f'by up to {feet_inches(sideways_in)} sideways and ' if sideways else 'by up to '}"
        f"{feet_inches(up_in)} up or down, nor with other bends between its ends."
    ),
    "run-better-lines-taken": (
        "Where fewer trusses would have to change, it would lie in what goes through trusses that are cut already."
    ),
    "run-better-lines-itself": "Where fewer trusses would have to change, it would come into itself.",
    "run-better-lines-shared": (
        "Where fewer trusses would have to change, two openings of one design would come into each other."
    ),
    "run-better-lines-beside": "Where fewer trusses would have to change, it would lie in the wood of one beside it.",
    "run-better-lines-stuck": "Where fewer trusses would have to change, it could not be asked for as it runs.",
    "run-better-lines-closed": lambda marks: (
        f"Other lines were not looked for: {listed(marks, _MOST_NAMES)} can't change any more, and no line through"
        f" {'it' if len(marks) == 1 else 'them'} can be sent."
    ),
    "run-better-lines-past": lambda marks: (
        f"Where fewer trusses would have to change, it would go through {listed(marks, _MOST_NAMES)}, and"
        f" {'that' if len(marks) == 1 else 'those'} can't change any more."
    ),
    "run-better-lines-meet": "Where fewer trusses would have to change, it would come into another run.",
    "run-bends-in-a-truss": lambda trusses: (
        f"Lines with other bends were not looked for: it begins or ends in {listed(trusses, _MOST_NAMES)}, and neither"
        " past that nor short of it is a place for it near."
    ),
    "run-bends-too-many": lambda trusses: (
        f"Lines with other bends were not looked for: among the {trusses:,} trusses that this line comes to there are"
        " too many to try. A line through part of them, or with fewer corners, may be answered."
    ),
}
"""Which better lines there are none of, or that none were looked for."""

VERDICT_WORDS = {
    "clear": "passes by",
    "fits": "fits",
    "moves": "fits if moved",
    "redesign": "needs a redesign",
    "never": "never as it runs",
}


def headline(trusses: int, *, never: int = 0, cut: int = 0, changes: int = 0) -> str:
    """What all trusses that a run crosses answer together. Of those it doesn't fit in as it runs: in how many it would
    cut a chord or leave the truss, how many are cut already, and how many others would have to change."""
    every = counted(trusses, "truss", "trusses")
    if not (never or cut or changes):
        return f"Fits through all {every} as they are" if trusses > 1 else "Fits through the one truss as it is"
    lead = f"Never as it runs, since in {never} of {every} it would cut a chord or leave the truss"
    said = [lead if never else f"{every} crossed"]
    if cut:
        said.append(f"{cut} {'is' if cut == 1 else 'are'} cut already and can't take it")
    if changes:
        said.append(f"{changes} {'more ' if never else ''}would have to change")
    return ("; " if never else ", ").join(said)
