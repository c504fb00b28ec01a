"""The place of damage as people measure it along a piece, and as a computation has it along a member."""

from __future__ import annotations

import pytest

from tests.refused import refused
from tests.trusses.drawn import king_post
from trusses.analysis.damage.damaged import DamageError
from trusses.analysis.damage.places import on_member, on_piece


def document(**turned):
    """K1, 240 in. long: its bottom chord B1 is one board of B1 and B2, parted at 120; `turned` members run the other
    way."""
    found = king_post()
    for member in found["members"]:
        member["joints"] = turned.get(member["id"], member["joints"])
    return found


@pytest.mark.parametrize(
    ("turned", "along", "found"),
    [
        ({}, 30, ("B1", 30)),
        ({}, 150, ("B2", 30)),
        ({"B2": ["C", "D"]}, 150, ("B2", 90)),
        ({"B1": ["D", "A"]}, 30, ("B1", 90)),
        ({}, 120, ("B1", 120)),
        ({}, 0, ("B1", 0)),
        ({}, 240.125, ("B2", 120)),
    ],
)
def test_along_a_board_is_along_one_of_its_panels(turned, along, found):
    assert on_member(document(**turned), "B1", along) == found
    back = on_piece(document(**turned), *found)
    assert back == ("B1", min(along, 240), "left end")


def test_of_a_plumb_web_it_is_from_its_lower_end():
    """W1 runs from the peak, 90 in. up, down to the bottom chord."""
    assert on_member(document(), "W1", 20) == ("W1", 70)
    assert on_piece(document(), "W1", 70) == ("W1", 20, "lower end, at the bottom chord")


def test_a_place_that_no_piece_has():
    for piece, along, code in (("T9", 1, "damage-no-member"), ("B1", 241, "damage-beyond-member")):
        with refused(DamageError, code):
            on_member(document(), piece, along)
    assert on_piece(document(), "B9", 1) is None


def test_the_end_that_lengths_count_from_can_not_be_taken_for_the_other():
    """A web that leans to the right going up, and one that leans to the left: the left end is the lower one of the
    first, the upper one of the second."""
    leans = document()
    leans["joints"] |= {"E": [60, 45], "F": [180, 45]}
    leans["members"] += [
        {"id": "W2", "role": "web", "joints": ["D", "F"], "lumber": "2x4"},
        {"id": "W3", "role": "web", "joints": ["D", "E"], "lumber": "2x4"},
    ]
    for member, joints in (("T1", "E"), ("T2", "F")):
        one = next(one for one in leans["members"] if one["id"] == member)
        leans["members"].append({**one, "id": f"{member}a", "joints": [joints, "B"]})
        one["joints"] = [one["joints"][0], joints]
    says = {piece: on_piece(leans, piece, 0).end for piece in ("W1", "W2", "W3", "B1", "T1", "T2")}
    assert says == {
        "W1": "lower end, at the bottom chord",
        "W2": "left end, the lower one, at the bottom chord",
        "W3": "left end, the upper one, at the top chord",
        "B1": "left end",
        "T1": "left end, the lower one",
        "T2": "left end, the upper one",
    }
