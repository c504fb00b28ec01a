"""What the pages and the API say of copies and variants."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes import workflow
from changes.models import Request
from tests.changes.asking import FITS, HITS_WEB, approve, compute, post
from trusses.models import Stage, Truss


@pytest.fixture
def some(job, builder, truss, needed_by) -> Request:
    asks = [{"truss": truss.pk, "kind": "opening", "opening": HITS_WEB, "copies": [2, 3]}]
    return compute(workflow.file(builder, job, reason="Duct", needed_by=needed_by, asks=asks))


def text(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_a_request_says_which_copies_and_what_the_decision_makes(some, client_of, designer):
    said = text(client_of(designer).get(reverse("changes:request", args=[some.pk])))
    assert "K1, copies 2 and 3" in said
    assert "Copies 2 and 3 of K1 become K1-b. K1 keeps copy 1." in said


def test_a_request_for_all_copies_says_nothing_of_variants(client_of, designer, job, builder, truss, needed_by):
    asks = [{"truss": truss.pk, "kind": "opening", "opening": FITS}]
    change = compute(workflow.file(builder, job, reason="Duct", needed_by=needed_by, asks=asks))
    said = text(client_of(designer).get(reverse("changes:request", args=[change.pk])))
    assert "What it makes" not in said
    assert "copies 1" not in said


def test_the_form_offers_copies_that_can_change_and_names_those_that_are_cut(client_of, builder, truss):
    truss.copies.filter(number=1).update(stage=Stage.CUT, built_to=truss.current)
    page = client_of(builder).get(reverse("changes:ask", args=[truss.job_id, truss.pk]), {"copies": "3"})
    boxes = re.findall(r'<input type="checkbox" name="copies" value="(\d+)"[^>]*?( checked)?>', page.content.decode())
    assert boxes == [("2", ""), ("3", " checked")]
    assert "Copy 1 is cut already" in text(page)


def test_a_variants_pages_say_where_it_comes_from(some, client_of, designer, truss):
    approve(designer, some)
    variant = Truss.objects.get(mark="K1-b")
    client, job = client_of(designer), truss.job_id
    assert "A variant of K1" in text(client.get(reverse("trusses:mark", args=[job, variant.pk])))
    assert "K1-b : copies 2–3" in text(client.get(reverse("trusses:mark", args=[job, truss.pk])))
    sheet = text(client.get(reverse("trusses:sheet", args=[job, variant.pk, 0])))
    assert "Copies 2–3 of K1-b." in sheet
    assert "They were of K1 revision 0 and keep their numbers" in sheet
    assert "What changed since K1 revision 0" in sheet
    for page in ("trusses:job", "trusses:sheets"):
        assert "K1-b from K1" in text(client.get(reverse(page, args=[job])))


def test_programs_name_copies_and_see_variants(api_of, builder, designer, body, truss):
    asks = [{**body["asks"][0], "copies": [1]}]
    filed = post(api_of(builder), "requests/", {**body, "asks": asks})
    assert filed.status_code == 201
    change = compute(Request.objects.get(pk=filed.json()["id"]))
    (ask,) = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"]
    assert ask["copies"] == [1]
    approve(designer, change)
    rows = {row["mark"]: row for row in api_of(builder).get(f"/api/v1/jobs/{truss.job_id}/trusses/").json()["results"]}
    came = {"truss": truss.pk, "mark": "K1", "number": 0}
    assert (rows["K1-b"]["comes_from"], rows["K1-b"]["numbers"], rows["K1-b"]["quantity"]) == (came, [1], 1)
    assert (rows["K1"]["comes_from"], rows["K1"]["numbers"]) == (None, [2, 3])


def test_copies_that_are_none_are_refused_with_their_place(api_of, builder, body, truss):
    asks = [{**body["asks"][0], "copies": [7]}]
    answer = post(api_of(builder), "requests/", {**body, "asks": asks})
    assert answer.status_code == 400
    assert answer.json() == {"asks": ["asks[0].copies: K1 has no copy 7; it has copies 1 to 3."]}


def test_what_a_decision_issued_is_not_offered_for_correction(some, client_of, designer, truss):
    """A variant's first revision is a decision's: its designer starts a revision instead."""
    client, correct = client_of(designer), "Correct or withdraw"
    assert correct in text(client.get(reverse("trusses:mark", args=[truss.job_id, truss.pk])))
    approve(designer, some)
    variant = Truss.objects.get(mark="K1-b")
    said = text(client.get(reverse("trusses:mark", args=[truss.job_id, variant.pk])))
    assert "Start a revision" in said
    assert correct not in said
