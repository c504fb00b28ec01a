"""A truss document given to CALFEM for Python, a finite-element toolbox for teaching, and its answers in our signs.

Every member is cut where a load of any case begins, ends or stands, so that its beam elements under uniform loads are
exact. Member ends that don't run on have rotations of their own. A load on the very end of a member is given to the
joint there, and so is none of what the element beside it reports.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from calfem.core import assem, beam2e, beam2s, solveq

from tests.oracle_document import Said

#: Places along a member closer than this, inches, are one.
_ONE_PLACE = 1e-7


@dataclass(frozen=True)
class _Cut:
    """A member's k + 1 places from its first joint, inches, and the unknowns u, v, turn at each (k + 1, 3), from 1."""

    places: np.ndarray
    unknowns: np.ndarray

    def of_piece(self, k: int) -> np.ndarray:
        return self.unknowns[k : k + 2].ravel()


class Oracle(Said):
    """One document's model in CALFEM; `solve` it, then ask by case."""

    def __init__(self, document: dict[str, Any]) -> None:
        super().__init__(document)
        self._joint = {name: 2 * i + np.array([1, 2]) for i, name in enumerate(self.at)}
        self._count = 2 * len(self.at)
        turns: dict[tuple[str, str], int] = {key: self._new() for key in sorted(self.runs_on())}
        self.cuts = {name: self._cut(name, turns) for name in self.members}
        self._elements = {name: self._its_elements(name) for name in self.members}
        self._uniform = {(case, name): self._its_uniform(case, name) for case in self.cases for name in self.members}
        self._solved: dict[str, tuple[np.ndarray, np.ndarray]] = {}

    def solve(self) -> Oracle:
        stiffness = np.zeros((self._count, self._count))
        for name, cut in self.cuts.items():
            for k, element in enumerate(self._elements[name]):
                assem(cut.of_piece(k), stiffness, beam2e(*element))
        held = {
            self._joint[joint][way] - 1
            for joint, restrains in self.bearings.items()
            for way, direction in enumerate("xy")
            if direction in restrains
        }
        free = [unknown for unknown in range(self._count) if unknown not in held]
        force = np.concatenate([self._force(case) for case in self.cases], axis=1)
        moved = np.zeros_like(force)
        moved[free] = solveq(stiffness[np.ix_(free, free)], force[free])
        brought = stiffness @ moved - force
        self._solved = {case: (moved[:, i], brought[:, i]) for i, case in enumerate(self.cases)}
        return self

    def displacements(self, case: str) -> np.ndarray:
        return self._solved[case][0][np.array(list(self._joint.values())) - 1]

    def reactions(self, case: str) -> np.ndarray:
        at_bearings = np.array([self._joint[joint] for joint in self.bearings])
        return self._solved[case][1][at_bearings - 1]

    def end_forces(self, case: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Axial, shear and moment at both ends of every member, (m, 2) each, signed as a truss document says."""
        out = np.zeros((3, len(self.members), 2))
        for i, name in enumerate(self.members):
            sections = self._sections(case, name)
            for end, sign, (axial, shear, moment) in ((0, 1, sections[0, 0]), (1, -1, sections[-1, 1])):
                out[:, i, end] = axial, sign * shear, moment
        return out[0], out[1], out[2]

    def peaks(self, case: str) -> np.ndarray:
        """The lowest and the highest sagging moment of every member, (m, 2)."""
        out = []
        for name, cut in self.cuts.items():
            sections = self._sections(case, name)
            moments = [*sections[:, :, 2].ravel()]
            for length, ((_, before, moment), (_, after, _)) in zip(np.diff(cut.places), sections, strict=True):
                if before * after < 0:
                    # shear runs straight in a piece: it is gone here, and moment has grown by the triangle before it
                    moments.append(moment + before * length * before / (before - after) / 2)
            out.append((min(moments), max(moments)))
        return np.array(out)

    def moved(self, case: str, name: str) -> np.ndarray:
        """How far the places of a member move, right and up, (k + 1, 2)."""
        return self._solved[case][0][self.cuts[name].unknowns[:, :2] - 1]

    def _new(self) -> int:
        self._count += 1
        return self._count

    def _cut(self, name: str, turns: dict[tuple[str, str], int]) -> _Cut:
        """Cut where loads of any case change, or in the middle where none does."""
        length, member = self.length(name), self.members[name]
        found = {place for case in self.cases for strip in self.strips(case, name) for place in strip[:2]}
        found |= {place for case in self.cases for place, _ in self.stands(case, name)}
        places = [0.0]
        for place in sorted(found):
            if places[-1] + _ONE_PLACE < place < length - _ONE_PLACE:
                places.append(place)
        places += [length / 2, length] if len(places) == 1 else [length]
        first, second = member["joints"]
        ends = [[*self._joint[joint], turns.get((joint, member["role"])) or self._new()] for joint in (first, second)]
        inner = [[self._new(), self._new(), self._new()] for _ in places[1:-1]]
        return _Cut(np.array(places), np.array([ends[0], *inner, ends[1]]))

    def _its_elements(self, name: str) -> list[tuple[np.ndarray, np.ndarray, tuple[float, float, float]]]:
        x, y = (self.ends(name)[0] + self.cuts[name].places[:, None] * self.directions(name)[0]).T
        return [(x[k : k + 2], y[k : k + 2], self.stiffness(name)) for k in range(len(x) - 1)]

    def _its_uniform(self, case: str, name: str) -> np.ndarray:
        """lb/in along each piece and square to it, counterclockwise, (k, 2)."""
        along, places = self.directions(name)[0], self.cuts[name].places
        middle, out = (places[:-1] + places[1:]) / 2, np.zeros((len(places) - 1, 2))
        for start, end, push in self.strips(case, name):
            out[(start < middle) & (middle < end)] += (push @ along, push @ (-along[1], along[0]))
        return out

    def _force(self, case: str) -> np.ndarray:
        force = np.zeros((self._count, 1))
        for joint, push in self.at_joints(case):
            force[self._joint[joint] - 1, 0] += push
        for name, cut in self.cuts.items():
            for k, (element, uniform) in enumerate(zip(self._elements[name], self._uniform[case, name], strict=True)):
                if uniform.any():
                    force[cut.of_piece(k) - 1] += beam2e(*element, uniform)[1]
            for place, push in self.stands(case, name):
                node = np.abs(cut.places - place).argmin()
                force[cut.unknowns[node, :2] - 1, 0] += push
        return force

    @cache  # noqa: B019
    def _sections(self, case: str, name: str) -> np.ndarray:
        """N, dM/ds and M, sagging, at both ends of every piece, (k, 2, 3)."""
        along, upper = self.directions(name)
        turn = along[0] * upper[1] - along[1] * upper[0]
        moved, cut = self._solved[case][0], self.cuts[name]
        sections = [
            beam2s(*element, moved[cut.of_piece(k) - 1], uniform)
            for k, (element, uniform) in enumerate(zip(self._elements[name], self._uniform[case, name], strict=True))
        ]
        # its shear is minus dM/ds
        return np.array(sections) * (1.0, -turn, turn)
