"""Supports below, movement in service and web restraint, each held against a hand computation."""

from __future__ import annotations

import copy
import math
import re
from typing import Any

import pytest

from tests.analysis.findings.test_weights import WEIGHT, cantilever
from tests.conftest import KING_POST
from tests.frames import EI_2X4, document
from tests.random_trusses import random_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.analysis_document import read_back
from trusses.analysis.compare import compare
from trusses.analysis.format.document import read
from trusses.analysis.frame.results import Results
from trusses.analysis.lumber import lookup
from trusses.analysis.requirements.movement import camber, frequency, slides
from trusses.analysis.requirements.supports import (
    DOWN,
    UPLIFT,
    Change,
    Force,
    Support,
    changes,
    paired,
    places,
    supports,
)
from trusses.analysis.requirements.web_restraint import web_rows
from trusses.drawing import elevation
from trusses.drawing.forces import reactions
from trusses.sheets.report import report


def record(truss: dict[str, Any]) -> Results:
    design = read(truss)
    return read_back(design, analyse(design).document())


def supports_of(truss: dict[str, Any]) -> tuple[Support, ...]:
    design = read(truss)
    analysis = analyse(design).document()
    return supports(read_back(design, analysis), analysis["checks"])


def beam(span: float = 120, **more: Any) -> dict[str, Any]:
    """A 2x4 on edge with a joint in its middle; 24 lb a foot of dead load."""
    return document(
        {"A": (0, 0), "M": (span / 2, 0), "B": (span, 0)},
        [("B1", "bottom_chord", "A", "M"), ("B2", "bottom_chord", "M", "B")],
        {"A": "xy", "B": "y"},
        **(
            {"loads": {"area": [{"case": "dead", "chord": "bottom_chord", "psf": 12, "along": "plan"}]}, "use": "floor"}
            | more
        ),
    )


class TestSupports:
    def test_a_beam_presses_half_its_load_on_each_bearing(self):
        left, right = supports_of(beam())
        assert (left.joint, right.joint) == ("A", "B")
        assert (left.down.lb, right.down.lb) == pytest.approx((120, 120))
        assert (left.down.by, left.down.load_duration) == ("D", 0.9)
        assert left.by_case == {"dead": pytest.approx(120)}
        assert (left.uplift.lb, left.uplift.by) == (0, None)

    def test_the_required_width_is_the_reaction_over_breadth_and_fc_perp(self):
        """R / (b Fc-perp), NDS 3.10.2 with Cb = 1 and no load duration: 425 psi, in sixteenths."""
        loads = {"point": [{"case": "dead", "joint": "M", "down_lb": 4000}]}
        width = supports_of(beam(loads=loads))[0]
        exact = 2000 / (1.5 * lookup("2x4 SPF No.1/No.2").fc_perp)
        assert width.required_width_in == math.ceil(exact * 16) / 16
        assert width.wide_enough
        loads["point"][0]["down_lb"] = 5000
        assert not supports_of(beam(loads=loads))[0].wide_enough

    def test_a_width_that_is_just_enough_is_enough(self):
        just = 2 * 3.5 * 1.5 * lookup("2x4 SPF No.1/No.2").fc_perp
        width = supports_of(beam(loads={"point": [{"case": "dead", "joint": "M", "down_lb": just}]}))[0]
        assert width.required_width_in == 3.5

    def test_uplift_asks_for_a_connection_by_the_combination_that_lifts(self):
        """60 psf up square to a level chord, 12 psf down: 0.6 (600 - 120) = 288 lb a bearing, CD 1.6."""
        loads = beam()["loads"]["area"] + [{"case": "wind", "chord": "bottom_chord", "psf": -60, "along": "normal"}]
        left = supports_of(beam(loads={"area": loads}, uplift_dead_share=1))[0]
        assert left.uplift.lb == pytest.approx(0.6 * 600 - 0.6 * 120)
        assert (left.uplift.by, left.uplift.load_duration) == ("0.6D + 0.6W", 1.6)
        assert left.by_case["wind"] == pytest.approx(-600)

    def test_wind_from_the_side_pushes_the_bearing_that_holds_x(self):
        loads = {"point": [{"case": "wind", "joint": "M", "down_lb": 0, "right_lb": 100}]}
        left, right = supports_of(beam(loads=loads))
        assert left.sideways.lb == pytest.approx(60)
        assert (right.sideways.lb, right.sideways.by) == (0, None)

    def test_cases_add_up_to_the_combination(self):
        for support in supports_of(KING_POST):
            assert support.down.by == "D + S/balanced"
            assert support.by_case["dead"] + support.by_case["snow/balanced"] == pytest.approx(support.down.lb)


