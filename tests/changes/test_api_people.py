"""Who gets what from the API: each call by each person, and one 404 for foreign and missing."""

from __future__ import annotations

import pytest

from tests.changes.asking import API, FITS, post

# who may what; the rest is in test_transitions.py and here only the status is looked at
CALLS = {
    "requests/{pk}/decision/": ({"verdict": "decline", "reason": "x"}, {"designer"}),
    "requests/{pk}/options/": ({"ask": 1, "document": {}}, {"designer"}),
    "requests/{pk}/withdraw/": ({}, {"builder"}),
    "requests/{pk}/answer/": ({"says": "x"}, {"builder"}),
    "requests/{pk}/compute/": ({}, {"builder", "designer"}),
    "holds/{hold}/answer/": ({"acknowledge": True}, {"designer"}),
}


@pytest.mark.parametrize("path", CALLS)
def test_each_call_by_each_person(path, cast, api_of, answered):
    change = answered()
    body, may = CALLS[path]
    path = path.format(pk=change.pk, hold=change.holds.get().pk)
    statuses = {}
    for name in ("nobody", "outsider", "site lead", "builder", "designer"):
        statuses[name] = post(api_of(cast[name]), path, body).status_code
    assert statuses.pop("nobody") in (401, 403)
    assert statuses.pop("outsider") == 404
    for name, status in statuses.items():
        # 403 before anything else for who may not; for who may, whatever the state says, but never 403
        assert (status == 403) is (name not in may), (name, status)


def test_reading_by_each_person(cast, api_of, answered):
    change = answered()
    option = change.options.get()
    for path in (f"requests/{change.pk}/", f"options/{option.pk}/elevation.svg", f"requests/?job={change.job_id}"):
        found = {name: api_of(person).get(f"{API}/{path}").status_code for name, person in cast.items()}
        assert found.pop("nobody") in (401, 403)
        assert found == {"builder": 200, "designer": 200, "site lead": 200, "outsider": 404}, path
    assert api_of(cast["outsider"]).get(f"{API}/requests/").json()["results"] == []


def test_foreign_and_missing_are_one_404(api_of, cast, other_job, answered, body):
    change = answered()
    outsider, builder, designer = (api_of(cast[name]) for name in ("outsider", "builder", "designer"))
    option, hold = change.options.get(), change.holds.get()
    pairs = [
        (outsider.get(f"{API}/requests/{change.pk}/"), outsider.get(f"{API}/requests/987654321/")),
        (outsider.get(f"{API}/requests/?job={change.job_id}"), outsider.get(f"{API}/requests/?job=987654321")),
        (
            outsider.get(f"{API}/options/{option.pk}/elevation.svg"),
            outsider.get(f"{API}/options/987654321/elevation.svg"),
        ),
        (
            post(outsider, f"holds/{hold.pk}/answer/", {"acknowledge": True}),
            post(outsider, "holds/987654321/answer/", {"acknowledge": True}),
        ),
        (post(outsider, "requests/", body), post(outsider, "requests/", {**body, "job": 987654321})),
        (
            post(builder, "requests/", {**body, "asks": [{**body["asks"][0], "truss": other_job.pk}]}),
            post(builder, "requests/", {**body, "asks": [{**body["asks"][0], "truss": 10**30}]}),
        ),
        (
            post(builder, "fit/", {"truss": other_job.pk, "opening": FITS}),
            post(builder, "fit/", {"truss": 10**30, "opening": FITS}),
        ),
        (
            post(
                designer,
                f"requests/{change.pk}/decision/",
                {"verdict": "approve", "options": {str(change.asks.get().pk + 1): option.pk}},
            ),
            post(
                designer,
                f"requests/{change.pk}/decision/",
                {"verdict": "approve", "options": {str(change.asks.get().pk): 987654321}},
            ),
        ),
        (
            post(designer, f"requests/{change.pk}/options/", {"ask": 987654321, "document": option.document}),
            post(designer, f"requests/{10**30}/options/", {"ask": 1, "document": option.document}),
        ),
    ]
    for foreign, missing in pairs:
        assert (foreign.status_code, foreign.json()) == (missing.status_code, missing.json())
        assert foreign.status_code == 404
        assert foreign.json() == {"detail": "Not found."}
