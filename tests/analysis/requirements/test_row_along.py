"""On which edge one board runs on through trusses that leave it different edges, by hand."""

from __future__ import annotations

import copy
from typing import Any

from tests.conftest import KING_POST
from trusses.analysis.alike import mirrored
from trusses.analysis.format.document import read
from trusses.analysis.requirements.restraint_rows import Standing
from trusses.analysis.requirements.row_along import along

RIGHT, LEFT = 125.25, 114.75
"""Middles of a 6 in. duct half an inch from either edge of the king post's web, a 2x4 at 120 in. along."""


def king_post(*ducts_in: float, first: int = 1) -> Any:
    document = copy.deepcopy(KING_POST)
    document["lateral_restraint"]["webs"] = {"W1": 1}
    document["openings"] = [
        {"id": f"O{n}", "shape": "circle", "centre_in": [x, 30], "diameter_in": 6}
        for n, x in enumerate(ducts_in, first)
    ]
    return read(document)


def line(*trusses: Any, label: str = "R1") -> list[Standing]:
    return [Standing(label, n, truss, 24.0 * (n - 1), 0.0) for n, truss in enumerate(trusses, 1)]


def test_what_one_truss_has_in_the_way_is_in_the_way_of_all():
    plain, piped = king_post(), king_post(RIGHT)
    (one,) = along(line(plain, plain, piped, plain))
    assert one.says() == (
        "The row on W1 through R1-1 to R1-4 runs on the left edge in all of them:"
        " on the right one opening O1 of R1-3 is in the way."
    )
    (one,) = along(line(plain, piped, piped))
    assert "on the right one opening O1 of R1-2 to R1-3 are in the way." in one.says()


def test_no_edge_is_free_all_along_though_each_truss_has_one():
    (one,) = along(line(king_post(RIGHT), king_post(), king_post(LEFT, first=4)))
    assert one.says() == (
        "The row on W1 through R1-1 to R1-3 has no edge that is free in all of them: on the right one opening O1 of"
        " R1-1 is in the way and on the left one opening O4 of R1-3 is in the way. The designer has to say where it"
        " stops and how those webs are held before anything is built."
    )


def test_trusses_that_all_leave_the_same_edge_say_so_themselves():
    assert along(line(king_post(RIGHT), king_post(RIGHT))) == []
    assert along(line(king_post(), king_post())) == []
    assert along(line(king_post(RIGHT))) == []


def test_a_truss_with_an_upright_web_drawn_the_other_way_has_the_same_sides():
    document = copy.deepcopy(KING_POST)
    (web,) = (member for member in document["members"] if member["id"] == "W1")
    web["joints"] = web["joints"][::-1]
    document["lateral_restraint"]["webs"] = {"W1": 1}
    (one,) = along(line(read(document), king_post(RIGHT)))
    assert "runs on the left edge in all of them" in one.says()


def test_it_is_told_by_the_name_that_the_web_has_where_one_looks():
    document = copy.deepcopy(KING_POST)
    document["lateral_restraint"]["webs"] = {"W1": 1}
    document["members"] = [one | {"id": "W7"} if one["id"] == "W1" else one for one in document["members"]]
    document["lateral_restraint"]["webs"] = {"W7": 1}
    other = Standing("R2", 1, read(document), 24.0, 0.0)
    (one,) = along([*line(king_post(RIGHT)), other])
    assert one.says({other}).startswith("The row on W7 through R1-1 and R2-1 runs on the left edge")
    assert one.says().startswith("The row on W1 through R1-1 and R2-1 runs on the left edge")


def test_edges_are_named_by_the_drawing_of_the_truss_whose_sheet_it_is():
    """The duct of R1-1 is right of its web as drawn; turned end for end about the middle, where the web stands, it lies
    left of it in plan, so that R2-1, which isn't turned, has it on its left."""
    turned = Standing("R1", 1, read(mirrored(king_post(RIGHT).document)), 0.0, 0.0, turned=True)
    too = Standing("R1", 2, read(mirrored(king_post().document)), 24.0, 0.0, turned=True)
    (one,) = along([turned, too])
    assert one.says({turned, too}) == (
        "The row on W1 through R1-1 to R1-2 runs on the left edge in all of them:"
        " on the right one opening O1 of R1-1 is in the way."
    )
    other = Standing("R2", 1, king_post(), 48.0, 0.0)
    (one,) = along([turned, too, other])
    assert one.says({turned, too}) == (
        "The row on W1 through R1-1 to R1-2 and R2-1 runs on the left edge in all of them:"
        " on the right one opening O1 of R1-1 is in the way. Left and right are those of the drawing of R1-1 to R1-2;"
        " R2-1 stands the other way round: on its drawing left is right."
    )
    assert one.says({other}) == (
        "The row on W1 through R1-1 to R1-2 and R2-1 runs on the right edge in all of them:"
        " on the left one opening O1 of R1-1 is in the way. Left and right are those of the drawing of R2-1;"
        " R1-1 to R1-2 stand the other way round: on their drawings left is right."
    )