def changed(before: dict[str, Any], after: dict[str, Any]) -> list[Change]:
    """What two truss documents put on their bearings."""
    analyses = (analyse(read(document)).document() for document in (before, after))
    return changes(*analyses, places(before), places(after))


class TestChanges:
    def test_only_what_changed_is_marked(self):
        other = copy.deepcopy(KING_POST)
        other["loads"]["point"] = [{"case": "dead", "joint": "D", "down_lb": 200}]
        rows = {(row.joint, row.what): row for row in changed(KING_POST, other)}
        assert rows["A", "dead"].changed
        assert rows["A", "dead"].by_lb == pytest.approx(100)
        assert rows["A", DOWN].by_lb == pytest.approx(100)
        assert not rows["A", "snow/balanced"].changed
        assert rows["A", UPLIFT].changed

    def test_a_bearing_and_a_case_that_are_new_have_no_before(self):
        other = copy.deepcopy(KING_POST)
        other["bearings"].append({"joint": "D", "restrains": "y", "width_in": 3.5})
        other["loads"]["area"].append({"case": "live", "chord": "bottom_chord", "psf": 10, "along": "plan"})
        told = changed(KING_POST, other)
        rows = {(row.joint, row.what): row for row in told}
        assert rows["D", DOWN].lb[0] is None
        assert (rows["D", DOWN].was, rows["D", DOWN].more) == ("", True)
        assert rows["D", DOWN].by_lb is None
        assert rows["D", DOWN].changed
        assert rows["A", "live"].lb[0] is None
        assert list(dict.fromkeys(row.joint for row in told)) == ["A", "D", "C"], "along the span"

    def test_one_that_moved_is_one_bearing(self):
        """Reactions are made up: what stood at C is told beside what stands at N."""
        moved = {**copy.deepcopy(KING_POST), "joints": {**KING_POST["joints"], "N": [180, 0]}}
        moved["bearings"][1]["joint"] = "N"
        stood, stands = places(KING_POST), places(moved)
        assert paired(stood, stands) == {"A": "A", "N": "C"}
        figures = {"cases": {}, "envelope": {"reactions_lb": {}}}
        sides = []
        for joint, down in (("C", 900.0), ("N", 1200.0)):
            reactions = {"A": {"down_lb": 600.0, "uplift_lb": 0.0}, joint: {"down_lb": down, "uplift_lb": 0.0}}
            sides.append(figures | {"envelope": {"reactions_lb": reactions}})
        row = next(one for one in changes(*sides, stood, stands) if one.joint == "N" and one.what == DOWN)
        assert (row.was, row.moved, row.by_lb, row.more) == ("C", "5'-0\" to the left", 300, True)
        assert {one.joint for one in changes(*sides, stood, stands)} == {"A", "N"}

    def test_of_more_or_fewer_than_went_none_is_told_to_have_moved(self):
        stood = {"A": (0.0, 0.0), "C": (240.0, 0.0)}
        assert paired(stood, {"A": (0.0, 0.0), "D": (120.0, 0.0), "E": (180.0, 0.0)}) == {"A": "A"}

    @pytest.mark.parametrize(
        ("lb", "more", "new"), [((0.0, 171.0), True, True), ((20.0, 80.0), True, False), ((80.0, 20.0), False, False)]
    )
    def test_uplift_where_there_was_none_needs_a_tie(self, lb, more, new):
        row = Change("A", UPLIFT, lb, "A")
        assert (row.more, row.new_uplift) == (more, new)
        assert not Change("A", DOWN, lb, "A").new_uplift


