"""Steps that change a document: what they leave legal, and that every load keeps its true place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trusses.analysis.format.document import canonical, read
from trusses.analysis.frame.solve import solve
from trusses.analysis.loads.combinations import cases
from trusses.analysis.redesign.draft import Draft, Illegal

EXAMPLES = Path(__file__).parents[1] / "examples"
NAMES = sorted(path.name.split(".")[0] for path in EXAMPLES.glob("*.truss.json"))


def document(name: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((EXAMPLES / f"{name}.truss.json").read_text())
    return loaded


def pulled_down(document: dict[str, Any]) -> dict[str, float]:
    """For each case: the sum of the upward reactions, and all reactions' moment about the origin (lb, in-lb)."""
    truss = read(document)
    its_cases = cases(truss)
    reactions = solve(truss, its_cases).reactions
    places = np.array([(truss.joint(b.joint).x, truss.joint(b.joint).y) for b in truss.bearings])
    out = {}
    for case, (rx, ry) in zip(its_cases, reactions.transpose(0, 2, 1), strict=True):
        out[f"{case.name}, force"] = float(ry.sum())
        out[f"{case.name}, moment"] = float((places[:, 0] * ry - places[:, 1] * rx).sum())
    return out


@pytest.mark.parametrize("name", NAMES)
def test_a_draft_without_steps_is_the_document(name: str) -> None:
    given = document(name)
    before = canonical(given)
    assert canonical(Draft(given).document()) == before
    assert canonical(Draft(given).copy().document()) == before
    assert canonical(given) == before


def test_a_slid_joint_stays_on_its_chord_and_its_loads_where_they_were() -> None:
    draft = Draft(document("E1"))
    draft.slide("g", 130)
    changed = draft.document()
    assert changed["joints"]["g"] == [130, 0]
    loads = changed["loads"]["point"]
    # what stood on B2 41.3 in. from the old joint at 144 stands 55.3 in. from the new one; what hung at g hangs at 144
    assert {"case": "dead", "member": "B2", "at_in": 55.3, "down_lb": 265, "note": "unit"} in loads
    assert {"case": "dead", "member": "B2", "at_in": 14.0, "down_lb": 88} in loads
    assert pulled_down(changed) == pytest.approx(pulled_down(document("E1")))


def test_a_line_load_over_a_joint_that_moves_into_it_is_parted_there() -> None:
    draft = Draft(document("E1"))
    draft.slide("g", 60)
    parts = draft.document()["loads"]["line"]
    assert [(p["member"], p["from_in"], p["to_in"]) for p in parts] == [("B1", 22, 60), ("B2", 0, 11.5)]
    assert {p["plf"] for p in parts} == {33}


def test_split_and_merge_are_each_other_undone() -> None:
    given = document("E1")
    draft = Draft(given)
    point = draft.split("bottom_chord", 200)
    assert pulled_down(draft.document()) == pytest.approx(pulled_down(given))
    assert len(draft.members) == len(given["members"]) + 1
    draft.merge(point)
    assert canonical(draft.document()) == canonical(given)


@pytest.mark.parametrize("name", ["E1", "E5", "E7", "E15"])
def test_any_chord_can_be_split_anywhere_without_moving_a_load(name: str) -> None:
    given = document(name)
    want = pulled_down(given)
    for role in ("top_chord", "bottom_chord"):
        for x in (10.3, 61.7, 95.1):
            draft = Draft(given)
            if draft.chord_under(role, x) is None:
                continue
            joint = draft.split(role, x)
            assert draft.straight_through(joint)
            assert pulled_down(draft.document()) == pytest.approx(want, rel=1e-6, abs=1e-3)


def test_a_web_taken_out_takes_its_panel_points_and_its_restraint_with_it() -> None:
    given = document("E7")
    given["lateral_restraint"]["webs"] = {"W8": 1, "W7": 2}
    draft = Draft(given)
    draft.take_out("W8")
    draft.take_out("W9")
    changed = draft.document()
    assert "t3" not in changed["joints"]
    assert changed["lateral_restraint"]["webs"] == {"W7": 2}
    (panel,) = (m for m in changed["members"] if m["id"] == "T3")
    assert panel["joints"] == ["t2", "t4"]
    assert "T4" not in {m["id"] for m in changed["members"]}
    assert pulled_down(changed) == pytest.approx(pulled_down(given))


def test_names_are_never_given_twice() -> None:
    draft = Draft(document("E7"))
    draft.take_out("W9")
    web = draft.add_web("t2", "b4", "W8")
    assert web not in {member["id"] for member in document("E7")["members"]}


def test_steps_that_no_document_can_take() -> None:
    given = document("E1")
    for step in (
        lambda draft: draft.slide("a", 20),
        lambda draft: draft.slide("c", 20),
        lambda draft: draft.slide("g", 300),
        lambda draft: draft.merge("g"),
        lambda draft: draft.split("bottom_chord", -5),
        lambda draft: draft.split("bottom_chord", 144),
        lambda draft: draft.aim("W1", "g", "c"),
        lambda draft: draft.aim("W1", "g", "b"),
        lambda draft: draft.add_web("b", "g", "W1"),
        lambda draft: draft.move_splice("a", "g"),
    ):
        draft = Draft(given)
        with pytest.raises(Illegal):
            step(draft)


def test_a_web_that_carries_a_load_stays() -> None:
    given = document("E1")
    given["loads"]["point"].append({"case": "dead", "member": "W1", "at_in": 20, "down_lb": 30})
    draft = Draft(given)
    assert not draft.movable("W1")
    with pytest.raises(Illegal, match="load of its own"):
        draft.take_out("W1")
    with pytest.raises(Illegal):
        draft.slide("g", 130)


def test_a_splice_is_never_left_without_a_web() -> None:
    given = document("E7")
    given["hinges"] = ["t0", "t6", "b0", "b7", "t3"]
    draft = Draft(given)
    draft.take_out("W8")
    with pytest.raises(Illegal, match="splice"):
        draft.take_out("W9")
    moved = Draft(given)
    moved.move_splice("t3", "t1")
    moved.take_out("W8")
    moved.take_out("W9")
    assert moved.document()["hinges"] == ["t0", "t6", "b0", "b7", "t1"]
