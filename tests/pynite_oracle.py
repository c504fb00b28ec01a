"""A truss document given to PyNite (PyNiteFEA), a general-purpose frame library, and its answers in our signs."""

from __future__ import annotations

from typing import Any

import numpy as np
from Pynite import FEModel3D

from tests.oracle_document import Said

#: Out of the plane nothing acts; any number will do.
_ANY = 10.0


class Oracle(Said):
    """One document's model in PyNite; `solve` it, then ask by case."""

    def __init__(self, document: dict[str, Any]) -> None:
        super().__init__(document)
        self.model = FEModel3D()
        self._build()
        for case in self.cases:
            self.model.add_load_combo(case, {case: 1.0})
            for name in self.members:
                self._load(case, name)
            for joint, push in self.at_joints(case):
                for direction, force in zip(("FX", "FY"), push, strict=True):
                    self.model.add_node_load(joint, direction, force, case)

    def solve(self) -> Oracle:
        self.model.analyze_linear(check_stability=False, sparse=False)
        return self

    def displacements(self, case: str) -> np.ndarray:
        nodes = [self.model.nodes[name] for name in self.document["joints"]]
        return np.array([[node.DX[case], node.DY[case]] for node in nodes])

    def reactions(self, case: str) -> np.ndarray:
        nodes = [self.model.nodes[joint] for joint in self.bearings]
        return np.array([[node.RxnFX[case], node.RxnFY[case]] for node in nodes])

    def end_forces(self, case: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Axial, shear and moment at both ends of every member, (m, 2) each, signed as a truss document says."""
        out = np.zeros((3, len(self.members), 2))
        for i, name in enumerate(self.members):
            along, upper = self.directions(name)
            force = np.asarray(self.model.members[name].F(case), dtype=float).ravel()
            turn = along[0] * upper[1] - along[1] * upper[0]
            for end, sign in ((0, -1), (1, 1)):
                # PyNite counts what stands on the very end of a member to it: the format leaves that to the joint
                push = force[6 * end : 6 * end + 2] + self.on_end(case, name, end)
                out[:, i, end] = sign * push @ along, push @ upper, sign * turn * force[6 * end + 5]
        return out[0], out[1], out[2]

    def peaks(self, case: str) -> np.ndarray:
        """The lowest and the highest sagging moment of every member, (m, 2)."""
        out = []
        for name in self.members:
            member = self.model.members[name]
            # its moment is positive with the face that its own y points to in tension
            hogs = np.sign(member.T()[1, :2] @ self.directions(name)[1])
            out.append(sorted(-hogs * peak("Mz", case) for peak in (member.min_moment, member.max_moment)))
        return np.array(out)

    def _build(self) -> None:
        model, runs_on = self.model, self.runs_on()
        # PyNite's nodes have one rotation each, so only one role may run on over a joint here
        assert len({joint for joint, _ in runs_on}) == len(runs_on), "two chords run on over one joint"
        for name, (x, y) in self.at.items():
            model.add_node(name, x, y, 0)
            turns = any(joint == name for joint, _ in runs_on)
            where = self.bearings.get(name, "")
            model.def_support(name, "x" in where, "y" in where, True, True, True, not turns)
        for name, member in self.members.items():
            e, area, inertia = self.stiffness(name)
            model.add_material(name, e, e / 2.6, 0.3, 0)
            model.add_section(name, area, _ANY, inertia, _ANY)
            model.add_member(name, *member["joints"], name, name)
            pinned = [(joint, member["role"]) not in runs_on for joint in member["joints"]]
            model.def_releases(name, Rzi=pinned[0], Rzj=pinned[1])

    def _load(self, case: str, name: str) -> None:
        for i, direction in enumerate(("FX", "FY")):
            for start, end, push in self.strips(case, name):
                self.model.add_member_dist_load(name, direction, push[i], push[i], start, end, case)
            for place, push in self.stands(case, name):
                self.model.add_member_pt_load(name, direction, push[i], place, case)
