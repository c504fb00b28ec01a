"""The timed models in general-purpose frame libraries. Each function builds one document's model and solves its cases.

PyNite comes through the oracle of the tests. anaStruct holds one load case a model, so it gets one a case, as its users
do; it is timed, not trusted. OpenSeesPy's licence doesn't let it be required: it is timed where it can be imported.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from tests.pynite_oracle import STIFFNESS, Oracle, case_names

E = STIFFNESS["SPF No.1/No.2"]
AREA, INERTIA = 1.5 * 3.5, 1.5 * 3.5**3 / 12
LIBRARIES: dict[str, Callable[[dict[str, Any]], object]] = {"PyNite": lambda document: Oracle(document).solve()}
MISSING: list[str] = []


class Plain(Oracle):
    """What the document says in the oracle's words, without a model in PyNite: other libraries don't pay for that."""

    def __init__(self, document: dict[str, Any]) -> None:
        self.document = document
        self.at = {name: np.array(xy, dtype=float) for name, xy in document["joints"].items()}
        self.members = {member["id"]: member for member in document["members"]}
        self.cases = case_names(document)

    def strips(self, case: str) -> list[tuple[str, float, float, np.ndarray]]:
        """All strips of a case, each area load laid out once."""
        return [strip for _, load in self.cases[case] for strip in self._area_strips(load)]


try:
    from anastruct import SystemElements
except ImportError:
    MISSING.append("anaStruct")
else:

    def anastruct(document: dict[str, Any]) -> None:
        oracle = Plain(document)
        runs_on = oracle._continuous()
        for case in oracle.cases:
            system = SystemElements(EA=E * AREA, EI=E * INERTIA)
            number = {}
            for i, (name, member) in enumerate(oracle.members.items(), start=1):
                first, second = (oracle.at[joint].tolist() for joint in member["joints"])
                pinned = [(joint, member["role"]) not in runs_on for joint in member["joints"]]
                system.add_element([first, second], spring={end: 0 for end in (1, 2) if pinned[end - 1]})
                number[name] = i
            for bearing in document["bearings"]:
                node = system.find_node_id(oracle.at[bearing["joint"]].tolist())
                support = system.add_support_hinged if bearing["restrains"] == "xy" else system.add_support_roll
                support(node)
            for name, _, _, push in oracle.strips(case):
                system.q_load(q=[float(push[1])] * 2, element_id=number[name], direction="y")
            system.solve()

    LIBRARIES["anaStruct"] = anastruct

try:
    import openseespy.opensees as ops
except (ImportError, RuntimeError) as trouble:
    MISSING.append(f"openseespy ({type(trouble).__name__})")
else:

    def opensees(document: dict[str, Any]) -> None:
        """Each continuous chord's joints turn together; webs are bars."""
        oracle = Plain(document)
        runs_on = oracle._continuous()
        ops.wipe()
        ops.model("basic", "-ndm", 2, "-ndf", 3)
        node = {name: i for i, name in enumerate(oracle.at, start=1)}
        for name, (x, y) in oracle.at.items():
            ops.node(node[name], float(x), float(y))
        held = {bearing["joint"]: bearing["restrains"] for bearing in document["bearings"]}
        turns = {joint for joint, _ in runs_on}
        number = {name: i for i, name in enumerate(oracle.members, start=1)}
        for name, where in node.items():
            ops.fix(where, int("x" in held.get(name, "")), int("y" in held.get(name, "")), int(name not in turns))
        ops.geomTransf("Linear", 1)
        for i, member in enumerate(oracle.members.values(), start=1):
            free = [(joint, member["role"]) not in runs_on for joint in member["joints"]]
            ends = [node[joint] for joint in member["joints"]]
            ops.element("elasticBeamColumn", i, *ends, AREA, E, INERTIA, 1, "-release", free[0] + 2 * free[1])
        ops.system("BandSPD")
        ops.numberer("RCM")
        ops.constraints("Plain")
        ops.algorithm("Linear")
        ops.integrator("LoadControl", 1.0)
        ops.analysis("Static")
        for tag, case in enumerate(oracle.cases, start=1):
            ops.timeSeries("Constant", tag)
            ops.pattern("Plain", tag, tag)
            for name, _, _, push in oracle.strips(case):
                along, upper = oracle._directions(name)
                ops.eleLoad("-ele", number[name], "-type", "-beamUniform", float(push @ upper), float(push @ along))
            ops.analyze(1)
            ops.reactions()
            ops.remove("loadPattern", tag)

    LIBRARIES["openseespy"] = opensees
