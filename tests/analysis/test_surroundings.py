"""What an analysis is told beside the document: sheathing that stiffens a chord (NDS 4.4.2), wall plates (3.10.2)."""

from __future__ import annotations

import copy
import json
import math

import pytest

from tests.beams import beam, check, gable, line, push
from tests.nds_by_hand import cp
from tests.refused import refused
from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.analysis_document import read_back
from trusses.analysis.checks import nds
from trusses.analysis.checks.stack import WALL_PLATE
from trusses.analysis.checks.surroundings import NOTHING_SAID, Surroundings, SurroundingsError
from trusses.analysis.format.document import read
from trusses.analysis.lumber import LumberError, lookup
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.strengthen import raise_lumber
from trusses.analysis.requirements.supports import supports

SPF = "2x4 SPF No.1/No.2"
SHEATHED = Surroundings(km=2300)
E, E_MIN, FC = 1.4e6, 510_000, 1150


def told(document, surroundings):
    """Every check of a document under these surroundings, by object and rule."""
    found = analyse(read(copy.deepcopy(document)), surroundings).checks
    by_rule = {(one.id, one.rule): one for one in found}
    assert len(by_rule) == len(found), "a rule speaks twice of one object"
    return by_rule


class TestBucklingStiffness:
    """CT = 1 + KM le / (KT E), values.md §1.7; both anchors derived there for SPF No.2 2x4."""

    @pytest.mark.parametrize(("length", "ct"), [(48, 1.1337), (96, 1.2673), (240, 1.2673)])
    def test_anchors_and_the_length_from_which_it_grows_no_more(self, length, ct):
        assert nds.buckling_stiffness(length, E, 2300, nds.KT["visual"]) == pytest.approx(ct, abs=5e-5)

    def test_machine_rated_and_wetter_lumber_have_their_own_constants(self):
        assert nds.buckling_stiffness(48, 1.8e6, 2300, nds.KT["msr"]) == pytest.approx(1 + 2300 * 48 / (0.82 * 1.8e6))
        assert nds.buckling_stiffness(48, E, 1200, nds.KT["visual"]) == pytest.approx(1 + 1200 * 48 / (0.59 * E))


