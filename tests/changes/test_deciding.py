"""A designer decides: what may be approved, on what, and what it leaves behind."""

from __future__ import annotations

import pytest
from django.http import Http404

from changes import workflow
from changes.models import Decision, Event, Option, Request
from tests.changes.asking import (
    CUTS_CHORD,
    FITS,
    HITS_WEB,
    STIFF_ENOUGH,
    TOO_SOFT,
    TOO_WEAK,
    approve,
    compute,
    first_options,
    nothing_is_decided,
    without_web,
)
from tests.refused import refused
from trusses.models import Role
from trusses.revisions import add_mark


@pytest.fixture
def drawn(answered, designer):
    """A request for an opening through the web, and a designer's option without that web."""

    def make(bottom: str) -> tuple[Request, Option]:
        change = answered(HITS_WEB)
        ask = change.asks.get()
        document = without_web(ask.truss.current.document, HITS_WEB, bottom=bottom)
        option = workflow.draw_option(designer, change, ask=ask.pk, document=document)
        compute(change)
        option.refresh_from_db()
        return change, option

    return make


def test_approving_issues_one_revision_that_is_current(answered, designer, truss):
    change = answered(HITS_WEB)
    before = truss.current
    decision = approve(designer, change, reason="Goes with the duct chase.")
    truss.refresh_from_db()
    option = Option.objects.get(pk=first_options(change)[change.asks.get().pk])
    assert (change.state, truss.current.number, truss.revisions.count()) == ("approved", 1, 2)
    assert (truss.current.document, truss.current.sha256) == (option.document, option.sha256)
    assert truss.current.analysis["truss_sha256"] == truss.current.sha256
    assert truss.current.issued_by == designer
    issue = decision.issues.get()
    assert (issue.option, issue.revision) == (option, truss.current)
    before.refresh_from_db()
    assert (before.number, before.is_current) == (0, False)
    assert change.holds.get().standing == "released"
    assert set(truss.copies.values_list("stage", "built_to")) == {("designing", None)}


def test_two_asks_on_one_truss_make_one_revision(answered, designer, truss):
    change = answered(FITS, {**FITS, "centre_in": [140, 20]})
    assert change.options.count() == 1
    approve(designer, change)
    truss.refresh_from_db()
    assert [opening["id"] for opening in truss.current.document["openings"]] == ["O1", "O2"]
    assert truss.current.number == 1


def test_several_trusses_are_decided_as_one(job, builder, designer, truss, king_post, needed_by):
    other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
    asks = [{"truss": each.pk, "kind": "opening", "opening": FITS} for each in (truss, other)]
    change = compute(workflow.file(builder, job, reason="Trunk", needed_by=needed_by, asks=asks))
    decision = approve(designer, change)
    assert sorted(issue.revision.truss.mark for issue in decision.issues.all()) == ["K1", "K2"]


def test_every_ask_needs_an_option(answered, designer):
    change = answered()
    with refused(workflow.Refused, "no-option"):
        approve(designer, change, {})
    assert nothing_is_decided(change)


def test_an_ask_that_can_never_be_cannot_be_approved(answered, designer):
    change = answered(FITS, CUTS_CHORD)
    fits, never = change.asks.all()
    assert (fits.verdict, never.verdict) == ("fits", "never")
    option = next(option for option in fits.options.all() if not option.elsewhere)
    assert [bool(option.elsewhere) for option in never.options.all()] == [True]
    with refused(workflow.Refused, "option-of-another-ask", ask=never.pk):
        approve(designer, change, {fits.pk: option.pk, never.pk: option.pk})
    assert nothing_is_decided(change)


@pytest.mark.parametrize("asked", [HITS_WEB, CUTS_CHORD])
def test_where_it_fits_elsewhere_is_approved_without_another_design(asked, answered, designer, truss):
    change = answered(asked)
    ask, before = change.asks.get(), truss.current.document
    there = next(option for option in change.options.all() if option.elsewhere)
    to = there.elsewhere[0]["centre_in"]
    assert there.says.startswith("The opening doesn't stand where it was asked, but elsewhere: opening O1 ")
    approve(designer, change, {ask.pk: there.pk})
    truss.refresh_from_db()
    # the wood is today's; the opening is kept as every approved one is, where it stands now
    assert truss.current.number == 1
    assert truss.current.document == {**before, "openings": [{**asked, "centre_in": to}]}
    ask.refresh_from_db()
    assert ask.opening == asked


