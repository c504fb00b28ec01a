"""Two runs held against each other where they pass in a bay, where no truss says so."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analysis.runs.standing import design, row, run
from trusses.analysis.clearance.apart import gap
from trusses.analysis.format.document import read
from trusses.analysis.runs.crossing import cross
from trusses.analysis.runs.meeting import bay_of, itself, meeting
from trusses.analysis.runs.run import Run, Section
from trusses.analysis.runs.stood import Design, Stood

TRUSSES = row(6)
"""At 24, 48 … 144."""
FLOOR = Design(read({**design().truss.document, "use": "floor"}))
DUCT, BOX = Section("circle", 8, 8, 0, 1), Section("rectangle", 14, 8, 0, 1)
ALONG = run((132, 60), (132, 400), height=30, section=BOX)
"""In the bay between A-5 and A-6."""


def across(at=200.0, height=30.0, section=DUCT, **more):
    return run((0, at), (200, at), height=height, section=section, **more)


def test_no_truss_says_what_two_ducts_in_one_bay_do():
    """One goes along the bay, through no truss; the other crosses it there at the same height."""
    assert not cross(ALONG, TRUSSES).crossings
    found = meeting(across(), ALONG, TRUSSES)
    assert (found.path_in, found.at, found.joins) == (pytest.approx(132), (pytest.approx(132), 200), False)
    assert found.by_in == pytest.approx(4 + 1 + 4 + 1)  # up or down until both keep their inch
    low, high = bay_of(found.at, TRUSSES)
    assert (low.name, high.name) == ("A-5", "A-6")


@pytest.mark.parametrize(
    ("height", "by"),
    [(40.0, None), (39.75, 0.25), (35.0, 5.0), (20.25, 0.25), (20.0, None)],
)
def test_above_and_below_it_keeps_the_clear_space_of_both(height, by):
    found = meeting(across(height=height), ALONG, TRUSSES)
    assert (found and found.by_in) == (by and pytest.approx(by))
    assert found is None or found.above is (height > 30)


def test_from_where_to_where_it_is_too_near_on_end():
    """Crossing it, its own half and the box's with both their inches; side by side as far as both go; on a slope while
    their heights are too near, which they are over 20 in. of height."""
    assert meeting(across(), ALONG, TRUSSES).within_in == pytest.approx((132 - 13, 132 + 13), abs=0.1)
    assert meeting(run((130, 90), (130, 300), section=DUCT), ALONG, TRUSSES).within_in == pytest.approx((0, 210))
    falling = run((132, 60), (132, 400), height=45, slope=1, section=DUCT)
    assert meeting(falling, ALONG, TRUSSES).within_in == pytest.approx((60, 300), abs=1)


@pytest.mark.parametrize(("x", "by"), [(119.0, None), (119.5, 0.5), (132.0, 10.0), (125.0, 6.0)])
def test_side_by_side_in_a_bay_it_is_told_the_way_it_is_least(x, by):
    """A round duct beside the box: 7 of it, 4, and an inch each are 13 between their middles."""
    found = meeting(run((x, 60), (x, 400), height=30, section=DUCT), ALONG, TRUSSES)
    assert (found and found.by_in) == (by and pytest.approx(by))


@given(
    st.floats(60, 380),
    st.floats(10, 60),
    st.sampled_from([DUCT, BOX, Section("circle", 3, 3), Section("rectangle", 6, 20, 1, 0.5)]),
    st.sampled_from([DUCT, BOX]),
    st.sampled_from([0.0, 0.25, -1.0]),
    st.floats(-60, 60),
)
@settings(max_examples=60, deadline=None)
def test_in_the_plane_of_a_truss_it_is_what_its_openings_are_apart(at, height, section, other_section, slope, beside):
    """Two that go square through A-3 as far as there is room: side by side they come no nearer anywhere else."""
    one = across(at, height, section, slope=slope)
    other = across(at + beside, 30.0, other_section, slope=slope)
    met = [next(each for each in cross(two, TRUSSES).crossings if each.stood.name == "A-3") for two in (one, other)]
    # a slope makes what a truss keeps free larger than the run
    apart = gap(met[0].opening, met[1].opening)
    found = meeting(one, other, TRUSSES)
    if slope:
        assert found is None or apart < 0.1
    else:
        assert (found.by_in if found else 0.0) == pytest.approx(max(-apart, 0.0), abs=1e-3)


@given(st.floats(0, math.pi), st.floats(0, 24), st.sampled_from([0.0, 0.5, -2.0]), st.sampled_from([0.0, 1.0]))
@settings(max_examples=60, deadline=None)
def test_two_round_ones_are_as_near_as_their_middle_lines(turn, up, slope, other_slope):
    """By the distance of two lines in space, which no piece of a slope is off from by more than a hair."""
    ends = [
        (100 - 90 * math.cos(turn), 200 - 90 * math.sin(turn)),
        (100 + 90 * math.cos(turn), 200 + 90 * math.sin(turn)),
    ]
    one = run(*ends, height=30 + slope / 12 * 90, slope=slope, section=DUCT)
    other = run((10, 200), (190, 200), height=30 + up + other_slope / 12 * 90, slope=other_slope, section=DUCT)
    p, q = (math.cos(turn), math.sin(turn), -slope / 12), (1.0, 0.0, -other_slope / 12)
    normal = (p[1] * q[2] - p[2] * q[1], p[2] * q[0] - p[0] * q[2], p[0] * q[1] - p[1] * q[0])
    if abs(p[1]) < 0.2:
        return  # side by side: their ends are nearer than the middle
    least = abs(normal[2] * up) / math.hypot(*normal)
    found = meeting(one, other, TRUSSES)
    assert (found.by_in if found else 0.0) == pytest.approx(max(10 - least, 0.0), abs=0.1)


def test_told_either_way_it_is_one_place():
    """By so much, there; above the one is below the other."""
    one = across(height=35, slope=0.25)
    here, there = meeting(one, ALONG, TRUSSES), meeting(ALONG, one, TRUSSES)
    assert here.by_in == pytest.approx(there.by_in)
    assert here.at == pytest.approx(there.at, abs=7)
    assert (here.above, there.above) == (True, False)


def drawn(random: Random) -> Run:
    """Any run through these trusses: up to four corners, level or not, with rises or none."""
    points = [(random.uniform(0, 200), random.uniform(50, 400)) for _ in range(random.choice([2, 2, 3, 4, 5]))]
    rises = tuple(random.choice([0.0, 8.0, -8.0]) for _ in points[2:])
    return Run(
        "Roof",
        tuple(points),
        random.uniform(20, 34),
        random.choice(["bearing", "ceiling"]),
        random.choice([0.0, 0.0, 0.25, -1.0]),
        random.choice([DUCT, BOX, Section("circle", 3, 3), Section("rectangle", 6, 20, 1, 0.5)]),
        rises=rises if any(rises) else (),
    )


def test_its_place_lies_where_it_is_too_near():
    """Any two, and any one with itself: the place that is told is within what is told to be too near, on the run."""
    random, met = Random(20261129), []
    while len(met) < 300:
        one, other = drawn(random), drawn(random)
        for found in (meeting(one, other, TRUSSES), itself(one, TRUSSES)):
            if found:
                met.append(found)
                (low, high), path = found.within_in, found.path_in
                assert -1e-6 <= low <= path <= high <= one.length_in + 1e-6, (one, other)


@pytest.mark.parametrize(("x", "path"), [(200.0, 68.0), (207.0, 68.0), (208.5, 68.0), (193.0, 61.0), (187.0, 55.0)])
def test_past_the_outside_of_a_corner_its_place_is_the_corner(x, path):
    """A 14 in. box turns at 68 in. of its path; a pipe beside that, at its face, past it, or before the corner."""
    bent = run((132, 200), (200, 200), (200, 60), height=30, section=BOX)
    found = meeting(bent, run((x, 203), (x, 400), height=30, section=Section("circle", 1, 1, 0, 1)), TRUSSES)
    assert found.path_in == pytest.approx(path)
    assert found.within_in[0] <= found.path_in <= found.within_in[1]


def test_told_either_way_it_is_one_measure():
    random, met = Random(20261128), []
    while len(met) < 340:
        one, other = drawn(random), drawn(random)
        here, there = meeting(one, other, TRUSSES), meeting(other, one, TRUSSES)
        assert (here is None) == (there is None)
        if here and there:
            met.append(here)
            assert (here.by_in, here.joins) == (pytest.approx(there.by_in, abs=1e-6), there.joins)
    assert {one.joins for one in met} == {True, False}


def test_the_outside_of_a_corner_and_what_goes_up_there_are_the_run_s():
    bent = run((132, 60), (132, 200), (20, 200), height=30, section=BOX)
    past = run((138, 200), (138, 400), height=30, section=Section("circle", 1, 1))
    assert meeting(past, bent, TRUSSES) is not None
    risen = replace(bent, rises=(40.0,))
    assert meeting(across(at=205, height=52), risen, TRUSSES).at == pytest.approx((132, 205), abs=7)
    assert meeting(across(at=205, height=52), bent, TRUSSES) is None


def test_a_branch_begins_in_its_trunk_and_is_told_so():
    branch = run((132, 200), (60, 200), height=30, section=DUCT)
    assert meeting(branch, ALONG, TRUSSES).joins
    assert meeting(ALONG, branch, TRUSSES).joins
    assert meeting(run((139, 200), (60, 200), section=DUCT), ALONG, TRUSSES).joins  # from its face
    assert not meeting(run((150, 75), (60, 75), section=DUCT), ALONG, TRUSSES).joins  # only near the trunk's end
    again = run((132, 200), (60, 200), (60, 300), (200, 300), height=30, section=DUCT)
    found = meeting(again, ALONG, TRUSSES)
    assert (found.joins, found.at) == (False, pytest.approx((132, 300)))  # where it comes through it is told first


def test_heights_from_elsewhere_are_compared_above_the_bearing():
    """A 2x4 bottom chord is 3 1/2 in.: from the ceiling and the bearing it is one height, from an attic's floor not."""
    below = replace(across(height=127.125), datum="storey", bearing_above_floor_in=97.125)
    assert meeting(below, ALONG, TRUSSES).by_in == pytest.approx(10)
    assert meeting(replace(across(height=30), datum="floor"), ALONG, TRUSSES).by_in == pytest.approx(10 - 3.5)
    other = [*TRUSSES, *row(2, FLOOR, "B", 400)]
    assert meeting(replace(across(height=30), datum="floor"), ALONG, other).by_in == pytest.approx(10 - 3.5)


