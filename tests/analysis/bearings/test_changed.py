"""What a truss makes of other bearings: as it is, in between, and made stronger."""

import pytest

from tests.option_cases import codes, floor_truss, w_truss
from trusses.analysis.analysis import Analysis, analyse
from trusses.analysis.bearings.changed import add, move, on, take_away
from trusses.analysis.bearings.edits import added, as_measured
from trusses.analysis.format.document import read
from trusses.analysis.frame.mechanism import Mechanism
from trusses.analysis.redesign.layouts import Note


def right(truss):
    return max(truss.bearings, key=lambda bearing: truss.joint(bearing.joint).x).joint


def test_a_floor_truss_gets_a_wall_under_a_panel_point():
    truss = floor_truss()
    low = [joint for joint in truss.joints if any(m.role == "bottom_chord" for m in truss.members_at[joint.name])]
    middle = min(low, key=lambda joint: abs(joint.x - 120))
    found = add(truss, middle.x, 3.5)
    assert isinstance(found.as_it_is, Analysis)
    assert len(found.as_it_is.truss.bearings) == 3
    # webs that were in tension are pressed now: whether that passes is the analysis's word
    assert found.fits is found.as_it_is.passes
    assert bool(found.ways) is not found.fits


def test_an_outer_wall_gone_before_the_new_one_stands_lets_the_truss_turn():
    truss = w_truss()
    found = move(truss, right(truss), 400.0)
    states = {state.name: state for state in found.between}
    assert states["gone"].moves.code == "whole-turns"
    assert states["both"].worst is not None
    assert not states["gone"].passes


@pytest.mark.parametrize("by_in", [6.0, 30.0])
def test_each_offer_stands_on_the_wanted_bearings_and_passes(by_in):
    truss = w_truss()
    found = move(truss, right(truss), 432 - by_in)
    for way in found.ways:
        after = read(way.document)
        assert sorted(after.joint(b.joint).x for b in after.bearings) == [0, 432 - by_in]
        assert codes(way.steps)[0] == "bearing-moved"
        assert way.passes is analyse(after).passes
    assert found.fits or any(way.passes for way in found.ways)


def test_a_post_is_offered_over_a_bearing_between_panel_points():
    truss = w_truss()
    found = move(truss, right(truss), 380.0)
    assert not found.fits
    assert any("upright" in codes(way.steps) for way in found.ways)


def test_a_wall_taken_away_is_in_between_what_today_s_truss_does_without_it():
    truss = read(added(w_truss(), 216.0, 3.5))
    middle = next(b.joint for b in truss.bearings if truss.joint(b.joint).x == 216)
    found = take_away(truss, middle)
    (gone,) = found.between
    assert gone.name == "gone"
    assert isinstance(found.as_it_is, Analysis)
    strength = max(c.ratio for c in found.as_it_is.checks if "deflection" not in c.rule)
    assert gone.worst.ratio == pytest.approx(strength)


def test_one_of_two_taken_away_stands_no_more():
    truss = w_truss()
    found = take_away(truss, right(truss))
    assert isinstance(found.as_it_is, Mechanism)
    assert not found.fits
    assert not any(way.passes for way in found.ways)


def test_measured_walls_answer_like_moved_ones():
    truss = w_truss()
    there = as_measured(truss, {right(truss): (426.0, 0.0)})
    found = on(truss, there.document, Note("bearings-measured", (), {}))
    moved_there = move(truss, right(truss), 426.0)
    assert found.as_it_is.worst_ratio == pytest.approx(moved_there.as_it_is.worst_ratio)
    assert found.between == ()
