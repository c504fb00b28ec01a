"""The order of setting: along the walls, whatever marks the trusses are of."""

from __future__ import annotations

from trusses.plan.order import Line, along_walls

WALLS = {"depth": 0, "along": "y", "low": 0.0, "high": 432.0}


def line(mark, *places, family=None, **other):
    return Line(**{**WALLS, "family": family or mark, "mark": mark, "places": places, **other})


def called(rows):
    return [f"{rows[i].mark} at {rows[i].places[k]:g}" for i, k in along_walls(rows)]


def test_copies_that_got_another_design_keep_their_turn():
    rows = [line("R2", 0, 24, 48, 120, 144), line("R2-b", 72, 96, family="R2")]
    assert [rows[i].places[k] for i, k in along_walls(rows)] == [0, 24, 48, 72, 96, 120, 144]


def test_along_one_wall_marks_follow_as_they_stand():
    rows = [line("R10", 72), line("R1", 0, 96), line("R2", 24, 48)]
    assert called(rows) == ["R1 at 0", "R2 at 24", "R2 at 48", "R10 at 72", "R1 at 96"]


def test_lines_over_other_walls_follow_one_another():
    lapped = {"low": 420.0, "high": 800.0}
    rows = [line("F2", 0, 24, **lapped), line("F1", 12, 36), line("F3", 24, low=80.0), line("F4", 0, along="x")]
    assert called(rows) == ["F1 at 12", "F3 at 24", "F1 at 36", "F2 at 0", "F2 at 24", "F4 at 0"]


def test_what_joins_two_rows_makes_one_line_of_them():
    rows = [line("A", 0, low=0, high=100), line("B", 12, low=150, high=250), line("C", 6, low=0, high=250)]
    assert called(rows) == ["A at 0", "C at 6", "B at 12"]


def test_what_carries_comes_first():
    rows = [line("A1", 0, depth=1), line("G1", 48)]
    assert called(rows) == ["G1 at 48", "A1 at 0"]