def test_of_another_level_it_is_told_where_both_bear_above_one_and_the_same():
    """A floor that bears 97 in. below: a run 127 in. above that is one 30 in. above the roof's bearing."""
    under = [Stood("F", 1, "Floor", FLOOR, "y", 0.0, 24.0)]
    one, both = replace(across(height=127), level="Floor"), [*TRUSSES, *under]
    high = {"Roof": 97.0, "Floor": 0.0}
    here, there = meeting(one, ALONG, both, high), meeting(ALONG, one, both, high)
    assert (here.by_in, there.by_in) == (pytest.approx(10), pytest.approx(10))
    assert here.at == pytest.approx((132, 200))
    deep = FLOOR.datum_y("floor") - FLOOR.datum_y("bearing")
    on_top = replace(one, datum="floor", height_in=127 - deep)
    assert meeting(on_top, ALONG, both, high).by_in == pytest.approx(10)
    assert meeting(replace(one, height_in=107), ALONG, both, high) is None
    for unknown in ({"Floor": 0.0}, {"Roof": 97.0}, {}, None):
        assert meeting(one, ALONG, both, unknown) is None
        assert meeting(replace(one, level="Roof", height_in=30), ALONG, both, unknown) is not None


def test_of_another_level_or_far_away_there_is_none():
    assert meeting(replace(across(), level="Floor"), ALONG, TRUSSES) is None
    assert meeting(run((400, 0), (400, 90), section=DUCT), ALONG, TRUSSES) is None


