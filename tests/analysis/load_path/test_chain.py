"""The chain of carriers: its order, its end, and what stops it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.carried import at, beam, marked, reactions, row
from tests.refused import refused
from trusses.analysis.load_path.chain import CarryingError, Link, follow, loaded, upward
from trusses.analysis.load_path.landing import Hung


def link(carried, carrier, *places, joint="B"):
    return Link(carried, joint, carrier, tuple(Hung("B1", place) for place in places))


def test_each_carrier_comes_once_after_all_that_it_carries():
    links = [link("R1", "G1"), link("R2", "G2"), link("G1", "G2"), link("G2", "G3"), link("R1", "G3"), link("R9", "G9")]
    assert upward(["R1", "R2"], links) == ["G1", "G2", "G3"]
    assert upward(["R2", "R1"], links) == ["G1", "G2", "G3"]
    assert upward(["G2"], links) == ["G3"]
    assert upward(["R3"], links) == []


@pytest.mark.parametrize(
    ("links", "code", "values"),
    [
        ([link("G1", "G1")], "stands-on-itself", {"mark": "G1"}),
        ([link("G1", "G2"), link("G2", "G1")], "carries-in-a-circle", {"marks": ["G1", "G2", "G1"]}),
        (
            [link("G1", "G2"), link("G2", "G3"), link("G3", "G1")],
            "carries-in-a-circle",
            {"marks": ["G1", "G2", "G3", "G1"]},
        ),
    ],
)
def test_a_circle_is_refused(links, code, values):
    with refused(CarryingError, code, **values):
        upward(["G1"], links)


def standing(marks, links, carrier):
    """The carrier with what stands on it."""
    document, taken = loaded(marks, links, carrier)
    return replace(marked(document), taken=taken)


@pytest.fixture
def three():
    """R5 (900 lb at 48 of 144: 300 lb at B) hangs in the middle of G1, whose B hangs at 90 of the 360 of G2."""
    marks = {
        "R5": marked(beam("R5", 144, at(900, 48))),
        "G1": marked(beam("G1", 240)),
        "G2": marked(beam("G2", 360, at(100, 180))),
    }
    links = [link("R5", "G1", 120), link("G1", "G2", 90)]
    for carrier in ("G1", "G2"):
        marks[carrier] = standing(marks, links, carrier)
    return marks, links


def test_a_chain_of_three_to_its_end(three):
    """Twice the load on R5: G1 gets 600 lb in its middle, so G2 gets 300 lb at 90 of 360, beside its own 100 in the
    middle: 225 + 50 at A and 75 + 50 at B."""
    marks, links = three
    assert reactions(marks["G2"].document) == {"A": 112.5 + 50, "B": 37.5 + 50}
    steps = follow(marks, links, {"R5": marked(beam("R5", 144, at(1800, 48)))})
    assert [(step.carrier, step.because, step.trouble) for step in steps] == [
        ("G1", ("R5",), None),
        ("G2", ("G1",), None),
    ]
    assert reactions(steps[0].document) == {"A": 300, "B": 300}
    assert reactions(steps[1].document) == {"A": 275, "B": 125}
    assert steps[1].comparison["reactions"][0]["down_lb"] == pytest.approx([162.5, 275])
    assert steps[1].analysis["truss_sha256"] != marks["G2"].analysis["truss_sha256"]


def test_equal_reactions_touch_nobody(three):
    """The same at B by another load; and less than 0.1 lb of difference."""
    marks, links = three
    assert follow(marks, links, {"R5": marked(beam("R5", 144, at(300, 144)))}) == []
    assert follow(marks, links, {"R5": marked(beam("R5", 144, at(900.2, 48)))}) == []
    assert len(follow(marks, links, {"R5": marked(beam("R5", 144, at(901.2, 48)))})) == 2


def test_a_carrier_whose_reactions_stay_ends_the_chain():
    """The load of R5 stands over G1's own A, so only A gets more and B, which G2 carries, stays."""
    marks = {"R5": marked(beam("R5", 144, at(900, 48))), "G1": marked(beam("G1", 240)), "G2": marked(beam("G2", 360))}
    links = [link("R5", "G1", 0), link("G1", "G2", 90)]
    steps = follow(marks, links, {"R5": marked(beam("R5", 144, at(1800, 48)))})
    assert [step.carrier for step in steps] == ["G1"]


