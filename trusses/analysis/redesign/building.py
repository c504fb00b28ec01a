"""What a job builds with, and how near to the numbers: limits that every option keeps, and names. Inches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from trusses.analysis.clearance.free_space import TOUCH_IN, spares
from trusses.analysis.format.model import Opening
from trusses.analysis.format.shared_wood import depth_of
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.words.phrases import Coded, coded

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rates:
    """What a job's shop charges for a board foot of lumber, a piece cut, a joint pressed in each ply."""

    board_foot: float = 0.0
    piece: float = 0.0
    joint: float = 0.0

    def of(self, board_feet: float, pieces: int, joints: int) -> float:
        return self.board_foot * board_feet + self.piece * pieces + self.joint * joints


@dataclass(frozen=True, slots=True)
class Building:
    """The first values are common practice, not a standard's.

    `tolerance_in` is how far a web may stand beside its place: what is moved or new keeps so much more than its
    clearance from every opening. `from_joints_in` is what an opening, its clearance left aside, keeps from each panel
    point, where plates stand. No piece of a chord is longer than `longest_piece_in` unless it is so today. `lumber` are
    the keys that the job has in stock, None for all of the table; what is there today may stay. With `rates` what costs
    less is offered before what has fewer pieces.
    """

    tolerance_in: float = 0.25
    from_joints_in: float = 4.0
    longest_piece_in: float = 240.0
    lumber: frozenset[str] | None = None
    rates: Rates | None = None

    def stocks(self, key: str) -> bool:
        return self.lumber is None or key in self.lumber

    @property
    def told(self) -> Coded:
        """The limits, as an answer names them."""
        sizes = {"tolerance_in": self.tolerance_in, "from_joints_in": self.from_joints_in}
        stock = None if self.lumber is None else len(self.lumber)
        return coded("building", **sizes, longest_piece_in=self.longest_piece_in, stock=stock)


USUAL = Building()


def apart(openings: Sequence[Opening], places: Floats) -> Floats:
    """(n,): how far places (n, 2) are from the nearest opening, its clearance left aside; 0 in it."""
    out = np.full(len(places), np.inf)
    for opening in openings:
        off = np.abs(places - np.asarray(opening.centre))
        if opening.shape == "circle":
            free = np.hypot(*off.T) - opening.size[0] / 2
        else:
            free = np.hypot(*np.maximum(off - np.asarray(opening.size) / 2, 0.0).T)
        out = np.minimum(out, np.maximum(free, 0.0))
    return out


def grown(opening: Opening, by: float) -> Opening:
    return replace(opening, clearance_in=opening.clearance_in + by)


def _panel_points(draft: Draft) -> Floats:
    """(n, 2) in inches: where webs meet chords."""
    return np.array([draft.at(joint) for joint in draft.joints if draft.webs_at(joint)]).reshape(-1, 2)


def _nearer(opening: Opening, points: Floats, than_in: float) -> NDArray[np.bool_]:
    return apart([opening], points) < than_in - TOUCH_IN


def _wood(draft: Draft, names: Sequence[str]) -> tuple[Floats, Floats]:
    """(n, 2, 2) ends and (n,) depths of members, inches."""
    members = [draft.members[name] for name in names]
    depths = [depth_of(member["lumber"], member.get("flat", False)) for member in members]
    return np.array([draft.ends(name) for name in names]), np.array(depths)


def _clear(draft: Draft, opening: Opening) -> bool:
    return bool(spares(*_wood(draft, list(draft.members)), opening).min() >= -TOUCH_IN)


def keeps_off(draft: Draft, before: Draft, openings: Sequence[Opening], building: Building) -> bool:
    """Whether webs that are new or moved keep the tolerance from the openings, and the openings keep from the panel
    points where webs meet chords. One that is clear today beside a panel point may stay beside that one."""
    points = _panel_points(draft)
    near = [one for one in openings if _nearer(one, points, building.from_joints_in).any()]
    if near:
        today = {tuple(point) for point in _panel_points(before).round(3)}
        for opening in near:
            those = points[_nearer(opening, points, building.from_joints_in)]
            if not all(tuple(point) in today for point in those.round(3)) or not _clear(before, opening):
                return False
    new = [web for web in draft.webs() if web not in before.members or draft.ends(web) != before.ends(web)]
    if not new:
        return True
    lines, depths = _wood(draft, new)
    return all(spares(lines, depths, grown(opening, building.tolerance_in)).min() >= -TOUCH_IN for opening in openings)
