"""A changed floor truss's deflection and frequency beside those of its unchanged neighbors, without a verdict."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes import workflow
from tests.changes.asking import API, compute
from trusses.analysis.analysis import analyse
from trusses.analysis.analysis_document import read_back
from trusses.analysis.format.document import read
from trusses.analysis.requirements.movement import frequency
from trusses.analysis.shapes.shapes import build
from trusses.models import Placement
from trusses.revisions import add_mark

ROUND = {"id": "O1", "shape": "circle", "centre_in": [120, 9], "diameter_in": 4, "clearance_in": 0.5}


def floor(mark, depth):
    return {**build("floor", span="16'", spacing=24, depth=depth), "mark": mark}


def hz(document):
    design = read(document)
    return frequency(read_back(design, analyse(design).document())).hz


@pytest.fixture
def floors(job, designer):
    """F1 twice, then F2 twice, 24 in. apart."""
    made = [add_mark(job, floor("F1", "18"), 2, designer), add_mark(job, floor("F2", "14"), 2, designer)]
    for i, truss in enumerate(made):
        stand = Placement.objects.create(
            truss=truss, level="Floor", origin_x_in=0, origin_y_in=48 * i, direction="x", spacing_in=24, count=2
        )
        truss.copies.update(placement=stand)
    return made


@pytest.fixture
def change(job, floors, builder, needed_by):
    asks = [{"truss": floors[0].pk, "kind": "opening", "opening": ROUND}]
    return compute(workflow.file(builder, job, reason="A pipe", needed_by=needed_by, asks=asks))


def rows(page):
    table = re.search(r"How this floor moves.*?<tbody>(.*?)</tbody>", page, re.S)
    return re.findall(r'<th scope="row">(.*?)</th>.*?Frequency, about" class="n">(.*?)</td>', table[1]) if table else []


def test_the_page_sets_it_beside_the_next_one(change, floors, client_of, builder, designer):
    documents = [floors[0].current.document, change.options.first().document, floors[1].current.document]
    before, after, other = (f"{hz(document):.1f} Hz" for document in documents)
    assert len({before, after, other}) == 3
    for person in (builder, designer):
        page = client_of(person).get(reverse("changes:request", args=(change.pk,))).content.decode()
        assert rows(page) == [("F1 before", before), ("F1 after", after), ("F2-1, revision 0", other)]
        assert "there is no verdict here" in page


def test_a_copy_that_is_cut_stays_as_it_was(change, floors, client_of, builder):
    floors[0].copies.filter(number=2).update(stage="cut", built_to=floors[0].current)
    page = client_of(builder).get(reverse("changes:request", args=(change.pk,))).content.decode()
    assert [who for who, _ in rows(page)] == ["F1 before", "F1 after", "F1-2, revision 0"]


def test_programs_and_the_comparison_have_it(change, floors, api_of, builder):
    option = change.options.first()
    own, other = (hz(truss.current.document) for truss in floors)
    assert option.comparison["frequency_hz"] == pytest.approx([own, hz(option.document)], rel=1e-6)
    (beside,) = api_of(builder).get(f"{API}/options/{option.pk}/figures/").json()["beside"]
    assert (beside["who"], [one["rule"] for one in beside["deflections"]]) == (
        "F2-1, revision 0",
        ["live deflection", "total deflection"],
    )
    assert beside["hz"] == pytest.approx(other, rel=1e-6)


def test_a_roof_has_none(answered, client_of, builder):
    change = answered()
    assert change.options.get().comparison["frequency_hz"] is None
    assert (
        "How this floor moves"
        not in client_of(builder).get(reverse("changes:request", args=(change.pk,))).content.decode()
    )
