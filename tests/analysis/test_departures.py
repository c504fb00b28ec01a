"""How a design departs from today's in what it is designed for: each difference told exactly, loads that fall known."""

from __future__ import annotations

import copy

import pytest

from trusses.analysis.departures import departures
from trusses.analysis.format.document import read
from trusses.analysis.words.departures import departure


@pytest.fixture
def other(king_post):
    return copy.deepcopy(king_post)


def told(before, after):
    return [(one.code, one.falls, departure(one)) for one in departures(read(before), read(after))]


def test_the_same_truss_departs_in_nothing(king_post, other):
    other["title"], other["mark"] = "Another title", "K2"
    assert told(king_post, other) == []


def test_another_web_is_a_matter_of_the_comparison(king_post, other):
    other["members"][4]["lumber"] = "2x6 SPF No.1/No.2"
    assert told(king_post, other) == []


def test_without_snow_and_wind_each_load_is_named(king_post, other):
    other["loads"]["area"] = [load for load in other["loads"]["area"] if load["case"] == "dead"]
    assert told(king_post, other) == [
        ("area-load", True, "Snow (balanced) on the top chord, of plan area: none, today 20 psf."),
        (
            "area-load",
            True,
            "Snow (left) on the top chord, of plan area, from the left end to 10'-0\" along: none, today 20 psf.",
        ),
        (
            "area-load",
            True,
            "Snow (right) on the top chord, of plan area, from 10'-0\" to the right end along: none, today 20 psf.",
        ),
        ("area-load", True, "Wind (up) on the top chord, square to it: none, today −20 psf."),
        ("area-load", True, "Wind (down) on the top chord, square to it: none, today 10 psf."),
    ]


def test_one_more_arrangement_of_a_load_is_no_new_load(king_post, other):
    """Snow of 20 psf all along (balanced) acts on a part of it too; where it is another snow, it is new."""
    part = {**king_post["loads"]["area"][2], "pattern": "span 1", "from_x_in": 0, "to_x_in": 96}
    other["loads"]["area"].append(part)
    says = "Snow on the top chord, of plan area: 20 psf, as today, and taken in one more arrangement (span 1), from"
    assert told(king_post, other) == [("arrangement-new", False, f"{says} the left end to 8'-0\" along.")]
    part["psf"] = 25
    says = "Snow (span 1) on the top chord, of plan area, from the left end to 8'-0\" along: 25 psf, today none."
    assert told(king_post, other) == [("area-load", False, says)]
    for load in other["loads"]["area"]:  # what it was beside is gone
        load["psf"] = 20 if load is part else 10 if load["case"] == "snow" else load["psf"]
    assert {code for code, _, _ in told(king_post, other)} == {"area-load"}


@pytest.mark.parametrize(
    ("psf", "told_as", "falls"),
    [(25, "25", False), (15, "15", True), (-20, "−20", True)],
)
def test_a_load_that_grows_is_told_and_does_not_fall(king_post, other, psf, told_as, falls):
    other["loads"]["area"][2]["psf"] = psf
    says = f"Snow (balanced) on the top chord, of plan area: {told_as} psf, today 20 psf."
    assert told(king_post, other) == [("area-load", falls, says)]


@pytest.mark.parametrize(("share", "falls"), [(29.875 / 35.75, False), (0.5, True)])
def test_less_on_each_foot_falls_only_where_a_truss_carries_less_of_it(king_post, other, share, falls):
    """Three quarters of an inch short of 3 ft apart, today 2 ft: 1.49 times the area, so 0.836 of the psf is 1.24
    times the load, and a half of it 0.74 times."""
    other["spacing_in"] = 35.75
    for load in other["loads"]["area"]:
        load["psf"] *= share
    (apart, _, _), *loads = told(king_post, other)
    assert apart == "spacing"
    assert {one[:2] for one in loads} == {("area-load", falls)}
    says = f"Snow (balanced) on the top chord, of plan area: {20 * share:.4g} psf, today 20 psf."
    assert says in [one[2] for one in loads]


def test_wind_that_lifts_less_falls(king_post, other):
    other["loads"]["area"][5]["psf"] = -12
    says = "Wind (up) on the top chord, square to it: −12 psf, today −20 psf."
    assert told(king_post, other) == [("area-load", True, says)]


def test_only_the_stretch_that_differs_is_told(king_post, other):
    """20 psf all along, then 20 up to 8 ft and 10 from there."""
    other["loads"]["area"][2] |= {"to_x_in": 96}
    other["loads"]["area"].append({**king_post["loads"]["area"][2], "psf": 10, "from_x_in": 96})
    says = "Snow (balanced) on the top chord, of plan area, from 8'-0\" to the right end along: 10 psf, today 20 psf."
    assert told(king_post, other) == [("area-load", True, says)]


