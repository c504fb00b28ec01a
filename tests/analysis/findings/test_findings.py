"""Each finding raised by a document that calls for it, and kept silent by the nearest one that doesn't."""

import copy
import math

import pytest

from tests.beams import beam, check, find, gable, line
from tests.frames import document
from tests.turned import mirrored
from trusses.analysis.findings.report import not_checked
from trusses.analysis.findings.shape import shape_findings
from trusses.analysis.format.document import read
from trusses.analysis.loads.snow import lacks_drift
from trusses.analysis.loads.windows import open_panels
from trusses.analysis.shapes.shapes import KINDS, build
from trusses.demo_set import marks


def codes(document):
    return {finding.code for finding in find(document)}


def one(document, code):
    (finding,) = [finding for finding in find(document) if finding.code == code]
    return finding


def roof(case, **more):
    return {"case": case, "chord": "top_chord", "psf": 20, "along": "plan", **more}


def wind(psf, **more):
    return {"case": "wind", "chord": "top_chord", "psf": psf, "along": "normal", **more}


def with_area(document, *loads):
    document["loads"]["area"] += loads
    return document


class TestLoads:
    def test_snow_that_lies_evenly_only(self):
        assert one(gable(), "snow-patterns").values == {"case": "snow", "lacking": ["left", "right"]}
        uneven = [
            roof("snow", pattern="balanced"),
            roof("snow", pattern="left", to_x_in=96),
            roof("snow", pattern="right", from_x_in=96),
        ]
        document = gable()
        document["loads"]["area"][2:] = uneven
        assert "snow-patterns" not in codes(document)

    def test_wind_one_way_only(self):
        assert one(with_area(gable(), wind(-20)), "wind-patterns").values["lacking"] == ["down"]
        both = with_area(gable(), wind(-20, pattern="up"), wind(15, pattern="down"))
        assert "wind-patterns" not in codes(both)

    def test_a_floor_loaded_all_over_only(self):
        document = build("floor", span="20'", depth=16)
        assert "live-patterns" not in codes(document)
        document["loads"]["area"] = [
            {key: value for key, value in load.items() if key != "pattern"}
            for load in document["loads"]["area"]
            if load["case"] != "live" or load["pattern"] == "all"
        ]
        assert one(document, "live-patterns").values["lacking"] == ["left", "right"]

    def test_no_dead_load(self):
        document = gable()
        assert "no-dead-load" not in codes(document)
        document["loads"]["area"] = [roof("snow")]
        assert "no-dead-load" in codes(document)

    def test_a_roof_without_wind(self):
        assert "no-wind" in codes(gable())
        assert "no-wind" not in codes(gable(use="floor"))
        assert "no-wind" not in codes(with_area(gable(), wind(-20)))

    def test_uplift_on_all_of_the_dead_load(self):
        lifted = with_area(gable(), wind(-20))
        assert one(lifted, "uplift-dead-share").where == "uplift_dead_share"
        assert "uplift-dead-share" not in codes(lifted | {"uplift_dead_share": 1})
        assert "uplift-dead-share" not in codes(with_area(gable(), wind(20)))
        by_point = gable()
        by_point["loads"]["point"] = [{"case": "wind", "joint": "P", "down_lb": -100}]
        assert "uplift-dead-share" in codes(by_point)

    def test_a_case_of_which_some_acts_alone(self):
        attic = {"case": "live", "chord": "bottom_chord", "psf": 10, "along": "plan"}
        assert "loads-alone-mixed" not in codes(with_area(gable(), attic | {"acts": "alone"}))
        mixed = with_area(gable(), attic | {"acts": "alone"}, attic)
        assert one(mixed, "loads-alone-mixed").values == {"case": "live"}