class TestMovement:
    def test_camber_is_the_sag_under_dead_load(self):
        """5 w L⁴ / (384 EI), handbook; w = 2 lb/in."""
        found = camber(record(beam()))
        assert found is not None
        assert found.joint == "M"
        assert found.sag_in == pytest.approx(5 * 2 * 120**4 / (384 * EI_2X4), rel=1e-9)

    def test_no_camber_without_dead_load_or_where_it_lifts(self):
        assert camber(record(beam(loads={}))) is None
        assert camber(record(beam(loads={"point": [{"case": "dead", "joint": "M", "down_lb": -50}]}))) is None

    def test_the_tip_of_an_overhang_is_no_camber(self):
        joints = {"O": (-60, 0), "A": (0, 0), "M": (60, 0), "B": (120, 0)}
        chords = [("B0", "O", "A"), ("B1", "A", "M"), ("B2", "M", "B")]
        members = [(name, "bottom_chord", one, other) for name, one, other in chords]
        loads = {"point": [{"case": "dead", "joint": "O", "down_lb": 300}]}
        assert camber(record(document(joints, members, {"A": "xy", "B": "y"}, loads=loads))) is None

    def test_a_floor_swings_as_a_beam_of_even_mass(self):
        """(π/2) sqrt(g EI / (w L⁴)), the first mode of a simple beam; handbooks write 0.18 sqrt(g / sag)."""
        found = frequency(record(beam()))
        assert found is not None
        assert found.hz == pytest.approx(math.pi / 2 * math.sqrt(386.089 * EI_2X4 / (2 * 120**4)), rel=1e-9)
        sag = 5 * 2 * 120**4 / (384 * EI_2X4)
        assert found.hz == pytest.approx(0.18 * math.sqrt(386.089 / sag), rel=0.01)

    def test_no_frequency_for_a_roof_and_none_guessed_for_two_spans(self):
        assert frequency(record(beam(use="roof"))) is None
        two = beam()
        two["bearings"].append({"joint": "M", "restrains": "y", "width_in": 3.5})
        found = frequency(record(two))
        assert found is not None
        assert found.hz is None
        assert "doesn't stand on two bearings" in found.says
        empty = frequency(record(beam(loads={})))
        assert empty is not None
        assert empty.hz is None

    def test_a_rafter_pair_spreads_at_its_roller(self):
        """Scissors at their simplest: two rafters and a tie that stretches by N L / EA, D + S, creep on D alone."""
        loads = [{"case": case, "joint": "B", "down_lb": lb} for case, lb in (("dead", 400), ("snow", 600))]
        tie = document(
            {"A": (0, 0), "B": (60, 60), "C": (120, 0)},
            [("T1", "top_chord", "A", "B"), ("T2", "top_chord", "B", "C"), ("B1", "bottom_chord", "A", "C")],
            {"A": "xy", "C": "y"},
            hinges=["A", "B", "C"],
            loads={"point": loads},
        )
        (slide,) = slides(record(tie))
        ea = 1.4e6 * 1.5 * 3.5
        stretch = {name: lb / 2 * 120 / ea for name, lb in (("dead", 400), ("snow", 600))}
        assert (slide.joint, slide.by) == ("C", "D + S")
        assert slide.short_in == pytest.approx(stretch["dead"] + stretch["snow"], rel=1e-6)
        assert slide.long_in == pytest.approx(1.5 * stretch["dead"] + stretch["snow"], rel=1e-6)
        assert slide.green_in == pytest.approx(2 * stretch["dead"] + stretch["snow"], rel=1e-6)