class TestSheathedChords:
    def column(self, lumber=SPF, length=96, role="top_chord", plf=4, **more):
        return beam(length, lumber, role=role, loads={"point": [push(800)], "line": [line(plf)] if plf else []}, **more)

    def test_it_multiplies_emin_in_cp_about_the_strong_axis(self):
        found = told(self.column(), SHEATHED)["M", "compression"]
        star = FC * 1.15 * 1.15
        expected = cp(star, 1.2673 * E_MIN, 96 / 3.5)
        assert found.terms["CP"] == pytest.approx(expected, rel=1e-4)
        assert found.terms["CT"] == pytest.approx(1.2673, abs=5e-5)
        assert found.ratio < check(self.column())["M", "compression"].ratio

    def test_where_the_chord_is_only_pushed_it_stays_away(self):
        """800 lb of dead load alone against CD 0.9; the snow that bends it a little comes with CD 1.15 and CT."""
        loads = {"point": [push(800, "dead")], "line": [line(0.1)]}
        found = told(beam(96, SPF, loads=loads), SHEATHED)["M", "compression"]
        star = FC * 1.15 * 0.9
        assert (found.combination, found.terms["CT"]) == ("D", 1)
        assert found.capacity == pytest.approx(star * cp(star, E_MIN, 96 / 3.5))

    def test_southern_pine_is_graded_by_eye_too(self):
        """KT 0.59 (values.md §1.7); 2x4 SP No.2 has E 1.4e6 psi."""
        found = told(self.column("2x4 SP No.2"), SHEATHED)["M", "compression"]
        assert found.terms["CT"] == pytest.approx(1 + 2300 * 96 / (0.59 * 1.4e6))

    def test_the_moment_is_magnified_by_the_buckling_stress_without_it(self):
        """3.9.2 with Fc' by CT, and FcE1 as it was: by hand. Bent so little that fc/FcE1 is more than the equation, the
        column, which with CT could reach FcE1 first, is told that."""
        star, f_ce = FC * 1.15 * 1.15, 0.822 * E_MIN / (96 / 3.5) ** 2
        fc_prime = star * cp(star, 1.2673 * E_MIN, 96 / 3.5)
        assert fc_prime > f_ce
        fc, fb, fb_prime = 800 / 5.25, 20 / 12 * 96**2 / 8 / (1.5 * 3.5**2 / 6), 875 * 1.5 * 1.15 * 1.15
        found = told(self.column(plf=20), SHEATHED)["M", "compression and bending"]
        assert found.ratio == pytest.approx((fc / fc_prime) ** 2 + fb / (fb_prime * (1 - fc / f_ce)), rel=1e-4)
        assert told(self.column(), SHEATHED)["M", "compression and bending"].ratio == pytest.approx(fc / f_ce, rel=1e-4)

    def test_out_of_the_plane_sheathing_adds_nothing(self):
        """Held every 24 in. of a short panel, the weak axis governs and CP stays as it was."""
        document = self.column(length=30, restraint=24)
        assert told(document, SHEATHED)["M", "compression"].ratio == check(document)["M", "compression"].ratio

    @pytest.mark.parametrize(
        "document",
        [
            pytest.param({"plf": 0}, id="not bent"),
            pytest.param({"lumber": "2x6 SPF No.1/No.2"}, id="deeper than a 2x4"),
            pytest.param({"role": "bottom_chord"}, id="not sheathed"),
            pytest.param({"restraint": 48}, id="held too far apart for sheathing"),
            pytest.param({"restraint": 24.5}, id="held just farther apart than sheathing"),
            pytest.param({"restraint": None}, id="held at its ends alone"),
            pytest.param({"plies": 2, "ply_fastening": "nails"}, id="more than one ply"),
        ],
    )
    def test_it_is_not_taken_where_the_conditions_are_not_met(self, document):
        document = self.column(**document)
        own, sheathed = check(document), told(document, SHEATHED)
        assert {key: one.ratio for key, one in own.items()} == {key: one.ratio for key, one in sheathed.items()}
        assert sheathed["M", "compression"].terms.get("CT", 1.0) == 1.0

    def test_flat_lumber_has_its_wide_face_to_the_sheathing(self):
        document = self.column(length=40)
        document["members"][0]["flat"] = True
        assert told(document, SHEATHED)["M", "compression"].ratio == check(document)["M", "compression"].ratio

    def test_the_assumption_is_listed_with_the_chords_that_take_it(self):
        assert self.told(gable(), SHEATHED) == [{"members": ["T1", "T2"], "km": 2300, "dry": True}]
        assert [values["dry"] for values in self.told(gable(), Surroundings(km=1200))] == [False]
        assert not self.told(gable())
        assert not self.told(json.loads(json.dumps(gable()).replace("2x4", "2x6")), SHEATHED)

    @staticmethod
    def told(document, surroundings=NOTHING_SAID):
        found = analyse(read(document), surroundings).not_checked
        return [one.values for one in found if one.code == "sheathed-chords"]