class TestSupports:
    def test_two_bearings_that_hold_sideways_thrust(self):
        document = gable()
        assert "thrust" not in codes(document)
        document["bearings"][1]["restrains"] = "xy"
        finding = one(document, "thrust")
        assert finding.where == "bearings A, C"
        assert "x-couple" not in codes(document)

    def test_two_that_hold_one_end_fix_it(self):
        document = build("floor", span="20'", depth=16)
        assert "x-couple" not in codes(document)
        (over,) = [name for name, (x, y) in document["joints"].items() if x == 0 and y > 8]
        document["bearings"].append({"joint": over, "restrains": "x", "width_in": 3.5})
        finding = one(document, "x-couple")
        assert over in finding.where
        assert "thrust" not in codes(document)

    @pytest.mark.parametrize(("width", "off"), [(3.5, True), (9, True), (10.5, False)])
    def test_chords_that_cross_off_the_bearing(self, width, off):
        """The bearing stands 5 in. inside the crossing of the chords."""
        document = gable()
        document["joints"]["S"] = [5, 0]
        document["members"][2]["joints"] = ["S", "B"]
        document["members"].append(document["members"][2] | {"id": "B0", "joints": ["A", "S"]})
        document["bearings"][0] = {"joint": "S", "restrains": "xy", "width_in": width}
        assert ("heel-eccentricity" in codes(document)) is off
        if off:
            finding = one(document, "heel-eccentricity")
            assert finding.where == "bearing S"
            assert finding.values["off_in"] == pytest.approx(5)
            # what it makes of it is in test_heels
            assert finding.values["combination"] == "D + S"

    def test_a_cantilever_over_a_web_is_no_heel_off_its_bearing(self):
        document = gable()
        document["joints"] |= {"S": [20, 0], "Q": [20, 20 / 3]}
        document["members"][2]["joints"] = ["S", "B"]
        document["members"][0]["joints"] = ["A", "Q"]
        document["members"] += [
            document["members"][2] | {"id": "B0", "joints": ["A", "S"]},
            document["members"][0] | {"id": "T0", "joints": ["Q", "P"]},
            {"id": "V", "role": "web", "joints": ["S", "Q"], "lumber": "2x4 SPF No.1/No.2"},
        ]
        document["bearings"][0]["joint"] = "S"
        assert "heel-eccentricity" not in codes(document)

    @pytest.mark.parametrize(("feet", "long"), [(59, False), (60, True)])
    def test_a_span_of_sixty_feet(self, feet, long):
        document = beam(feet * 12, "2x12 DF-L No.2", loads={"line": [line(1)]})
        assert ("long-span" in codes(document)) is long


class TestKinds:
    """What nothing automatic answers for is a fact of the document, never a word in it."""

    def test_that_other_trusses_stand_on_it(self):
        assert one(gable(carries_trusses=True), "carries-trusses").where == "carries_trusses"
        assert "carries-trusses" not in codes(gable(carries_trusses=False))

    @pytest.mark.parametrize("title", ["Two-ply girder over the garage", "Porch on Girder Street", "Repair of R3"])
    def test_a_title_and_a_note_say_nothing_of_its_kind(self, title):
        document = gable(title=title)
        document["loads"]["point"] = [
            {"case": "dead", "member": "B1", "at_in": 24, "down_lb": 300, "note": "from R5 at 2'-0\""}
        ]
        assert codes(document) == codes(gable())


