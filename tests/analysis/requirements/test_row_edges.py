"""On which edge of its web a row of restraint has room beside openings, by hand."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.conftest import KING_POST
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening
from trusses.analysis.requirements.row_edges import RowEdges, Rows, Wood, row_edges, rows_of

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
    (row,) = rows()
    assert (row.says, taken(row), row.has_room) == ("", {"right": (), "left": ()}, True)


def test_the_opening_that_is_being_placed_is_called_that():
    off = HALF + 0.5 + 3
    (row,) = rows(duct(120 + off), duct(120 - off, name="O2"))
    assert row.told("O2").startswith(
        "Row of restraint on W1: this opening and opening O1 leave no room for it on either edge."
    )
    (row,) = rows(duct(120 + off))
    assert row.told("O1") == (
        "Row of restraint on W1: on its left edge only; on the right one this opening is in the way."
    )


def beside(*others: Wood, count: int = 1, openings: Any = ()) -> list[RowEdges]:
    """The king post's web and other members, called V0, V1 …"""
    wood = {"W1": Wood((120, 0), (120, 60), 3.5)} | {f"V{i}": one for i, one in enumerate(others)}
    return Rows({"W1": count}, wood, {"V1": "the other"}).beside(openings)


def test_other_wood_takes_an_edge_too():
    """An upright of 3 1/2 in. with its middle at x = 126 begins at 124.25, an inch past the row's wood; at 125 it
    begins where that ends, at 123.25."""
    for x, lies in ((126, False), (125, False), (124.99, True)):
        (row,) = beside(Wood((x, 0), (x, 60), 3.5))
        right, left = row.edges
        assert (right.wood, left.wood) == (("V0",) if lies else (), ())
        assert (row.drawn_on.called, row.says) == ("left" if lies else "right", "")
    # ends below the row, which begins 28 1/4 in. up
    (row,) = beside(Wood((124, 0), (124, 28.25), 3.5))
    assert row.edges[0].wood == ()


def test_a_web_that_comes_near_at_a_slant():
    """From (150, 0) to (105, 60), 3 in 4: its half of 1 3/4 in. is 1.75 / 0.8 = 2.1875 in. level. At the upper end of
    the row's wood, 31.75 in. up, its middle is at 150 - 0.75 × 31.75 = 126.1875, its edge at 124, which is 3/4 in. from
    the row's outer face at 123.25; lower down it is farther."""
    for by, lies in ((0, False), (0.7, False), (0.8, True)):
        (row,) = beside(Wood((150 - by, 0), (105 - by, 60), 3.5))
        assert (row.edges[0].wood == ("V0",)) is lies, by


def test_wood_on_one_edge_and_an_opening_on_the_other_leave_none():
    (row,) = beside(
        Wood((0, 0), (240, 0), 3.5),
        Wood((124, 0), (124, 60), 3.5),
        openings=[Opening("O1", "circle", (120 - HALF - 0.5 - 3, 30), diameter_in=6)],
    )
    assert not row.has_room
    assert row.says == (
        "Row on W1: opening O1 and the wood of the other leave no room for it on either edge."
        " The designer has to say how W1 is held before anything is built."
    )
    (row,) = beside(Wood((124, 0), (124, 60), 3.5), Wood((116, 0), (116, 60), 3.5))
    assert row.says.startswith("Row on W1: the wood of V0 and the other leaves no room for it on either edge.")


def test_what_meets_no_row_is_told_at_once():
    document = copy.deepcopy(KING_POST)
    document["lateral_restraint"]["webs"] = {"W1": 1}
    held = rows_of(read(document))
    near, far = (Opening("O1", "circle", (x, 30), diameter_in=6) for x in (125.25, 126.3))
    assert (held.meet(near), held.meet(far)) == (True, False)
    bare = rows_of(read(KING_POST))
    assert (bare.meet(near), bare.beside([near])) == (False, [])


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
    (row,) = Rows({"W1": 1}, {"W1": Wood(*ends, 3.5)}).beside(())
    assert tuple(edge.called for edge in row.edges) == names
    for edge in row.edges:
        x, y = edge.out
        assert {"right": x, "left": -x, "upper": y, "lower": -y}[edge.called] > 0.5
