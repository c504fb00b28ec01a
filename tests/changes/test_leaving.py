"""One decision on some of what was asked: the rest is left as it is, by name and with a reason."""

from __future__ import annotations

import pytest
from django.http import Http404

from changes import workflow
from tests.changes.asking import (
    CUTS_CHORD,
    FITS,
    HITS_WEB,
    TOO_SOFT,
    TOO_WEAK,
    approve,
    compute,
    first_options,
    post,
    without_web,
)
from tests.refused import refused
from trusses.revisions import add_mark


@pytest.fixture
def both(job, builder, designer, truss, king_post, needed_by):
    """The same duct through K1 and K2, computed."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
    asks = [{"truss": each.pk, "kind": "opening", "opening": HITS_WEB} for each in (truss, other)]
    return compute(workflow.file(builder, job, reason="Trunk", needed_by=needed_by, asks=asks))


def test_some_marks_are_decided_and_the_others_stay_as_they_are(both, designer, truss, client_of):
    first, second = both.asks.order_by("id")
    options = first_options(both)
    decision = approve(designer, both, {first.pk: options[first.pk]}, leaves=[second.pk], reason="K2 goes another way")
    assert [issue.revision.truss.mark for issue in decision.issues.all()] == ["K1"]
    second.truss.refresh_from_db()
    assert (second.truss.current.number, decision.leaves, both.state) == (0, [second.pk], "approved")
    page = client_of(designer).get(f"/requests/{both.pk}/").content.decode()
    assert "K2: left as it is; nothing was issued for it." in page
    assert "K1: left" not in page


def test_what_is_left_is_named_with_a_reason_and_never_all(both, designer):
    first, second = both.asks.order_by("id")
    options = first_options(both)
    some = {first.pk: options[first.pk]}
    for left, reason, code in (
        ([], "", "no-option"),
        ([second.pk], "", "leaving-needs-a-reason"),
        ([first.pk, second.pk], "Later", "leaves-all"),
    ):
        with refused(workflow.Refused, code):
            approve(designer, both, some, leaves=left, reason=reason)
    with pytest.raises(Http404):
        approve(designer, both, some, leaves=[10**6], reason="Later")
    both.refresh_from_db()
    assert (both.state, both.decisions.count()) == ("awaiting decision", 0)


def test_what_one_option_has_together_is_left_together(answered, designer):
    change = answered(FITS, {**FITS, "centre_in": [140, 20]})
    first, second = change.asks.order_by("id")
    with refused(workflow.Refused, "left-together", copies=first.copies):
        approve(designer, change, {first.pk: first_options(change)[first.pk]}, leaves=[second.pk], reason="One only")


def test_what_is_never_possible_is_left_and_the_rest_issued(answered, designer, client_of, truss):
    change = answered(FITS, CUTS_CHORD)
    fits, never = change.asks.order_by("id")
    desk, at = client_of(designer), f"/requests/{change.pk}/"
    page = desk.get(at).content.decode()
    assert "K1: O2, not possible there" in page
    option = next(option for option in fits.options.all() if not option.elsewhere)
    sent = {"verdict": "approve", f"option-{fits.pk}": option.pk, f"option-{never.pk}": option.pk}
    again = desk.post(f"{at}decide/", {**sent, "leave": str(never.pk)})
    assert (again.status_code, "checked" in again.content.decode()) == (422, True)
    assert desk.post(f"{at}decide/", {**sent, "leave": str(never.pk), "reason": "Not there"}).status_code == 302
    truss.refresh_from_db()
    assert [opening["id"] for opening in truss.current.document["openings"]] == ["O1"]
    assert "O2, not possible there: left as it is" in desk.get(at).content.decode()


def test_what_is_left_keeps_nothing_of_the_rest_from_being_accepted(both, designer, client_of):
    """K1's drawing bends too far, which may be accepted; K2's is too weak, which may not, and K2 is left."""
    first, second = both.asks.order_by("id")
    for ask, lumber in ((first, TOO_SOFT), (second, TOO_WEAK)):
        document = without_web(ask.truss.current.document, HITS_WEB, bottom=lumber)
        workflow.draw_option(designer, both, ask=ask, document=document)
    compute(both)
    soft, weak = (ask.options.filter(drawn_by=designer).get() for ask in (first, second))
    client, shown = client_of(designer), {"option": [soft.pk, weak.pk]}
    page = client.get(f"/requests/{both.pk}/", shown).content.decode()
    assert "total deflection: K1</label>" in page.replace(", all copies", "")
    chosen = {f"option-{first.pk}": soft.pk, f"option-{second.pk}": weak.pk, **shown}
    sent = {"verdict": "approve", "accepts": "total deflection", "reason": "No ceiling below; K2 goes another way"}
    assert client.post(f"/requests/{both.pk}/decide/", chosen | sent).status_code == 422
    done = client.post(f"/requests/{both.pk}/decide/", chosen | sent | {"leave": [str(second.pk)]})
    assert done.status_code == 302, done.content.decode()
    assert [issue.revision.truss.mark for issue in both.decisions.get().issues.all()] == ["K1"]


def test_programs_leave_some_too(both, designer, api_of):
    first, second = both.asks.order_by("id")
    body = {"verdict": "approve", "options": {str(first.pk): first_options(both)[first.pk]}, "leaves": [second.pk]}
    program = api_of(designer)
    assert post(program, f"requests/{both.pk}/decision/", body).status_code == 400
    told = post(program, f"requests/{both.pk}/decision/", {**body, "reason": "K2 waits"}).json()
    assert (told["state"], told["decision"]["leaves"]) == ("approved", [second.pk])
