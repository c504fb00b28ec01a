"""The sentence of each code of a request, once; what was stored as a sentence stays one."""

import pytest

from changes import words

CARRIERS = {
    "cut-copies": (
        {"mark": "K5", "numbers": [1, 3]},
        "Of K5, 2 copies are cut already (1, 3) and keep the old loads; the numbers here take every copy as changed.",
    ),
    "stands-in": (
        {"mark": "R5", "case": "snow", "pattern": "drift", "used": []},
        "R5 has no arrangement “drift” of its own snow load: the heaviest of those that it has stands in for it.",
    ),
}


@pytest.mark.parametrize("code", CARRIERS)
def test_what_a_person_has_to_look_at_in_a_carrier(code):
    values, says = CARRIERS[code]
    assert words.finding({"code": code, "values": values}) == says


def test_a_sentence_that_was_stored_before_codes_were_is_told_as_it_is():
    assert words.finding("R5 pushes 40 lb along its span.") == "R5 pushes 40 lb along its span."
