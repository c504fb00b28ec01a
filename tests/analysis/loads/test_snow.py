"""The snow builder: where its windows lie on each shape, what it leaves alone, what it refuses."""

import copy
import itertools
import math

import pytest

from tests.refused import refused
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.loads.arrangements import arrange, missing
from trusses.analysis.loads.roof_planes import roof_of
from trusses.analysis.loads.snow import snow_loads, write_snow
from trusses.analysis.loads.snow_rules import Site, SnowError
from trusses.analysis.loads.windows import total_lb
from trusses.analysis.shapes.shapes import KINDS, ShapeError, build

SITE = Site(30, thermal=1.0)  # pf 21 psf
SPF = "2x4 SPF No.1/No.2"


def snow(document, pattern=None):
    """(psf, from, to) of each snow load."""
    return [
        (load["psf"], load.get("from_x_in"), load.get("to_x_in"))
        for load in document["loads"]["area"]
        if load["case"] == "snow" and pattern in (None, load["pattern"])
    ]


def patterns(document):
    return list(dict.fromkeys(load["pattern"] for load in document["loads"]["area"] if load["case"] == "snow"))


def top_chord(*points, bearings=(0, -1)):
    """A truss of a top chord alone, as far as snow can see."""
    names = [f"j{i}" for i in range(len(points))]
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "X1",
        "title": "Made up",
        "spacing_in": 24,
        "joints": dict(zip(names, points, strict=True)),
        "members": [
            {"id": f"T{i}", "role": "top_chord", "joints": [b, a], "lumber": SPF}
            for i, (a, b) in enumerate(itertools.pairwise(names))
        ],
        "bearings": [
            {"joint": names[i], "restrains": way, "width_in": 3.5} for i, way in zip(bearings, ("xy", "y"), strict=True)
        ],
    }


