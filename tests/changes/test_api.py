"""The API's fixed points for a change: shapes, statuses, and the same 404 for foreign and missing."""

from __future__ import annotations

import json

import pytest

from changes import workflow
from changes.models import Request
from tests.changes.asking import API, CUTS_CHORD, FITS, HITS_WEB, compute, first_options, post


def test_filing_answers_201_with_id_and_state(program, body):
    answer = post(program, "requests/", body)
    assert (answer.status_code, answer.json()) == (201, {"id": Request.objects.get().pk, "state": "filed"})
    assert Request.objects.get().reason == "Supply trunk"


def test_a_repeat_with_a_key_is_harmless_and_another_body_a_409(program, body):
    first = post(program, "requests/", body, HTTP_IDEMPOTENCY_KEY="k-1")
    again = post(program, "requests/", dict(reversed(body.items())), HTTP_IDEMPOTENCY_KEY="k-1")
    assert (again.status_code, again.json()) == (201, first.json())
    other = post(program, "requests/", {**body, "reason": "Another"}, HTTP_IDEMPOTENCY_KEY="k-1")
    assert other.status_code == 409
    assert f"made request {first.json()['id']}" in other.json()["detail"]
    assert Request.objects.count() == 1


def test_a_repeat_without_a_key_is_refused_with_the_number(program, body):
    first = post(program, "requests/", body).json()["id"]
    again = post(program, "requests/", body)
    assert again.status_code == 400
    assert again.json()["detail"] == f"You asked exactly this already: request {first} is filed."


@pytest.mark.parametrize(
    ("change", "field", "says"),
    [
        ({"needed_by": "2020-01-01"}, "needed_by", "is past"),
        ({"needed_by": "soon"}, "needed_by", "YYYY-MM-DD"),
        ({"reason": ""}, "reason", "blank"),
        ({"reason": "\x00"}, "reason", "Null characters"),
        ({"asks": []}, "asks", "at least one ask"),
        ({"asks": {}}, "asks", "list"),
        ({"asks": [{"kind": "opening"}]}, "asks", "asks[0].truss: "),
        ({"asks": [{"truss": "x", "kind": "opening"}]}, "asks", "asks[0].truss: "),
        ({"job": "x"}, "job", "integer"),
        ({"state": "approved"}, "state", "no such field"),
    ],
)
def test_a_wrong_field_is_named(change, field, says, program, body):
    answer = post(program, "requests/", {**body, **change})
    assert answer.status_code == 400
    assert list(answer.json()) == [field]
    assert says in " ".join(answer.json()[field])
    assert not Request.objects.exists()


def sent(program, text: str):
    return program.generic("POST", f"{API}/requests/", text, content_type="application/json")


def test_bodies_that_are_hardly_json_get_a_sentence(program, body):
    nan = json.dumps(body).replace('"diameter_in": 8', '"diameter_in": NaN')
    answer = sent(program, nan)
    assert (answer.status_code, answer.json()) == (
        400,
        {"asks": ["asks[0].opening.diameter_in: must be a number, not NaN."]},
    )
    surrogate = json.dumps({**body, "reason": "\ud800"})
    for text in ("", "{", "[]", "3", "[" * 100_000, surrogate, json.dumps(body).replace("8", "1e999", 1)):
        answer = sent(program, text)
        assert answer.status_code == 400, text[:40]
        assert answer.json()
    assert not Request.objects.exists()


def test_the_queue_is_paginated_and_filtered(program, answered, ask_for, job):
    one, two = answered(FITS), ask_for(HITS_WEB)
    everything = program.get(f"{API}/requests/").json()
    assert (everything["count"], [row["id"] for row in everything["results"]]) == (2, [two.pk, one.pk])
    assert everything["results"][0] | {"filed_at": ""} == {
        "id": two.pk,
        "job": job.pk,
        "state": "filed",
        "reason": "Supply duct",
        "needed_by": two.needed_by.isoformat(),
        "filed_by": "builder",
        "filed_at": "",
        "marks": ["K1"],
        "overtaken": [],
    }
    waiting = program.get(f"{API}/requests/", {"job": job.pk, "state": "awaiting decision"}).json()
    assert [row["id"] for row in waiting["results"]] == [one.pk]