class TestWebRestraint:
    def test_rows_from_the_stored_analysis_are_those_of_the_one_just_solved(self):
        design = read(random_truss(3))
        analysis = analyse(design)
        stored = web_rows(read_back(design, analysis.document()))
        just_solved = web_rows(analysis.results)
        assert [(row.web, row.needed, row.by) for row in stored] == [(r.web, r.needed, r.by) for r in just_solved]
        assert [row.compression_lb for row in stored] == pytest.approx([r.compression_lb for r in just_solved])
        assert stored

    def test_a_row_holds_two_percent_of_the_web(self):
        """A 10 ft post of 2x4 under 1,000 lb: le/d is 80 the flat way, so it needs one row, which makes it 40."""
        post = document(
            {"A": (0, 0), "B": (240, 0), "D": (120, 0), "P": (120, 120)},
            [
                ("T1", "top_chord", "A", "P"),
                ("T2", "top_chord", "P", "B"),
                ("B1", "bottom_chord", "A", "D"),
                ("B2", "bottom_chord", "D", "B"),
                ("W1", "web", "P", "D"),
            ],
            {"A": "xy", "D": "y", "B": "y"},
            hinges=["A", "B", "P", "D"],
            loads={"point": [{"case": "snow", "joint": "P", "down_lb": 1000}]},
        )
        (row,) = web_rows(record(post))
        assert (row.web, row.by, row.needed, row.stated) == ("W1", "D + S", 1, 0)
        assert 500 < row.compression_lb < 1000
        assert row.row_lb == pytest.approx(0.02 * row.compression_lb)
        assert web_rows(record(post | {"lateral_restraint": {"webs": {"W1": 1}}}))[0].stated == 1

    def test_a_web_in_tension_needs_none(self):
        pulled = copy.deepcopy(KING_POST)
        pulled["loads"] = {"point": [{"case": "dead", "joint": "D", "down_lb": 100}]}
        assert web_rows(record(pulled)) == ()


@pytest.mark.parametrize(("pounds", "with_it"), [(80, 10), (120, 0)])
def test_a_tie_is_for_the_uplift_without_a_weight_that_may_be_gone(pounds, with_it):
    """100 lb of snow at the end of a cantilever of 60 in. lift A, 120 in. behind its bearing, by 50 lb; with 80 lb in
    the middle between the bearings 10 are left, with 120 none. An analysis that was stored before such findings had
    figures has what is left with them."""
    design = read(cantilever({**WEIGHT, "down_lb": pounds}))
    analysis = analyse(design).document()
    results = read_back(design, analysis)
    first, second = supports(results, analysis["checks"], findings=analysis["findings"])
    assert first.uplift == Force(pytest.approx(50), "D + S", 1.15, weights_gone=True)
    assert first.uplift.told == "D + S, without the weights on it"
    assert second.uplift.lb == 0
    old = [{key: value for key, value in one.items() if key != "values"} for one in analysis["findings"]]
    assert supports(results, analysis["checks"], findings=old)[0].uplift.lb == pytest.approx(with_it)
    told = changed(cantilever(), cantilever({**WEIGHT, "down_lb": pounds}))
    assert [row.lb for row in told if (row.joint, row.what) == ("A", UPLIFT)] == [(pytest.approx(50),) * 2]


def test_the_same_uplift_stands_on_the_drawing_in_the_chain_and_in_the_report():
    """50 lb, of which the 80 lb of the weight leave 10. Of one combination the drawing shows what that gives."""
    analysis = analyse(read(cantilever(WEIGHT)))
    written = analysis.document()
    assert reactions(written, None)["A"][1] == pytest.approx(50)
    assert reactions(written, "D + S")["A"][1] == pytest.approx(10)
    assert "50 lb uplift" in elevation(cantilever(WEIGHT), analysis=written, view="forces")
    of_a = compare(written, written, cantilever(WEIGHT), cantilever(WEIGHT))["reactions"][0]
    assert (of_a["joint"], of_a["uplift_lb"]) == ("A", [pytest.approx(50)] * 2)
    assert of_a["uplift_by"] == ["D + S"] * 2
    assert re.search(r"^ *A .* 50 +D \+ S, without the weights on it", report(analysis), re.MULTILINE)
