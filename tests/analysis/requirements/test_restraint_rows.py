"""Rows of restraint that run across trusses side by side, and what a change of some of them breaks for the others."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.conftest import KING_POST
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Truss
from trusses.analysis.requirements.restraint_rows import Standing, alone, broken, neighbours, places, runs, told


def truss(rows: int = 1, shift: float = 0.0, rise: float = 0.0, **more: Any) -> Truss:
    """The king post of 20 ft with `rows` on its post; `shift` and `rise` move its lower end."""
    document = copy.deepcopy(KING_POST)
    document["joints"]["D"] = [120 + shift, rise]
    document["lateral_restraint"]["webs"] = {"W1": rows}
    return read({**document, **more})


def line(count: int = 6, label: str = "R1", of: Truss | None = None, start: float = 0.0) -> list[Standing]:
    return [Standing(label, n, of or truss(), start + 24.0 * (n - 1), 0.0) for n in range(1, count + 1)]


def without_web() -> Truss:
    document = copy.deepcopy(KING_POST)
    document["members"].pop()
    document["hinges"] = []
    return read(document)


class TestRunning:
    def test_a_row_stands_at_even_parts_of_its_web(self):
        (one,) = places(line(1)[0])
        assert (one.web, one.x_in, one.y_in) == ("W1", 120, 30)
        assert [(place.x_in, place.y_in) for place in places(line(1, of=truss(2))[0])] == [(120, 40), (120, 20)]

    def test_it_is_told_from_the_left_bearing_wherever_the_document_begins(self):
        moved = copy.deepcopy(KING_POST)
        moved["joints"] = {name: [x + 55, y] for name, (x, y) in moved["joints"].items()}
        moved["lateral_restraint"]["webs"] = {"W1": 1}
        (run,) = runs([Standing("R1", 1, truss(), 0, 10), Standing("R9", 1, read(moved), 24, 10)])
        assert [place.x_in for _, place in run] == [130, 130]

    def test_like_webs_of_neighbours_make_one_row(self):
        (run,) = runs(line(4))
        assert [standing.name for standing, _ in run] == ["R1-1", "R1-2", "R1-3", "R1-4"]

    @pytest.mark.parametrize(("shift", "together"), [(1.0, True), (1.1, False), (-1.0, True), (-1.1, False)])
    def test_the_tolerance_is_half_an_inch_where_the_row_crosses(self, shift, together):
        """The middle of the post moves by half of what its lower end does."""
        found = runs([*line(1), Standing("R2", 1, truss(shift=shift), 24, 0)])
        assert (len(found) == 1) is together

    def test_up_and_down_counts_as_well(self):
        assert len(runs([*line(1), Standing("R2", 1, truss(rise=1.1), 24, 0)])) == 2

    def test_trusses_too_far_apart_are_no_neighbours(self):
        assert list(neighbours([*line(1), Standing("R2", 1, truss(), 48, 0)])) == [(0, 1)]
        assert list(neighbours([*line(1), Standing("R2", 1, truss(), 48.1, 0)])) == []

    def test_a_truss_without_the_row_between_two_ends_it(self):
        found = runs([*line(1), Standing("R2", 1, truss(rows=0), 24, 0), Standing("R1", 2, truss(), 48, 0)])
        assert [len(run) for run in found] == [1, 1]

    def test_two_halves_beside_one_are_both_its_neighbours_and_what_stands_end_to_end_is_none(self):
        whole, left, right = line(1)[0], Standing("L", 1, truss(), 24, -200), Standing("R", 1, truss(), 24, 200)
        assert sorted(neighbours([whole, left, right])) == [(0, 1), (0, 2)]
        assert list(neighbours([whole, Standing("E", 1, truss(), 24, 240)])) == []


class TestBreaking:
    def test_a_web_that_goes_ends_the_row_of_those_that_keep_it(self):
        (one,) = broken(line(9), dict.fromkeys((0, 1, 2), without_web()))
        assert told(one.trusses) == "R1-4 to R1-9"
        assert (one.web, one.alone, told(one.towards)) == ("W1", False, "R1-3")
        assert one.says == (
            "The row on W1 of R1-4 to R1-9 doesn't run on into R1-3 any more: brace it diagonally at its new end,"
            " reinforce those webs singly, or keep the row. In R1-3, W1 is gone."
        )

    def test_one_that_is_left_by_itself_has_nothing_to_run_to(self):
        (one,) = broken(line(4), dict.fromkeys((0, 1, 2), without_web()))
        assert one.alone
        assert one.says == (
            "The row on W1 of R1-4 has nothing to run to: reinforce that web singly, or keep the row."
            " In R1-3, W1 is gone."
        )

    def test_every_second_truss_changed_leaves_each_of_the_others_by_itself(self):
        (one,) = broken(line(5), dict.fromkeys((1, 3), without_web()))
        assert (one.alone, told(one.trusses)) == (True, "R1-1, R1-3 and R1-5")
        assert "those webs singly" in one.says

    def test_the_middle_taken_out_leaves_two_rows(self):
        found = broken(line(7), {3: without_web()})
        assert [(told(one.trusses), told(one.towards)) for one in found] == [
            ("R1-1 to R1-3", "R1-4"),
            ("R1-5 to R1-7", "R1-4"),
        ]

    @pytest.mark.parametrize(
        ("other", "why"),
        [
            (truss(rows=0), "In R1-1, W1 has no row any more."),
            (truss(rows=2), "In R1-1, W1 has its rows in other places: 2 instead of 1."),
            (truss(shift=4), 'In R1-1, the row on W1 is 2" from where it was.'),
        ],
    )
    def test_why(self, other, why):
        (one,) = broken(line(3), {0: other})
        assert one.says.endswith(why)

    def test_what_moves_within_the_tolerance_breaks_nothing(self):
        assert broken(line(3), {0: truss(shift=0.9)}) == []

    def test_two_rows_of_a_web_that_break_are_told_once(self):
        (one,) = broken(line(3, of=truss(2)), {0: without_web()})
        assert told(one.trusses) == "R1-2 to R1-3"

    def test_neighbours_of_another_mark_count(self):
        (one,) = broken([*line(2), *line(3, "R2", start=48)], dict.fromkeys((0, 1), without_web()))
        assert (told(one.trusses), told(one.towards)) == ("R2-1 to R2-3", "R1-2")

    def test_when_all_change_alike_nobody_is_touched(self):
        assert broken(line(4), dict.fromkeys(range(4), without_web())) == []

    def test_trusses_without_rows_are_not_touched(self):
        assert broken(line(4, of=truss(0)), {0: without_web()}) == []


class TestAlone:
    def test_a_new_row_that_its_neighbours_do_not_have(self):
        beside = [*line(2, of=truss(0)), Standing("R2", 1, truss(), 48, 0)]
        assert [(web, told(those)) for web, those in alone(beside, {2}).items()] == [("W1", "R2-1")]

    def test_only_those_that_are_asked_for(self):
        assert alone([*line(2, of=truss(0)), Standing("R2", 1, truss(), 48, 0)], {0}) == {}

    def test_a_row_that_runs_on_is_not_alone(self):
        assert alone(line(2), {0, 1}) == {}
