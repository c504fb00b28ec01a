"""The sentence of each code of a request, once; what was stored as a sentence stays one."""

import pytest

from changes import words
from tests.changes.asking import FITS

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


EVENTS = {
    "ask for a hold": ({"mark": "K1", "copies": 3}, "The saw should wait for 3 copies of K1 not yet cut."),
    "release the hold": (
        {"free": ["K1", "K2"], "held": {"K3": [7, 9]}},
        "The saw need not wait for K1, K2 any more. The saw still waits for K3: requests 7 and 9 hold it.",
    ),
    "acknowledge the hold": ({"mark": "K1"}, "The saw waits for K1."),
    "refuse the hold": (
        {"mark": "K1", "requests": [7]},
        "The saw does not wait for this request, and still for K1: request 7 holds it.",
    ),
    "overtaken": (
        {"mark": "K1", "number": 2, "request": 5},
        "K1 has revision 2 now, from request 5. This request is computed again before it is approved.",
    ),
    "draw": ({"mark": "K1", "title": "Two webs fewer"}, "K1: Two webs fewer"),
    "compute an option": (
        {"mark": "K1", "title": "Two webs fewer", "found": "It fits."},
        "K1: Two webs fewer. It fits.",
    ),
    "finish computing": (
        {
            "answers": [
                {"mark": "K1", "number": 0, "verdict": "fits"},
                {"mark": "K2", "number": 3, "verdict": "none pass"},
            ],
            "anew": [{"mark": "K2", "number": 3, "options": 2}],
            "lost": ["Old one"],
        },
        "K1 revision 0: fits as it is; K2 revision 3: no redesign passes; K2 revision 3: 2 drawn options computed anew;"
        " “Old one” doesn't hold what is asked now and is not carried over",
    ),
    "fail": (
        {"trouble": "the worker stopped.", "option": True},
        "A drawn option could not be computed: the worker stopped.",
    ),
}


@pytest.mark.parametrize("verb", EVENTS)
def test_an_event_is_told_by_its_verb_and_values(verb):
    values, says = EVENTS[verb]
    assert words.EVENTS.keys() == EVENTS.keys()
    assert words.event(verb, values, "") == says
    assert words.event(verb, values, "Call me.") == f"{says} Call me."
    assert words.event(verb, {}, "An old sentence.") == "An old sentence."


def test_what_an_event_leaves_out_where_there_is_nothing_to_tell():
    assert words.event("refuse the hold", {"mark": "K1", "requests": []}, "") == "The saw does not wait for K1."
    assert words.event("release the hold", {"free": ["K1"], "held": {}}, "") == "The saw need not wait for K1 any more."
    assert words.event("overtaken", {"mark": "K1", "number": 2, "request": None}, "").startswith(
        "K1 has revision 2 now: its designer corrected it."
    )
    assert words.event("fail", {"trouble": "it broke.", "option": False}, "") == "it broke."


def test_an_event_stores_what_happened_and_not_its_sentence(answered):
    told = {event.verb: event for event in answered(FITS).events.all()}
    done = told["finish computing"]
    assert done.says == ""
    assert done.values["answers"] == [{"mark": "K1", "number": 0, "verdict": "fits"}]
    assert done.told == "K1 revision 0: fits as it is"
    assert (told["ask for a hold"].says, told["ask for a hold"].values) == ("", {"mark": "K1", "copies": 3})
    assert told["file"].told == told["file"].says != ""
