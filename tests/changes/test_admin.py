"""The office's records of requests: lists leave the documents in the database, a record folds what is long."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from changes.models import Consequence
from tests.changes.asking import FITS, HITS_WEB, approve
from tests.conftest import PASSWORD

MODELS = ("request", "option", "consequence", "hold", "computation", "decision", "issue", "idempotencykey")


@pytest.fixture
def office(client_of, django_user_model):
    return client_of(django_user_model.objects.create_superuser("office", password=PASSWORD))


@pytest.fixture
def change(answered, designer):
    change = answered(FITS)
    approve(designer, change)
    return change


@pytest.fixture
def consequence(change, truss):
    option = change.options.get()
    same = {"document": option.document, "analysis": option.analysis, "comparison": option.comparison}
    return Consequence.objects.create(
        option=option, carrier=truss, revision=truss.current, place=0, because=["K9"], sha256=option.sha256, **same
    )


@pytest.mark.parametrize("model", MODELS)
def test_lists_open_and_read_no_document(office, change, consequence, model):
    with CaptureQueriesContext(connection) as queries:
        page = office.get(f"/admin/changes/{model}/")
    assert page.status_code == 200
    read = [one["sql"] for one in queries if re.search(r'"\.(?:"document"|"analysis"|"comparison")', one["sql"])]
    assert read == []


@pytest.mark.parametrize("model", ["option", "hold", "computation", "decision", "issue"])
def test_more_rows_take_no_more_queries(office, answered, designer, model):
    counts = []
    for opening in (FITS, {**FITS, "id": "O2", "centre_in": [60, 12], "diameter_in": 4}):
        approve(designer, answered(opening))
        with CaptureQueriesContext(connection) as queries:
            office.get(f"/admin/changes/{model}/")
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_record_folds_its_document_and_leaves_the_analysis_out(office, answered, consequence):
    option = answered(HITS_WEB).options.first()
    for row, where in ((option, "option"), (consequence, "consequence")):
        page = office.get(f"/admin/changes/{where}/{row.pk}/change/").content
        (document,) = re.findall(rb"<details><summary>Show it, [0-9.]+\xc2\xa0KB</summary><pre>(.*?)</pre>", page, re.S)
        assert b"W1" in document
        assert row.sha256.encode() in page
        assert b"_save" not in page
        assert len(page) - len(document) < 30_000
        assert b"displacements_in" not in page
