"""Holds: asked for on filing, answered by name, released at the end."""

from __future__ import annotations

import pytest

from changes import workflow
from changes.models import Event, Hold, Request
from tests.changes.asking import post
from tests.refused import refused
from trusses.models import Stage


@pytest.mark.parametrize(("acknowledge", "standing"), [(True, "acknowledged"), (False, "refused")])
def test_a_designer_answers_by_name(acknowledge, standing, ask_for, designer):
    hold = ask_for().holds.get()
    workflow.answer_hold(designer, hold, acknowledge=acknowledge, says="The saw is at S3.")
    hold.refresh_from_db()
    assert (hold.standing, hold.answered_by) == (standing, designer)
    assert hold.answered_at is not None
    event = Event.objects.get(verb__endswith="the hold")
    assert (event.by, event.from_state, event.to_state) == (designer, "filed", "filed")
    assert event.told.endswith("for K1. The saw is at S3.")


def test_the_second_answer_hears_who_was_first(ask_for, designer):
    hold = ask_for().holds.get()
    workflow.answer_hold(designer, hold, acknowledge=True)
    with refused(workflow.Conflict, "hold-answered", mark="K1", standing="acknowledged"):
        workflow.answer_hold(designer, Hold.objects.get(pk=hold.pk), acknowledge=False, says="It is cut today.")
    hold.refresh_from_db()
    assert hold.standing == "acknowledged"


@pytest.mark.parametrize("says", ["", "  \n"])
def test_who_asked_is_told_why_the_saw_can_t_wait(says, ask_for, designer):
    hold = ask_for().holds.get()
    with refused(workflow.Refused, "say-why-no-hold"):
        workflow.answer_hold(designer, hold, acknowledge=False, says=says)
    assert Hold.objects.get().standing == "asked"


def test_the_saw_waits_after_all(ask_for, designer):
    hold = ask_for().holds.get()
    with refused(workflow.Conflict, "hold-answered"):
        workflow.answer_hold(designer, hold, acknowledge=True, after_all=True)  # nobody refused it
    workflow.answer_hold(designer, hold, acknowledge=False, says="It is cut today.")
    with refused(workflow.Conflict, "hold-answered"):
        workflow.answer_hold(designer, hold, acknowledge=False, says="Once more.", after_all=True)
    workflow.answer_hold(designer, hold, acknowledge=True, after_all=True)
    assert Hold.objects.get().standing == "acknowledged"
    assert [event.verb for event in Event.objects.filter(verb__endswith="the hold").order_by("pk")] == [
        "refuse the hold",
        "acknowledge the hold",
    ]


def test_nothing_waits_after_all_of_what_is_cut_or_has_ended(ask_for, designer, api_of, truss):
    change = ask_for()
    hold, program = change.holds.get(), api_of(designer)
    workflow.answer_hold(designer, hold, acknowledge=False, says="It is cut today.")
    after_all = {"acknowledge": True, "after_all": True}
    hold.copies.update(stage=Stage.CUT, built_to=truss.current)
    cut = post(program, f"holds/{hold.pk}/answer/", after_all)
    assert (cut.status_code, "are cut: no saw can wait" in cut.content.decode()) == (409, True)
    hold.copies.update(stage=Stage.RELEASED, built_to=None)
    Request.objects.filter(pk=change.pk).update(state="approved")
    with refused(workflow.Conflict, "hold-of-an-end", state="approved"):
        workflow.answer_hold(designer, hold, acknowledge=True, after_all=True)
    assert Hold.objects.get().standing == "refused"


def test_a_released_hold_takes_no_answer(ask_for, designer, builder):
    change = ask_for()
    workflow.withdraw(builder, change)
    with refused(workflow.Conflict, "hold-released", mark="K1"):
        workflow.answer_hold(designer, change.holds.get(), acknowledge=True)


@pytest.mark.parametrize("name", ["builder", "site lead", "outsider"])
def test_nobody_else_answers(name, cast, ask_for):
    hold = ask_for().holds.get()
    with pytest.raises(workflow.NotAllowed):
        workflow.answer_hold(cast[name], hold, acknowledge=True)
    assert Hold.objects.get().standing == "asked"


def test_deciding_releases_whatever_was_answered(answered, designer):
    change = answered()
    workflow.answer_hold(designer, change.holds.get(), acknowledge=True)
    workflow.decide(designer, change, verdict="decline", reason="No.")
    hold = change.holds.get()
    assert (hold.standing, hold.answered_by) == ("released", designer)
    assert hold.released_at is not None
