"""Small truss documents whose forces a person can write down, for tests of the checks."""

from __future__ import annotations

import copy
from collections.abc import Sequence

from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import Check, Finding
from trusses.analysis.checks.stack import StackChecks, check_stack
from trusses.analysis.findings.report import findings
from trusses.analysis.format.document import read
from trusses.analysis.frame import solve as frame
from trusses.analysis.loads.combinations import superposition


def beam(length, lumber, *, role="top_chord", spacing=24, restraint=0, loads=None, **more):
    """A single chord member on two bearings, level, 3.5 in. wide each; `restraint` None leaves it out."""
    held = {} if restraint is None else {f"{role}_in": restraint}
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "P",
        "spacing_in": spacing,
        "joints": {"A": [0, 0], "B": [length, 0]},
        "members": [{"id": "M", "role": role, "joints": ["A", "B"], "lumber": lumber}],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "y", "width_in": 3.5},
        ],
        "loads": loads or {},
        "lateral_restraint": held,
        **more,
    }


def overhanging(*points, lumber="2x8 DF-L No.2", **more):
    """A chord of 10 ft between its bearings A and B, which runs on over B by 5 ft to C, with point loads."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "P",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [120, 0], "C": [180, 0]},
        "members": [
            {"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": lumber},
            {"id": "B2", "role": "bottom_chord", "joints": ["B", "C"], "lumber": lumber},
        ],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "B", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"point": list(points)},
        **more,
    }


def line(plf, case="snow", member="M", **more):
    return {"case": case, "member": member, "plf": plf, **more}


def push(pounds, case="snow", joint="B", **more):
    """A load to the left at a joint: compression in a member that runs from a held joint on the left to this one."""
    return {"case": case, "joint": joint, "right_lb": -pounds, "down_lb": 0} | more


def gable(**more):
    """A king post truss of 16 ft, 4 in 12; joints A, C at the bearings, B at midspan, P the peak; webs none but W."""
    lumber = "2x4 SPF No.1/No.2"
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "K",
        "spacing_in": 24,
        "joints": {"A": [0, 0], "B": [96, 0], "C": [192, 0], "P": [96, 32]},
        "members": [
            {"id": "T1", "role": "top_chord", "joints": ["A", "P"], "lumber": lumber},
            {"id": "T2", "role": "top_chord", "joints": ["P", "C"], "lumber": lumber},
            {"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": lumber},
            {"id": "B2", "role": "bottom_chord", "joints": ["B", "C"], "lumber": lumber},
            {"id": "W", "role": "web", "joints": ["B", "P"], "lumber": lumber},
        ],
        "hinges": ["A", "P", "C"],
        "bearings": [
            {"joint": "A", "restrains": "xy", "width_in": 3.5},
            {"joint": "C", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {
            "area": [
                {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
                {"case": "dead", "chord": "bottom_chord", "psf": 7, "along": "slope"},
                {"case": "snow", "chord": "top_chord", "psf": 20, "along": "plan"},
            ]
        },
        "lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 96},
        **more,
    }


def check(document: dict) -> dict[tuple[str, str], Check]:
    """Every check of a document, by object and rule; fails where a rule speaks twice of one object."""
    truss = read(copy.deepcopy(document))
    found = analyse(truss).checks
    by_rule = {(one.id, one.rule): one for one in found}
    assert len(by_rule) == len(found), "a rule speaks twice of one object"
    return by_rule


def check_together(documents: Sequence[dict]) -> StackChecks:
    """The checks of documents of one shape and of the same cases, in one stack."""
    trusses = [read(copy.deepcopy(document)) for document in documents]
    ((which, solution),) = frame.stacks(trusses)
    assert which == list(range(len(trusses)))
    its_combinations, factors = superposition(trusses[0], solution.cases)
    return check_stack(trusses, its_combinations, solution, factors)


def find(document: dict) -> list[Finding]:
    """The findings of a document."""
    return list(findings(analyse(read(copy.deepcopy(document))).results))