@pytest.mark.parametrize(
    ("at", "names"),
    [((36, 200), ("A-1", "A-2")), ((24.5, 200), ("A-1", "A-1")), ((10, 200), (None, "A-1")), ((36, 900), (None, None))],
)
def test_a_place_in_plan_is_in_a_bay(at, names):
    assert tuple(one and one.name for one in bay_of(at, TRUSSES)) == names


def test_a_run_comes_into_itself_where_it_goes_around():
    around = run((10, 126), (160, 126), (160, 300), (36, 300), (36, 60), height=30, section=DUCT)
    found = itself(around, TRUSSES)
    assert (found.path_in, found.at, found.by_in) == (pytest.approx(26), pytest.approx((36, 126)), pytest.approx(10))
    assert itself(replace(around, rises=(0.0, 0.0, 10.0)), TRUSSES) is None
    assert itself(replace(around, rises=(0.0, 0.0, 9.5)), TRUSSES).by_in == pytest.approx(0.5)
    assert itself(replace(around, points=around.points[:-1]), TRUSSES) is None


def test_a_jog_that_is_narrower_than_the_run_is_a_bend():
    assert itself(run((10, 126), (84, 126), (84, 130), (160, 130), section=BOX), TRUSSES) is None


def test_what_goes_back_on_itself_comes_into_itself():
    """Along its own line, all of it too near; past a turn as narrow as itself; and in a turn of more than 120 degrees,
    which no bend is. So far as two of its widths of the path it is one bend all the same."""
    back = itself(run((12, 200), (204, 200), (108, 200), section=DUCT), TRUSSES)
    assert (back.by_in, back.joins) == (pytest.approx(10), False)
    assert back.within_in == pytest.approx((96 - 10, 192 - 5))
    assert itself(run((12, 200), (204, 200), (180, 200), section=DUCT), TRUSSES).by_in == pytest.approx(10)
    assert itself(run((12, 200), (204, 200), (204, 202), (108, 202), section=DUCT), TRUSSES).by_in == pytest.approx(8)
    assert itself(run((12, 200), (204, 200), (196, 200), section=DUCT), TRUSSES) is None
    for degrees, comes in ((119, False), (121, True), (150, True), (179, True)):
        turned = math.radians(180 - degrees)
        to = 204 - 150 * math.cos(turned), 200 + 150 * math.sin(turned)
        assert (itself(run((12, 200), (204, 200), to, section=DUCT), TRUSSES) is not None) is comes


