"""What a layout of webs must hold before it is worth computing: clear of the openings, buildable, nothing crossing.

Inches. These are rules of geometry; strength is another matter and is computed for each.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Member, Opening
from trusses.analysis.format.shared_wood import Clash, clashes, depth_of
from trusses.analysis.redesign.draft import Draft

Floats = NDArray[np.float64]
#: A web meets a chord at no less than this, and another web at one joint at no less than the second, degrees.
FLATTEST = 15.0
TIGHTEST = 10.0
#: Panel points stand at least this far apart along a chord, inches, so that plates have room.
LEAST_PANEL_IN = 6.0


@dataclass(frozen=True, slots=True)
class Note:
    """One step of a layout: its kind, the webs it touches, and the values that `words.options` says it with. Values of
    lengths end in `_in`, and are inches."""

    kind: str
    webs: tuple[str, ...]
    values: Mapping[str, Any]

    @property
    def shift_in(self) -> float:
        """How far it moves something along a chord."""
        return float(self.values.get("shift_in", 0.0))

    @property
    def alike(self) -> tuple[object, ...]:
        """The same for steps that differ by inches only."""
        return self.kind, *((name, value) for name, value in self.values.items() if not name.endswith("_in"))


@dataclass(frozen=True, slots=True)
class Layout:
    """A draft with the steps that led to it. `settled` panel points were placed by a step and stay where they are;
    `cost` orders the search (webs touched, then inches moved)."""

    draft: Draft
    notes: tuple[Note, ...] = ()
    touched: frozenset[str] = frozenset()
    settled: frozenset[str] = frozenset()

    @property
    def cost(self) -> tuple[float, float]:
        return len(self.touched) + 0.01 * len(self.notes), sum(note.shift_in for note in self.notes)

    @property
    def has_panel(self) -> bool:
        return any(note.kind in ("panel", "open") for note in self.notes)

    def then(self, draft: Draft, note: Note, *settled: str) -> Layout:
        return Layout(draft, (*self.notes, note), self.touched | set(note.webs), self.settled | set(settled))

    @property
    def key(self) -> tuple[tuple[str, float, float, float, float], ...]:
        """The same for layouts with the same wood in the same places."""
        rows = [("hinge", *self.draft.at(joint), 0.0, 0.0) for joint in self.draft.hinges]
        for member in self.draft.members.values():
            (ax, ay), (bx, by) = sorted(self.draft.at(joint) for joint in member["joints"])
            rows.append((member["role"], round(ax, 3), round(ay, 3), round(bx, 3), round(by, 3)))
        return tuple(sorted(rows))


def depth(draft: Draft, member: str) -> float:
    piece = draft.members[member]
    return depth_of(piece["lumber"], piece.get("flat", False))


def blocked(draft: Draft, openings: Sequence[Opening]) -> list[tuple[float, str, int]]:
    """(free distance, member, index of the opening) for each overlap, the worst first."""
    names = list(draft.members)
    lines = np.array([draft.ends(name) for name in names])
    depths = np.array([depth(draft, name) for name in names])
    out = []
    for i, opening in enumerate(openings):
        free = spares(lines, depths, opening)
        out += [(float(free[j]), names[j], i) for j in np.flatnonzero(free < -TOUCH_IN)]
    return sorted(out)


def crossings(draft: Draft) -> frozenset[frozenset[str]]:
    """Pairs of members whose centrelines cross or touch away from a joint that they share."""
    names = list(draft.members)
    lines = np.array([draft.ends(name) for name in names])
    ends = [set(draft.members[name]["joints"]) for name in names]
    a, d = lines[:, 0], lines[:, 1] - lines[:, 0]
    cross = d[:, None, 0] * d[None, :, 1] - d[:, None, 1] * d[None, :, 0]
    gap = a[None] - a[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        s = (gap[..., 0] * d[None, :, 1] - gap[..., 1] * d[None, :, 0]) / cross
        t = (gap[..., 0] * d[:, None, 1] - gap[..., 1] * d[:, None, 0]) / cross
    edge = 1e-6
    meet = np.isfinite(s) & np.isfinite(t) & (s > -edge) & (s < 1 + edge) & (t > -edge) & (t < 1 + edge)
    pairs = np.argwhere(np.triu(meet, 1))
    return frozenset(frozenset((names[i], names[j])) for i, j in pairs if not ends[i] & ends[j])


def buildable(draft: Draft, before: Draft, crossed: frozenset[frozenset[str]]) -> bool:
    """Whether webs that are new or moved stand steep enough, or as steep as before, panel points apart,
    nothing crosses that didn't, and no two pieces would need the same wood."""
    known = {name for name in before.members if name in draft.members and before.ends(name) == draft.ends(name)}
    for name in draft.members.keys() - known:
        if draft.role(name) != "web" and draft.length(name) < LEAST_PANEL_IN and not _was_as_short(name, draft, before):
            return False
        if draft.role(name) == "web" and not _steep(draft, name, before):
            return False
    return crossings(draft) <= crossed and not draft_clashes(draft)


