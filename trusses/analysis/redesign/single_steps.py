"""Single steps that take a web out of an opening's way: its panel point slides, it is aimed elsewhere, taken out, or
the opening is framed. What is moved keeps the limits of building from the first step on. Inches.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import Building, apart, grown
from trusses.analysis.redesign.draft import Draft, Illegal
from trusses.analysis.redesign.layouts import LEAST_PANEL_IN, Layout, Note, depth
from trusses.analysis.redesign.panels import framed
from trusses.analysis.redesign.splices import elsewhere, splice

Floats = NDArray[np.float64]
#: (free distance, member, index of the opening), the worst first.
Overlaps = list[tuple[float, str, int]]
_FARTHER_IN = 6.0
_REACH_IN = 72.0


def single_steps(
    layout: Layout, overlaps: Overlaps, openings: Sequence[Opening], building: Building
) -> Iterator[Layout]:
    """From a layout to those that take the web which is worst in the way out of it."""
    _, web, which = overlaps[0]
    if not layout.draft.movable(web):
        return
    for joint in layout.draft.members[web]["joints"]:
        yield from _slides(layout, web, joint, openings, building)
        yield from _new_points(layout, web, joint, openings, building)
    yield from _aims(layout, web, openings, building)
    yield from _taken_out(layout, web)
    yield from _splices(layout, web, building)
    yield from framed(layout, web, openings[which], building)


def _taken_out(layout: Layout, web: str) -> Iterator[Layout]:
    draft = layout.draft.copy()
    try:
        draft.take_out(web)
    except Illegal:
        return
    yield layout.then(draft, Note("out", (web,), {"webs": (web,)}))


def _splices(layout: Layout, web: str, building: Building) -> Iterator[Layout]:
    """A splice at the end of the web moved along its chord, so that the web may be taken out."""
    draft = layout.draft
    for joint in draft.members[web]["joints"]:
        if joint in draft.hinges:
            for to in elsewhere(draft, joint, set(), building.longest_piece_in)[:2]:
                moved = draft.copy()
                moved.move_splice(joint, to)
                yield layout.then(moved, Note("splice", (), splice(draft, joint, to)), joint)


def _slides(layout: Layout, web: str, joint: str, openings: Sequence[Opening], building: Building) -> Iterator[Layout]:
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
    clear = {name: _clear(draft, name, joint, xs, openings, building) for name in webs}
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


def _new_points(
    layout: Layout, web: str, joint: str, openings: Sequence[Opening], building: Building
) -> Iterator[Layout]:
    """One end of the web alone, moved to a panel point of its own."""
    draft = layout.draft
    role = draft.chord_of(joint)
    if role is None or joint in layout.settled or len(draft.webs_at(joint)) == 1:
        return
    x = draft.at(joint)[0]
    joints = [draft.at(name)[0] for name in draft.chord_joints(role)]
    xs = _inches(x, max(joints[0], x - _REACH_IN), min(joints[-1], x + _REACH_IN))
    far = np.abs(xs[:, None] - np.array(joints)).min(axis=1) >= LEAST_PANEL_IN
    clear = _clear(draft, web, joint, xs, openings, building) & far
    for to in sorted(_just_clear(xs, x, clear, 0.0), key=lambda to: (abs(to - x), to)):
        moved = draft.copy()
        try:
            point = moved.split(role, to)
            moved.aim(web, joint, point)
        except Illegal:
            continue
        values = {"end": _end(draft, joint), "web": web, **_shift(draft, x, to)}
        yield layout.then(moved, Note("point", (web,), values), point)


def _aims(layout: Layout, web: str, openings: Sequence[Opening], building: Building) -> Iterator[Layout]:
    """One or both ends of the web aimed at neighbouring panel points."""
    draft, kept_off = layout.draft, [grown(opening, building.tolerance_in) for opening in openings]
    first, second = draft.members[web]["joints"]
    for a in _neighbours(draft, first, 2):
        for b in _neighbours(draft, second, 2):
            if (a, b) == (first, second) or (
                a != first and b != second and not _beside(draft, (first, a), (second, b))
            ):
                continue
            line = np.array([[draft.at(a), draft.at(b)]])
            deep = np.array([depth(draft, web)])
            if a == b or any(spares(line, deep, opening)[0] < -TOUCH_IN for opening in kept_off):
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


def _clear(
    draft: Draft, web: str, joint: str, xs: Floats, openings: Sequence[Opening], building: Building
) -> NDArray[np.bool_]:
    """Whether a web clears every opening with its end at `joint` moved along the chord to each x: by as much as what
    is moved must, and with the panel point as far away."""
    role = draft.chord_of(joint)
    if role is None:
        return np.zeros(len(xs), dtype=bool)
    chord = np.array([draft.at(name) for name in draft.chord_joints(role)])
    lines = np.empty((len(xs), 2, 2))
    lines[:, 0] = draft.at(draft.other_end(web, joint))
    lines[:, 1, 0], lines[:, 1, 1] = xs, np.interp(xs, chord[:, 0], chord[:, 1])
    proper = np.hypot(*(lines[:, 1] - lines[:, 0]).T) > LEAST_PANEL_IN
    out = proper & (apart(openings, lines[:, 1]) >= building.from_joints_in - TOUCH_IN)
    for opening in (grown(each, building.tolerance_in) for each in openings):
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
