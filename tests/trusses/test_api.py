"""The set's calls of the API, as api.md fixes them."""

from __future__ import annotations

import copy
import json

import pytest
from django.core.cache import cache
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from tests.conftest import PASSWORD
from trusses.analysis.format.document import sha256
from trusses.models import Revision, Stage, Truss
from trusses.revisions import add_mark


@pytest.fixture(autouse=True)
def no_earlier_tries():
    cache.clear()


def post(api, address, body):
    return api.post(address, body, format="json")


class TestToken:
    def test_for_name_and_password(self, designer, job):
        answer = post(APIClient(), "/api/v1/token/", {"username": "designer", "password": PASSWORD})
        assert answer.status_code == 200
        assert answer.json().keys() == {"token"}
        api = APIClient(HTTP_AUTHORIZATION=f"Token {answer.json()['token']}")
        assert api.get("/api/v1/jobs/").json()["results"] == [{"id": job.pk, "name": job.name, "role": "designer"}]

    @pytest.mark.parametrize(
        ("body", "names"),
        [
            ({"username": "designer", "password": "wrong"}, "non_field_errors"),
            ({"username": "nobody", "password": "wrong"}, "non_field_errors"),
            ({"username": "designer"}, "password"),
        ],
    )
    def test_is_refused_in_words(self, designer, body, names):
        answer = post(APIClient(), "/api/v1/token/", body)
        assert answer.status_code == 400
        assert isinstance(answer.json()[names][0], str)

    def test_tries_are_bounded(self, designer):
        wrong = {"username": "designer", "password": "wrong"}
        answers = [post(APIClient(), "/api/v1/token/", wrong).status_code for _ in range(21)]
        assert answers == [400] * 20 + [429]


