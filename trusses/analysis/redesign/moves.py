"""Layouts of webs that keep the openings clear: a search over single steps, the least change first.

A step takes the web that is worst in the way and slides the panel point at one of its ends along its chord, aims one
or both ends elsewhere, takes it out, or frames the opening as a panel with upright webs beside it. Chords keep their
lines, bearings their places. Inches.
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import USUAL, Building, keeps_off
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import LEAST_PANEL_IN, Layout, Note, blocked, buildable, crossings, depth
from trusses.analysis.redesign.panels import framed
from trusses.analysis.redesign.places import PLACES
from trusses.analysis.redesign.rewebbed import BESIDE, rewebbed
from trusses.analysis.redesign.splices import clear_of_splices, elsewhere, splice, within_stock

Floats = NDArray[np.float64]
#: (free distance, member, index of the opening), the worst first.
Overlaps = list[tuple[float, str, int]]
_FARTHER_IN = 6.0
_REACH_IN = 72.0
_STEPS = 5


@dataclass(frozen=True, slots=True)
class Reach:
    """How widely webs are placed anew: ways followed from each pair of places, webs beside those in the way, places on
    each chord."""

    each: int = 16
    beside: int = BESIDE
    places: int = PLACES


NEAR = Reach()


def layouts(
    start: Draft,
    openings: Sequence[Opening],
    most: int,
    most_states: int,
    until: float = math.inf,
    building: Building = USUAL,
    reach: Reach = NEAR,
) -> list[Layout]:
    """Up to `most` layouts in which every opening is clear and that can be built, the least change first.

    `until` is when to stop looking, on the clock of time.monotonic.
    """
    found, clear = [Layout(start)], [opening for opening in openings if not blocked(start, [opening])]
    waiting = [opening for opening in openings if opening not in clear]
    search = Looking(start, crossings(start), building, reach, most_states, until)
    # one opening after the other: each has its own few layouts, and trying all of them together would have to try all
    for i, opening in enumerate(waiting, 1):
        clear.append(opening)
        wanted = most if i == len(waiting) else _ON_THE_WAY
        each = max(most // len(found), _ON_THE_WAY)
        if len(waiting) > 1:
            search = replace(search, reach=Reach(min(reach.each, 8), reach.beside, min(reach.places, 18)))
        unlike: dict[object, Layout] = {}
        for family, share in FAMILIES:
            if family is stepped and len(unlike) >= wanted // 4:
                continue
            those = {one.key: one for before in found for one in family(before, clear, opening, search, each)}
            best = sorted(those.values(), key=lambda one: one.cost)[: math.ceil(share * wanted)]
            unlike |= {one.key: one for one in best if one.key not in unlike}
        found = sorted(unlike.values(), key=lambda one: one.cost)[:wanted]
    return found if waiting else []


@dataclass(frozen=True)
class Looking:
    """What every family of moves looks by: today's draft and which of its webs cross, limits of building, how widely
    and how long to look."""

    start: Draft
    crossed: frozenset[frozenset[str]]
    building: Building
    reach: Reach
    states: int
    until: float

    def good(self, layout: Layout, openings: Sequence[Opening]) -> list[Layout]:
        """The layout, where it is clear and can be built; with no splice in a panel that it leaves open."""
        draft = layout.draft
        if blocked(draft, openings) or not buildable(draft, self.start, self.crossed):
            return []
        if not keeps_off(draft, self.start, openings, self.building):
            return []
        whole = _whole(layout, self.start) if layout.has_panel else [layout]
        return [one for one in whole if within_stock(one.draft, self.start, self.building.longest_piece_in)]


def anew(layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int) -> Iterator[Layout]:
    """Webs placed anew beside the opening."""
    reach = search.reach
    for found in rewebbed(
        layout, openings, search.building, most, reach.each, reach.beside, reach.places, focus=opening
    ):
        if time.monotonic() > search.until:
            return
        yield from search.good(found, openings)


def panelled(
    layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int
) -> Iterator[Layout]:
    """The opening framed by two verticals."""
    for _, web, _ in blocked(layout.draft, [opening])[:1]:
        if layout.draft.movable(web) and time.monotonic() <= search.until:
            for found in framed(layout, web, opening, search.building):
                yield from search.good(found, openings)


def stepped(
    layout: Layout, openings: Sequence[Opening], opening: Opening, search: Looking, most: int
) -> Iterator[Layout]:
    """Single steps one after the other: for trusses that are no strip, and where little was found."""
    found = _cleared([layout], search.start, openings, most, search.states, search.until)
    for one in found:
        yield from search.good(one, openings)


#: The families of moves: (a layout, the openings to be clear, the one in question, ...) -> layouts.
#: each with its share of what is wanted.
FAMILIES = ((anew, 0.85), (panelled, 0.15), (stepped, 0.5))
#: So many layouts that clear some of several openings are gone on from, and so many of each at least.
_ON_THE_WAY = 4


def _cleared(
    starts: Sequence[Layout], start: Draft, openings: Sequence[Opening], most: int, most_states: int, until: float
) -> list[Layout]:
    """Layouts with all of `openings` clear, found by steps from `starts`."""
    crossed = crossings(start)
    order = count()
    seen = {layout.key for layout in starts}
    waiting: list[tuple[tuple[float, ...], int, Layout, Overlaps]] = []

    def wait(layout: Layout) -> None:
        overlaps = blocked(layout.draft, openings)
        # each web still in the way will be touched as well: what is nearly done comes before what has hardly begun
        left = {web for _, web, _ in overlaps} - layout.touched
        changes, inches = layout.cost
        heapq.heappush(waiting, ((changes + len(left), len(overlaps), inches), next(order), layout, overlaps))

    for layout in starts:
        wait(layout)
    most_steps = _STEPS + max((len(layout.notes) for layout in starts), default=0)
    plain: list[Layout] = []
    panelled: list[Layout] = []
    for _ in range(most_states):
        if not waiting or len(plain) + len(panelled) >= most or time.monotonic() > until:
            break
        _, _, layout, overlaps = heapq.heappop(waiting)
        if not overlaps:
            into = panelled if layout.has_panel else plain
            if len(into) < most // 2 and buildable(layout.draft, start, crossed):
                into += _whole(layout, start)
            continue
        for following in _steps(layout, overlaps, openings) if len(layout.notes) < most_steps else ():
            if following.key not in seen:
                seen.add(following.key)
                wait(following)
    return [*sorted(plain, key=lambda one: one.cost), *panelled]


def _whole(layout: Layout, start: Draft) -> list[Layout]:
    """The layout with no splice in a panel that it leaves open: none where a splice has nowhere else to go."""
    found = clear_of_splices(layout.draft, start)
    if found is None:
        return []
    draft, splices = found
    notes = tuple(Note("splice", (), moved) for moved in splices)
    return [Layout(draft, (*layout.notes, *notes), layout.touched, layout.settled)]


def _steps(layout: Layout, overlaps: Overlaps, openings: Sequence[Opening]) -> Iterator[Layout]:
    _, web, which = overlaps[0]
    if not layout.draft.movable(web):
        return
    for joint in layout.draft.members[web]["joints"]:
        yield from _slides(layout, web, joint, openings)
        yield from _new_points(layout, web, joint, openings)
    yield from _aims(layout, web, openings)
    yield from _taken_out(layout, web)
    yield from _splices(layout, web)
    yield from framed(layout, web, openings[which], USUAL)


def _taken_out(layout: Layout, web: str) -> Iterator[Layout]:
    draft = layout.draft.copy()
    try:
        draft.take_out(web)
    except Illegal:
        return
    yield layout.then(draft, Note("out", (web,), {"webs": (web,)}))


def _splices(layout: Layout, web: str) -> Iterator[Layout]:
    """A splice at the end of the web moved along its chord, so that the web may be taken out."""
    draft = layout.draft
    for joint in draft.members[web]["joints"]:
        if joint in draft.hinges:
            for to in elsewhere(draft, joint, set())[:2]:
                moved = draft.copy()
                moved.move_splice(joint, to)
                yield layout.then(moved, Note("splice", (), splice(draft, joint, to)), joint)


def _slides(layout: Layout, web: str, joint: str, openings: Sequence[Opening]) -> Iterator[Layout]:
    """The panel point with all its webs moved along its chord: just clear on either side, and a little farther."""
    draft = layout.draft
    through = draft.straight_through(joint)
    webs = draft.webs_at(joint)
    if through is None or joint in layout.settled or not all(draft.movable(name) for name in webs):
        return
    x = draft.at(joint)[0]
    ends = sorted(draft.at(draft.other_end(name, joint))[0] for name in through)
    xs = _inches(x, ends[0] + LEAST_PANEL_IN, ends[1] - LEAST_PANEL_IN)
    if not len(xs):
        return
    clear = {name: _clear(draft, name, joint, xs, openings) for name in webs}
    together = np.logical_and.reduce(list(clear.values()))
    chosen = _just_clear(xs, x, together, _FARTHER_IN) | _just_clear(xs, x, clear[web], 0.0)
    for to in sorted(chosen, key=lambda to: (abs(to - x), to)):
        moved = draft.copy()
        try:
            moved.slide(joint, to)
        except Illegal:
            continue
        values = {"end": _end(draft, joint), "webs": tuple(webs), **_shift(draft, x, to)}
        yield layout.then(moved, Note("slide", tuple(webs), values), joint)


def _new_points(layout: Layout, web: str, joint: str, openings: Sequence[Opening]) -> Iterator[Layout]:
    """One end of the web alone, moved to a panel point of its own."""
    draft = layout.draft
    role = draft.chord_of(joint)
    if role is None or joint in layout.settled or len(draft.webs_at(joint)) == 1:
        return
    x = draft.at(joint)[0]
    joints = [draft.at(name)[0] for name in draft.chord_joints(role)]
    xs = _inches(x, max(joints[0], x - _REACH_IN), min(joints[-1], x + _REACH_IN))
    apart = np.abs(xs[:, None] - np.array(joints)).min(axis=1) >= LEAST_PANEL_IN
    clear = _clear(draft, web, joint, xs, openings) & apart
    for to in sorted(_just_clear(xs, x, clear, 0.0), key=lambda to: (abs(to - x), to)):
        moved = draft.copy()
        try:
            point = moved.split(role, to)
            moved.aim(web, joint, point)
        except Illegal:
            continue
        values = {"end": _end(draft, joint), "web": web, **_shift(draft, x, to)}
        yield layout.then(moved, Note("point", (web,), values), point)


def _aims(layout: Layout, web: str, openings: Sequence[Opening]) -> Iterator[Layout]:
    """One or both ends of the web aimed at neighbouring panel points."""
    draft = layout.draft
    first, second = draft.members[web]["joints"]
    for a in _neighbours(draft, first, 2):
        for b in _neighbours(draft, second, 2):
            if (a, b) == (first, second) or (
                a != first and b != second and not _beside(draft, (first, a), (second, b))
            ):
                continue
            line = np.array([[draft.at(a), draft.at(b)]])
            deep = np.array([depth(draft, web)])
            if a == b or any(spares(line, deep, opening)[0] < -TOUCH_IN for opening in openings):
                continue
            moved = draft.copy()
            try:
                if a != first:
                    moved.aim(web, first, a)
                if b != second:
                    moved.aim(web, second, b)
            except Illegal:
                continue
            yield layout.then(moved, _aimed(draft, web, (first, a), (second, b)))


def _beside(draft: Draft, one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Both ends moved by one panel point only: the web goes to the panel beside, or lies the other way across."""
    return all(b in _neighbours(draft, a, 1) for a, b in (one, other))


