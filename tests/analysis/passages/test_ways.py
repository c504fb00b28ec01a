"""Every way to let something through between trusses, by hand and by whole analyses."""

import pytest

from tests.beams import beam
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.passages.headers import handed_on, headers
from trusses.analysis.passages.row import Passage, Row
from trusses.analysis.passages.ways import ways
from trusses.analysis.shapes import shapes

ROW = Row(tuple(range(1, 10)), tuple(24.0 * i for i in range(9)))


def kinds(found):
    return [way.kind for way in found]


def test_what_fits_its_bay_changes_nothing():
    (way,) = ways(w_truss(), ROW, Passage(84.0, 216.0, 22.0, 30.0), 24.0)
    assert (way.kind, way.copies, way.passes) == ("as-it-is", (), True)


def test_a_hatch_on_a_truss_moves_to_the_bay_beside_or_shifts_it():
    """22 in. over truss 4, which stands at 72: moved by 11.75 in. it clears the truss's 1.5 in.; the truss shifted down
    goes to 72 - 11.75 = 60.25 in."""
    found = ways(w_truss(), ROW, Passage(72.0, 216.0, 22.0, 30.0), 36.0)
    moved = next(way for way in found if way.kind == "moved")
    assert abs(moved.passage_in) == pytest.approx(11.75)
    assert moved.copies == ()
    shifted = [way for way in found if way.kind == "shifted"]
    assert sorted(way.moved_in[4] for way in shifted) == pytest.approx([-11.75, 11.75])
    for way in shifted:
        widths = {each.number: each.tributary_in for each in way.copies}
        # the truss that moved carries 24 still, its neighbours half of the step less and more
        assert sorted(widths.values()) == pytest.approx([18.125, 24.0, 29.875])
        assert way.widest_in == pytest.approx(35.75)
        assert way.sheathing_spans


def test_the_sheathing_s_limit_counts():
    at_most = ways(w_truss(), ROW, Passage(72.0, 216.0, 22.0, 30.0), 35.75)
    less = ways(w_truss(), ROW, Passage(72.0, 216.0, 22.0, 30.0), 35.7)
    assert all(way.sheathing_spans for way in at_most if way.kind == "shifted")
    assert not any(way.passes for way in less if way.kind == "shifted")


def test_a_stair_wider_than_a_bay_leaves_one_out_with_headers_or_without():
    found = ways(w_truss(), ROW, Passage(96.0, 216.0, 40.0, 120.0), 24.0)
    assert {"left-out", "headers"} <= set(kinds(found))
    out = next(way for way in found if way.kind == "left-out")
    assert out.left_out == (5,)
    assert {each.number: each.tributary_in for each in out.copies} == {4: 36, 6: 36}
    assert not out.passes  # 48 in. are more than 24
    framed = next(way for way in found if way.kind == "headers")
    assert [each.number for each in framed.copies] == [4, 6]
    assert all(read(each.document).plies >= 2 for each in framed.copies)


def test_header_reactions_by_hand():
    """10 psf over a chord of 240 in. at 24 in. apart, one left out, a passage from 96 to 144 in.: on each tail of 96
    in. 160 lb, half of it on the header: 80 lb even over 46.5 in., wL/2 = 40 lb on either side."""
    truss = read(
        beam(
            240,
            "2x12 DF-L No.2",
            role="bottom_chord",
            loads={"area": [{"case": "dead", "chord": "bottom_chord", "psf": 10, "along": "plan"}]},
        )
    )
    made = headers(truss, "bottom_chord", (96.0, 144.0), 46.5)
    assert [header.x_in for header in made] == [96, 144]
    assert [header.reaction_lb for header in made] == pytest.approx([40, 40])
    assert made[0].analysis.results.by_case.reactions[0, :, 1] == pytest.approx([40, 40])
    trimmer = read(handed_on(truss.document, made, 0))
    assert [(load.at_in, load.down_lb) for load in trimmer.point_loads] == [
        (96, pytest.approx(40)),
        (144, pytest.approx(40)),
    ]
    # its own 400 lb and half of the 160 that the headers bring in all
    assert analyse(trimmer).results.by_case.reactions[0, :, 1].sum() == pytest.approx(480)


def test_nothing_is_lost_between_tails_walls_and_trimmers():
    """Of the truss left out, what lies beside the passage is carried: half by walls, half by the headers; what lay on
    the passage is gone. Dead load of the bottom chord, 10 psf at 24 in.: 20 plf."""
    truss = w_truss()
    made = headers(truss, "bottom_chord", (156.0, 276.0), 46.5)
    dead = sum(header.analysis.results.by_case.reactions[0, :, 1].sum() for header in made)
    assert dead == pytest.approx(20 * (156 + 156) / 12 / 2)


def test_arrangements_of_the_truss_s_loads_go_through_the_header():
    truss = w_truss()
    made = headers(truss, "top_chord", (156.0, 276.0), 46.5)
    cases = {case.name for header in made for case in header.analysis.cases}
    assert {"dead", "snow/balanced"} <= cases
    trimmer = read(handed_on(truss.document, made, 1))
    assert len(trimmer.point_loads) > len(truss.point_loads)
    assert {load.case for load in trimmer.point_loads} >= {"dead", "snow"}


def test_a_header_s_place_is_told_from_the_left_bearing_and_not_from_a_tail_past_it():
    tailed = read(shapes.build("w", span=432, pitch=6, spacing=24, overhang_left=18, top_dead=10, bottom_dead=10))
    assert min(joint.x for joint in tailed.joints) < min(tailed.joint(one.joint).x for one in tailed.bearings) == 0
    made = headers(tailed, "bottom_chord", (156.0, 276.0), 46.5)
    loads = read(handed_on(tailed.document, made, 0)).document["loads"]["point"]
    assert {load["note"].rpartition(" at ")[2] for load in loads} == {"13'-0\"", "23'-0\""}


def test_each_copy_of_a_way_that_passes_passes_alone():
    for way in ways(w_truss(), ROW, Passage(72.0, 216.0, 22.0, 30.0), 36.0):
        for each in way.copies:
            assert each.passes is analyse(read(each.document)).passes


def test_the_mirror_of_a_row_gives_the_mirror_of_its_ways():
    one = ways(w_truss(), ROW, Passage(70.0, 216.0, 22.0, 30.0), 40.0)
    other = ways(w_truss(), ROW, Passage(192.0 - 70.0, 216.0, 22.0, 30.0), 40.0)
    assert kinds(one) == kinds(other)
    moved = [sorted(by for way in found for by in way.moved_in.values()) for found in (one, other)]
    assert moved[0] == pytest.approx([-by for by in reversed(moved[1])])
