"""An atlas: redesigns of one truss that were shown to pass, and which openings each of them promises. Inches.

A promise is geometry over proofs: every truss of the atlas, a `Way`, came out of the search and passed every check.
An opening is promised where some way's wood leaves it clear, with the limits of building that an option keeps. So an
opening within a promised one is promised too, and a place that no way was found for says nothing.

A promise is no verdict: other copies, carriers and what is asked meanwhile are not looked at. The search has the word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, Space, depths, grown, margin, sides, signed_distance
from trusses.analysis.clearance.openings import fit
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.redesign.building import USUAL, Building, apart
from trusses.analysis.redesign.search import Candidate
from trusses.analysis.words.phrases import Coded, coded

Floats = NDArray[np.float64]
How = Literal["moved", "out", "changed"]
#: Changes when what is written does, or what the search would find: an older atlas is made anew.
VERSION = 1
#: Lines are written to so many places, far finer than wood may be touched.
_DIGITS = 8
_MOVES = {"slide", "point", "aim", "swap"}


@dataclass(frozen=True, eq=False)
class Way:
    """A redesign that passed: its members' centrelines (n, 2, 2), depths (n,) and which of them are new or moved (n,),
    the panel points where webs meet (m, 2). `webs` are touched, by being `how`; `stronger` says that lumber or
    restraint changes, `plies` how many more there are; `members` is what options are sorted by."""

    members: int
    webs: int
    how: How
    stronger: bool
    plies: int
    lines: Floats
    depths: Floats
    moved: NDArray[np.bool_]
    points: Floats

    @classmethod
    def of(cls, option: Candidate) -> Way:
        truss, change = option.analysis.truss, option.change
        before = {web.id: _ends(option.today, web.id) for web in option.today.members if not web.is_chord}
        now = {member.id: _ends(truss, member.id) for member in truss.members}
        webs = [member.id for member in truss.members if not member.is_chord]
        new = [not member.is_chord and before.get(member.id) != now[member.id] for member in truss.members]
        at = {joint for member in truss.members if not member.is_chord for joint in member.joints}
        kinds = {note.kind for note in change.notes}
        how: How = "moved" if kinds <= _MOVES else "out" if kinds == {"out"} else "changed"
        return cls(
            members=change.size[0],
            webs=len([name for name in change.touched if name in before or name in webs]),
            how=how,
            stronger=bool(change.lumber or change.rows or change.held),
            plies=change.plies,
            lines=np.array([now[member.id] for member in truss.members]),
            depths=depths(truss),
            moved=np.array(new),
            points=np.array([(truss.joint(name).x, truss.joint(name).y) for name in sorted(at)]),
        )

    @property
    def told(self) -> Coded:
        how = {"webs": self.webs, "how": self.how, "stronger": self.stronger, "plies": self.plies}
        return coded("likely", **how)

    def serves(self, opening: Opening, building: Building = USUAL) -> bool:
        """Whether this truss leaves the opening clear as an option would have to."""
        return bool(self.served(opening, np.array([opening.centre]), building)[0])

    def served(self, opening: Opening, centres: Floats, building: Building = USUAL) -> NDArray[np.bool_]:
        """(k,): the same for openings of one size at each of `centres` (k, 2)."""
        # moving the opening is moving the wood the other way
        off = np.asarray(opening.centre) - centres
        lines = (self.lines[None] + off[:, None, None]).reshape(-1, 2, 2)
        free = signed_distance(sides(grown(lines, np.tile(self.depths, len(off)), opening)), np.asarray(opening.centre))
        keeps = margin(opening) - TOUCH_IN + np.where(self.moved, building.tolerance_in, 0.0)
        clear: NDArray[np.bool_] = np.asarray((free.reshape(len(off), -1) >= keeps).all(axis=1))
        if not clear.any() or not len(self.points):
            return clear
        near = apart([opening], (self.points[None] + off[clear][:, None]).reshape(-1, 2)).reshape(int(clear.sum()), -1)
        clear[clear] = near.min(axis=1) >= building.from_joints_in - TOUCH_IN
        return clear

    @cached_property
    def written(self) -> dict[str, Any]:
        wood = np.column_stack([self.lines.reshape(-1, 4), self.depths, self.moved])
        return {
            "members": self.members,
            "webs": self.webs,
            "how": self.how,
            "stronger": self.stronger,
            "plies": self.plies,
            "wood": wood.round(_DIGITS).tolist(),
            "points": self.points.round(_DIGITS).tolist(),
        }

    @classmethod
    def read(cls, value: Mapping[str, Any]) -> Way:
        wood = np.array(value["wood"], dtype=np.float64).reshape(-1, 6)
        return cls(
            value["members"],
            value["webs"],
            value["how"],
            value["stronger"],
            value["plies"],
            wood[:, :4].reshape(-1, 2, 2),
            wood[:, 4],
            wood[:, 5] > 0,
            np.array(value["points"], dtype=np.float64).reshape(-1, 2),
        )


@dataclass(frozen=True)
class Atlas:
    """The ways of one truss, and how far the survey of it is: `asked` are the cells that the search was asked about,
    each with whether it found something; `done` that there is nothing left to ask."""

    ways: tuple[Way, ...] = ()
    asked: tuple[tuple[int, bool], ...] = ()
    done: bool = False

    @property
    def written(self) -> dict[str, Any]:
        """As JSON has it."""
        return {
            "version": VERSION,
            "ways": [way.written for way in self.ways],
            "asked": [[cell, int(found)] for cell, found in self.asked],
            "done": self.done,
        }

    @classmethod
    def read(cls, value: Mapping[str, Any]) -> Atlas:
        """What was written; an empty atlas for what another version wrote."""
        if value.get("version") != VERSION:
            return cls()
        asked = tuple((int(cell), bool(found)) for cell, found in value["asked"])
        return cls(tuple(map(Way.read, value["ways"])), asked, value["done"])

    def promise(self, room: Space, opening: Opening, building: Building = USUAL) -> Way | None:
        """The way of the least change that would leave `opening` clear; None where today's truss (`room`) does, where
        a chord or the outside stands in the way, or where none was found."""
        today = fit(room, opening)
        if today.fits or today.never:
            return None
        return next((way for way in sorted(self.ways, key=size) if way.serves(opening, building)), None)


def size(way: Way) -> tuple[int, int, bool]:
    """For sorting, the least change first."""
    return way.members, way.plies, way.stronger


def _ends(truss: Truss, member: str) -> tuple[tuple[float, float], ...]:
    one = next(each for each in truss.members if each.id == member)
    return tuple(sorted((joint.x, joint.y) for joint in truss.ends(one)))
