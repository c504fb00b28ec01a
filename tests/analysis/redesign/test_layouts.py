"""What a layout must hold: clear, steep enough, nothing crossing; faces and their diagonals; places for splices."""

from __future__ import annotations

import math
from typing import Any

import pytest

from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.building import Building
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.layouts import (
    FLATTEST,
    LEAST_PANEL_IN,
    Layout,
    blocked,
    buildable,
    crossings,
    diagonals,
    faces,
)
from trusses.analysis.redesign.moves import layouts
from trusses.analysis.redesign.splices import STOCK_IN, barred, clear_of_splices, elsewhere
from trusses.analysis.redesign.strengthen import better, run

SPF = "2x4 SPF No.1/No.2"


def girder(panels: int = 6, panel: float = 48.0, depth: float = 30.0, hinges: tuple[str, ...] = ()) -> dict[str, Any]:
    """Level chords, posts at every panel point, a diagonal in each panel rising to the right."""
    joints: dict[str, list[float]] = {}
    members: list[dict[str, Any]] = []
    for i in range(panels + 1):
        joints |= {f"t{i}": [i * panel, depth], f"b{i}": [i * panel, 0]}
        members.append({"id": f"P{i}", "role": "web", "joints": [f"t{i}", f"b{i}"], "lumber": SPF})
    for i in range(panels):
        for stem, role, a in (("T", "top_chord", "t"), ("B", "bottom_chord", "b")):
            members.append({"id": f"{stem}{i}", "role": role, "joints": [f"{a}{i}", f"{a}{i + 1}"], "lumber": SPF})
        members.append({"id": f"D{i}", "role": "web", "joints": [f"b{i}", f"t{i + 1}"], "lumber": SPF})
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "X",
        "spacing_in": 24,
        "joints": joints,
        "members": members,
        "hinges": list(hinges),
        "bearings": [
            {"joint": "b0", "restrains": "xy", "width_in": 3.5},
            {"joint": f"b{panels}", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"area": [{"case": "dead", "chord": "top_chord", "psf": 10, "along": "plan"}]},
    }


def test_a_web_lying_too_flat_on_its_chord_is_not_buildable() -> None:
    before = Draft(girder(panel=120, depth=28))
    crossed = crossings(before)
    for x, good in ((60.0, True), (10.0, False)):
        draft = Draft(girder(panel=120, depth=28))
        draft.take_out("D2")
        # from the foot of P2 up to a new panel point: 28 in. high, 60 or 110 in. along
        draft.add_web("b2", draft.split("top_chord", 360 - x), "P1")
        assert (math.degrees(math.atan2(28, 120 - x)) > FLATTEST) is good
        assert buildable(draft, before, crossed) is good
    assert FLATTEST == 15.0


def test_webs_too_close_in_angle_are_not_buildable() -> None:
    before = Draft(girder())
    draft = Draft(girder())
    draft.add_web("b2", draft.split("top_chord", 48 * 3 - 8), "P1")
    assert not buildable(draft, before, crossings(before))


def test_crossing_webs_are_told_and_not_buildable_whatever_was_before() -> None:
    before = Draft(girder())
    assert crossings(before) == frozenset()
    draft = before.copy()
    web = draft.add_web("t1", "b2", "P1")
    assert crossings(draft) == {frozenset({"D1", web})}
    assert not buildable(draft, before, crossings(before))
    assert not buildable(draft, draft, crossings(draft))


def test_panel_points_keep_room_for_plates() -> None:
    before = Draft(girder())
    for gap, good in ((LEAST_PANEL_IN, True), (LEAST_PANEL_IN - 1, False)):
        draft = before.copy()
        draft.take_out("D2")
        draft.slide("t3", 144)
        draft.split("top_chord", 144 + gap)
        assert buildable(draft, before, frozenset()) is good


def test_an_opening_is_blocked_by_the_worst_overlap_first() -> None:
    draft = Draft(girder())
    overlaps = blocked(draft, [Opening("O", "rectangle", (104, 15), width_in=30, height_in=8)])
    # P2's right face is at 97.75, the opening's left side at 89
    assert {name: free for free, name, _ in overlaps}["P2"] == pytest.approx(-(97.75 - 89))
    assert {name for _, name, _ in overlaps} == {"P2", "D2"}
    assert overlaps[0][0] < overlaps[1][0] < 0


def test_faces_and_their_diagonals() -> None:
    draft = Draft(girder())
    assert sorted(map(len, faces(draft))) == [3] * 12
    draft.take_out("D2")
    (panel,) = (corners for corners in faces(draft) if len(corners) == 4)
    assert set(panel) == {"t2", "t3", "b2", "b3"}
    assert {frozenset(pair) for (pair,) in diagonals(draft, panel)} == {
        frozenset({"t2", "b3"}),
        frozenset({"b2", "t3"}),
    }
    draft.take_out("P3")
    (wide,) = (corners for corners in faces(draft) if len(corners) > 3)
    # P3 gone, t3 stays for nothing and b3 for D3: t2, t4, b3, b2
    assert set(wide) == {"t2", "t4", "b3", "b2"}


