"""A refusal is told twice, each in its way: a program is told the place in what it sent, a page the sentence alone."""

from __future__ import annotations

import re

import pytest

from changes import workflow
from tests.changes.asking import FITS
from tests.changes.reading import text
from trusses.analysis.clearance.openings import OpeningError, fit, space
from trusses.analysis.format.document import DocumentError, read, read_opening
from trusses.analysis.format.model import Opening
from trusses.refusals import Refused

FAR = {**FITS, "centre_in": [2000, 20]}


def test_a_refusal_keeps_its_place_apart():
    told = Refused("quantity", "quantity", "marks[0].quantity", most=500)
    says = "The quantity must be a whole number from 1 to 500."
    assert (told.code, told.field, told.place, told.values) == (
        "quantity",
        "quantity",
        "marks[0].quantity",
        {"most": 500},
    )
    assert (told.says, str(told)) == (says, f"marks[0].quantity: {says}")
    assert str(Refused("no-copy")) == "Choose at least one copy."


def test_a_document_that_is_refused_keeps_its_place_apart(king_post):
    king_post["members"][0]["joints"] = ["A", "Q"]
    with pytest.raises(DocumentError) as refused:
        read(king_post)
    assert refused.value.place == f"members[0] ({king_post['members'][0]['id']})"
    assert "members[0]" not in refused.value.says
    assert str(refused.value) == f"{refused.value.place}: {refused.value.says}"
    with pytest.raises(DocumentError) as refused:
        read_opening({**FITS, "diameter_in": "wide"}, "asks[0].opening")
    assert refused.value.place.startswith("asks[0].opening")


def test_an_opening_that_cannot_be_measured_keeps_its_place_apart(king_post):
    with pytest.raises(OpeningError) as refused:
        fit(space(read(king_post)), Opening("O7", "circle", (10.0, 10.0), diameter_in=-1.0))
    assert (refused.value.place, "O7" in refused.value.says) == ("opening O7", False)


def test_the_place_is_told_to_a_program(api_of, builder, truss, needed_by):
    ask = {"truss": truss.pk, "kind": "opening", "opening": FAR}
    body = {"job": truss.job_id, "reason": "x", "needed_by": needed_by.isoformat(), "asks": [ask]}
    answer = api_of(builder).post("/api/v1/requests/", body, format="json")
    assert answer.status_code == 400
    (says,) = answer.json()["asks"]
    assert says.startswith("asks[0].opening (O1): lies ")


def test_the_sentence_alone_is_told_by_a_page(client_of, builder, truss, job, needed_by):
    page = f"/jobs/{job.pk}/trusses/{truss.pk}/ask/"
    with pytest.raises(workflow.Refused) as refused:
        workflow.file(builder, job, reason="x", needed_by=needed_by, asks=[{"truss": truss, "opening": FAR}])
    assert (refused.value.code, refused.value.place) == ("no-such-kind", "asks[0].kind")
    form = {
        "shape": "circle",
        "diameter": '8"',
        "width": '14"',
        "height": '8"',
        "insulation": '0"',
        "clearance": '1"',
        "along": "60'",
        "up": "1'",
        "carries": "supply trunk",
        "reason": "x",
        "needed_by": needed_by.isoformat(),
        "key": "a-key-of-this-form",
        "send": "1",
    }
    told = text(client_of(builder).post(page, form))
    assert re.search(r"Lies [0-9'\-\" /]+ outside of truss K1, which has nothing there", told)
    assert "asks[0]" not in told
    assert "opening (O1)" not in told