class TestWindows:
    def test_a_gable_is_loaded_about_its_ridge(self):
        document = write_snow(build("w", span="30'", arranged=False), SITE)
        psf, feet = (round(number, 2) for number in SITE.surcharge(15, 2))
        assert patterns(document) == ["balanced", "left", "right"]
        assert snow(document, "balanced") == [(21, None, None)]
        edge = pytest.approx(12 * feet, abs=0.1)
        left, right = snow(document, "left"), snow(document, "right")
        assert left[:2] == [(21, None, 180), (6.3, 180, None)]
        assert (left[2][0], 180 - left[2][1], left[2][2]) == (psf, edge, 180)
        assert right[:2] == [(6.3, None, 180), (21, 180, None)]
        assert (right[2][0], right[2][1], right[2][2] - 180) == (psf, 180, edge)

    def test_left_and_right_mirror_each_other(self):
        for kind in ("w", "hip", "scissors", "howe", "queen-post"):
            truss = read(write_snow(build(kind, span="34'", pitch=5, stock=480, arranged=False), SITE))
            loads = truss.document["loads"]["area"]
            by = {name: [("area", load) for load in loads if load.get("pattern") == name] for name in ("left", "right")}
            for a, b in ((0, 100), (100, 204), (0, 204), (150, 260)):
                mirrored = total_lb(truss, by["right"], (408 - b, 408 - a))
                assert total_lb(truss, by["left"], (a, b)) == pytest.approx(mirrored, abs=0.01), kind

    def test_tails_are_roof_too_and_lengthen_the_fetch(self):
        """The eave is the tail's end: a tail of 4 ft on the right makes the drift on the left higher, not the other."""
        plain = write_snow(build("w", span="48'", arranged=False), SITE)
        tail = write_snow(build("w", span="48'", overhang_right=48, arranged=False), SITE)
        assert snow(tail, "balanced") == [(21, None, None)]
        assert snow(tail, "right") == snow(plain, "right")
        assert snow(tail, "left")[2][0] == round(SITE.surcharge(28, 2)[0], 2) > snow(plain, "left")[2][0]
        assert snow(tail, "left")[:2] == snow(plain, "left")[:2]

    def test_two_pitches_each_have_their_own_snow_and_drift(self):
        """4 in 12 for 30 ft, then 12 in 12 for 10 ft. The fetch is the windward side, the run the leeward's."""
        roof = top_chord([0, 0], [180, 60], [360, 120], [480, 0])
        document = write_snow(roof, SITE)
        steep = round(21 * 0.625, 2)
        assert snow(document, "balanced") == [(21, None, 360), (steep, 360, None)]
        drift_left, drift_right = SITE.surcharge(10, 3), SITE.surcharge(30, 1)
        left, right = snow(document, "left"), snow(document, "right")
        assert left[:2] == [(21, None, 360), (round(0.3 * 21 * 0.625, 2), 360, None)]
        assert left[2] == (round(drift_left[0], 2), pytest.approx(360 - 12 * drift_left[1], abs=1e-4), 360)
        assert right[:2] == [(6.3, None, 360), (steep, 360, None)]
        assert right[2] == (round(drift_right[0], 2), 360, pytest.approx(360 + 12 * drift_right[1], abs=1e-4))

    def test_a_drift_ends_at_the_eave(self):
        """24 ft rising 5 in 12 to a ridge 2 ft from its other eave: the drift there would be longer than the slope."""
        document = write_snow(top_chord([0, 0], [288, 120], [312, 110]), SITE)
        psf, feet = SITE.surcharge(24, 2.4)
        assert feet > 2
        assert snow(document, "right")[2] == (round(psf, 2), 288, None)

    def test_the_ridge_of_a_hip_is_the_middle_of_its_level_top(self):
        document = write_snow(build("hip", span="32'", pitch=8, setback=96, arranged=False), SITE)
        assert patterns(document) == ["balanced"], "8 in 12 has no unbalanced snow"
        ps = round(21 * (1 - (math.degrees(math.atan(8 / 12)) - 30) / 40), 2)
        assert snow(document, "balanced") == [(ps, None, 96), (21, 96, 288), (ps, 288, None)]
        low = write_snow(build("hip", span="32'", pitch=4, setback=96, arranged=False), SITE)
        assert snow(low, "left")[:2] == [(21, None, 192), (6.3, 192, None)]
        assert snow(low, "left")[2][2] == 192
        assert snow(low, "left")[2][0] == round(SITE.surcharge(16, 3)[0], 2)

    def test_scissors_are_gables(self):
        given = {"span": "30'", "pitch": 6, "arranged": False}
        assert snow(write_snow(build("scissors", **given), SITE)) == snow(write_snow(build("w", **given), SITE))

    @pytest.mark.parametrize(("kind", "given"), [("mono", {"pitch": 5}), ("flat", {})])
    def test_one_slope_has_no_unbalanced_snow(self, kind, given):
        document = write_snow(build(kind, span="20'", arranged=False, **given), SITE)
        assert snow(document) == [(21, None, None)]
        assert patterns(document) == ["balanced"]

    def test_a_level_roof_has_the_least_snow(self):
        document = write_snow(build("flat", span="20'", arranged=False), Site(25, thermal=1.0))
        assert snow(document) == [(20, None, None)]

    def test_the_least_snow_is_in_the_balanced_case_alone(self):
        """2 in 12, pg 20: pm 20 psf balanced; ps 12.6 psf and its 0.3 beside the drift (ASCE 7-16 §7.3.4)."""
        document = write_snow(build("w", span="28'", pitch=2, arranged=False), Site(20, exposure=0.9, thermal=1.0))
        assert snow(document, "balanced") == [(20, None, None)]
        assert [psf for psf, _, _ in snow(document, "left")[:2]] == [12.6, 3.78]

    def test_snow_that_slides_off_is_no_load(self):
        """24 in 12 (63.4 degrees) keeps 0.164 of it, and beyond 70 degrees nothing stays."""
        assert snow(write_snow(build("w", span="8'", pitch=24, arranged=False), SITE)) == [(3.45, None, None)]
        assert snow(write_snow(top_chord([0, 0], [20, 60], [40, 0]), SITE)) == []