class TestSplices:
    def test_an_open_panel_and_the_ones_beside_it_bar_splices(self) -> None:
        before = Draft(girder())
        assert barred(before, before) == set()
        draft = before.copy()
        draft.take_out("D2")
        assert barred(draft, before) == {f"{chord}{i}" for chord in "tb" for i in (1, 2, 3, 4)}
        # what was open already was somebody's design
        assert barred(draft, draft) == set()

    def test_a_barred_splice_moves_to_the_nearest_place_that_stock_reaches(self) -> None:
        before = Draft(girder(panels=8, hinges=("b3",)))
        draft = before.copy()
        draft.take_out("D2")
        bars = barred(draft, before)
        assert elsewhere(draft, "b3", bars) == ["b5"], "b1 is barred, b6 and b7 would leave more than 240 in."
        found = clear_of_splices(draft, before)
        assert found is not None
        moved, splices = found
        assert moved.hinges == {"b5"}
        assert splices == [{"role": "bottom_chord", "joint": "b3", "to": "b5"}]
        assert STOCK_IN == 5 * 48

    def test_where_there_is_no_other_place_there_is_no_layout(self) -> None:
        before = Draft(girder(panels=10, hinges=("b5",)))
        draft = before.copy()
        draft.take_out("D4")
        assert clear_of_splices(draft, before) is None


class TestStronger:
    def test_lumber_goes_up_within_its_species_and_as_little_as_needed(self) -> None:
        assert better("2x4 DF-L No.2", True, False, (("ft", 1.1),)) == "2x4 DF-L No.1"
        assert better("2x4 DF-L No.2", True, False, (("ft", 1.5),)) == "2x4 DF-L Select Structural"
        assert better("2x4 DF-L Select Structural", True, False, (("ft", 1.1),)) is None

    def test_what_is_no_weaker_in_anything(self) -> None:
        # Stud has the tension of No.3 and more; No.1/No.2 is the least that is better in everything
        assert better("2x4 SPF Stud", False, False, (("ft", 1.01),)) == "2x4 SPF No.1/No.2"
        # 1650f-1.5E has less tension than Hem-Fir Select Structural's 925 × 1.5, and less Fc than its 1500 × 1.15
        assert better("2x4 Hem-Fir Select Structural", False, False, (("e_min", 1.2),)) is None
        assert better("2x6 SPF Select Structural", False, False, (("fb", 1.2),)) == "2x6 SPF 2100f-1.8E"

    def test_a_chord_keeps_its_size_and_a_web_may_grow(self) -> None:
        assert better("2x4 SPF No.1/No.2", False, False, (("e_min", 1.4),)) == "2x4 SPF 1650f-1.5E"
        grown = better("2x4 DF-L Select Structural", False, True, (("fc", 1.3),))
        # Fc·CF·A: 1550 × 1.1 × 8.25 in² against 1700 × 1.15 × 5.25 in², 1.37 times
        assert grown == "2x6 DF-L No.1 & Btr"

    def test_a_piece_runs_to_the_next_hinge(self) -> None:
        draft = Draft(girder(hinges=("b2",)))
        assert run(draft, "B3") == ("B2", "B3", "B4", "B5")
        assert run(draft, "T0") == ("T0", "T1", "T2", "T3", "T4", "T5")


def test_layouts_come_least_change_first_and_all_are_clear() -> None:
    draft = Draft(girder())
    openings = [Opening("O", "circle", (120, 15), diameter_in=10, clearance_in=1)]
    found = layouts(draft, openings, 40, 600)
    assert len(found) >= 5
    plain = [layout.cost for layout in found if all(note.kind != "panel" for note in layout.notes)]
    assert plain == sorted(plain)
    assert len({layout.key for layout in found}) == len(found)
    crossed = crossings(draft)
    for layout in found:
        assert blocked(layout.draft, openings) == []
        assert buildable(layout.draft, draft, crossed)
        assert layout.notes
    assert Layout(draft).cost == (0, 0)


def test_no_time_is_no_layouts() -> None:
    openings = [Opening("O", "circle", (120, 15), diameter_in=10, clearance_in=1)]
    assert layouts(Draft(girder()), openings, 40, 600, until=0.0) == []


@pytest.mark.parametrize("width", [8.0, 20.0, 30.0])
def test_a_framed_panel_s_uprights_touch_the_opening_and_no_more(width: float) -> None:
    opening = Opening("O", "rectangle", (120, 15), width_in=width, height_in=20, clearance_in=0.5)
    found = layouts(Draft(girder()), [opening], 60, 900, building=Building(tolerance_in=0, from_joints_in=0))
    framed = [layout for layout in found if any(note.kind == "panel" for note in layout.notes)]
    assert framed
    for layout in framed:
        uprights = sorted(
            layout.draft.ends(web)[0][0]
            for web in layout.draft.webs()
            if layout.draft.ends(web)[0][0] == layout.draft.ends(web)[1][0]
        )
        left = max(x for x in uprights if x < 120)
        right = min(x for x in uprights if x > 120)
        # 3.5 in. webs, places rounded outward to 1/4 in.
        assert 0 <= 120 - width / 2 - 0.5 - 1.75 - left < 0.25
        assert 0 <= right - (120 + width / 2 + 0.5 + 1.75) < 0.25
        # beside the panel all is triangles again
        open_panels = [corners for corners in faces(layout.draft) if len(corners) > 3]
        assert len(open_panels) == 1
        assert {layout.draft.at(joint)[0] for joint in open_panels[0]} == {left, right}
