"""A document's own openings as the wish: which verdict there is where no option passes, and what it says."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.option_cases import DUCT, w_truss
from trusses.analysis.format.document import read
from trusses.analysis.redesign.search import Limits, written
from trusses.analysis.redesign.wish import NEVER, NONE_PASS, granted
from trusses.analysis.shapes import shapes
from trusses.analysis.words.phrases import coded, tell
from trusses.analysis.words.wish import NONE


def wish(document: dict[str, Any], *openings: dict[str, Any]) -> Any:
    return read(json.loads(json.dumps(document | {"openings": list(openings)})))


def codes(told: Any) -> list[str]:
    return [one["code"] for one in told]


def test_one_chord_in_the_way_is_never_whatever_else_is_wanted() -> None:
    low = written(DUCT) | {"id": "O2", "centre_in": [132, 2]}
    found = granted(wish(w_truss().document, written(DUCT), low))
    assert found.options == ()
    assert found.none is not None
    assert found.none.verdict == NEVER
    assert codes(found.none.told) == ["asked", "fits-moved"]
    assert found.none.near is not None
    assert found.none.near["opening"] == "O2"


def test_where_nothing_passes_it_says_what_stops_the_best() -> None:
    found = granted(wish(w_truss().document, written(DUCT)), Limits(seconds=0))
    assert not found.passes
    assert found.none is not None
    assert found.none.verdict == NONE_PASS
    assert codes(found.none.told) == ["asked", "stops", "fits-moved"]


def test_without_arrangements_nothing_is_searched_and_what_fits_is_today_s_truss() -> None:
    lacking = shapes.build("w", span=432, snow=30, arranged=False)
    blocked = granted(wish(lacking, written(DUCT)))
    assert blocked.none is not None
    assert codes(blocked.none.told) == ["asked", "arrangements-first", "fits-moved"]
    small = {"id": "O1", "shape": "circle", "centre_in": [216, 40], "diameter_in": 6}
    (only,) = granted(wish(lacking, small)).options
    assert only.change.touched == ()


SENTENCES = {
    "asked": ({"opening": "O1", "fit": coded("fits-exactly")}, "Opening O1: It fits as it is, with nothing to spare."),
    "arrangements-first": (
        {"lacking": ["snow/left", "snow/right"]},
        "Its loads lack the arrangements snow/left and snow/right; no redesign is offered until they are written in.",
    ),
    "not-searched": (
        {"why": {"code": "arrangements-missing", "place": "", "values": {"lacking": ["snow/left"]}}},
        "The truss lacks load arrangements (snow/left); without them no option is offered.",
    ),
    "stops": (
        {"why": [coded("no-layout")]},
        "No redesign passes. What stops the best: No layout of webs was found that keeps the opening clear and can be"
        " built.",
    ),
    "fits-nowhere": ({"opening": "O1"}, "Opening O1 fits nowhere in today's truss."),
    "fits-moved": (
        {"opening": "O1", "right_in": -6, "up_in": 0},
        "Moved 6\" to the left, opening O1 fits in today's truss.",
    ),
}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_words_of_a_wish_without_options(code: str) -> None:
    values, says = SENTENCES[code]
    assert NONE.keys() == SENTENCES.keys()
    assert tell(NONE, [coded(code, **values)]) == says


def test_less_than_a_hair_is_no_direction() -> None:
    assert tell(NONE, [coded("fits-moved", opening="O1", right_in=0.01, up_in=0)]).startswith("A hair beside")
