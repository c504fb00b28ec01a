"""The whole of the workflow as a table: every state × every verb × every person, allowed or refused."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction
from django.db.models import QuerySet

from changes import permissions, workflow
from changes.models import Computation, Event, Request, State
from changes.workflow.table import NEW, TRANSITIONS, WORKER, move
from tests.changes.asking import first_options
from trusses.models import Role

# What each verb does from each state, for the person who may. Everything else is refused.
LEADS_TO = {
    "filed": {"withdraw": "withdrawn"},
    "computing": {"withdraw": "withdrawn"},
    "awaiting decision": {
        "draw": "awaiting decision",
        "approve": "approved",
        "send back": "sent back",
        "decline": "declined",
        "compute": "filed",
        "withdraw": "withdrawn",
    },
    "sent back": {"answer": "filed", "compute": "filed", "decline": "declined", "withdraw": "withdrawn"},
    "failed": {"compute": "filed", "decline": "declined", "withdraw": "withdrawn"},
    "approved": {},
    "declined": {},
    "withdrawn": {},
}
VERBS = ("answer", "approve", "compute", "decline", "draw", "send back", "withdraw")
# Who may at all; "its builder" filed it, "another builder" did not.
WHO = {
    "answer": {"its builder"},
    "withdraw": {"its builder"},
    "compute": {"its builder", "designer"},
    "approve": {"designer"},
    "send back": {"designer"},
    "decline": {"designer"},
    "draw": {"designer"},
}
PEOPLE = ("its builder", "another builder", "designer", "site lead", "outsider")


@pytest.fixture
def people(cast, make_person, job) -> dict[str, Any]:
    other = make_person("second-builder", job, Role.BUILDER)
    return {**cast, "its builder": cast["builder"], "another builder": other}


def do(verb: str, user: Any, change: Request) -> Any:
    match verb:
        case "approve":
            return workflow.decide(user, change, verdict=verb, options=first_options(change))
        case "send back" | "decline":
            return workflow.decide(user, change, verdict=verb, reason="Which side of the ridge?")
        case "draw":
            option = change.options.first()
            assert option is not None
            return workflow.draw_option(user, change, ask=option.asks.first().pk, document=option.document)
        case "answer":
            return workflow.answer(user, change, says="The left side.")
        case "compute":
            return workflow.compute_again(user, change)
    return workflow.withdraw(user, change)


def test_every_state_stands_in_the_table():
    assert set(LEADS_TO) == set(State.values)
    assert {step.state for step in TRANSITIONS} <= {NEW, *State.values}


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("state", State.values)
def test_state_verb_and_person(state, verb, answered, people):
    change = answered()
    if verb == "compute" and state == "awaiting decision":
        _overtake(change)
    Request.objects.filter(pk=change.pk).update(state=state)
    change.refresh_from_db()
    for name in PEOPLE:
        expected = LEADS_TO[state].get(verb)
        if (name, state, verb) == ("its builder", "sent back", "compute"):
            expected = None  # whoever was asked answers
        with transaction.atomic():
            before = Event.objects.filter(request=change).count()
            if name not in WHO[verb]:
                with pytest.raises(workflow.NotAllowed):
                    do(verb, people[name], change)
                expected = None
            elif expected is None:
                with pytest.raises(workflow.Conflict, match=f"Request {change.pk}"):
                    do(verb, people[name], change)
            else:
                do(verb, people[name], change)
            change.refresh_from_db()
            assert change.state == (expected or state)
            assert (Event.objects.filter(request=change).count() > before) is (expected is not None)
            transaction.set_rollback(True)
        change.refresh_from_db()
        assert change.state == state


def _overtake(change: Request) -> None:
    """Another revision of the truss becomes current."""
    from trusses.revisions import issue_revision

    truss = change.asks.get().truss
    document = {**truss.current.document, "title": "Drawn anew"}
    from trusses.analysis.analysis import analyse
    from trusses.analysis.format.document import read

    issue_revision(truss, truss.current, document, analyse(read(document)).document(), None)


# The worker's three verbs
WORKER_LEADS_TO = {
    ("filed", "begin computing"): "computing",
    ("computing", "finish computing"): "awaiting decision",
    ("computing", "fail"): "failed",
}


@pytest.mark.parametrize("verb", ["begin computing", "finish computing", "fail"])
@pytest.mark.parametrize("state", State.values)
def test_the_workers_verbs(state, verb, ask_for):
    change = ask_for()
    Request.objects.filter(pk=change.pk).update(state=state)
    expected = WORKER_LEADS_TO.get((state, verb))
    if expected is None:
        with pytest.raises(workflow.Conflict):
            move(change, verb, WORKER)
    else:
        event = move(change, verb, WORKER)
        assert (event.from_state, event.to_state, event.by) == (state, expected, None)
    change.refresh_from_db()
    assert change.state == (expected or state)


def test_no_person_does_a_workers_verb_and_no_worker_a_persons(ask_for):
    change = ask_for()
    with pytest.raises(workflow.NotAllowed):
        move(change, "begin computing", Role.DESIGNER)
    with pytest.raises(workflow.NotAllowed):
        move(change, "withdraw", WORKER)
    assert Request.objects.get().state == "filed"


def test_the_table_and_the_permissions_name_the_same_roles():
    decided = {"approve", "send back", "decline", "keep off"}
    by_verb: dict[str, set[str]] = {}
    for step in TRANSITIONS:
        if step.role != WORKER:
            by_verb.setdefault("decide" if step.verb in decided else step.verb, set()).add(step.role)
    assert by_verb == {verb: set(permissions.VERBS[verb]) for verb in by_verb}


def test_a_state_that_moved_meanwhile_is_seen(ask_for, builder):
    """The row counts, not the copy of it that the caller read a minute ago."""
    change = ask_for()
    Request.objects.filter(pk=change.pk).update(state="computing")
    assert change.state == "filed"
    workflow.withdraw(builder, change)
    event = change.events.get(verb="withdraw")
    assert (event.from_state, event.to_state) == ("computing", "withdrawn")


def test_withdrawing_drops_the_computation_and_releases_the_hold(ask_for, builder):
    change = ask_for()
    workflow.withdraw(builder, change)
    assert Computation.objects.get().state == "dropped"
    assert change.holds.get().standing == "released"


def test_whoever_comes_between_reading_and_writing_wins(answered, designer, monkeypatch):
    """The state is written only over the one that was read; PostgreSQL lets another transaction in between."""
    change = answered()
    update = QuerySet.update
    came: list[str] = []

    def after_another(rows: QuerySet, **fields: Any) -> int:
        if rows.model is Request and "state" in fields and not came:
            came.append("withdrawn")
            update(Request.objects.filter(pk=change.pk), state="withdrawn")
        return update(rows, **fields)

    monkeypatch.setattr(QuerySet, "update", after_another)
    with pytest.raises(workflow.Conflict, match="it can't be declined now"):
        workflow.decide(designer, change, verdict="decline", reason="No.")
    assert came == ["withdrawn"]
    assert not change.decisions.exists()