def test_one_load_written_as_two_windows_is_the_same_load(king_post, other):
    other["loads"]["area"][2] |= {"to_x_in": 96}
    other["loads"]["area"].append({**king_post["loads"]["area"][2], "from_x_in": 96})
    assert told(king_post, other) == []


def test_a_load_keeps_its_place_when_the_panel_point_under_it_moves(king_post, other):
    """150 lb at x = 100: 100 in. along B1 of 120; with the panel point at 80, 20 in. along B2, which starts there."""
    king_post["loads"]["point"] = [{"case": "dead", "member": "B1", "at_in": 100, "down_lb": 150}]
    king_post["loads"]["line"] = [
        {"case": "dead", "member": "B1", "plf": 6},
        {"case": "dead", "member": "B2", "plf": 6, "to_in": 24},
    ]
    other["joints"]["D"] = [80, 0]
    other["loads"]["point"] = [{"case": "dead", "member": "B2", "at_in": 20, "down_lb": 150}]
    other["loads"]["line"] = [
        {"case": "dead", "member": "B1", "plf": 6},
        {"case": "dead", "member": "B2", "plf": 6, "to_in": 64},
    ]
    assert told(king_post, other) == []
    other["loads"]["point"][0]["at_in"] = 30
    assert [(code, falls) for code, falls, _ in told(king_post, other)] == [("point-load", True), ("point-load", False)]
    assert told(king_post, other)[0][2] == 'Dead at 8\'-4" along and 0" up: none down, today 150 lb.'


def test_a_line_load_that_is_shorter_falls_where_it_is_gone(king_post, other):
    king_post["loads"]["line"] = [{"case": "live", "member": "B1", "plf": 20}]
    other["loads"]["line"] = [{"case": "live", "member": "B1", "plf": 20, "to_in": 60}]
    says = "Live along the bottom chord, from 5'-0\" to 10'-0\" along: none, today 20 plf."
    assert told(king_post, other) == [("line-load", True, says)]


@pytest.mark.parametrize(
    ("change", "code", "falls", "says"),
    [
        ({"spacing_in": 16}, "spacing", True, "Trusses 1'-4\" apart, today 2'-0\""),
        ({"spacing_in": 48}, "spacing", False, "Trusses 4'-0\" apart, today 2'-0\""),
        (
            {"uplift_dead_share": 0.9},
            "uplift-dead-share",
            True,
            "90% is counted on to hold it down against uplift, today 80%.",
        ),
        (
            {"uplift_dead_share": 0.5},
            "uplift-dead-share",
            False,
            "50% is counted on to hold it down against uplift, today 80%.",
        ),
        ({"ceiling": "plaster"}, "ceiling", False, "Ceiling: plaster, today gypsum"),
        ({"plies": 2}, "plies", False, "2 plies, today 1 ply."),
        (
            {"lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 0}},
            "chord-restraint",
            False,
            "Bottom chord: held all along, today held every 4'-0\".",
        ),
        (
            {"lateral_restraint": {"top_chord_in": 24, "bottom_chord_in": 48, "webs": {"W1": 1}}},
            "web-restraint",
            False,
            "W1: 1 row of restraint, today none.",
        ),
    ],
)
def test_what_else_is_stated(king_post, other, change, code, falls, says):
    found = told(king_post, other | change)
    assert [(one[0], one[1]) for one in found] == [(code, falls)]
    assert says in found[0][2]


def test_a_share_of_dead_load_that_was_not_stated_was_all_of_it(king_post, other):
    unsaid = {key: value for key, value in king_post.items() if key != "uplift_dead_share"}
    (found,) = told(unsaid, other | {"uplift_dead_share": 0.9})
    assert found[:2] == ("uplift-dead-share", False)
    (found,) = told(other | {"uplift_dead_share": 0.9}, unsaid)
    assert found[:2] == ("uplift-dead-share", True)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"width_in": 3.5}, ['Bearing C is 3 1/2" wide, today 5 1/2".']),
        ({"restrains": "xy"}, ["Bearing C holds up, down and sideways, today up and down."]),
        (
            {"joint": "D"},
            [
                'The bearing at joint C, 20\'-0" along and 0" up, is gone.',
                'A new bearing, D on the drawing, is 5 1/2" wide at 10\'-0" along and 0" up.',
            ],
        ),
    ],
)
def test_bearings(king_post, other, change, says):
    other["bearings"][1] |= change
    assert [one[2] for one in told(king_post, other)] == says


def test_a_bearing_that_moves_is_told_by_how_far(king_post, other):
    other["joints"]["C"] = [234, 0]
    assert ("bearing-moved", False, 'Bearing C stands 6" to the left of where it is today.') in told(king_post, other)
