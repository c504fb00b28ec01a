"""The least way over places, and the path with bends through so many trusses that pairs of places are many."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.analysis.runs.standing import design, row, run
from trusses.analysis.runs import bends, least
from trusses.analysis.runs.stood import Stood
from trusses.analysis.runs.wood import Wood
from trusses.analysis.words.phrases import tell
from trusses.analysis.words.runs import LINES

WEIGHTS = st.integers(0, 30)


def around_a_corner(count):
    """A falling run through trusses that lie one way, then through as many that lie the other way."""
    end = 24.0 * count
    other = [Stood("X", i + 1, "Roof", design(), "x", end + 24, -40.0 - 24 * i) for i in range(count)]
    asked = run((0, 126), (end + 240, 126), (end + 240, -40 - end), height=29.75, slope=0.02)
    return asked, [*row(count), *other]


@given(st.lists(st.tuples(WEIGHTS, WEIGHTS, WEIGHTS, WEIGHTS, WEIGHTS), min_size=1, max_size=12))
def test_along_a_line_is_what_weighing_each_pair_finds(rows):
    at, stays, leaves, comes, height = (np.array(column, float) for column in zip(*rows, strict=True))
    height = np.sort(height)
    places = np.arange(len(at), dtype=float)
    by = leaves[:, None] + comes[None, :] + np.abs(height[:, None] - height[None, :])
    # to stay may be dearer than to go: as a pair, a place is come to from itself by the cheaper of both
    by[np.diag_indices(len(at))] = np.minimum(by.diagonal(), stays)
    best, back = least.along_a_line(at, stays, leaves, comes, height)
    assert (best == (at[:, None] + by).min(axis=0)).all()
    assert ((at[:, None] + by)[back, np.arange(len(at))] == best).all()
    some, chosen = least.from_any(at, places, places, lambda here, there: by[here.astype(int)][:, there.astype(int)])
    assert (some == best).all()
    assert ((at[:, None] + by)[chosen, np.arange(len(at))] == best).all()


def test_pairs_are_weighed_a_few_at_a_time(monkeypatch):
    monkeypatch.setattr(least, "_AT_ONCE", 6)
    at, here, there = np.array([5.0, 1, 4, 1, 0]), np.arange(5.0), np.arange(3.0)
    best, back = least.from_any(at, here, there, lambda some, to: np.abs(some[:, None] - to[None, :]) * 3)
    assert (best.tolist(), back.tolist()) == ([4, 1, 4], [1, 1, 1])


def test_corners_at_pairs_of_places_are_those_of_one_after_another():
    asked, copies = around_a_corner(3)
    wood, places, across = Wood(asked, copies), np.linspace(-30, 560, 60), np.linspace(-120, 460, 50)
    for axis in "xy":
        each = np.stack([wood.at_corners(places, one, axis) for one in across], axis=1)
        assert (wood.at_each_corner(places, across, axis) == each).all()
        assert each.any()
        assert not each.all()


def test_memory_doesn_t_grow_with_the_trusses_times_the_places():
    """60 and 60 trusses have 330 places to try on either side of the corner: kept pair by pair and truss by truss they
    took 160 MB, and a set may have 500."""
    asked, copies = around_a_corner(60)
    bends.bent(*around_a_corner(2))  # what designs keep is kept
    tracemalloc.start()
    try:
        found = bends.bent(asked, copies)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found is not None
    assert found.changes == 0
    assert most < 25e6


def test_what_is_too_much_to_try_is_said(monkeypatch):
    monkeypatch.setattr(bends, "_MOST_PAIRS", 100)
    with pytest.raises(bends.NotSearched) as refused:
        bends.bent(*around_a_corner(4))
    told = refused.value.told
    assert (told["code"], told["values"]) == ("run-bends-too-many", {"trusses": 8})
    assert "among the 8 trusses that this line comes to there are too many to try" in tell(LINES, [told])