class TestTrusses:
    def test_a_row(self, api_of, builder, job, truss):
        truss.copies.filter(number=1).update(stage=Stage.CUT)
        page = api_of(builder).get(f"/api/v1/jobs/{job.pk}/trusses/").json()
        assert (page["count"], page["next"], page["previous"]) == (1, None, None)
        document = page["results"][0]["revision"].pop("document")
        assert page["results"] == [
            {
                "id": truss.pk,
                "mark": "K1",
                "comes_from": None,
                "quantity": 3,
                "stage": "designing",
                "copies": {"designing": 2, "cut": 1},
                "numbers": [1, 2, 3],
                "can_change_until": None,
                "withdrawn_at": None,
                "revision": {"number": 0, "sha256": truss.current.sha256},
            }
        ]
        assert sha256(document) == truss.current.sha256

    def test_a_new_mark(self, api_of, designer, job, king_post):
        body = {"document": king_post, "quantity": 4}
        answer = post(api_of(designer), f"/api/v1/jobs/{job.pk}/trusses/", body)
        assert answer.status_code == 201
        told = answer.json()
        assert (told["mark"], told["quantity"], told["stage"], told["copies"]) == (
            "K1",
            4,
            "designing",
            {"designing": 4},
        )
        assert told["revision"] == {"number": 0, "sha256": sha256(king_post), "document": king_post}

    def test_the_same_again_says_so(self, api_of, designer, job, king_post):
        body = {"document": king_post, "quantity": 4}
        api = api_of(designer)
        answers = [post(api, f"/api/v1/jobs/{job.pk}/trusses/", body) for _ in range(2)]
        assert [answer.status_code for answer in answers] == [201, 400]
        assert answers[1].json() == {"document": ["This job has a mark K1 already."]}
        assert Truss.objects.count() == 1

    @pytest.mark.parametrize(
        ("change", "says"),
        [
            ({"colour": "red"}, "colour"),
            ({"spacing_in": -24}, "spacing_in"),
            ({"mark": ""}, "mark"),
            ({"title": "a\x00b"}, "title"),
            ({"joints": {"A": [0, 0]}}, 'joint "B" does not exist'),
            ({"bearings": [{"joint": "A", "restrains": "y", "width_in": 3.5}]}, "move freely"),
        ],
    )
    def test_a_wrong_document_is_refused_by_its_place(self, api_of, designer, job, king_post, change, says):
        body = {"document": {**king_post, **change}, "quantity": 1}
        answer = post(api_of(designer), f"/api/v1/jobs/{job.pk}/trusses/", body)
        assert answer.status_code == 400
        assert says in answer.json()["document"][0]
        assert not Truss.objects.exists()

    @pytest.mark.parametrize(
        ("body", "field"),
        [
            ({"quantity": 1}, "document"),
            ({"document": {}}, "quantity"),
            ({"document": {}, "quantity": 0}, "quantity"),
            ({"document": {}, "quantity": "many"}, "quantity"),
            ({"document": {}, "quantity": 1, "price": 9}, "price"),
            ({"document": [1, 2], "quantity": 1}, "document"),
            ({"document": "{}", "quantity": 1}, "document"),
            ({"document": None, "quantity": 1}, "document"),
        ],
    )
    def test_a_wrong_body_is_refused_by_its_field(self, api_of, designer, job, body, field):
        answer = post(api_of(designer), f"/api/v1/jobs/{job.pk}/trusses/", body)
        assert answer.status_code == 400
        assert list(answer.json()) == [field]
        assert isinstance(answer.json()[field][0], str)

    @pytest.mark.parametrize(
        ("sent", "status"),
        [
            (b"", 400),
            (b"{", 400),
            (b"[]", 400),
            (b'{"quantity": NaN}', 400),
            (b"\xff\xfe\x00", 400),
            (b"[" * 100_000, 400),
            (b'{"quantity": 1, "document": {"spacing_in": 1e999}}', 400),
            (b" " * 3_000_000, 413),
        ],
    )
    def test_what_is_no_json_of_ours_is_refused(self, api_of, designer, job, sent, status):
        answer = api_of(designer).post(f"/api/v1/jobs/{job.pk}/trusses/", sent, content_type="application/json")
        assert answer.status_code == status
        assert answer.json()
        assert not Truss.objects.exists()

    def test_a_million_joints_are_refused_quickly(self, api_of, designer, job, king_post):
        king_post["joints"] = {f"J{n}": [0, 0] for n in range(100_000)}
        sent = json.dumps({"document": king_post, "quantity": 1}).encode()
        assert len(sent) < 2 * 1024 * 1024
        answer = api_of(designer).post(f"/api/v1/jobs/{job.pk}/trusses/", sent, content_type="application/json")
        assert answer.status_code == 400
        assert "100,000 joints" in answer.json()["document"][0]

    def test_hostile_words_come_back_as_they_are(self, api_of, designer, job, king_post):
        king_post["title"] = "<script>alert(1)</script>"
        answer = post(api_of(designer), f"/api/v1/jobs/{job.pk}/trusses/", {"document": king_post, "quantity": 1})
        assert answer.json()["revision"]["document"]["title"] == "<script>alert(1)</script>"
        assert answer["Content-Type"] == "application/json"


class TestPages:
    def test_lists_are_paginated(self, api_of, designer, job, king_post, settings):
        for n in range(3):
            add_mark(job, {**king_post, "mark": f"K{n}"}, 1, designer)
        api = api_of(designer)
        page = api.get(f"/api/v1/jobs/{job.pk}/trusses/").json()
        assert page.keys() == {"count", "next", "previous", "results"}
        assert [row["mark"] for row in page["results"]] == ["K0", "K1", "K2"]
        beyond = api.get(f"/api/v1/jobs/{job.pk}/trusses/?page=2")
        assert (beyond.status_code, beyond.json()) == (404, {"detail": "Invalid page."})

    @pytest.mark.parametrize("address", ["/api/v1/jobs/{job}/trusses/", "/api/v1/jobs/{job}/sheets/", "/api/v1/jobs/"])
    def test_more_rows_take_no_more_queries(self, api_of, designer, job, truss, king_post, address):
        api = api_of(designer)
        counts = []
        for mark in ("K2", "K3", None):
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert api.get(address.format(job=job.pk)).status_code == 200
            counts.append(len(queries))
            if mark:
                add_mark(job, {**king_post, "mark": mark}, 2, designer)
        assert counts[0] == counts[1] == counts[2] <= 9