class TestWood:
    def test_a_chord_that_bends_without_a_hinge(self):
        document = gable(hinges=["A", "C"])
        assert one(document, "chord-bend").where == "joint P"
        assert "chord-bend" not in codes(gable())

    def test_a_splice_of_unlike_pieces_without_a_hinge(self):
        document = gable()
        assert "splice-not-hinged" not in codes(document)
        document["members"][3]["lumber"] = "2x6 SPF No.1/No.2"
        assert one(document, "splice-not-hinged").where == "joint B"
        assert "splice-not-hinged" not in codes(document | {"hinges": ["A", "B", "C", "P"]})

    def test_a_splice_beside_a_chase(self):
        document = build("floor", span="20'", depth=16, chase_width=24)
        assert "chase-splice" not in codes(document)
        bottom = [m for m in document["members"] if m["role"] == "bottom_chord"]
        inner = sorted({j for m in bottom for j in m["joints"]}, key=lambda j: document["joints"][j][0])
        beside = [j for j in inner if document["joints"][j][0] < 107][-1]
        spliced = copy.deepcopy(document)
        spliced.setdefault("hinges", []).append(beside)
        far = copy.deepcopy(document)
        far.setdefault("hinges", []).append(inner[2])
        assert one(spliced, "chase-splice").where == f"joint {beside}"
        assert "chase-splice" not in codes(far)

    @pytest.mark.parametrize("heel", ["a", "q", "zz", "t0", "E1", "k", "n5", "B"])
    def test_a_splice_beside_a_chase_at_the_truss_s_end(self, heel):
        """The top chord turns down at its ends: of two joints above each other the panel's own neighbor counts, which
        is the upper one here, however the joints are called."""
        up, down = f"{heel}{heel}", heel
        joints = {up: (0, 16), down: (0, 0), "C": (24, 16), "D": (24, 0), "F": (60, 16), "G": (60, 0), "H": (84, 16)}
        joints |= {"I": (84, 0)}
        chords = [("U0", "top", up, down), ("T1", "top", up, "C"), ("T2", "top", "C", "F"), ("T3", "top", "F", "H")]
        chords += [("U3", "top", "H", "I"), ("B1", "bottom", down, "D"), ("B2", "bottom", "D", "G")]
        chords += [("B3", "bottom", "G", "I")]
        members = [(name, f"{role}_chord", *ends) for name, role, *ends in chords]
        members += [("V1", "web", "C", "D"), ("V2", "web", "F", "G"), ("D0", "web", down, "C"), ("D3", "web", "F", "I")]
        here = document(joints, members, {down: "xy", "I": "y"}, hinges=[up])
        for way in (here, mirrored(here | {"loads": {"area": [], "point": []}})):
            assert one(way, "chase-splice").where == f"joint {up}"

    def test_a_splice_in_a_chase(self):
        document = build("floor", span="20'", depth=16, chase_width=24)
        bottom = next(
            m
            for m in document["members"]
            if m["role"] == "bottom_chord" and abs(sum(document["joints"][j][0] for j in m["joints"]) / 2 - 120) < 1
        )
        first, second = bottom["joints"]
        document["joints"]["S"] = [120, document["joints"][first][1]]
        bottom["joints"] = [first, "S"]
        document["members"].append({**bottom, "id": "B99", "joints": ["S", second]})
        assert "chase-splice" not in codes(document)
        assert one(document | {"hinges": [*document.get("hinges", []), "S"]}, "chase-splice").where == "joint S"

    @pytest.mark.parametrize(("rise", "told"), [(10, True), (11, False)])
    def test_a_web_that_lies_in_a_chord_s_wood_over_half_its_length(self, rise, told):
        """From a joint of a level 2x8 chord a 2x4 web goes 36 in. out and `rise` up: at that angle a their rectangles
        overlap over (3.625 + 1.75 cos a) / sin a. For 10 in. that is 19.84 in. of 37.36 in. or 53 %, for 11 in. 18.1
        in. of 37.64 in. or 48 %."""
        document = gable()
        document["joints"]["Q"] = [60, rise]
        web = next(member for member in document["members"] if member["role"] == "web")
        document["members"] += [web | {"id": "X", "joints": ["B", "Q"]}, web | {"id": "Y", "joints": ["Q", "P"]}]
        for member in document["members"]:
            if member["role"] == "bottom_chord":
                member["lumber"] = "2x8 SPF No.1/No.2"
        angle = math.atan2(rise, 36)
        share = (3.625 + 1.75 * math.cos(angle)) / math.sin(angle) / math.hypot(36, rise)
        assert (share > 0.5) is told
        # Q hangs between two webs alone: that it can move is no matter here
        found = {one.values["web"]: one for one in shape_findings(read(document)) if one.code == "web-along-wood"}
        assert ("X" in found) is told
        if told:
            assert found["X"].values == {"web": "X", "other": "B1", "joint": "B", "share": pytest.approx(share)}

    def test_no_shape_as_it_starts_and_no_mark_of_the_demo_has_a_web_along_a_chord(self):
        shapes = [build(kind, span="20'", stock="20'", arranged=False) for kind in KINDS]
        for each in (*shapes, *(mark.document for mark in marks())):
            assert "web-along-wood" not in {one.code for one in shape_findings(read(each))}

    def test_loose_plies(self):
        assert "ply-fastening" not in codes(gable())
        assert one(gable(plies=2), "ply-fastening").where == "ply_fastening"
        assert "ply-fastening" not in codes(gable(plies=2, ply_fastening="nailed: 10d at 12 in., two rows"))
        assert one(gable(plies=2, ply_fastening="not fastened"), "ply-fastening").values["stated"] == "not fastened"
        assert one(gable(plies=6, ply_fastening="nailed"), "ply-fastening").values["plies"] == 6

    def test_lumber_whose_values_the_texts_dispute(self):
        document = gable()
        assert "lumber-values" not in codes(document)
        document["members"][0]["lumber"] = "2x4 SPF Select Structural"
        document["members"][2]["lumber"] = "2x4 Hem-Fir 1650f-1.5E"
        found = [finding for finding in find(document) if finding.code == "lumber-values"]
        assert {finding.where for finding in found} == {"members T1", "members B1"}


