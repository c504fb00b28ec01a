"""Whether a document has several weights that were asked for, by what it has where each of them lies."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from changes.asks.load import counted_on, lacks, weight_of
from changes.asks.wishes import Wish
from trusses.analysis.capacity.strengthened import bearing_all
from trusses.analysis.format.document import read
from trusses.analysis.words.phrases import coded

FIRST = {
    "what": "panels",
    "note": "",
    "weight_lb": 200,
    "at_in": 60,
    "length_in": 80,
    "shape": "line",
    "chord": "bottom_chord",
    "case": "dead",
    "shared": "one",
    "off_in": 0,
}
"""20 to 100 in. along the span."""
SECOND = {**FIRST, "what": "tub, full", "weight_lb": 1000, "at_in": 100}
"""60 to 140 in., half of it over half of the first."""


def missed(king_post, asked, drawn):
    truss = read(king_post)
    document = bearing_all(truss, [weight_of(Wish("load", None, (1,), wish=one), truss) for one in drawn]).document
    mark = SimpleNamespace(current=SimpleNamespace(document=king_post))
    return lacks(document, [Wish("load", mark, (1,), wish=one) for one in asked])


@pytest.mark.parametrize(
    "second",
    [
        SECOND,
        {**SECOND, "shape": "pair"},
        {**SECOND, "at_in": 60, "shape": "point"},
        {**SECOND, "chord": "top_chord"},
        {**SECOND, "case": "live"},
    ],
)
def test_what_lies_partly_over_another_weight_stands_for_no_part_of_it(king_post, second):
    asked = [FIRST, second]
    assert missed(king_post, asked, asked) == ""
    assert missed(king_post, asked, [second]) == "panels"
    assert missed(king_post, asked, [FIRST]) in ("tub, full", "panels")
    assert missed(king_post, asked, [{**FIRST, "weight_lb": 150}, second]) == "panels"
    assert missed(king_post, asked, [FIRST, {**second, "weight_lb": 900}]) != ""


def test_what_was_asked_for_on_one_chord_is_not_on_the_other(king_post):
    assert missed(king_post, [FIRST], [{**FIRST, "chord": "top_chord"}]) == "panels"


def test_what_is_drawn_by_hand_may_not_be_counted_on_against_uplift(king_post):
    """The weight is there, but with all of its pounds the truss would be held down by more than today's."""
    truss = read(king_post)
    hung = bearing_all(truss, [weight_of(Wish("load", None, (1,), wish=SECOND), truss)])
    share = hung.uplift_dead_share
    assert share is not None
    assert counted_on(king_post, hung.document) == []
    more = {**hung.document, "uplift_dead_share": king_post.get("uplift_dead_share", 1.0)}
    assert counted_on(king_post, more) == [coded("weight-counted-on", share=share)]
