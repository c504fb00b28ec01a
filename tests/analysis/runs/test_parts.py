"""A run in the parts that a decision made of it."""

from __future__ import annotations

from dataclasses import replace

from tests.analysis.runs.standing import run
from trusses.analysis.runs.parts import parts

BENT = replace(run((0, 100), (100, 100), (100, 200), (300, 200), slope=0.24), rises=(0.0, 4.0))


def test_it_is_cut_halfway_between_what_was_left_and_what_was_not():
    """Crossed 48 and 312 in. along it: parted at 180, on the second leg, before the corner at which it rises."""
    one, other = parts(BENT, [((24, 100), False), ((48, 100), False), ((212, 200), True)])
    assert (one.left, other.left) == (False, True)
    assert one.run.points == ((0, 100), (100, 100), (100, 180))
    assert other.run.points == ((100, 180), (100, 200), (300, 200))
    assert (one.run.rises, other.run.rises) == ((), (4.0,))
    for part, start in ((one.run, 0.0), (other.run, 180.0)):
        for far in (0.0, part.length_in / 2, part.length_in):
            assert abs(part.height_at(far) - BENT.height_at(start + far)) < 1e-9


def test_what_is_crossed_twice_is_told_apart_by_its_order():
    there_and_back = run((0, 100), (200, 100), (200, 130), (0, 130), (0, 100), (50, 100))
    met = [((24, 100), False), ((24, 130), True), ((24, 100), True)]
    one, other = parts(there_and_back, met)
    # 24 in. and 200 + 30 + 176 in. along, and 200 + 30 + 200 + 30 + 24 at last
    assert one.run.length_in == (24 + 406) / 2
    assert one.run.length_in + other.run.length_in == there_and_back.length_in


def test_where_trusses_cross_each_other_what_was_left_of_one_was_left_of_all():
    """Two that it begins in, and three in its midst: a part without length would have no leg to draw."""
    whole = run((24, 100), (224, 100))
    first, second = parts(whole, [((24, 100), True), ((24, 100), False), ((124, 100), False)])
    assert (first.left, first.run.points, second.run.points) == (True, ((24, 100), (74, 100)), ((74, 100), (224, 100)))
    three = [((124, 100), left) for left in (False, True, False)]
    assert parts(whole, three) == [(whole, True)]
    before, there, after = parts(whole, [((24, 100), False), *three, ((174, 100), False)])
    assert (before.left, there.left, after.left) == (False, True, False)
    assert [leg.length for part in (before, there, after) for leg in part.run.legs()] == [50, 75, 75]


def test_of_one_kind_it_is_whole():
    assert [(part.run, part.left) for part in parts(BENT, [((24, 100), True), ((252, 200), True)])] == [(BENT, True)]
    assert parts(BENT, []) == [(BENT, False)]