class TestRestraint:
    def test_restraint_that_is_not_stated(self):
        assert "restraint-unstated" not in codes(gable())
        document = gable(lateral_restraint={"top_chord_in": 24})
        finding = one(document, "restraint-unstated")
        assert finding.where == "lateral_restraint bottom_chord"
        # what it tells is what the checks take
        terms = check(document)["B2", "bending"].terms
        assert finding.values["inner_edge_in"] == terms["lu"] == 192
        assert finding.values["column_in"] == 192
        document = gable(lateral_restraint={"bottom_chord_in": 96})
        column = check(document)["T1", "compression"].terms["le out of plane"]
        assert one(document, "restraint-unstated").values["column_in"] == column
        assert column == pytest.approx(2 * (96**2 + 32**2) ** 0.5)

    def test_a_row_on_a_web_needs_its_neighbors_and_diagonals(self):
        assert "web-restraint" not in codes(gable())
        document = gable()
        document["lateral_restraint"]["webs"] = {"W": 1}
        finding = one(document, "web-restraint")
        assert (finding.where, finding.values) == ("member W", {"web": "W", "rows": 1})

    @staticmethod
    def strut(length, pounds, rows=0):
        """An upright web W between a bearing and a level top chord that hangs on it: W carries the load at C alone."""
        document = beam(24, "2x4 DF-L No.2", role="bottom_chord")
        document["joints"] |= {"C": [24, length], "D": [48, length]}
        document["members"] += [
            {"id": "W", "role": "web", "joints": ["B", "C"], "lumber": "2x4 DF-L No.2"},
            {"id": "T", "role": "top_chord", "joints": ["C", "D"], "lumber": "2x4 DF-L No.2"},
        ]
        document["bearings"].append({"joint": "D", "restrains": "xy", "width_in": 3.5})
        document["loads"] = {"point": [{"case": "snow", "joint": "C", "down_lb": pounds}]}
        document["lateral_restraint"]["webs"] = {"W": rows}
        return document

    def test_a_web_that_needs_rows(self):
        """100 in. over 1.5 in. is 66.7, halved 33.3 (limit 50); CP(33.3) carries 500 lb with room to spare."""
        assert one(self.strut(100, 500), "web-rows").values == {"web": "W", "rows": 1, "stated": 0}
        assert "web-rows" not in codes(self.strut(100, 500, rows=1))
        assert "web-rows" not in codes(self.strut(60, 100))

    def test_as_many_rows_as_the_finding_asks_for_pass_and_one_fewer_fails(self):
        document = self.strut(100, 2500)
        rows = one(document, "web-rows").values["rows"]
        assert rows == 2
        for count in (rows - 1, rows):
            found = check(self.strut(100, 2500, rows=count))
            passes = found["W", "compression"].passes and found["W", "slenderness"].passes
            assert passes is (count == rows)

    def test_a_web_that_no_row_helps(self):
        assert one(self.strut(100, 9000), "web-too-slender").where == "member W"
        assert "web-too-slender" not in codes(self.strut(100, 2000))


class TestForces:
    def test_uplift_at_a_bearing(self):
        assert "uplift" not in codes(gable())
        lifted = with_area(gable(), wind(-60))
        found = [finding for finding in find(lifted) if finding.code == "uplift"]
        assert [finding.where for finding in found] == ["bearing A", "bearing C"]
        # 0.6 of 60 psf over 24 in. and a plan of 8 ft each side, less 0.6 of the dead load
        rafter = (96**2 + 32**2) ** 0.5
        dead = (10 * rafter + 7 * 96) * 24 / 144
        up = 0.6 * 60 * 96 * 24 / 144 - 0.6 * dead
        assert found[0].values["force_lb"] == pytest.approx(up, rel=1e-9)
        assert found[0].values["combination"] == "0.6D + 0.6W"

    def test_force_that_reverses(self):
        assert "force-reversal" not in codes(gable())
        finding = one(with_area(gable(), wind(-60)), "force-reversal")
        assert "T1" in finding.values["members"]
        assert finding.where.startswith("members T1")


