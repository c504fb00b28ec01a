"""What an answer says of room for storage that a redesign, the search's or a designer's own, opens in an attic."""

import copy

from changes.asks.answers import drawn
from changes.asks.opening import answer_openings as answer
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.loads.attic import lacking
from trusses.analysis.shapes.shapes import build

PLENUM = {
    "id": "O1",
    "shape": "rectangle",
    "centre_in": [180, 30],
    "width_in": 24,
    "height_in": 42.5,
    "clearance_in": 0.5,
}


def pratt():
    """30 ft in ten panels: no box 42 in. high and 24 in. wide fits between its webs."""
    chords = dict.fromkeys(("top_lumber", "bottom_lumber"), "2x6 SPF 2100f-1.8E")
    return build("pratt", span="30'", pitch=7, panels=10, snow=25, wind_up=15, bottom_dead=5, **chords)


def codes(found):
    return [one["code"] for one in found.told]


def test_a_redesign_that_opens_room_carries_storage_there_and_says_so():
    document = pratt()
    assert lacking(read(document)) == ()
    answered = answer(document, analyse(read(document)).document(), [PLENUM], lambda fraction, says: None)
    passing = [option for option in answered.options if option.passes]
    assert passing
    for option in passing:
        assert "storage-raised" in codes(option)
        assert lacking(read(option.document)) == ()
        assert "attic_storage" in option.analysis["cases"]


def test_a_designers_own_option_that_opens_room_is_told_of_it():
    document = pratt()
    before = analyse(read(document)).document()
    own = copy.deepcopy(document)
    own["members"] = [member for member in document["members"] if member["id"] != "W9"]
    own["lateral_restraint"]["webs"].pop("W9", None)
    found = drawn(document, before, own, "Without W9", [])
    assert "storage-left-out" in codes(found)
    assert "storage-left-out" not in codes(drawn(document, before, document, "As it is", []))
