"""Limited storage in attics, IRC Table R301.5 notes b and g (values.md §5.4): the box, the load, what a change does."""

import copy
import itertools

import numpy as np
import pytest
import shapely

from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.clearance.openings import fit
from trusses.analysis.clearance.outline import outline
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening
from trusses.analysis.loads.attic import (
    box_places,
    carries,
    lacking,
    opened,
    opens_told,
    risen,
    rises_told,
    storage_windows,
    stored,
    with_storage,
    write_attic,
)
from trusses.analysis.loads.combinations import cases
from trusses.analysis.lumber import lookup, section
from trusses.analysis.redesign.search import search
from trusses.analysis.shapes.shapes import ShapeError, build
from trusses.analysis.words.phrases import coded

ALONE = {"case": "attic_storage", "chord": "bottom_chord", "psf": 10, "along": "plan", "acts": "alone"}
STORED = {"case": "attic_storage", "chord": "bottom_chord", "psf": 20, "along": "plan"}
SPF = "2x4 SPF No.1/No.2"


def triangle(rise, **more):
    """24 ft, legs of 12 ft and `rise` in., one post in the middle."""
    members = (("T1", "top_chord", "BP"), ("T2", "top_chord", "PC"), ("B1", "bottom_chord", "BM"))
    members += (("B2", "bottom_chord", "MC"), ("W1", "web", "MP"))
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "A1",
        "spacing_in": 24,
        "joints": {"B": [0, 0], "C": [288, 0], "P": [144, rise], "M": [144, 0]},
        "members": [{"id": i, "role": role, "joints": list(ends), "lumber": SPF} for i, role, ends in members],
        "hinges": ["B", "C", "P"],
        "bearings": [
            {"joint": "B", "restrains": "xy", "width_in": 3.5},
            {"joint": "C", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"area": [{"case": "dead", "chord": "bottom_chord", "psf": 7, "along": "plan"}]},
    } | more


def with_loads(document, *loads):
    return document | {"loads": {"area": [*document["loads"]["area"], *loads]}}


def findings(document):
    return {finding.code: finding.values for finding in analyse(read(document)).findings}


class TestBox:
    @pytest.mark.parametrize(("rise", "fits"), [(55.4, False), (55.7, True)])
    def test_it_fits_to_a_hair(self, rise, fits):
        """Beside the post, x from 1.75 to 25.75 in.: the rafter's underside there, less 1.75 in. of bottom chord."""
        underside = rise - 25.75 * rise / 144 - 1.75 * (1 + (rise / 144) ** 2) ** 0.5
        assert (underside - 1.75 >= 42) is fits
        truss = read(triangle(rise))
        assert bool(box_places(truss)) is fits
        if fits:
            assert box_places(truss) == pytest.approx((144 - 1.75 - 12, 144 + 1.75 + 12), abs=0.3)
            assert storage_windows(truss) == ((0, 288),)

    @pytest.mark.parametrize(
        ("kind", "given"),
        [
            ("w", {"pitch": 6}),
            ("w", {"pitch": 5, "heel_height": 24}),
            ("howe", {"pitch": 7}),
            ("fan", {"pitch": 6}),
            ("scissors", {"pitch": 8, "bottom_pitch": 2}),
            ("mono", {"pitch": 4}),
            ("hip", {"pitch": 10, "setback": 120}),
            ("queen-post", {"pitch": 9}),
        ],
    )
    def test_against_boxes_tried_one_by_one(self, kind, given):
        """A grid of boxes against the wood, drawn here: each that fits is over a window, each window has one."""
        truss = read(build(kind, span="30'", stock=480, arranged=False, **given))
        wood = [
            shapely.LineString([(end.x, end.y) for end in truss.ends(member)]).buffer(
                section(lookup(member.lumber), member.flat).depth_in / 2, cap_style="flat"
            )
            for member in truss.members
        ]
        blocked = shapely.union_all(wood).buffer(-1e-6)
        inside = outline(truss).region
        shapely.prepare(blocked)
        shapely.prepare(inside)
        xs, ys = np.arange(12, 350, 3.0), np.arange(20, 180, 3.0)
        tried = [(x, y, shapely.box(x - 12, y - 21, x + 12, y + 21)) for x, y in itertools.product(xs, ys)]
        found = [x for x, _, box in tried if inside.contains(box) and not blocked.intersects(box)]
        windows = storage_windows(truss)
        assert found
        for x in found:
            assert any(a <= x - 11.9 and x + 11.9 <= b for a, b in windows), x
        for a, b in windows:
            assert any(a <= x <= b for x in found), (a, b)

    def test_only_a_bottom_chord_up_to_2_in_12_stores(self):
        given = {"span": "36'", "pitch": 9, "stock": 480, "arranged": False}
        flat_enough = read(build("scissors", bottom_pitch=2, **given))
        steep = read(build("scissors", bottom_pitch=2.25, **given))
        assert storage_windows(flat_enough)
        assert box_places(steep)
        assert storage_windows(steep) == ()
        level_middle = read(build("cambered", bottom_pitch=4, level=144, **given))
        assert all(a >= 144 - 1e-3 and b <= 288 + 1e-3 for a, b in storage_windows(level_middle))
        assert storage_windows(level_middle)

    def test_of_a_panel_that_bends_only_the_level_part_stores(self):
        """The bottom chord falls 3 in 12 for 4 ft, is level for 8 ft, and rises 2 in 12 from the post on."""
        document = triangle(90)
        document["joints"] |= {"N": [48, -24], "B": [0, -12]}
        document["members"][2]["joints"] = ["B", "N"]
        document["members"].append({"id": "B3", "role": "bottom_chord", "joints": ["N", "M"], "lumber": SPF})
        document["joints"]["M"] = [144, -24]
        truss = read(document)
        assert any(x < 144 for x in box_places(truss))
        ((left, right),) = storage_windows(truss)
        assert (left, right) == (48, 288)

    def test_floors_and_low_roofs_have_none(self):
        assert storage_windows(read(triangle(72, use="floor"))) == ()
        assert storage_windows(read(triangle(41))) == ()
        assert storage_windows(read(build("flat", span="40'", arranged=False))) == ()