def test_an_option_is_no_leave_to_stand_just_anywhere(answered, designer):
    """What it moved is of the ask as it was asked: after another answer it isn't."""
    change = answered(HITS_WEB)
    there = next(option for option in change.options.all() if option.elsewhere)
    Option.objects.filter(pk=there.pk).update(elsewhere=[{**there.elsewhere[0], "asked_in": [121, 20]}])
    with refused(workflow.Refused, "option-lacks", name="O1"):
        approve(designer, change, {change.asks.get().pk: there.pk})
    assert nothing_is_decided(change)


def test_an_option_of_another_request_is_refused(answered, designer):
    change, other = answered(FITS), answered(HITS_WEB)
    mine, theirs = change.asks.get(), other.options.first()
    with refused(workflow.Refused, "option-of-another-ask", option=theirs.pk, ask=mine.pk):
        approve(designer, change, {mine.pk: theirs.pk})
    assert nothing_is_decided(change)


def test_a_foreign_option_or_ask_is_the_same_404_as_none(answered, designer, other_job, make_person):
    from trusses.models import Membership

    change = answered()
    stranger = make_person("stranger", other_job.job, Role.BUILDER)
    Membership.objects.filter(user=stranger).update(role=Role.BUILDER)
    foreign = compute(
        workflow.file(
            stranger,
            other_job.job,
            reason="x",
            needed_by="2030-01-01",
            asks=[{"truss": other_job.pk, "kind": "opening", "opening": FITS}],
        )
    )
    ask = change.asks.get()
    for option in (foreign.options.get().pk, 10**6, 10**30):
        with pytest.raises(Http404):
            approve(designer, change, {ask.pk: option})
    with pytest.raises(Http404):
        approve(designer, change, {**first_options(change), foreign.asks.get().pk: 1})
    assert nothing_is_decided(change)


def test_two_options_for_one_truss_are_refused(answered, designer):
    change = answered(HITS_WEB, FITS)
    one, two = change.asks.all()
    passing = change.options.filter(passes=True)[:2]
    with refused(workflow.Refused, "two-options"):
        approve(designer, change, {one.pk: passing[0].pk, two.pk: passing[1].pk})
    assert nothing_is_decided(change)


def test_a_failing_option_of_the_search_is_refused(answered, designer):
    change = answered(HITS_WEB)
    worst = change.options.filter(passes=False).last()
    assert worst is not None
    with refused(workflow.Refused, "option-fails"):
        approve(designer, change, {change.asks.get().pk: worst.pk}, reason="It is only a little.")
    assert nothing_is_decided(change)


def test_nobody_accepts_a_failure_of_strength(drawn, designer):
    change, option = drawn(TOO_WEAK)
    with refused(workflow.Refused, "option-fails"):
        approve(designer, change, {change.asks.get().pk: option.pk}, reason="Fine.", accepts=["total deflection"])
    with refused(workflow.Refused, "nobody-accepts", "accepts", rule="bending"):
        approve(
            designer, change, {change.asks.get().pk: option.pk}, reason="Fine.", accepts=["total deflection", "bending"]
        )
    assert nothing_is_decided(change)


def test_a_failure_of_serviceability_is_accepted_by_name_and_with_a_reason(drawn, designer, truss):
    change, option = drawn(TOO_SOFT)
    failing = [check["rule"] for check in option.analysis["checks"] if not check["passes"]]
    assert (failing, option.passes) == (["total deflection"], False)
    chosen = {change.asks.get().pk: option.pk}
    with refused(workflow.Refused, "accept-by-name", rule="total deflection"):
        approve(designer, change, chosen, reason="No ceiling below.")
    with refused(workflow.Refused, "accept-by-name", rule="total deflection"):
        approve(designer, change, chosen, reason="No ceiling below.", accepts=["live deflection"])
    with refused(workflow.Refused, "accepting-needs-a-reason"):
        approve(designer, change, chosen, accepts=["total deflection"])
    assert nothing_is_decided(change)
    decision = approve(designer, change, chosen, reason="No ceiling below.", accepts=["total deflection"])
    truss.refresh_from_db()
    assert decision.accepts == ["total deflection"]
    assert truss.current.accepts == [{"rule": "total deflection", "reason": "No ceiling below."}]


def test_a_designers_option_that_passes_is_approved(drawn, designer, truss):
    change, option = drawn(STIFF_ENOUGH)
    assert option.passes is True
    approve(designer, change, {change.asks.get().pk: option.pk})
    truss.refresh_from_db()
    assert truss.current.document == option.document


def test_an_option_that_is_not_computed_yet_is_refused(answered, designer):
    change = answered(HITS_WEB)
    ask = change.asks.get()
    document = without_web(ask.truss.current.document, HITS_WEB, bottom=STIFF_ENOUGH)
    option = workflow.draw_option(designer, change, ask=ask, document=document)
    with refused(workflow.Refused, "option-not-computed"):
        approve(designer, change, {ask.pk: option.pk})
    assert nothing_is_decided(change)


