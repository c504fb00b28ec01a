"""A designer's own option: what is refused at once, and what its computation says."""

from __future__ import annotations

import copy

import pytest
from django.http import Http404

from changes import workflow
from changes.models import Computation, Option
from tests.changes.asking import CUTS_CHORD, FITS, HITS_WEB, STIFF_ENOUGH, compute, first_options, without_web
from tests.refused import refused


@pytest.fixture
def change(answered):
    return answered(HITS_WEB)


@pytest.fixture
def document(truss):
    return without_web(truss.current.document, HITS_WEB, bottom=STIFF_ENOUGH)


def draw(designer, change, document, **kwargs):
    return workflow.draw_option(designer, change, ask=change.asks.get(replaced=False), document=document, **kwargs)


def test_it_is_computed_like_the_others(designer, change, document, truss):
    option = draw(designer, change, document, title="No web at all")
    assert (option.passes, option.analysis, option.computation.state) == (None, None, "queued")
    compute(change)
    option.refresh_from_db()
    assert (change.state, option.passes, option.title) == ("awaiting decision", True, "No web at all")
    assert option.analysis["truss_sha256"] == option.sha256
    assert option.comparison["pieces"] == [4, 3]
    assert option.revision == truss.current
    assert list(option.asks.all()) == [change.asks.get()]
    assert option.says.startswith("Its lumber checks pass and its openings are clear. Plates are not checked.")


def test_a_wrong_document_is_refused_by_its_place(designer, change, document):
    broken = copy.deepcopy(document)
    broken["members"][0]["joints"][1] = "Z"
    with pytest.raises(workflow.Refused, match=r'^document: members\[0\] \(T1\): joint "Z" does not exist') as refused:
        draw(designer, change, broken)
    assert refused.value.field == "document"
    for wrong in (None, [], {"format": "x"}, {**document, "spacing_in": float("nan")}, {**document, "colour": "red"}):
        with pytest.raises(workflow.Refused, match=r"^document: "):
            draw(designer, change, wrong)
    assert not Option.objects.filter(drawn_by=designer).exists()
    change.refresh_from_db()
    assert change.state == "awaiting decision"


def test_another_mark_is_refused(designer, change, document):
    with refused(workflow.Refused, "drawn-of-another-mark", mark="R9", wanted="K1"):
        draw(designer, change, {**document, "mark": "R9"})


@pytest.mark.parametrize(
    "openings",
    [[], [{**HITS_WEB, "diameter_in": 7}], [{**HITS_WEB, "centre_in": [121, 20]}], [{**HITS_WEB, "clearance_in": 0}]],
)
def test_the_opening_that_was_asked_for_must_be_written_in(openings, designer, change, document):
    with refused(workflow.Refused, "not-written-in", "document", kind="opening", name="O1"):
        draw(designer, change, {**document, "openings": openings})


def test_more_clearance_under_another_name_is_as_good(designer, change, document):
    option = draw(designer, change, {**document, "openings": [{**HITS_WEB, "id": "Trunk", "clearance_in": 2}]})
    compute(change)
    option.refresh_from_db()
    assert option.passes is True


def test_what_else_differs_is_said(designer, change, document):
    other = copy.deepcopy(document)
    other["joints"]["B"] = [120, 66]
    other["bearings"][1]["width_in"] = 3.5
    other["loads"]["area"][0]["psf"] = 7
    option = draw(designer, change, other)
    assert option.says == "Differs from today's truss also in its outside shape, its bearings and its loads."
    compute(change)
    option.refresh_from_db()
    assert option.says.endswith(" Differs from today's truss also in its outside shape, its bearings and its loads.")


def test_moving_a_panel_point_along_its_chord_is_no_other_shape(designer, change, truss):
    moved = copy.deepcopy(truss.current.document)
    moved["joints"]["D"] = [100, 0]
    moved["openings"] = [HITS_WEB]
    assert draw(designer, change, moved).says == ""


def test_a_truss_that_can_move_says_so_and_does_not_pass(designer, change, document):
    loose = {**document, "hinges": ["A", "B", "C", "D"]}
    option = draw(designer, change, loose)
    compute(change)
    option.refresh_from_db()
    assert (option.passes, option.analysis) == (False, None)
    assert option.says.startswith("It can't be analysed: the truss can move freely: joint D")
    assert change.state == "awaiting decision"
    with refused(workflow.Refused, "option-unsound"):
        workflow.decide(designer, change, verdict="approve", options={change.asks.get().pk: option.pk})


def test_one_that_is_not_clear_does_not_pass(designer, change, truss):
    option = draw(designer, change, {**truss.current.document, "openings": [HITS_WEB]})
    compute(change)
    option.refresh_from_db()
    assert option.passes is False
    assert option.says.startswith("Opening O1: Web W1 is in the way")


def test_it_can_answer_what_the_search_could_not(designer, answered, truss):
    """A designer may deepen the truss; then an opening through today's chord is clear."""
    change = answered(CUTS_CHORD)
    deeper = copy.deepcopy(truss.current.document)
    for name in ("A", "C", "D"):
        deeper["joints"][name] = [deeper["joints"][name][0], -24]
    deeper["openings"] = [CUTS_CHORD]
    option = draw(designer, change, deeper)
    compute(change)
    option.refresh_from_db()
    assert option.analysis["openings"][0]["fits"]
    ask = change.asks.get()
    assert (ask.verdict, option.passes) == ("options", True), option.says


def test_after_a_new_revision_it_waits_for_another_computation(designer, answered, change, document):
    first = answered(FITS)
    workflow.decide(designer, first, verdict="approve", options=first_options(first))
    with refused(workflow.Conflict, "overtaken-while-drawing", mark="K1"):
        draw(designer, change, document)


def test_an_ask_of_another_request_is_a_404(designer, answered, change, document):
    other = answered(FITS)
    with pytest.raises(Http404):
        workflow.draw_option(designer, change, ask=other.asks.get(), document=document)


def test_a_decision_drops_a_drawn_option_that_still_waits(designer, change, document):
    draw(designer, change, document)
    workflow.decide(designer, change, verdict="decline", reason="No.")
    assert Computation.objects.get(option__isnull=False).state == "dropped"