def _aimed(draft: Draft, web: str, one: tuple[str, str], other: tuple[str, str]) -> Note:
    moved = [pair for pair in (one, other) if pair[0] != pair[1]]
    if len(moved) == 2:
        return Note("swap", (web,), {"web": web, "joints": (one[1], other[1])})
    (old, new) = moved[0]
    return Note("aim", (web,), {"end": _end(draft, old), "web": web, "joint": new})


def _neighbours(draft: Draft, joint: str, reach: int) -> list[str]:
    role = draft.chord_of(joint)
    roles = [role] if role else ["top_chord", "bottom_chord"]
    out = [joint]
    for one in roles:
        joints = draft.chord_joints(one)
        if joint in joints:
            at = joints.index(joint)
            out += [name for name in joints[max(at - reach, 0) : at + reach + 1] if name not in out]
    return out


def _inches(x: float, low: float, high: float) -> Floats:
    """Places a whole number of inches from x, within bounds."""
    steps = np.arange(np.ceil(low - x - 1e-9), np.floor(high - x + 1e-9) + 1)
    return x + steps[steps != 0]


def _clear(draft: Draft, web: str, joint: str, xs: Floats, openings: Sequence[Opening]) -> NDArray[np.bool_]:
    """Whether a web clears every opening with its end at `joint` moved along the chord to each x."""
    role = draft.chord_of(joint)
    if role is None:
        return np.zeros(len(xs), dtype=bool)
    chord = np.array([draft.at(name) for name in draft.chord_joints(role)])
    lines = np.empty((len(xs), 2, 2))
    lines[:, 0] = draft.at(draft.other_end(web, joint))
    lines[:, 1, 0], lines[:, 1, 1] = xs, np.interp(xs, chord[:, 0], chord[:, 1])
    proper = np.hypot(*(lines[:, 1] - lines[:, 0]).T) > LEAST_PANEL_IN
    out = proper.copy()
    for opening in openings:
        out[proper] &= spares(lines[proper], np.full(int(proper.sum()), depth(draft, web)), opening) >= -TOUCH_IN
    return out


def _just_clear(xs: Floats, x: float, clear: NDArray[np.bool_], farther: float) -> set[float]:
    """The nearest clear place on either side of x, and, where wanted, the next one at least so much farther."""
    out: set[float] = set()
    for side in (xs[clear & (xs < x)][::-1], xs[clear & (xs > x)]):
        if len(side):
            out.add(float(side[0]))
            beyond = side[np.abs(side - side[0]) >= farther] if farther else side[:0]
            out |= {float(beyond[0])} if len(beyond) else set()
    return out


def _end(draft: Draft, joint: str) -> str:
    return "head" if draft.chord_of(joint) == "top_chord" else "foot"


def _shift(draft: Draft, x: float, to: float) -> dict[str, Any]:
    """How far, and which way: toward the nearer bearing, or toward the middle of the span."""
    bearings = [draft.at(joint)[0] for joint in draft.bearings]
    middle = (min(bearings) + max(bearings)) / 2
    away = (to > x) == (x > middle) if abs(x - middle) > 1e-6 else True
    side = "left" if to < middle else "right"
    return {"shift_in": abs(to - x), "toward": side if away else "middle"}
