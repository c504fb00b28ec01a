"""On which edge of its web a row of restraint has room beside openings, by hand."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.conftest import KING_POST
from trusses.analysis.format.document import read
from trusses.analysis.requirements.row_edges import RowEdges, edges_of, row_edges

# the king post's web: a 2x4 upright at x = 120, from 0 to 60 in. up, its edges at 118.25 and 121.75; one row at 30 in.
# up takes 28.25 to 31.75 in. up, and out to 116.75 on the left, 123.25 on the right
HALF = 1.75


def duct(x: float, y: float = 30.0, across: float = 6.0, name: str = "O1", **more: Any) -> dict[str, Any]:
    return {"id": name, "shape": "circle", "centre_in": [x, y], "diameter_in": across, **more}


def rows(*openings: dict[str, Any], count: int = 1) -> list[RowEdges]:
    document = copy.deepcopy(KING_POST)
    document["lateral_restraint"]["webs"] = {"W1": count}
    document["openings"] = list(openings)
    return row_edges(read(document))


def taken(row: RowEdges) -> dict[str, tuple[str, ...]]:
    return {edge.called: edge.taken_by for edge in row.edges}


def test_an_opening_half_an_inch_from_the_web_takes_that_edge():
    (row,) = rows(duct(120 + HALF + 0.5 + 3))
    assert taken(row) == {"right": ("O1",), "left": ()}
    assert (row.at, row.drawn_on.called, row.drawn_on.out) == ((120, 30), "left", (-1, 0))
    assert row.says == "Row on W1: on its left edge only; on the right one opening O1 is in the way."
    (row,) = rows(duct(120 - HALF - 0.5 - 3))
    assert taken(row) == {"right": (), "left": ("O1",)}
    assert row.drawn_on.called == "right"
    assert row.says == "Row on W1: on its right edge only; on the left one opening O1 is in the way."


@pytest.mark.parametrize(
    ("opening", "free"),
    [
        (duct(123.25 + 3), True),  # touches the row's outer face
        (duct(123.25 + 3 - 0.01), False),
        (duct(123.25 + 3 + 0.99, clearance_in=1), False),  # its clearance counts
        (duct(123.25 + 3 + 1, clearance_in=1), True),
        (duct(125.25, y=31.75 + 3), True),  # 3 1/2 in. along the web, and the duct's round side above its end
        (duct(123.25, y=31.75 + 2.99), False),
        (duct(123.25 + 2.2, y=31.75 + 2.2), True),  # past the corner: 3.11 in. from it
        (duct(123.25 + 2.1, y=31.75 + 2.1), False),  # 2.97 in.
        (duct(120 + HALF + 0.5 + 3, y=45), True),  # far along the web
    ],
)
def test_a_row_takes_its_wood_and_no_more(opening, free):
    (row,) = rows(opening)
    assert taken(row) == {"right": () if free else ("O1",), "left": ()}
    assert bool(row.says) is not free
    assert row.drawn_on.called == ("right" if free else "left")


def test_openings_on_both_sides_leave_no_edge():
    off = HALF + 0.5 + 3
    (row,) = rows(duct(120 + off), duct(120 - off, name="O2"))
    assert taken(row) == {"right": ("O1",), "left": ("O2",)}
    assert row.drawn_on.called == "right"
    assert row.says == (
        "Row on W1: openings O1 and O2 leave no room for it on either edge."
        " The designer has to say how W1 is held before anything is built."
    )


def test_each_row_of_a_web_by_itself():
    low, high = rows(duct(125.25, y=40), count=2)  # at 20 and 40 in. up
    assert (low.at, low.says) == ((120, 20), "")
    assert high.says == "Row on W1.2: on its left edge only; on the right one opening O1 is in the way."


def test_no_opening_says_nothing():
    assert rows() == []


@pytest.mark.parametrize(
    ("ends", "names"),
    [
        (((0, 0), (30, 40)), ("right", "left")),
        (((30, 40), (0, 0)), ("right", "left")),
        (((0, 0), (-30, 40)), ("right", "left")),
        (((0, 0), (40, 10)), ("lower", "upper")),
        (((0, 0), (-40, 10)), ("upper", "lower")),
        (((40, 0), (0, 0)), ("lower", "upper")),
    ],
)
def test_edges_are_called_as_they_are_drawn(ends, names):
    (row,) = edges_of("W1", ends, 3.5, 1, ())
    assert tuple(edge.called for edge in row.edges) == names
    for edge in row.edges:
        x, y = edge.out
        assert {"right": x, "left": -x, "upper": y, "lower": -y}[edge.called] > 0.5