def test_two_changes_on_one_carrier_are_combined(three):
    """R6 puts 200 lb more at 60 of G1's 240, R5 300 lb more in its middle, at once."""
    marks, links = three
    marks = {**marks, "R6": marked(beam("R6", 100, at(200, 50)))}
    links = [*links, link("R6", "G1", 60)]
    marks["G1"] = standing(marks, links, "G1")
    changes = {"R5": marked(beam("R5", 144, at(1800, 48))), "R6": marked(beam("R6", 100, at(600, 50)))}
    first, second = follow(marks, links, changes)
    assert (first.carrier, first.because, second.carrier) == ("G1", ("R5", "R6"), "G2")
    assert reactions(first.document) == {"A": 300 + 225, "B": 300 + 75}


def test_a_carrier_that_is_changed_itself_takes_its_loads_in_its_changed_form(three):
    marks, links = three
    changes = {
        "R5": marked(beam("R5", 144, at(1800, 48))),
        "G1": replace(marked({**marks["G1"].document, "title": "another", "plies": 3}), taken=marks["G1"].taken),
    }
    first, _ = follow(marks, links, changes)
    assert (first.document["title"], first.document["plies"]) == ("another", 3)
    assert reactions(first.document) == {"A": 300, "B": 300}


def test_a_chain_that_breaks_says_where_and_ends_there(three):
    marks, links = three
    moved = beam("R5", 144, at(1800, 48))
    moved["joints"]["C"] = moved["joints"].pop("B")
    moved["members"][0]["joints"] = ["A", "C"]
    moved["bearings"][1]["joint"] = "C"
    first, second = follow(marks, links, {"R5": marked(moved)})
    assert (first.trouble["code"], first.trouble["values"]) == ("no-bearing-at-joint", {"mark": "R5", "joint": "B"})
    assert (second.trouble["code"], second.trouble["values"]) == ("carried-unknown", {"mark": "G1", "carrier": "G2"})
    assert (first.document, second.document) == (None, None)


def test_a_copy_that_would_leave_its_carrier_is_seen_though_its_reaction_stays():
    marks = {
        "R5": marked(beam("R5", 144, at(900, 48)), 1, row(120, 0, "y")),
        "G1": marked(beam("G1", 240), 1, row(0, 144, "x")),
    }
    links = [Link("R5", "B", "G1")]
    assert follow(marks, links, {"R5": marks["R5"]}) == []
    longer = marked(beam("R5", 288, at(900, 96)), 1, row(120, 0, "y"))
    (step,) = follow(marks, links, {"R5": longer})
    assert (step.trouble["code"], step.trouble["values"]["off_in"]) == ("beside-carrier", 144)


def test_a_carrier_that_could_move_says_how():
    """The girder drawn anew without its web: nothing holds the ridge, and what the solver found is kept by code."""
    ridge = {**beam("G1", 240), "bearings": [{"joint": "A", "restrains": "y", "width_in": 3.5}]}
    marks = {"R5": marked(beam("R5", 144, at(900, 48)), 1), "G1": marked(beam("G1", 240), 1)}
    links = [Link("R5", "B", "G1", (Hung("B1", 120),))]
    loose = replace(marks["G1"], document=ridge)
    (step,) = follow({**marks, "G1": loose}, links, {"R5": marked(beam("R5", 144, at(1800, 48)), 1)})
    assert (step.trouble["code"], step.trouble["values"]["joint"]) == ("carrier-loose", "B")
    assert step.document is None