def test_a_state_that_is_none_is_refused(program, job):
    answer = program.get(f"{API}/requests/", {"state": "lost"})
    assert (answer.status_code, list(answer.json())) == (400, ["state"])


@pytest.mark.parametrize("count", [1, 3])
def test_the_queue_takes_as_few_queries_for_three_as_for_one(count, program, ask_for, django_assert_num_queries):
    for n in range(count):
        ask_for({**FITS, "centre_in": [100 - n / 4, 20]})
    with django_assert_num_queries(5):  # session, user, count, rows, asks
        program.get(f"{API}/requests/")


def test_a_request_tells_all_of_itself(program, answered, designer):
    change = answered(FITS, HITS_WEB)
    told = program.get(f"{API}/requests/{change.pk}/").json()
    assert (told["state"], told["decision"]) == ("awaiting decision", None)
    one, two = told["asks"]
    assert (one["verdict"], two["verdict"], one["kind"], one["truss"]) == ("fits", "options", "opening", one["truss"])
    assert [option["id"] for option in one["options"]] == [option["id"] for option in two["options"]]
    option = two["options"][0]
    assert option["elsewhere"] == []
    (there,) = (one["elsewhere"] for one in two["options"] if one["elsewhere"])
    assert there == [{"opening": "O2", "asked_in": [120, 20], "centre_in": two["nearest"]["centre_in"]}]
    assert (option["passes"], option["document"]["mark"]) == (True, "K1")
    assert option["worst_ratio"] == option["comparison"]["worst_ratio"][1]
    assert [option["passes"] for option in two["options"]] == sorted(
        (option["passes"] for option in two["options"]), reverse=True
    )
    assert two["nearest"] == {"centre_in": [113.25, 20], "moved_in": 6.75}
    assert [event["verb"] for event in told["events"]] == [
        "file",
        "ask for a hold",
        "begin computing",
        "finish computing",
    ]
    assert told["holds"][0]["standing"] == "asked"
    assert told["computing"]["state"] == "done"
    workflow.decide(designer, change, verdict="approve", options=first_options(change), reason="Good.")
    told = program.get(f"{API}/requests/{change.pk}/").json()
    assert (told["state"], told["decision"]["verdict"], told["decision"]["by"]) == ("approved", "approve", "designer")
    assert told["decision"]["revisions"][0]["number"] == 1


@pytest.mark.parametrize("count", [1, 3])
def test_a_request_takes_as_few_queries_whatever_it_holds(count, program, answered, django_assert_max_num_queries):
    openings = [{**FITS, "diameter_in": 2, "centre_in": [100 - 6 * n, 20]} for n in range(count)]
    change = answered(*openings)
    with django_assert_max_num_queries(18):
        assert len(program.get(f"{API}/requests/{change.pk}/").json()["asks"]) == count


def test_an_ask_that_waits_has_no_verdict(program, ask_for):
    told = program.get(f"{API}/requests/{ask_for().pk}/").json()
    assert (told["asks"][0]["verdict"], told["asks"][0]["options"]) == (None, [])


def test_a_designers_script_decides(api_of, designer, answered):
    script, change = api_of(designer), answered(HITS_WEB)
    ask = change.asks.get()
    chosen = {str(pk): option for pk, option in first_options(change).items()}
    answer = post(script, f"requests/{change.pk}/decision/", {"verdict": "approve", "options": chosen})
    assert (answer.status_code, answer.json()["state"], answer.json()["id"]) == (200, "approved", change.pk)
    late = post(script, f"requests/{change.pk}/decision/", {"verdict": "approve", "options": {str(ask.pk): 1}})
    assert late.status_code == 409
    assert "was answered with a new revision by designer on " in late.json()["detail"]