@pytest.mark.parametrize("spoil", ["document", "sha256", "analysis"])
def test_nothing_is_approved_on_an_analysis_of_another_document(spoil, answered, designer):
    """However the rows came to disagree: a hand in the database, a bug, a restored backup."""
    change = answered()
    option = change.options.get()
    match spoil:
        case "document":
            Option.objects.filter(pk=option.pk).update(document={**option.document, "title": "Another"})
        case "sha256":
            Option.objects.filter(pk=option.pk).update(sha256="0" * 64)
        case "analysis":
            Option.objects.filter(pk=option.pk).update(analysis={**option.analysis, "truss_sha256": "0" * 64})
    with refused(workflow.Refused, "option-of-another-document"):
        approve(designer, change)
    assert nothing_is_decided(change)


def test_an_opening_that_is_not_clear_is_refused(answered, designer):
    change = answered()
    option = change.options.get()
    spoiled = [{**opening, "fits": False} for opening in option.analysis["openings"]]
    Option.objects.filter(pk=option.pk).update(analysis={**option.analysis, "openings": spoiled})
    with refused(workflow.Refused, "option-blocked", openings=["O1"]):
        approve(designer, change)
    assert nothing_is_decided(change)


def test_an_option_without_the_opening_is_refused(answered, designer):
    change = answered()
    change.asks.update(opening={**FITS, "diameter_in": 9})
    with refused(workflow.Refused, "option-lacks", kind="opening", name="O1"):
        approve(designer, change)
    assert nothing_is_decided(change)


def test_a_passing_analysis_whose_option_is_not_offered_as_passing_is_refused(answered, designer):
    change = answered()
    change.options.update(passes=False, told=["Spans of 60 ft and more wait for a sealed document."])
    with refused(workflow.Refused, "option-not-passing"):
        approve(designer, change)
    assert nothing_is_decided(change)


@pytest.mark.parametrize(("verdict", "says"), [("send back", "Ask a question"), ("decline", "Say why")])
def test_sending_back_and_declining_need_words(verdict, says, answered, designer):
    change = answered()
    with pytest.raises(workflow.Refused, match=says) as refused:
        workflow.decide(designer, change, verdict=verdict, reason="  ")
    assert refused.value.field == "reason"
    assert nothing_is_decided(change)


def test_an_unknown_verdict_is_refused(answered, designer):
    change = answered()
    with refused(workflow.Refused, "no-such-verdict", "verdict"):
        workflow.decide(designer, change, verdict="maybe", reason="x")


def test_a_second_decision_hears_who_and_when(answered, designer, make_person, job):
    change = answered()
    approve(designer, change)
    other = make_person("second-designer", job, Role.DESIGNER)
    says = (
        rf"Request {change.pk} was answered with a new revision by designer on \w+ \d+, \d{{4}} at .*M[SD]T;"
        " it can't be declined"
    )
    with pytest.raises(workflow.Conflict, match=says):
        workflow.decide(other, change, verdict="decline", reason="No.")
    assert Decision.objects.count() == 1


def test_a_request_that_was_sent_back_is_decided_again(answered, designer, builder):
    change = answered()
    workflow.decide(designer, change, verdict="send back", reason="Which duct?")
    assert change.holds.get().standing == "asked"  # the saw waits on while the builder thinks
    workflow.answer(builder, change, says="The trunk.")
    compute(change)
    workflow.decide(designer, change, verdict="decline", reason="Use the attic.")
    assert list(change.decisions.values_list("verdict", flat=True)) == ["send back", "decline"]
    assert change.holds.get().standing == "released"
    told = Event.objects.filter(request=change, by__isnull=False).exclude(verb__contains="hold")
    assert [(event.verb, event.by.username, event.told) for event in told] == [
        ("file", "builder", "Supply duct"),
        ("send back", "designer", "Which duct?"),
        ("answer", "builder", "The trunk."),
        ("decline", "designer", "Use the attic."),
    ]


def test_a_decision_meant_for_what_waited_is_late_once_another_was_made(answered, designer):
    """What was sent back can be declined, but by whoever knows that it was sent back."""
    change = answered()
    stale = Request.objects.get(pk=change.pk)
    workflow.decide(designer, change, verdict="send back", reason="Which side?")
    with pytest.raises(workflow.Conflict):
        workflow.decide(designer, stale, verdict="decline", reason="Too near to the ridge.")
    workflow.decide(designer, change, verdict="decline", reason="Too near to the ridge.")
    assert [decision.verdict for decision in change.decisions.order_by("pk")] == ["send back", "decline"]
