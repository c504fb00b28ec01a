"""Other bearings in a truss document, against beams of the handbook."""

import pytest

from tests.beams import beam, line
from tests.option_cases import floor_truss, w_truss
from tests.refused import refused
from trusses.analysis.analysis import analyse
from trusses.analysis.bearings.edits import BearingError, added, as_measured, moved, taken_away
from trusses.analysis.format.document import read

L, W = 240.0, 10.0


def span():
    return read(beam(L, "2x12 DF-L No.2", role="bottom_chord", loads={"line": [line(12 * W, "dead")]}))


def up(document):
    """Reactions under dead load, by x."""
    analysis = analyse(read(document))
    found = zip(analysis.truss.bearings, analysis.results.by_case.reactions[0, :, 1].tolist(), strict=True)
    return {analysis.truss.joint(bearing.joint).x: lb for bearing, lb in found}


@pytest.mark.parametrize("a", [2.0, 24.0, 60.0, 119.0])
def test_a_bearing_moved_in_by_a(a):
    """Moments about it: R at the other end = wL (L/2 - a)/(L - a), the rest of wL on it (statics)."""
    found = up(moved(span(), "B", L - a))
    far = W * L * (L / 2 - a) / (L - a)
    assert found == pytest.approx({0.0: far, L - a: W * L - far})


def test_moved_in_beyond_the_middle_it_would_lift_at_the_other_end():
    """a = 3L/4: wL (L/2 - a)/(L - a) = wL (-1/4)/(1/4) = -wL."""
    assert up(moved(span(), "B", L / 4))[0.0] == pytest.approx(-W * L)


def test_a_bearing_added_in_the_middle():
    """Two equal spans: 0.375, 1.25, 0.375 of w l, l = L/2 (Hicks, Civil Engineering Formulas, Table 2.1)."""
    half = W * L / 2
    found = up(added(span(), L / 2, 3.5))
    assert found == pytest.approx({0.0: 0.375 * half, L / 2: 1.25 * half, L: 0.375 * half})


def test_what_was_added_is_taken_away_again():
    truss = read(added(span(), L / 2, 3.5))
    middle = next(b.joint for b in truss.bearings if truss.joint(b.joint).x == L / 2)
    assert up(taken_away(truss, middle)) == pytest.approx({0.0: W * L / 2, L: W * L / 2})


def test_the_bearing_that_held_sideways_hands_that_on():
    truss = read(added(span(), L / 2, 3.5))
    left = read(taken_away(truss, "A"))
    assert [(left.joint(b.joint).x, b.restrains) for b in left.bearings] == [(L / 2, "xy"), (L, "y")]


def test_a_bearing_moved_to_a_panel_point_uses_it():
    truss = w_truss()
    inner = next(joint for joint in truss.joints if joint.y == 0 and 0 < joint.x < 216)
    document = moved(truss, next(b.joint for b in truss.bearings if truss.joint(b.joint).x == 0), inner.x)
    assert inner.name in {bearing["joint"] for bearing in document["bearings"]}
    assert len(document["joints"]) == len(truss.joints)


@pytest.mark.parametrize(
    ("edit", "code"),
    [
        (lambda truss: moved(truss, "Q", 20), "bearing-not-of-truss"),
        (lambda truss: moved(truss, "B", L + 0.1), "bearing-beyond-truss"),
        (lambda truss: moved(truss, "B", -0.1), "bearing-beyond-truss"),
        (lambda truss: moved(truss, "B", 3.4), "bearing-there-already"),
        (lambda truss: added(truss, L, 3.5), "bearing-there-already"),
        (lambda truss: added(truss, L / 2, 3.5, "top_chord"), "bearing-beyond-truss"),
        (lambda truss: taken_away(read(taken_away(truss, "B")), "A"), "bearing-the-only-one"),
        (lambda truss: as_measured(truss, {"Q": (0, 0)}), "bearing-not-of-truss"),
    ],
)
def test_bearings_that_cannot_be_there(edit, code):
    with refused(BearingError, code, "bearing"):
        edit(span())


class TestAsMeasured:
    def test_walls_within_a_quarter_of_an_inch_are_where_they_were_drawn(self):
        found = as_measured(span(), {"A": (0.25, 0.25), "B": (L, 0)})
        assert (found.shims_in, found.off_in) == ({}, {})
        assert read(found.document).bearings == span().bearings

    def test_what_is_lower_is_shimmed_to_the_highest(self):
        found = as_measured(span(), {"A": (0, -0.5), "B": (L, 0.25)})
        assert found.shims_in == {"A": 0.75}

    def test_a_wall_that_was_not_measured_is_as_drawn(self):
        assert as_measured(span(), {"B": (L, 0.5)}).shims_in == {"A": 0.5}

    def test_all_as_high_is_nobody_s_shim(self):
        assert as_measured(span(), {"A": (0, 2), "B": (L, 2)}).shims_in == {}

    def test_a_wall_off_its_line_moves_the_reaction(self):
        found = as_measured(span(), {"B": (L - 6, 0)})
        assert found.off_in == {"B": -6}
        assert up(found.document)[0.0] == pytest.approx(W * L * (L / 2 - 6) / (L - 6))

    def test_walls_farther_apart_than_the_truss_is_long(self):
        with refused(BearingError, "bearing-beyond-truss", by_in=2):
            as_measured(span(), {"B": (L + 2, 0)})


def test_a_floor_truss_that_bears_on_its_top_chord_is_moved_along_that():
    truss = floor_truss()
    for bearing in truss.bearings:
        x = truss.joint(bearing.joint).x
        inward = x + 24 if x < 100 else x - 24
        after = read(moved(truss, bearing.joint, inward))
        assert inward in {after.joint(b.joint).x for b in after.bearings}
