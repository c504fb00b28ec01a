"""A run crosses copies: every answer is that of `fit`, and what can be told by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.runs.standing import PIPE, design, row, run
from tests.refused import refused
from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening
from trusses.analysis.format.strict import DocumentError
from trusses.analysis.runs.bends import bent
from trusses.analysis.runs.corners import moved_corner
from trusses.analysis.runs.crossing import VERDICTS, cross, letter
from trusses.analysis.runs.pieces import rigid
from trusses.analysis.runs.run import RunError, Section, read_run
from trusses.analysis.runs.stood import Design, Stood
from trusses.analysis.shapes.shapes import build
from trusses.analysis.words.phrases import say
from trusses.analysis.words.runs import RUNS, VERDICT_WORDS

places = st.floats(-40, 470)
heights = st.floats(-10, 120)


def test_like_trusses_met_square_answer_as_one():
    asked = run((0, 126), (300, 126), height=29.75)
    many, one = cross(asked, row(10)).crossings, cross(asked, row(1)).crossings
    assert len(many) == 10
    assert {(c.fit, c.verdict, c.nearest) for c in many} == {(c.fit, c.verdict, c.nearest) for c in one}
    assert [c.path_in for c in many] == [24 * i for i in range(1, 11)]


@given(places, places, heights, st.floats(-1, 1), st.booleans())
@settings(max_examples=40, deadline=None)
def test_each_crossing_agrees_with_fit(start, end, height, slope, turned):
    asked = run((0, start), (290, end), height=height, slope=slope)
    for one in cross(asked, row(10, turned=turned)).crossings:
        told = fit(space(one.stood.design.truss), one.opening)
        assert one.fit == told
        assert (one.verdict == "fits") == told.fits
        assert one.verdict != "redesign" or not (told.cuts_chord or told.outside)
        assert one.verdict != "never" or told.cuts_chord or told.outside
        # the place in plan and the height, by the straight line and the drop along it
        share = (one.stood.across_in - 0) / 290
        assert one.place_in == pytest.approx((one.stood.across_in, start + share * (end - start)))
        x = one.place_in[1] if not turned else 432 - one.place_in[1]
        drop = slope / 12 * share * math.hypot(290, end - start)
        assert one.opening.centre == pytest.approx((x, height - 1.75 - drop), abs=1e-6)


@given(places, places, heights, st.floats(-1, 1))
@settings(max_examples=40, deadline=None)
def test_the_reversed_run_answers_alike(start, end, height, slope):
    asked = run((0, start), (100, end), (290, start), height=height, slope=slope)
    one, other = cross(asked, row(10)), cross(asked.reversed(), row(10))
    there = sorted((c.stood.number, c.verdict, round(c.fit.spare_in, 6)) for c in one.crossings)
    assert there == sorted((c.stood.number, c.verdict, round(c.fit.spare_in, 6)) for c in other.crossings)
    assert asked.reversed().reversed().height_in == pytest.approx(height)


def test_each_verdict():
    """By hand, of a W of 36 ft at 6 in 12 in 2x4: the clear space at midspan is under the peak."""
    at = {
        "fits": run((0, 216), (40, 216), height=40),
        "moves": run((0, 130), (40, 130), height=34),
        "never": run((0, 216), (40, 216), height=60, section=Section("rectangle", 200, 100)),
        "clear": run((0, 216), (40, 216), height=-60),
    }
    assert {name: cross(asked, row(1)).worst for name, asked in at.items()} == {name: name for name in at}
    assert cross(at["clear"], row(1)).crossings[0].says == "Passes by without touching it."
    webs = cross(run((0, 126), (40, 126), height=34, section=Section("rectangle", 60, 16)), row(1))
    assert (webs.worst, webs.crossings[0].coded["code"]) == ("redesign", "run-redesign")
    assert VERDICTS.index("redesign") > VERDICTS.index("moves")


@pytest.mark.parametrize(("datum", "height"), [("bearing", 10), ("ceiling", 10), ("floor", 6.5)])
def test_heights_are_above_what_is_said(datum, height):
    """The 2x4 bottom chord's centreline is y = 0: its underside −1.75, its top, the attic's floor, 1.75."""
    value = {"level": "Roof", "points_in": [[0, 216], [40, 216]], "height_in": height, "datum": datum}
    asked = read_run(value | {"section": {"shape": "circle", "diameter_in": 4}})
    assert cross(asked, row(1)).crossings[0].opening.centre == (216, 8.25)


def test_of_a_floor_truss_the_floor_is_its_top():
    wood = {f"{part}_lumber": "2x4 SPF No.1/No.2" for part in ("top", "bottom", "web")}
    loads = {"top_dead": 12, "bottom_dead": 5, "floor_live": 40, "bottom_restraint": 48}
    one = Design(read(build("floor", mark="F", title="", span=240, depth=16, spacing=16, **loads, **wood)))
    # 16 in. over all: flat chords of 1.5 in., so that their centrelines are 14.5 in. apart
    assert one.datum_y("floor") - one.datum_y("ceiling") == pytest.approx(16)


class TestBetween:
    """24 in. on center, 1.5 in. thick: 22.5 in. of bay."""

    def test_in_the_middle_of_a_bay(self):
        between = cross(run((60, 20), (60, 400)), row(5)).between
        assert [(one.bay_in, one.needs_in, one.spare_in, one.verdict) for one in between] == [
            (22.5, 16, (3.25, 3.25), "fits")
        ]
        assert {between[0].left.name, between[0].right.name} == {"A-2", "A-3"}
        assert not cross(run((60, 20), (60, 400)), row(5)).crossings

    def test_too_close_to_one_it_has_to_move_and_too_wide_never_fits(self):
        assert cross(run((50, 20), (50, 400)), row(5)).between[0].verdict == "moves"
        wide = run((60, 20), (60, 400), section=Section("rectangle", 22, 8, 0, 0.5))
        assert cross(wide, row(5)).between[0].verdict == "never"

    def test_left_is_left_of_the_way_it_goes(self):
        up, down = (cross(run(*points), row(5)).between[0] for points in (((58, 9), (58, 99)), ((58, 99), (58, 9))))
        assert (up.left.name, up.right.name) == (down.right.name, down.left.name) == ("A-2", "A-3")
        assert up.spare_in == down.spare_in[::-1] == (1.25, 5.25)

    def test_a_corner_needs_half_the_run_and_half_the_truss(self):
        """16 in. of run, 1.5 in. of truss: 8.75 in. from the middle of A-2 at 48."""
        cramped = cross(run((0, 216), (54, 216), (54, 300)), row(5)).cramped
        assert [(one.corner, one.stood.name, one.has_in, one.needs_in) for one in cramped] == [(1, "A-2", 6, 8.75)]
        assert not cross(run((0, 216), (60, 216), (60, 300)), row(5)).cramped

    def test_it_is_told_where_a_corner_is_clear(self):
        """48 + 8.75 = 56.75 and 48 − 8.75 = 39.25: 2 3/4 in. right of 54, 14 3/4 left; there it is clear indeed."""
        wish = run((0, 216), (54, 216), (54, 300))
        (one,) = cross(wish, row(5)).cramped
        assert one.clear_at == ((56.75, 216), (39.25, 216))
        assert one.moves == [(2.75, 0), (-14.75, 0)]
        # the leg after it, square to the move, goes along
        assert moved_corner(wish, 1, one.clear_at[0]) == ((0, 216), (56.75, 216), (56.75, 300))
        for place in one.clear_at:
            assert not cross(replace(wish, points=moved_corner(wish, 1, place)), row(5)).cramped
        short = replace(wish, points=moved_corner(wish, 1, (56.75 - 1 / 64, 216)))
        assert cross(short, row(5)).cramped

    def test_where_no_bay_is_wide_enough_a_corner_is_clear_past_the_trusses(self):
        """22 in. of run need 11.75 in. to each middle, 24 apart there are 12: clear at 60 only; 23 in. nowhere near."""
        wide = Section("rectangle", 22, 8)
        (one,) = cross(run((0, 216), (54, 216), (54, 300), section=wide), row(5)).cramped
        assert one.clear_at[0] == (59.75, 216)
        wider = Section("rectangle", 23, 8)
        stuck = cross(run((0, 216), (60, 216), (60, 300), section=wider), row(9)).cramped
        assert {one.stood.name for one in stuck} == {"A-2", "A-3"}
        assert {one.clear_at for one in stuck} == {((11.75, 216),)}

    def test_legs_of_different_ways_cross_what_each_of_them_meets(self):
        """Four trusses along y, then three along x east of them: each leg crosses its own, square, none twice."""
        east = [Stood("B", i + 1, "Roof", design(), "x", 150.0, 100.0 + 24 * i) for i in range(3)]
        bent = run((0, 300), (300, 300), (300, 60), height=30)
        met_ones = [(one.stood.name, one.leg, round(one.sine, 6)) for one in cross(bent, [*row(4), *east]).crossings]
        assert met_ones == [*((f"A-{i}", 0, 1) for i in (1, 2, 3, 4)), *((f"B-{i}", 1, 1) for i in (3, 2, 1))]


class TestRigid:
    def test_square_it_is_the_bay(self):
        asked = run((20, 216), (125, 216), section=PIPE)
        (one,) = rigid(cross(asked, row(5)))
        # 24 − 1.5 between, and past the last at 120 only 125 − 120 − 0.75
        assert (one.before_in, one.after_in, one.from_end) == (105, 22.5, False)

    def test_on_the_skew_it_is_longer_by_the_angle_and_shorter_by_its_width(self):
        """24·√2 = 33.94 less (1.5 + 4·cos 45°)/sin 45° = 6.12 is 27.82."""
        asked = run((10, 100), (130, 220), height=40, section=Section("circle", 4, 4))
        assert rigid(cross(asked, row(5)))[0].after_in == pytest.approx(27.82, abs=5e-3)

    def test_from_the_open_end(self):
        (one,) = rigid(cross(run((0, 216), (320, 216)), row(5)))
        assert (one.after_in, one.from_end) == (320 - 120 - 0.75, True)


class TestReading:
    GOOD = {
        "level": "Roof",
        "points_in": [[0, 0], [100, 0.5]],
        "height_in": 20,
        "datum": "ceiling",
        "slope_in_per_ft": 0.25,
        "section": {"shape": "rectangle", "width_in": 20, "height_in": 8, "insulation_in": 1, "clearance_in": 0.5},
        "note": "trunk",
    }

    def test_what_is_read_is_written_again(self):
        assert read_run(self.GOOD).document() == self.GOOD

    def test_what_is_no_path_is_refused(self):
        with refused(RunError, "run-few-points", "run.points_in", points=1):
            read_run(self.GOOD | {"points_in": [[0, 0]]})
        with refused(RunError, "run-point-twice", "run.points_in[1]"):
            read_run(self.GOOD | {"points_in": [[0, 0], [0, 0], [9, 9]]})

    def test_it_goes_up_at_its_corners_one_by_one(self):
        cornered = self.GOOD | {"points_in": [[0, 0], [96, 0], [96, 48], [200, 48]], "slope_in_per_ft": 0}
        told = cornered | {"rises_in": [8, -2.5]}
        path = read_run(told)
        assert path.document() == told | {"slope_in_per_ft": 0}
        assert [path.height_at(at) for at in (0, 95, 97, 143, 145, path.length_in)] == [20, 20, 28, 28, 25.5, 25.5]
        back = path.reversed()
        for at in (0, 50, 97, 143, 145, 240):
            assert back.height_at(path.length_in - at) == pytest.approx(path.height_at(at))
        assert back.reversed() == path
        assert read_run(cornered | {"rises_in": [0, 0]}) == read_run(cornered)
        with refused(RunError, "run-rises", "run.rises_in", corners=2, given=1):
            read_run(cornered | {"rises_in": [8]})
        for wrong in ([8, "up"], [8, None], [8, 1e9], "8"):
            with pytest.raises(DocumentError):
                read_run(cornered | {"rises_in": wrong})

    @pytest.mark.parametrize(
        ("wrong", "code"),
        [
            ({"datum": "roof"}, "no-choice"),
            ({"section": {"shape": "oval"}}, "no-choice"),
            ({"section": {"shape": "circle"}}, "key-missing"),
            ({"section": {"shape": "circle", "diameter_in": 0}}, "inches-not-over-0"),
            ({"slope_in_per_ft": 13}, "number-too-much"),
            ({"points_in": [[0]]}, "no-point"),
            ({"colour": 1}, "key-unknown"),
        ],
    )
    def test_and_what_is_wrong_in_it(self, wrong, code):
        with refused(DocumentError, code):
            read_run(self.GOOD | wrong)


def test_crossings_are_lettered():
    assert [letter(i) for i in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_a_truss_of_the_other_way_and_another_level():
    one = Stood("B", 1, "Roof", design(), "x", 100.0, 50.0)
    below = Stood("B", 2, "Floor", design(), "x", 100.0, 50.0)
    (met,) = cross(run((316, 0), (316, 99), height=40), [one, below]).crossings
    assert (met.stood, met.place_in, met.opening) == (
        one,
        (316, 50),
        Opening("run", "circle", (216, 38.25), diameter_in=14, clearance_in=1),
    )


def test_trusses_beyond_a_corner_are_met_at_the_height_there():
    """20 in. up along the first truss, 8 in. more from the first corner on: the same told from the other end."""
    near, far = (Stood("B", n, "Roof", design(), "x", 100.0, across) for n, across in ((1, 20.0), (2, 110.0)))
    whole = run((316, 0), (316, 60), (340, 60), (340, 150), height=20)
    risen = replace(whole, rises=(8.0, 0.0))
    met = {one.stood.number: one for one in cross(risen, [near, far]).crossings}
    level = {one.stood.number: one for one in cross(whole, [near, far]).crossings}
    assert (met[1].height_in, met[2].height_in) == (20, 28)
    assert met[1].opening == level[1].opening
    assert met[2].opening.centre[1] == level[2].opening.centre[1] + 8
    back = {one.stood.number: one for one in cross(risen.reversed(), [near, far]).crossings}
    assert {n: (one.opening, one.verdict) for n, one in back.items()} == {
        n: (one.opening, one.verdict) for n, one in met.items()
    }
    assert bent(risen, [near, far]) is None


SENTENCES = {
    "run-clear": ({"spare_in": -9}, "Passes by without touching it."),
    "run-fits": ({"spare_in": 1.5}, 'Fits, with 1 1/2" to spare.'),
    "run-moves": ({"right_in": -3, "up_in": 1.25}, 'Fits if the run moves 3" to the left and 1 1/4" up in this truss.'),
    "run-redesign": ({"members": ["W2", "W3"]}, "Needs a redesign: W2 and W3 are in the way."),
    "run-never-chord": ({"members": ["B1.2"]}, "Never: it would cut B1.2. A chord is never cut."),
    "run-out": ({}, "Never: it would leave the truss, and no opening reaches outside the chords."),
}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_an_answer(code):
    values, says = SENTENCES[code]
    assert say(RUNS, code, values) == says
    assert RUNS.keys() == SENTENCES.keys()


def test_nothing_to_spare_and_each_verdict_has_a_word():
    assert say(RUNS, "run-fits", {"spare_in": 0.0}) == "Fits, with nothing to spare."
    assert tuple(VERDICT_WORDS) == VERDICTS
