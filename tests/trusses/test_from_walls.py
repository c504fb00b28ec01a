"""Where trusses stand, from walls: rules, without a database."""

from __future__ import annotations

import pytest

from trusses.plan.from_walls import From, across, beside

WALLS = [
    ("south wall", [[0, 0], [720, 0]]),
    ("west wall", [[0, 0], [0, 432]]),
    ("east wall", [[720, 0], [720, 432]]),
    ("north wall", [[0, 432], [720, 432]]),
    ("hall wall", [[300, 200], [300, 432]]),
    ("skew wall", [[100, 0], [140, 432]]),
]


def test_a_row_is_measured_from_the_wall_before_it_all_of_it():
    measure = beside(WALLS, "y", [24, 48, 600], (0, 190))
    assert [measure.of(place) for place in (24, 600)] == [
        From(24, "west wall", "to the right of"),
        From(600, "west wall", "to the right of"),
    ]
    # a wall that ends short of where they begin is none of theirs; one that some of them lie beyond is not either
    assert beside(WALLS, "y", [324, 348], (0, 190)).wall == "west wall"
    assert beside(WALLS, "y", [324, 348], (0, 220)).wall == "hall wall"
    assert beside(WALLS, "y", [276, 324], (0, 220)).wall == "west wall"


def test_a_wall_that_ends_a_little_short_counts_where_there_is_no_other():
    assert beside(WALLS, "y", [324, 348], (-144, -8)).wall == "west wall"
    assert beside(WALLS, "y", [324, 348], (-144, -30)).wall == ""
    with_beam = [*WALLS, ("beam", [[100, -144], [100, -12]])]
    assert beside(with_beam, "y", [324, 348], (-144, -8)).wall == "beam"
    assert beside(with_beam, "y", [324, 348], (0, 190)).wall == "west wall"


def test_of_two_walls_on_one_line_the_longer_is_named():
    walls = [("post", [[0, 0], [0, 6]]), *WALLS]
    assert beside(walls, "y", [24], (0, 100)).wall == "west wall"
    assert across([("post", [[10, 0], [16, 0]]), *WALLS], "y", 12, 0).wall == "south wall"


def test_without_a_wall_before_it_from_the_one_after_it_and_then_from_zero():
    measure = beside(WALLS[2:3], "y", [600, 624], (0, 432))
    assert measure.of(624) == From(96, "east wall", "to the left of")
    assert beside(WALLS, "y", [24], (900, 1000)).of(24) == From(24, "", "to the right of")
    assert beside([], "x", [-30], (0, 9)).of(-30) == From(30, "", "down from")


def test_rows_that_run_across_are_measured_up_and_down():
    assert beside(WALLS, "x", [24, 48], (0, 300)).of(48) == From(48, "south wall", "up from")
    assert beside(WALLS[3:4], "x", [24, 48], (0, 300)).of(48) == From(384, "north wall", "down from")


@pytest.mark.parametrize(
    ("along", "place", "end", "told"),
    [
        ("y", 24, 0, From(0, "south wall", "up from")),
        ("y", 24, -8, From(8, "south wall", "down from")),
        ("x", 24, 700, From(20, "east wall", "to the left of")),
        ("y", 2000, 30, From(30, "", "up from")),
    ],
)
def test_its_end_is_told_from_the_nearest_wall_that_it_comes_to(along, place, end, told):
    assert across(WALLS, along, place, end) == told
    assert told.on == (told.inches == 0)


def test_what_lies_within_a_sixteenth_is_on_the_line():
    assert beside(WALLS, "y", [0.03], (0, 432)).of(0.03).on
    assert beside(WALLS, "y", [-0.03, 24], (0, 432)).of(24).wall == "west wall"