class TestLoad:
    def test_what_counts_acts_together_with_the_rest(self):
        room = triangle(72)
        assert lacking(read(with_loads(room, STORED))) == ()
        assert lacking(read(with_loads(room, STORED | {"case": "live"}))) == ()
        halves = (STORED | {"to_x_in": 150}, STORED | {"from_x_in": 150})
        assert lacking(read(with_loads(room, *halves))) == ()
        tens = (STORED | {"psf": 10}, STORED | {"psf": 10, "case": "live"})
        assert lacking(read(with_loads(room, *tens))) == ()
        patterns = (STORED | {"pattern": "left", "to_x_in": 150}, STORED | {"pattern": "right", "from_x_in": 140})
        assert lacking(read(with_loads(room, *patterns))) == ()
        for less in (STORED | {"acts": "alone"}, halves[0], tens[0], STORED | {"psf": 19.9}):
            assert lacking(read(with_loads(room, less))) == ((0, 288),)
        assert lacking(read(with_loads(room, STORED | {"chord": "top_chord"}))) == ((0, 288),)

    def test_raising_adds_what_lacks_and_takes_nothing_away(self):
        document = with_loads(triangle(72), ALONE, STORED | {"psf": 6, "to_x_in": 100})
        before = copy.deepcopy(document)
        raised = with_storage(document, [(60, 200)])
        assert document == before
        added = raised["loads"]["area"][len(document["loads"]["area"]) :]
        assert raised["loads"]["area"][: len(document["loads"]["area"])] == document["loads"]["area"]
        assert [(load["psf"], load["from_x_in"], load["to_x_in"]) for load in added] == [
            (4, 0, 60),
            (14, 60, 100),
            (20, 100, 200),
            (10, 200, 288),
        ]
        truss = read(raised)
        assert carries(truss, (60, 200), 20)
        assert not carries(truss, (59, 200), 20)
        assert carries(truss, (0, 288), 10)
        assert with_storage(raised, [(60, 200)]) == raised
        assert {case.name for case in cases(truss)} == {"dead", "attic_storage", "attic_storage/alone"}

    def test_nothing_to_raise(self):
        document = triangle(72)
        assert with_storage(document, []) == document
        del document["loads"]
        assert len(with_storage(document, [(0, 288)])["loads"]["area"]) == 1


class TestShape:
    def test_the_code_s_load_where_there_is_room_and_where_not(self):
        given = {"span": "24'", "arranged": False, "attic_by": "box"}
        low = build("w", pitch=4, **given)
        assert storage_windows(read(low)) == ()
        assert [load for load in low["loads"]["area"] if load["case"] == "attic_storage"] == [ALONE]
        high = build("w", pitch=8, **given)
        truss = read(high)
        assert storage_windows(truss)
        assert lacking(truss) == ()
        assert carries(truss, (0, 288), 10)
        assert not any(load.alone for load in truss.loads)
        assert write_attic(high) == high

    @pytest.mark.parametrize("given", [{"bottom_live": 0}, {"storage": 20}])
    def test_not_beside_a_load_that_was_typed(self, given):
        with refused(ShapeError, "shape-attic-by-room", "attic_by", beside_psf=10):
            build("w", span="24'", attic_by="box", **given)

    def test_a_document_without_loads(self):
        document = triangle(72)
        del document["loads"]
        assert lacking(read(write_attic(document))) == ()