class TestNotChecked:
    def codes(self, **more):
        return {one.code for one in not_checked(read(gable(**more)))}

    def test_what_no_document_changes_is_always_named(self):
        always = {"plates", "heel-eccentricity", "fire", "connections", "joint-slip", "bracing", "seismic"}
        assert always <= self.codes()

    def test_ply_fastening_of_several_plies(self):
        assert "ply-fastening" not in self.codes()
        assert "ply-fastening" in self.codes(plies=2)

    def test_vibration_of_floors(self):
        assert "vibration" not in self.codes()
        assert "vibration" in self.codes(use="floor")

    def test_what_the_repetitive_factor_takes_for_granted(self):
        (found,) = [one for one in not_checked(read(gable())) if one.code == "repetitive-use"]
        assert found.values == {"roles": ["top_chord"]}
        assert "repetitive-use" not in self.codes(spacing_in=48)
        assert "repetitive-use" not in self.codes(plies=2)


class TestLoadsThatAreNotThere:
    """What a reader takes for granted and the document doesn't have."""

    def typed(self, **given):
        return build("w", span=360, pitch=5, snow=30.8, roof_live=0, wind_up=15, stock=600, **given)

    def test_typed_snow_has_no_drift(self):
        """ASCE 7-16 §7.6.1: on 5 in 12 the lee side has ps and hd γ / √S more right below the ridge."""
        document = self.typed()
        assert {"snow-drift"} <= codes(document)
        assert "snow-patterns" not in codes(document)
        assert "snow-drift" in {one.code for one in not_checked(read(document))}

    def test_the_same_snow_from_the_ground_has_it(self):
        """0.7 · 1.0 · 1.1 · 1.0 · 40 = 30.8 psf."""
        document = build("w", span=360, pitch=5, ground_snow=40, exposure=1, thermal=1.1, roof_live=0, stock=600)
        assert [load["psf"] for load in document["loads"]["area"] if load.get("pattern") == "balanced"] == [30.8]
        # hd = 0.43 (20^1/3) (50^1/4) - 1.5 = 1.60 ft, γ = 19.2 pcf, S = 2.4: 1.60 · 19.2 / √2.4
        assert 19.88 in [load["psf"] for load in document["loads"]["area"] if load.get("pattern") == "left"]
        assert "snow-drift" not in codes(document)
        assert "snow-drift" not in {one.code for one in not_checked(read(document))}

    def test_a_drift_on_one_side_alone_is_half_of_it(self):
        document = build("w", span=360, pitch=5, ground_snow=40, roof_live=0, stock=600)
        loads = document["loads"]["area"]
        even = {"case": "snow", "chord": "top_chord", "psf": 30.8, "along": "plan"}
        document["loads"]["area"] = [load for load in loads if load.get("pattern") != "right"]
        document["loads"]["area"].append(even | {"pattern": "right", "from_x_in": 180})
        assert "snow-drift" in codes(document)

    @pytest.mark.parametrize(("pitch", "told"), [(0.4, False), (0.6, True), (6.9, True), (7.1, False)])
    def test_only_where_snow_drifts(self, pitch, told):
        """§7.6.1: 1/2 in 12 to 7 in 12."""
        document = gable()
        document["joints"]["P"] = [96, pitch * 8]
        document["joints"] |= {name: [x, -40] for name, x in (("B", 96),)}
        document["loads"]["area"][2]["psf"] = 30
        assert ("snow-drift" in codes(document)) is told

    @pytest.mark.parametrize("pitch", [0.5, 1, 2, 3, 5, 7])
    @pytest.mark.parametrize("ground", [5, 20, 60, 150])
    @pytest.mark.parametrize("kind", ["w", "hip"])
    def test_never_of_snow_that_was_written_from_the_ground(self, kind, pitch, ground):
        setback = {"setback": 120} if kind == "hip" else {}
        document = build(
            "howe" if kind == "w" else kind, span=480, pitch=pitch, heel_height=40, ground_snow=ground, **setback
        )
        assert not lacks_drift(read(document))

    def test_a_mono_roof_has_no_ridge_to_drift_over(self):
        assert "snow-drift" not in codes(build("mono", span=144, pitch=4, snow=30))

    def test_a_floor_without_live_load(self):
        document = build("floor", span=240, depth=16)
        assert "no-live-load" not in codes(document)
        document["loads"]["area"] = [load for load in document["loads"]["area"] if load["case"] == "dead"]
        assert "no-live-load" in codes(document)
        assert "no-roof-load" not in codes(document)

    def test_a_roof_without_roof_live_and_snow(self):
        document = gable()
        assert "no-roof-load" not in codes(document)
        document["loads"]["area"][2]["case"] = "roof_live"
        assert "no-roof-load" not in codes(document)
        del document["loads"]["area"][2]
        assert "no-roof-load" in codes(document)
        assert "no-live-load" not in codes(document)

    @pytest.mark.parametrize("case", ["live", "attic_storage", "roof_live", "snow", "rain"])
    def test_a_load_whose_sign_lifts(self, case):
        up = {"case": case, "chord": "top_chord", "psf": -20, "along": "plan"}
        assert one(with_area(gable(), up), "load-lifts").values == {"case": case}
        assert "load-lifts" not in codes(with_area(gable(), up | {"psf": 20}))
        lines = gable()
        lines["loads"]["line"] = [{"case": case, "member": "T1", "plf": -5}]
        assert "load-lifts" in codes(lines)

    def test_wind_may_lift(self):
        assert "load-lifts" not in codes(with_area(gable(), wind(-20)))