class TestSheets:
    def test_say_what_is_current_and_where_its_drawing_is(self, api_of, site_lead, job, truss):
        api = api_of(site_lead)
        (row,) = api.get(f"/api/v1/jobs/{job.pk}/sheets/").json()["results"]
        assert row.keys() == {"mark", "number", "sha256", "issued_at", "elevation", "seal"}
        assert (row["mark"], row["number"], row["sha256"]) == ("K1", 0, truss.current.sha256)
        drawn = api.get(row["elevation"])
        assert drawn["Content-Type"] == "image/svg+xml; charset=utf-8"
        assert drawn.content.decode().startswith("<svg")
        assert 'data-member="W1"' in drawn.content.decode()


class TestCopies:
    def test_move_on(self, api_of, designer, truss):
        answer = post(api_of(designer), f"/api/v1/trusses/{truss.pk}/copies/", {"copies": [1, 3], "to": "released"})
        assert answer.json()["copies"] == {"designing": 1, "released": 2}

    @pytest.mark.parametrize(
        ("body", "status", "says"),
        [
            ({"copies": [1], "to": "cut"}, 400, "designing, not released yet"),
            ({"copies": [], "to": "released"}, 400, "Name at least one copy."),
            ({"copies": [1], "to": "sold"}, 400, "is not a valid choice"),
            ({"copies": [9], "to": "released"}, 404, "Not found."),
            ({"copies": [10**30], "to": "released"}, 400, "less than or equal to 9999"),
        ],
    )
    def test_are_refused_in_words(self, api_of, designer, truss, body, status, says):
        answer = post(api_of(designer), f"/api/v1/trusses/{truss.pk}/copies/", body)
        assert answer.status_code == status
        assert says in json.dumps(answer.json())


class TestSchema:
    def test_is_generated_and_names_every_call(self, client_of, designer):
        from drf_spectacular.generators import SchemaGenerator

        schema = SchemaGenerator().get_schema(request=None, public=True)
        fixed = {
            "/api/v1/token/": {"post"},
            "/api/v1/jobs/": {"get"},
            "/api/v1/jobs/{id}/trusses/": {"get", "post"},
            "/api/v1/jobs/{id}/sheets/": {"get"},
            "/api/v1/revisions/{sha256}/elevation.svg": {"get"},
            "/api/v1/trusses/{id}/copies/": {"get", "post"},
        }
        assert {path: set(schema["paths"][path]) for path in fixed} == fixed
        assert client_of(designer).get("/api/v1/schema/").status_code == 200

    def test_its_page_works_under_a_policy_that_allows_no_inline_script(self, client_of, designer):
        client = client_of(designer)
        page = client.get("/api/v1/docs/")
        assert page.status_code == 200
        html, policy = page.content.decode(), page["Content-Security-Policy"]
        assert "script-src" not in policy
        assert "default-src 'self'" in policy
        assert "<script>" not in html
        assert "/static/drf_spectacular_sidecar/" in html
        assert "https://" not in html
        assert "unsafe-inline" not in client.get("/")["Content-Security-Policy"]


@pytest.mark.parametrize("address", ["/api/v1/nothing/", "/api/v1/jobs/x/trusses/"])
def test_what_does_not_exist_answers_in_json(api_of, designer, address):
    answer = api_of(designer).get(address)
    assert (answer.status_code, answer.json()) == (404, {"detail": "Not found."})


def test_a_revision_is_read_from_its_stored_row(api_of, designer, job, truss):
    """The document that the API gives is the one whose SHA-256 it names, to the byte of the canonical form."""
    row = Revision.objects.get(truss=truss)
    told = api_of(designer).get(f"/api/v1/jobs/{job.pk}/trusses/").json()["results"][0]["revision"]
    assert sha256(copy.deepcopy(told["document"])) == told["sha256"] == row.sha256