class TestWallPlates:
    def loaded(self, **more):
        """2,000 lb on each bearing of a 2x4 DF-L chord, 1.5 x 3.5 in. of contact."""
        loads = {"point": [{"case": "snow", "member": "M", "at_in": 48, "down_lb": 4000}]}
        return beam(96, "2x4 DF-L No.2", role="bottom_chord", loads=loads, **more)

    def test_the_plate_is_pressed_on_the_same_area(self):
        found = told(self.loaded(), Surroundings(wall_plates={"A": SPF}))
        plate, chord = found["A", WALL_PLATE], found["A", "bearing"]
        assert (plate.demand, plate.capacity) == (pytest.approx(2000 / (1.5 * 3.5)), 425)
        assert plate.ratio == pytest.approx(2000 / (1.5 * 3.5) / 425)
        assert (chord.capacity, plate.source, plate.of) == (625, "NDS 3.10.2", "bearing")
        assert plate.terms == {"R": pytest.approx(2000), "area": 5.25, "Cb": 1.0, "lumber": SPF}
        assert ("B", WALL_PLATE) not in found

    def test_plies_share_the_plate_too(self):
        found = told(self.loaded(plies=2), Surroundings(wall_plates={"A": SPF}))["A", WALL_PLATE]
        assert found.terms["area"] == 2 * 5.25

    def test_a_plate_that_fails_fails_the_truss(self):
        heavy = beam(96, "2x4 DF-L No.2", loads={"point": [{"case": "snow", "joint": "A", "down_lb": 2800}]})
        with_plate = analyse(read(heavy), Surroundings(wall_plates={"A": SPF}))
        failing = [one.rule for one in with_plate.checks if not one.passes]
        assert WALL_PLATE in failing
        assert "bearing" not in failing
        assert with_plate.worst_ratio == pytest.approx(max(one.ratio for one in with_plate.checks))
        assert analyse(read(heavy)).passes
        assert not with_plate.passes

    def test_nothing_is_asked_of_a_plate_that_is_lifted(self):
        document = beam(96, SPF, loads={"line": [line(-20, case="wind")]})
        assert ("A", WALL_PLATE) not in told(document, Surroundings(wall_plates={"A": SPF}))

    @pytest.mark.parametrize(
        ("plate", "governs", "fc_perp"), [(SPF, "wall plate", 425), ("2x4 SP No.2", "wall plate", 565)]
    )
    def test_the_width_that_is_needed_says_which_of_both_governs(self, plate, governs, fc_perp):
        left, right = self.supports(Surroundings(wall_plates={"A": plate}))
        assert (left.governs, left.plate) == (governs, plate)
        assert left.required_width_in == math.ceil(2000 / (1.5 * fc_perp) * 16) / 16
        assert (right.governs, right.plate) == ("chord", None)
        assert right.required_width_in == math.ceil(2000 / (1.5 * 625) * 16) / 16

    def test_a_plate_as_strong_as_the_chord_leaves_the_chord_to_govern(self):
        left, _ = self.supports(Surroundings(wall_plates={"A": "2x4 DF-L No.2"}))
        assert (left.governs, left.plate) == ("chord", "2x4 DF-L No.2")

    def supports(self, surroundings):
        design = read(self.loaded())
        analysis = analyse(design, surroundings).document()
        return supports(read_back(design, analysis), analysis["checks"])

    @pytest.mark.parametrize(("known", "unsaid"), [("AC", []), ("A", ["C"]), ("", ["A", "C"])])
    def test_what_is_not_checked_names_the_plates_that_nobody_said(self, known, unsaid):
        told = analyse(read(gable()), Surroundings(wall_plates=dict.fromkeys(known, SPF))).not_checked
        below = [one.values for one in told if one.code == "below"]
        assert below == [{"unsaid": unsaid, "every": len(unsaid) == 2}]

    def test_the_plate_serves_where_the_truss_on_it_does(self):
        """SPF 425 psi; wet 0.67 (Table 4A), over 100 °F and wet 0.7 (Table 2.3.3)."""
        service = {"moisture": "wet", "temperature_f": 110}
        known = Surroundings(wall_plates={"A": SPF})
        plate = told(self.loaded(service=service), known)["A", WALL_PLATE]
        assert plate.capacity == pytest.approx(425 * 0.67 * 0.7)
        assert plate.ratio == pytest.approx(2000 / 5.25 / (425 * 0.67 * 0.7))
        assert (
            analyse(read(self.loaded(service=service)), Surroundings(wall_plates={"A": SPF})).worst_ratio >= plate.ratio
        )

    def test_better_lumber_in_the_truss_is_no_answer_to_a_weak_plate(self):
        heavy = self.loaded()
        heavy["loads"]["point"][0]["down_lb"] = 5600
        failing = [
            one
            for one in analyse(read(heavy), Surroundings(wall_plates={"A": SPF})).checks
            if one.rule == WALL_PLATE and not one.passes
        ]
        assert failing
        assert not raise_lumber(Draft(heavy), failing)


class TestTheRecord:
    def test_nothing_said_leaves_the_analysis_document_as_it_was(self):
        plain = analyse(read(gable())).document()
        assert "surroundings" not in plain
        assert json.dumps(plain) == json.dumps(analyse(read(gable()), Surroundings()).document())
        assert "CT" not in json.dumps(plain)

    def test_what_was_said_stands_in_the_analysis_document_and_reads_back(self):
        said = Surroundings(km=1200, wall_plates={"A": SPF, "Z": SPF})
        written = analyse(read(gable()), said).document()["surroundings"]
        assert written == {"KM": 1200, "wall_plates": {"A": SPF}}
        assert Surroundings.read(written) == Surroundings(km=1200, wall_plates={"A": SPF})
        assert Surroundings.read({}) == Surroundings()

    def test_a_stack_is_told_the_same_as_each_of_its_trusses(self):
        said = Surroundings(km=2300, wall_plates={"A": SPF})
        heavier = gable(lateral_restraint={"top_chord_in": 12, "bottom_chord_in": 48})
        stack = analyse_many([read(gable()), read(heavier)], said)
        assert [one.document() for one in stack] == [analyse(read(d), said).document() for d in (gable(), heavier)]

    def test_what_can_not_be_is_refused_in_a_sentence(self):
        with refused(SurroundingsError, "km-unknown", km=2400, known=[2300, 1200]):
            Surroundings(km=2400)
        with refused(LumberError, "lumber-unknown", shown="2x4 Oak"):
            Surroundings(wall_plates={"A": "2x4 Oak"})


def test_the_plate_values_are_those_of_the_table():
    assert lookup(SPF).fc_perp == 425
    assert lookup("2x4 DF-L No.2").fc_perp == 625
