"""Whatever is sent where a page or a call takes a number, the answer is one of its own, never a 500."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from changes import workflow
from changes.models import Request, State
from tests.changes.asking import HITS_WEB, PATH, compute, post
from trusses.forms import number_of

LONG = "9" * 5000
"""More figures than Python reads as a number."""
SENT = (LONG, "²", "１２", "-1", "1e400", "NaN")
ANSWERS = (200, 286, 302, 400, 404, 409, 422)


@pytest.mark.parametrize("sent", [*SENT, "9" * 19, "", "\x00", "7 "])
def test_only_figures_are_a_number(sent):
    assert number_of(sent) is None
    assert (number_of("12"), number_of("9" * 18), number_of(7), number_of(None)) == (12, 10**18 - 1, 7, None)


@pytest.fixture
def waiting(answered):
    """A request that waits for a decision, whose hold was not answered yet."""
    return answered(HITS_WEB)


def test_on_pages(waiting, truss, designer, builder, client_of):
    """Each place by the form or address that has it; what it is beside the number is as usual."""
    desk, ask, option = client_of(designer), waiting.asks.get().pk, waiting.options.first().pk
    at = {name: reverse(f"changes:{name}", args=[waiting.pk]) for name in ("request", "decide", "together", "answer")}
    mark = reverse("trusses:mark", args=[truss.job_id, truss.pk])
    edit = reverse("changes:edit-option", args=[waiting.pk, option])
    addresses = [(reverse(f"changes:{name}", args=[waiting.pk]), "option") for name in ("request", "progress")]
    addresses += [(reverse("changes:turn-count"), "opened"), (f"{mark}correct/", "sent")]
    addresses += [(reverse("changes:queue", args=[truss.job_id]), "page")]
    deciding = {"verdict": "approve", "reason": "Good"}
    forms = [
        (at["decide"], deciding, f"option-{ask}"),
        (at["together"], {}, "option"),
        (at["answer"], {}, "there"),
        (edit, {}, "plies"),
        (edit, {}, "rows-W1"),
        (f"{mark}copies/", {"to": "released"}, "copy"),
        (f"{mark}copies/", {"to": "released", "copy": truss.copies.first().pk}, "counted"),
        (f"{mark}copies/take-back/", {"reason": "Wrong"}, "event"),
        (f"{mark}copies/earlier/", {"what": "stays", "reason": "Fits"}, "copy"),
        (f"{mark}copies/gone/", {"says": "Burnt"}, "event"),
        (reverse("changes:answer-hold", args=[waiting.holds.get().pk]), {"acknowledge": "no"}, "option"),
    ]
    answers = [(where, field, sent, desk.get(where, {field: sent})) for where, field in addresses for sent in SENT]
    phone, ask_page = client_of(builder), f"{mark}ask/"
    answers += [(ask_page, "copies", sent, phone.get(ask_page, {"copies": sent})) for sent in SENT]
    for sent in SENT:
        answers += [(where, field, sent, desk.post(where, {**typed, field: sent})) for where, typed, field in forms]
    odd = [(where, field, sent[:9], one.status_code) for where, field, sent, one in answers]
    assert [one for one in odd if one[-1] not in ANSWERS] == []
    refused = desk.post(edit, {"plies": LONG, "rows-W1": "²"}).content.decode()
    assert "Plies: a whole number from 1 to 6." in refused
    assert "W1: restraints are a whole number from 0 to 5." in refused
    assert Request.objects.get().state == State.AWAITING_DECISION
    assert set(truss.copies.values_list("stage", flat=True)) == {"designing"}


def test_through_the_api(waiting, truss, designer, api_of):
    program, ask = api_of(designer), waiting.asks.get().pk
    option = waiting.options.first()
    calls = [
        ("decision", {"verdict": "approve", "options": {str(ask): option.pk}}, "after"),
        ("decision", {"verdict": "approve", "options": {str(ask): option.pk}}, "leaves"),
        ("options", {"document": option.document}, "ask"),
    ]
    asked = f"requests/{waiting.pk}"
    answers = {}
    for sent in SENT:
        for path, body, field in calls:
            answers[path, field, sent[:9]] = post(program, f"{asked}/{path}/", {**body, field: sent}).status_code
        options = {"verdict": "approve", "options": {sent: option.pk}}
        answers["key", sent[:9]] = post(program, f"{asked}/decision/", options).status_code
        options = {"verdict": "approve", "options": {str(ask): sent}}
        answers["value", sent[:9]] = post(program, f"{asked}/decision/", options).status_code
        answers["job", sent[:9]] = program.get("/api/v1/requests/", {"job": sent}).status_code
    for bare in (LONG, "1e400", "NaN", "-1", f"1{'0' * 30}"):
        text = json.dumps({"verdict": "approve", "options": {str(ask): "HERE"}, "after": 0}).replace('"HERE"', bare)
        there = f"/api/v1/{asked}/decision/"
        answers["bare", bare[:9]] = program.generic("POST", there, text, content_type="application/json").status_code
    assert {place: status for place, status in answers.items() if status not in ANSWERS} == {}
    assert Request.objects.get().state == State.AWAITING_DECISION


def test_another_line_is_yes_to_a_number(file_run, designer, builder, client_of):
    change = compute(file_run(points_in=[[0, 120], [200, 120]]))
    one = change.runs.get()
    lines = {one.pk: one.wish | {"points_in": PATH["points_in"]}}
    workflow.decide(designer, change, verdict="send back", reason="There?", lines=lines)
    phone, where = client_of(builder), reverse("changes:answer", args=[change.pk])
    assert {phone.post(where, {"along": sent}).status_code for sent in SENT} <= {404, 422}
    lines_page = reverse("changes:run-lines", args=[change.pk, one.pk])
    desk = client_of(designer)
    assert {desk.post(lines_page, {"after": sent, "reason": "There?"}).status_code for sent in SENT} <= {302, 404, 422}