@pytest.mark.parametrize(("rise", "by"), [(0.0, 10.0), (9.5, 0.5), (10.0, None), (-10.0, None)])
def test_over_or_under_itself_it_has_room(rise, by):
    there = replace(run((12, 200), (204, 200), (60, 200), section=DUCT), rises=(rise,) if rise else ())
    found = itself(there, TRUSSES)
    assert (found and found.by_in) == (by and pytest.approx(by))


def test_a_ring_joins_itself_where_it_ends():
    ring = ((60.0, 100.0), (132.0, 100.0), (132.0, 300.0), (36.0, 300.0), (36.0, 100.0), (60.0, 100.0))
    assert itself(run(*ring, section=DUCT), TRUSSES) is None
    through = itself(run(*ring[:-1], (100.0, 100.0), section=DUCT), TRUSSES)
    assert through.by_in == pytest.approx(10)  # on along its own beginning
    branched = (*ring[:-2], (36.0, 200.0), (132.0, 200.0))
    assert itself(run(*branched, section=DUCT), TRUSSES) is None


def test_of_a_tangle_the_place_nearest_to_its_beginning_is_told():
    """39 legs to and fro, a few inches beside each other, falling: each comes into the next, and over the one after."""
    tangle = run(*((200.0 * (i % 2), 100 + 4.0 * i) for i in range(40)), section=DUCT, slope=0.25)
    found = itself(tangle, TRUSSES)
    assert (found.by_in > 0, found.path_in < 200) == (True, True)
    apart = run(*((200.0 * (i % 2), 100 + 4.0 * i) for i in range(40)), section=DUCT, slope=12)
    assert itself(apart, TRUSSES) is None