def test_an_option_of_a_revision_that_is_no_longer_current_is_a_409(api_of, designer, answered):
    script, first, second = api_of(designer), answered(FITS), answered(HITS_WEB)
    workflow.decide(designer, first, verdict="approve", options=first_options(first))
    chosen = {str(pk): option for pk, option in first_options(second).items()}
    answer = post(script, f"requests/{second.pk}/decision/", {"verdict": "approve", "options": chosen})
    assert answer.status_code == 409
    assert "K1 has revision 1 since" in answer.json()["detail"]
    assert script.get(f"{API}/requests/{second.pk}/").json()["overtaken"] == ["K1"]
    assert post(script, f"requests/{second.pk}/compute/").json()["state"] == "filed"


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "verdict"),
        ({"verdict": "maybe"}, "verdict"),
        ({"verdict": "send back"}, "reason"),
        ({"verdict": "approve"}, "options"),
        ({"verdict": "approve", "options": {"x": 1}}, "options"),
        ({"verdict": "approve", "options": []}, "options"),
        ({"verdict": "approve", "options": {}, "accepts": ["shear"]}, "accepts"),
        ({"verdict": "decline", "reason": "x", "by": "me"}, "by"),
    ],
)
def test_a_wrong_decision_is_refused_by_its_field(body, field, api_of, designer, answered):
    change = answered()
    answer = post(api_of(designer), f"requests/{change.pk}/decision/", body)
    assert (answer.status_code, list(answer.json())) == (400, [field])
    change.refresh_from_db()
    assert change.state == "awaiting decision"


def test_sent_back_answered_and_withdrawn(program, api_of, designer, answered, truss):
    change = answered()
    back = post(api_of(designer), f"requests/{change.pk}/decision/", {"verdict": "send back", "reason": "Which?"})
    assert (back.json()["state"], back.json()["decision"]["reason"]) == ("sent back", "Which?")
    asks = [{"truss": truss.pk, "kind": "opening", "opening": CUTS_CHORD}]
    again = post(program, f"requests/{change.pk}/answer/", {"says": "The other.", "asks": asks})
    assert (again.status_code, again.json()["state"], again.json()["decision"]) == (200, "filed", None)
    assert [ask["opening"] for ask in again.json()["asks"]] == [CUTS_CHORD]
    gone = post(program, f"requests/{change.pk}/withdraw/")
    assert (gone.status_code, gone.json()["state"]) == (200, "withdrawn")
    assert post(program, f"requests/{change.pk}/withdraw/").status_code == 409


@pytest.mark.parametrize(
    ("seen", "says"),
    [
        ({}, "Decided by a program that did not say what it had seen of the request. Which?"),
        ({"after": 0}, "Which?"),
        ({"state": "awaiting decision"}, "Which?"),
    ],
)
def test_the_record_says_that_a_program_decided_unseen(api_of, designer, answered, seen, says):
    body = {"verdict": "send back", "reason": "Which?", **seen}
    told = post(api_of(designer), f"requests/{answered().pk}/decision/", body).json()["events"]
    assert [event["says"] for event in told if event["verb"] == "send back"] == [says]


def test_a_drawn_option(api_of, designer, answered):
    script, change = api_of(designer), answered(HITS_WEB)
    ask, found = change.asks.get(), change.options.first()
    answer = post(script, f"requests/{change.pk}/options/", {"ask": ask.pk, "document": found.document})
    assert answer.status_code == 201
    assert (answer.json()["passes"], answer.json()["drawn_by"]) == (None, "designer")
    compute(change)
    told = script.get(f"{API}/requests/{change.pk}/").json()["asks"][0]["options"]
    drawn = next(option for option in told if option["id"] == answer.json()["id"])
    assert (drawn["passes"], drawn["sha256"]) == (True, found.sha256)
    wrong = post(script, f"requests/{change.pk}/options/", {"ask": ask.pk, "document": {"format": "x"}})
    assert (wrong.status_code, list(wrong.json())) == (400, ["document"])


def test_a_hold_is_answered(api_of, designer, ask_for):
    hold = ask_for().holds.get()
    answer = post(api_of(designer), f"holds/{hold.pk}/answer/", {"acknowledge": True, "says": "Till Friday."})
    assert (answer.status_code, answer.json()["standing"]) == (200, "acknowledged")
    assert answer.json()["answered_by"] == "designer"


def test_an_opening_with_a_field_of_another_kind_is_still_refused(program, body):
    answer = post(program, "requests/", {**body, "asks": [{**body["asks"][0], "down_lb": 200}]})
    assert "no such field" in answer.json()["asks"][0]
