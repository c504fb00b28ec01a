"""A bearing between two others that could be missed or built off level, and what the finding says of it."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from tests.frames import EI_2X4, document
from tests.nds_by_hand import cl
from tests.validation.test_settling_support import braced
from trusses.analysis import analysis as whole
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import Surroundings
from trusses.analysis.findings import missed_bearing as missed
from trusses.analysis.findings.missed_bearing import interior
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss

L = 72.0


def two_spans(plf: float = 60, **more: Any) -> dict[str, Any]:
    """A 2x4 running over three bearings 6 ft apart, held throughout; 875 psi of bending, 1.15 for snow."""
    return document(
        {"A": (0, 0), "M": (L, 0), "B": (2 * L, 0)},
        [("S1", "top_chord", "A", "M"), ("S2", "top_chord", "M", "B")],
        {"A": "xy", "M": "y", "B": "y"},
        **(
            {
                "lateral_restraint": {"top_chord_in": 0},
                "loads": {"line": [{"case": "snow", "member": name, "plf": plf} for name in ("S1", "S2")]},
            }
            | more
        ),
    )


def said(source: dict[str, Any], surroundings: Surroundings | None = None) -> list[dict[str, dict[str, Any]]]:
    """What each finding tells of its bearing missed, too high and too low."""
    analysis = analyse(read(copy.deepcopy(source)), *([surroundings] if surroundings else []))
    found = [one for one in analysis.findings if one.code == "missed-bearing"]
    return [{state["state"]: state for state in one.values["states"]} for one in found]


class TestTheFinding:
    def test_without_it_the_beam_spans_twice_as_far(self):
        """By hand: w (2L)²/8 over S and Fb CF CD Cr, deflection aside; twice the ratio of four times the moment."""
        source = two_spans(40)
        (told,) = said(source)
        capacity = 875 * 1.5 * 1.15 * 1.15
        stress = 40 / 12 * (2 * L) ** 2 / 8 / (1.5 * 3.5**2 / 6)
        deflection = 5 * 40 / 12 * (2 * L) ** 4 / (384 * EI_2X4) / (2 * L / 240)
        assert deflection > stress / capacity > 1
        worst = told["missed"]["worst"]
        assert (worst["of"], worst["rule"], worst["combination"]) == ("truss", "live deflection", "D + S")
        assert worst["ratio"] == pytest.approx(deflection, rel=1e-9)

    def test_the_place_and_the_code(self):
        finding = next(one for one in analyse(read(two_spans(40))).findings if one.code == "missed-bearing")
        assert (finding.where, finding.values["joint"]) == ("bearing M", "M")

    def test_what_is_light_enough_to_do_without_gets_none(self):
        assert said(two_spans(2)) == []

    def test_off_level_is_told_where_that_alone_exceeds(self):
        """A stiff short beam: without the middle bearing it passes, forced up by 1/4 in. it doesn't, by 3 EI δ / L²."""
        source = two_spans(30)
        for name, x in (("M", 36.0), ("B", 72.0)):
            source["joints"][name] = [x, 0]
        for member in source["members"]:
            member["lumber"] = "2x12 SPF No.1/No.2"
        (told,) = said(source)
        ei, capacity = 1.4e6 * 1.5 * 11.25**3 / 12, 875 * 0.9 * 1.15
        force = 6 * ei * 0.25 / 36**3
        bent = 3 * ei * 0.25 / 36**2 / (1.5 * 11.25**2 / 6) / (capacity * cl(capacity, 510_000, 36, 11.25, 1.5))
        assert "worst" not in told["missed"]
        assert "worst" not in told["low"]
        high = told["high"]
        assert (high["off_in"], high["worst"]["id"], high["worst"]["rule"]) == (0.25, "S1", "bending")
        assert (high["worst"]["combination"], high["others"]) == ("D", 2)
        assert high["worst"]["ratio"] == pytest.approx(bent, rel=5e-3)
        assert high["lifted_lb"] == pytest.approx({"A": force / 2, "B": force / 2}, rel=5e-3)

    def test_a_low_bearing_that_is_not_reached_is_as_if_it_were_not_there(self):
        """The beam above comes down by far less than 1/4 in.: low is absent, not a pull of thousands of pounds."""
        assert missed._lowered(100.0, np.array([250.0, 40.0, -30.0])).tolist() == [-100.0, -40.0, 0.0]

    def test_low_enough_to_be_reached_it_carries_the_less(self):
        """Long spans of a slender beam: 1/4 in. of settlement moves 6 EI δ / L³ off the middle, by hand."""
        source = two_spans(30)
        for name, x in (("M", 120.0), ("B", 240.0)):
            source["joints"][name] = [x, 0]
        source["bearings"][1]["width_in"] = 0.25  # too short, so that what it carries is told
        truss = read(source)
        analysis = analyse(truss)
        its = missed._Analysed(
            truss, analysis.solution.only(0), analysis.combinations, FACTORS(analysis), Surroundings()
        )
        (bearing,) = interior(truss)
        states = dict(missed._states(its, bearing))
        low = next(check for check in states["low"].checks if (check.id, check.rule) == ("M", "bearing"))
        assert low.terms["R"] == pytest.approx(30 / 12 * 240 * 5 / 8 - 6 * EI_2X4 * 0.25 / 120**3, rel=1e-9)

    def test_a_truss_that_needs_it_to_stand_says_so(self):
        source = two_spans(2)
        source["hinges"] = ["M"]
        (told,) = said(source)
        assert list(told) == ["missed"]
        assert told["missed"]["moves"]["joint"] == "M"

    def test_what_fails_alike_without_it_is_not_told_of_the_bearing(self):
        """An overhang that is overloaded fails whatever becomes of the middle bearing."""
        source = two_spans(2)
        source["joints"]["E"] = [2 * L + 24, 0]
        source["members"].append({"id": "S3", "role": "top_chord", "joints": ["B", "E"], "lumber": "2x4 SPF No.1/No.2"})
        source["loads"]["point"] = [{"case": "dead", "joint": "E", "down_lb": 300}]
        source["hinges"] = []
        own = {check.id for check in analyse(read(source)).checks if not check.passes}
        assert "S3" in own
        (told,) = said(source)
        assert "S3" not in {state["worst"]["id"] for state in told.values() if "worst" in state}

    def test_a_bearing_that_holds_sideways_too_keeps_doing_so(self):
        source = two_spans(40)
        source["bearings"][0]["restrains"], source["bearings"][1]["restrains"] = "y", "xy"
        assert said(source) == said(two_spans(40))

    def test_the_wall_plate_below_counts_too(self):
        source = two_spans(2)
        source["members"] = [member | {"lumber": "2x4 DF-L No.2"} for member in source["members"]]
        source["loads"]["point"] = [{"case": "snow", "joint": "M", "down_lb": 2300}]
        # a load right over it: nothing but the plate is near its limit, and too high it takes more
        plate = Surroundings(wall_plates={"M": "2x4 SPF No.1/No.2"})

        def rules(told: list[dict[str, dict[str, Any]]]) -> set[str]:
            return {state["worst"]["rule"] for states in told for state in states.values() if "worst" in state}

        assert "bearing of the wall plate" in rules(said(source, plate))
        assert "bearing of the wall plate" not in rules(said(source))


def FACTORS(analysis: Any) -> Any:
    return whole.superposition(analysis.truss, analysis.cases)[1]


class TestWhoIsAsked:
    def test_the_bearings_between_the_outer_ones(self):
        assert [bearing.joint for bearing in interior(read(braced()))] == ["b2"]
        two = two_spans()
        two["bearings"].pop(1)
        assert interior(read(two)) == []
        sideways = two_spans()
        sideways["bearings"][0]["restrains"], sideways["bearings"][1]["restrains"] = "y", "x"
        assert interior(read(sideways)) == []

    def test_two_bearings_cost_nothing_and_nothing_is_looked_at_before_it_is_asked(self, monkeypatch):
        asked: list[Truss] = []
        monkeypatch.setattr(missed, "without", lambda truss, bearing: asked.append(truss) or truss)
        two = two_spans()
        two["bearings"].pop(1)
        assert analyse(read(two)).document()["findings"]
        assert analyse(read(two_spans())).worst_ratio > 0
        assert asked == []
