"""What the map tells a tape: it fits where it is told, on a tape's marks, and is hardly smaller than it could be."""

from __future__ import annotations

import pytest

from tests.trusses.drawn import example, king_post
from trusses.analysis.clearance.clear_map import clear_map
from trusses.analysis.clearance.free_space import space
from trusses.analysis.clearance.openings import fit
from trusses.analysis.format.document import read
from trusses.clear.taped import Tape
from trusses.templatetags.measures import toward, unbroken


def whole(value, parts):
    return abs(value * parts - round(value * parts)) < 1e-6


@pytest.mark.parametrize("name", ["E1", "E2", "E3", "E5", "E7"])
def test_it_fits_where_it_is_told(name):
    truss = read(example(name))
    room, tape = space(truss), Tape(truss.document)
    marked = seen = 0
    for one in clear_map(truss):
        told = tape.pocket(one)
        assert len(told.every) == 5 + len(one.by_height)
        for taped in told.every:
            assert fit(room, taped.opening).fits
            width, height = taped.opening.size
            assert whole(width, 8)
            assert whole(height, 8)
            seen += 1
            marked += whole(taped.reach.distance, 16) and whole(taped.rise.distance, 16)
        assert 0 <= one.circle.diameter_in - told.round.opening.size[0] <= 0.3
    # a slot hardly higher than what lies in it leaves no mark of a tape inside
    assert marked / seen > 0.95


def test_a_king_post_by_hand():
    """A panel of 120 by 90 with 3.5 in. wood all round: r = 2A/P - d/2 = 120·90/(120+90+150) - 1.75 = 28.25 in., whose
    middle is 30 in. from the post's and the bottom chord's centerlines: 120 - 30 - 1.75 from the left bearing's face,
    and 30 - 1.75 above the chord's edge."""
    told = Tape(king_post()).pocket(clear_map(read(king_post()))[0])
    assert told.between == ("T1", "B1.1", "W1")
    assert told.round.size == '56 1/2" round'
    assert (told.round.reach.distance, told.round.rise.distance) == pytest.approx((88.25, 28.25), abs=1e-6)
    assert told.round.reach.support.joint == "A"


def test_no_line_end_parts_a_length() -> None:
    assert unbroken('46 1/8" × 30 3/4"') == '46\N{NO-BREAK SPACE}1/8"\N{NO-BREAK SPACE}× 30\N{NO-BREAK SPACE}3/4"'
    assert unbroken("12'-3 1/2\" from 2 walls") == "12'-3\N{NO-BREAK SPACE}1/2\" from 2 walls"


def test_a_length_below_zero_is_told_by_its_direction() -> None:
    assert (toward(24, "up down"), toward(-96, "up down")) == ("2'-0\" up", "8'-0\" down")