class TestFrames:
    """Posts and beams drawn as a top chord, without webs: two bays, 8 ft tall."""

    def frame(self, *hinges):
        at = {f"{row}{i}": (120 * i, 96 if row == "t" else 0) for i in range(3) for row in "bt"}
        members = [(f"P{i}", "top_chord", f"b{i}", f"t{i}") for i in range(3)]
        members += [(f"H{i}", "top_chord", f"t{i - 1}", f"t{i}") for i in (1, 2)]
        members += [(f"S{i}", "top_chord", f"b{i - 1}", f"b{i}") for i in (1, 2)]
        dead = {"area": [{"case": "dead", "chord": "top_chord", "psf": 5, "along": "plan"}]}
        return document(at, members, {"b0": "xy", "b1": "y", "b2": "y"}, hinges=list(hinges), loads=dead)

    def test_every_corner_that_is_drawn_rigid_is_told(self):
        found = find(self.frame())
        corners = {finding.values["joint"] for finding in found if finding.code in ("chord-bend", "rigid-joint")}
        assert corners == {"b0", "b1", "b2", "t0", "t1", "t2"}
        (middle, _) = [finding for finding in found if finding.code == "rigid-joint"]
        assert middle.values["members"] == ["P1", "S1", "S2"]

    def test_a_corner_that_is_a_hinge_is_not(self):
        found = [one.values["joint"] for one in find(self.frame("t1")) if one.code in ("chord-bend", "rigid-joint")]
        assert sorted(found) == ["b0", "b1", "b2", "t0", "t2"]

    def test_its_meshes_are_no_chases(self):
        """A hinge in a chase is told; the bays of a frame aren't panels between two chords."""
        assert open_panels(read(self.frame())) == ()
        assert "chase-splice" not in codes(self.frame("t0"))

    def test_a_mesh_of_webs_alone_is_no_chase(self):
        """A diamond of webs between two joints of the chords."""
        diamond = gable()
        diamond["joints"] |= {"B": [96, -30], "l": [80, 4], "r": [112, 4]}
        web = diamond["members"].pop()
        for name, a, b in (("W1", "P", "l"), ("W2", "l", "B"), ("W3", "P", "r"), ("W4", "r", "B")):
            diamond["members"].append(web | {"id": name, "joints": [a, b]})
        diamond["members"] += [web | {"id": "W5", "joints": ["l", "A"]}, web | {"id": "W6", "joints": ["r", "C"]}]
        assert open_panels(read(diamond)) == ()

    def test_the_panel_between_two_chords_is_one(self):
        document = build("floor", span=240, depth=16, chase_width=24)
        ((left, right),) = open_panels(read(document))
        assert right - left == pytest.approx(25.5)
        (over,) = [name for name, (x, y) in document["joints"].items() if x == left and y > 8]
        document["hinges"].append(over)
        assert over in {one.values["joint"] for one in find(document) if one.code == "chase-splice"}