class TestFindings:
    def test_room_without_the_load_is_told_with_its_place(self):
        values = findings(with_loads(triangle(72), ALONE))["attic-storage"]
        assert values == {"windows": [[0, 288]], "psf": 20, "beside_psf": 10}

    def test_no_room_or_the_load_already_there_is_not(self):
        for document in (triangle(48), triangle(72, use="floor"), with_loads(triangle(72), STORED)):
            assert not {"attic-storage", "attic-storage-in-part"} & findings(document).keys()

    def test_storage_in_part_is_told(self):
        values = findings(with_storage(with_loads(triangle(72), ALONE), [(60, 228)]))["attic-storage-in-part"]
        assert values == {"windows": [[60, 228]], "psf": 20}
        assert stored(read(with_loads(triangle(72), STORED | {"from_x_in": 30}))) == ((30, 288),)
        assert stored(read(with_loads(triangle(72), ALONE))) == ()
        assert stored(read(with_loads(triangle(72, use="floor"), STORED | {"from_x_in": 30}))) == ()


class TestChange:
    def test_a_box_that_a_change_opens_and_one_that_was_there(self):
        low, high = read(with_loads(triangle(48), ALONE)), read(with_loads(triangle(72), ALONE))
        assert opened(high, lacking(low)) == ((0, 288),)
        assert opened(high, lacking(high)) == ()
        assert opened(high, [(100, 180)]) == ((0, 100), (180, 288))
        assert opened(high, [(-10, 144), (100, 260)]) == ((260, 288),)
        assert opened(high, [(20, 265)]) == (), "strips narrower than the box are no new room"

    def test_room_opened_without_its_load_is_said(self):
        low, high = read(with_loads(triangle(48), ALONE)), with_loads(triangle(72), ALONE)
        assert opens_told(low, read(high)) == coded("storage-left-out", windows=[[0, 288]], psf=20)
        assert opens_told(low, read(with_storage(high, [(0, 288)]))) is None
        assert opens_told(read(high), read(high)) is None

    def test_what_rose_is_said(self):
        low, high = with_loads(triangle(48), ALONE), with_loads(triangle(72), ALONE)
        raised = read(with_storage(high, [(0, 288)]))
        assert risen(read(low), raised) == ((0, 288),)
        rose = coded("storage-raised", windows=[[0, 288]], psf=20, beside_psf=10)
        assert rises_told(read(low), raised) == rose
        assert rises_told(read(low), read(high)) is None
        in_part = read(with_storage(with_loads(triangle(72), STORED | {"to_x_in": 100}), [(0, 200)]))
        assert risen(read(with_loads(triangle(72), STORED | {"to_x_in": 100})), in_part) == ((100, 200),)
        assert rises_told(read(with_loads(triangle(48), STORED)), raised) is None

    @pytest.mark.parametrize(("kind", "panels"), [("pratt", 10), ("howe", 8)])
    def test_the_search_computes_with_it_and_says_so(self, kind, panels):
        """No box fits today; room for a plenum of 24 by 42.5 in. is room for one. The panel carries 20 psf then."""
        chords = dict.fromkeys(("top_lumber", "bottom_lumber"), "2x6 SPF 2100f-1.8E")
        truss = read(build(kind, span="30'", pitch=7, panels=panels, snow=25, wind_up=15, bottom_dead=5, **chords))
        assert storage_windows(truss) == ()
        plenum = Opening("O1", "rectangle", (180, 30), width_in=24, height_in=42.5, clearance_in=0.5)
        assert not fit(truss, plenum).fits
        found = search(truss, [plenum])
        clear = [candidate for candidate in found if candidate.clear]
        assert clear
        for candidate in clear:
            changed = read(candidate.document)
            windows = storage_windows(changed)
            assert windows
            assert lacking(changed) == ()
            assert all(carries(changed, window, 20) for window in windows)
            assert "attic_storage" in {load.case for load in changed.area_loads if not load.alone}
            assert any(c.name == "D + L" for c in candidate.analysis.combinations)
            assert "storage-raised" in {one["code"] for one in candidate.told}
            assert "attic-storage-in-part" in {finding.code for finding in candidate.analysis.findings}

    def test_the_search_leaves_a_box_that_was_there(self):
        """Today's box is the designer's affair: the finding tells of it, and only what is opened beside it rises."""
        truss = read(build("w", span="36'", snow=25, wind_up=15))
        ((left, right),) = lacking(truss)
        assert left < 144 < 288 < right
        duct = Opening("O1", "circle", (132, 20), diameter_in=14, clearance_in=1)
        found = search(truss, [duct])
        assert len(found) > 1
        for candidate in found:
            changed = read(candidate.document)
            assert not carries(changed, (left + 24, right - 24), 11)
            raised = "storage-raised" in {one["code"] for one in candidate.told}
            assert raised is bool(risen(truss, changed))
            assert "attic-storage" in {finding.code for finding in candidate.analysis.findings}