def test_an_upright_piece_of_top_chord_is_no_plane():
    """As at the high end of a mono truss whose end is framed of top chord."""
    upright = top_chord([0, 0], [120, 40], bearings=(0, 1))
    upright["joints"]["k"] = [120, 90]
    upright["members"].append({"id": "T9", "role": "top_chord", "joints": ["k", "j1"], "lumber": SPF})
    (plane,) = roof_of(read(upright)).planes
    assert (plane.left, plane.right) == (0, 120)
    assert snow(write_snow(upright, SITE)) == [(21, None, None)]


def test_a_light_snow_is_written_too():
    assert snow(write_snow(build("mono", span="20'", pitch=8, arranged=False), Site(1, thermal=1.0)))[0][0] == 0.64


@pytest.mark.parametrize("kind", [kind.key for kind in KINDS.values() if kind.use == "roof"])
@pytest.mark.parametrize("ground", [8, 21, 70])
def test_every_roof_that_is_built_lacks_no_snow(kind, ground):
    """The builder's patterns are those that the arrangements ask for, on every shape and slope: nothing is added."""
    for pitch in (1, 3, 6, 9):
        for site in (Site(ground, exposure=0.8, thermal=0.85), Site(ground, snow_edition="7-22", winter_wind=0.3)):
            given: dict = {} if kind == "flat" else {"pitch": pitch}
            given |= {"bottom_pitch": 0.25} if kind in ("scissors", "cambered") and pitch > 1.3 else {}
            if pitch == 1 and kind in ("scissors", "cambered"):
                continue
            document = write_snow(build(kind, span="30'", stock=480, arranged=False, **given), site)
            assert not [name for name in missing(read(document)) if name.startswith("snow")], (kind, pitch, site)
            assert snow(arrange(document)) == snow(document)


class TestDocument:
    def test_writing_again_changes_nothing_and_other_snow_takes_its_place(self):
        document = build("w", span="36'", snow=25)
        before = copy.deepcopy(document)
        once = write_snow(document, SITE)
        assert document == before
        assert write_snow(once, SITE) == once
        other = write_snow(once, Site(50, thermal=1.0))
        assert other == write_snow(document, Site(50, thermal=1.0))
        assert other["title"] == before["title"] + "; snow by ASCE 7-16 from pg 50 psf (Ce 1, Ct 1, Is 1)"
        rest = [load for load in once["loads"]["area"] if load["case"] != "snow"]
        assert rest == [load for load in document["loads"]["area"] if load["case"] != "snow"]

    def test_what_the_designer_added_by_line_and_point_stays(self):
        document = build("hip", span="32'", arranged=False)
        jacks = {"case": "snow", "joint": "t2", "down_lb": 200, "note": "corner jacks"}
        drift = {"case": "snow", "member": "T1", "plf": 40, "pattern": "left"}
        alone = {"case": "snow", "chord": "top_chord", "psf": 5, "along": "plan", "acts": "alone"}
        document["loads"] |= {"point": [jacks], "line": [drift]}
        document["loads"]["area"].append(alone)
        written = write_snow(document, SITE)
        assert written["loads"]["point"] == [jacks]
        assert written["loads"]["line"] == [drift]
        assert alone in written["loads"]["area"]

    def test_a_document_without_loads_or_title_gets_both(self):
        bare = top_chord([0, 0], [120, 40], [240, 0])
        del bare["title"]
        written = write_snow(bare, SITE)
        assert written["title"] == "Truss; snow by ASCE 7-16 from pg 30 psf (Ce 1, Ct 1, Is 1)"
        assert patterns(written) == ["balanced", "left", "right"]
        assert write_snow(written, SITE) == written

    def test_strength_level_is_said_where_it_was_taken_down(self):
        site = Site(60, exposure=0.9, importance=1.1, surface="slippery", snow_edition="7-22", winter_wind=0.45)
        written = write_snow(top_chord([0, 0], [120, 40], [240, 0]), site)
        assert written["title"] == (
            "Made up; snow by ASCE 7-22, times 0.7 for ASD, from pg 60 psf at strength level"
            " (Ce 0.9, Ct 1.2, risk III, W2 0.45, slippery)"
        )
        flat = 0.7 * 0.9 * 1.2 * 60
        angle = math.degrees(math.atan(1 / 3))
        assert snow(written, "balanced")[0][0] == pytest.approx(0.7 * flat * (1 - (angle - 15) / 55), abs=0.005)

    def test_a_shape_takes_snow_from_the_ground(self):
        document = build("w", span="36'", ground_snow=30, thermal=1.0, mark="R2", title="Over the hall")
        assert missing(read(document)) == ()
        assert snow(document) == snow(write_snow(build("w", span="36'"), SITE))
        assert document["title"] == "Over the hall; snow by ASCE 7-16 from pg 30 psf (Ce 1, Ct 1, Is 1)"
        assert snow(build("w", span="36'", ground_snow="")) == []


