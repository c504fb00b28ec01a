"""The timed models in general-purpose frame libraries. Each function builds one document's model and solves its cases.

PyNite and CALFEM come through the oracles of the tests. anaStruct holds one load case a model, so it gets one a case,
as its users do; it is timed, not trusted. OpenSeesPy's licence doesn't let it be required: it is timed where it can be
imported.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from tests import calfem_oracle, pynite_oracle
from tests.oracle_document import STIFFNESS, Said

E = STIFFNESS["SPF No.1/No.2"]
AREA, INERTIA = 1.5 * 3.5, 1.5 * 3.5**3 / 12
LIBRARIES: dict[str, Callable[[dict[str, Any]], object]] = {
    "PyNite": lambda document: pynite_oracle.Oracle(document).solve(),
    "CALFEM": lambda document: calfem_oracle.Oracle(document).solve(),
}
MISSING: list[str] = []


def laid_out(said: Said, case: str) -> list[tuple[str, np.ndarray]]:
    """The member and the push of every area load of a case, which cover members whole in the timed models."""
    return [
        (name, push)
        for _, load in said.cases[case]
        for name, member in said.members.items()
        if member["role"] == load["chord"]
        for _, _, push in said._area(load, name)
    ]


try:
    from anastruct import SystemElements
except ImportError:
    MISSING.append("anaStruct")
else:

    def anastruct(document: dict[str, Any]) -> None:
        oracle = Said(document)
        runs_on = oracle.runs_on()
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
            for name, push in laid_out(oracle, case):
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
        oracle = Said(document)
        runs_on = oracle.runs_on()
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
            for name, push in laid_out(oracle, case):
                along, upper = oracle.directions(name)
                ops.eleLoad("-ele", number[name], "-type", "-beamUniform", float(push @ upper), float(push @ along))
            ops.analyze(1)
            ops.reactions()
            ops.remove("loadPattern", tag)

    LIBRARIES["openseespy"] = opensees