def draft_clashes(draft: Draft) -> tuple[Clash, ...]:
    """What a document of the draft would be refused for."""
    members = [
        Member(
            name,
            member["role"],
            (member["joints"][0], member["joints"][1]),
            member["lumber"],
            member.get("flat", False),
        )
        for name, member in draft.members.items()
    ]
    xy = np.array([draft.at(name) for name in draft.joints]).T
    return clashes(tuple(members), tuple(draft.joints), xy)


def _was_as_short(name: str, draft: Draft, before: Draft) -> bool:
    return name in before.members and before.length(name) <= draft.length(name)


def _flattest(draft: Draft, web: str) -> float:
    """The least angle of a web with a chord, degrees; a hair less, for rounding."""
    angles = [
        _angle(draft, joint, web, other)
        for joint in draft.members[web]["joints"]
        for other in draft.meeting(joint)
        if draft.role(other) != "web"
    ]
    return min(angles, default=FLATTEST) - 1e-6


def _steep(draft: Draft, web: str, before: Draft) -> bool:
    flattest = min(FLATTEST, _flattest(before, web)) if web in before.members else FLATTEST
    for joint in draft.members[web]["joints"]:
        for other in draft.meeting(joint):
            if other != web:
                least = TIGHTEST if draft.role(other) == "web" else flattest
                if _angle(draft, joint, web, other) < least:
                    return False
    return True


def _angle(draft: Draft, joint: str, one: str, other: str) -> float:
    """Degrees between two members at a joint."""
    x, y = draft.at(joint)
    (ax, ay), (bx, by) = (draft.at(draft.other_end(name, joint)) for name in (one, other))
    ux, uy, vx, vy = ax - x, ay - y, bx - x, by - y
    return math.degrees(abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)))


def faces(draft: Draft) -> list[list[str]]:
    """The corners of each space that members close off, as joints in order; joints on a straight side left out."""
    place = {(round(x, 5), round(y, 5)): name for name in draft.joints for x, y in [draft.at(name)]}
    lines = shapely.linestrings([draft.ends(name) for name in draft.members])
    out = []
    for face in shapely.polygonize([shapely.union_all(lines)]).geoms:
        ring = [place.get((round(x, 5), round(y, 5))) for x, y in face.exterior.coords[:-1]]
        corners = [name for name in ring if name is not None]
        if len(corners) == len(ring):
            out.append(_corners(draft, corners))
    return out


def _corners(draft: Draft, ring: list[str]) -> list[str]:
    kept = []
    for i, name in enumerate(ring):
        (ax, ay), (x, y), (bx, by) = draft.at(ring[i - 1]), draft.at(name), draft.at(ring[(i + 1) % len(ring)])
        area = (x - ax) * (by - y) - (y - ay) * (bx - x)
        if abs(area) > 1e-3 * math.dist((ax, ay), (x, y)) * math.dist((x, y), (bx, by)):
            kept.append(name)
    return kept


def diagonals(draft: Draft, corners: list[str]) -> list[tuple[tuple[str, str], ...]]:
    """Ways to make a face of four or five corners into triangles with webs from chord to chord, the shortest first."""
    size = len(corners)
    if size < 4 or size > 5:
        return []
    spans = [(i, j) for i, j in combinations(range(size), 2) if 1 < j - i < size - 1]
    ways = []
    for chosen in combinations(spans, size - 3):
        if any(_cross(one, other) for one, other in combinations(chosen, 2)):
            continue
        pairs = tuple((corners[i], corners[j]) for i, j in chosen)
        if all(_from_chord_to_chord(draft, a, b) and not draft.joined(a, b) for a, b in pairs):
            ways.append(pairs)
    return sorted(ways, key=lambda pairs: sum(math.dist(draft.at(a), draft.at(b)) for a, b in pairs))


def _cross(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[0] < one[1] < other[1] or other[0] < one[0] < other[1] < one[1]


def _from_chord_to_chord(draft: Draft, a: str, b: str) -> bool:
    """A web may start where both chords meet, but never run between two joints of one chord alone."""
    one, other = ({draft.role(name) for name in draft.meeting(joint)} - {"web"} for joint in (a, b))
    return bool(one) and bool(other) and (one != other or len(one) > 1)