class TestRefusals:
    @pytest.mark.parametrize(
        "points",
        [
            ([0, 40], [120, 0], [240, 40]),
            ([0, 0], [60, 30], [120, 0], [180, 30], [240, 0]),
        ],
    )
    def test_valleys(self, points):
        with refused(SnowError, "snow-in-valley", ""):
            write_snow(top_chord(*points), SITE)
        assert roof_of(read(top_chord(*points))).ridge is None

    def test_a_top_chord_over_itself_or_with_a_gap(self):
        twice = top_chord([0, 0], [120, 40], [240, 0])
        twice["members"].append({"id": "T9", "role": "top_chord", "joints": ["j0", "j2"], "lumber": SPF})
        with refused(SnowError, "snow-on-broken-chord", ""):
            write_snow(twice, SITE)
        gap = top_chord([0, 0], [100, 40], [140, 40], [240, 0])
        gap["members"][1]["role"] = "web"
        with refused(SnowError, "snow-on-broken-chord", ""):
            write_snow(gap, SITE)

    def test_a_floor_and_a_wrong_document(self):
        with refused(SnowError, "snow-on-floor", ""):
            write_snow(build("floor", span="20'"), SITE)
        wrong = build("w", span="20'")
        wrong["joints"]["t0"] = [0, math.inf]
        with refused(DocumentError, "number-too-large", "joints.t0[1]"):
            write_snow(wrong, SITE)

    @pytest.mark.parametrize("field", ["ground_snow", "exposure", "thermal", "winter_wind"])
    @pytest.mark.parametrize("value", [math.nan, math.inf, -1, 0, 1e9, "30", True])
    def test_numbers_that_are_none(self, field, value):
        if field == "exposure" and value is True:
            value = False
        with refused(SnowError, "snow-number", field):
            Site(**{"ground_snow": 30, field: value})

    @pytest.mark.parametrize(
        ("given", "field", "code"),
        [
            ({"importance": 1.05}, "importance", "snow-importance"),
            ({"importance": "high"}, "importance", "snow-importance"),
            ({"surface": "ice"}, "surface", "snow-surface"),
            ({"snow_edition": "7-10"}, "snow_edition", "snow-edition"),
            ({"winter_wind": 0.4}, "winter_wind", "winter-wind-needless"),
        ],
    )
    def test_choices_that_there_are_not(self, given, field, code):
        with refused(SnowError, code, field):
            Site(30, **given)

    def test_7_22_needs_the_winters_wind_only_where_snow_drifts(self):
        site = Site(30, snow_edition="7-22")
        with refused(SnowError, "winter-wind-missing", "winter_wind"):
            write_snow(build("w", span="20'", arranged=False), site)
        assert len(snow_loads(roof_of(read(build("mono", span="20'", arranged=False))), site)) == 1

    @pytest.mark.parametrize(
        ("given", "field", "code"),
        [
            ({"ground_snow": 30, "snow": 20}, "ground_snow", "shape-snow-twice"),
            ({"ground_snow": 30, "importance": 1.05}, "importance", "snow-importance"),
            ({"ground_snow": 30, "exposure": 2}, "exposure", "shape-number"),
            ({"ground_snow": 30, "surface": "ice"}, "surface", "shape-choice"),
            ({"ground_snow": 30, "snow_edition": "7-22"}, "winter_wind", "winter-wind-missing"),
            ({"ground_snow": "lots"}, "ground_snow", "shape-number"),
            ({"ground_snow": 401}, "ground_snow", "shape-number"),
        ],
    )
    def test_a_shape_names_the_field(self, given, field, code):
        with refused(ShapeError, code, field):
            build("w", span="20'", **given)
