"""A job of more marks than a page holds; and how often its pages ask the database."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.db.models.signals import post_init
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from trusses.job import page
from trusses.models import Copy, Placement, Revision, Truss
from trusses.revisions import add_mark


@pytest.fixture
def many(truss, designer, king_post):
    """M1 to M12 beside K1, with a copy each that stands on the roof; no more of them is analysed than K1."""
    job, source = truss.job, truss.current
    for n in range(1, 13):
        other = Truss.objects.create(job=job, mark=f"M{n}")
        document = {**king_post, "mark": f"M{n}"}
        known = {"document": document, "sha256": f"{n:064x}", "analysis": source.analysis}
        Truss.objects.filter(pk=other.pk).update(current=Revision.objects.create(truss=other, number=0, **known))
        place = Placement.objects.create(truss=other, level="Roof", origin_x_in=0, origin_y_in=n, spacing_in=0, count=1)
        Copy.objects.create(truss=other, number=1, placement=place)
    return job


def marks(page) -> list[str]:
    return re.findall(r'<span class="mark">(\w+)</span>', page.content.decode())


@pytest.mark.parametrize("name", ["trusses:job", "trusses:sheets"])
def test_they_come_page_by_page_in_the_order_of_their_numbers(many, client_of, builder, name, monkeypatch):
    monkeypatch.setattr(page, "MARKS_A_PAGE", 5)
    client, address = client_of(builder), reverse(name, args=[many.pk])
    pages = [client.get(address, {"page": n}) for n in (1, 2, 3)]
    assert [marks(page) for page in pages] == [
        ["K1", "M1", "M2", "M3", "M4"],
        ["M5", "M6", "M7", "M8", "M9"],
        ["M10", "M11", "M12"],
    ]
    assert "13 marks, 15 trusses" in pages[1].content.decode() or name == "trusses:sheets"
    assert "Marks 6 to 10 of 13" in pages[1].content.decode()
    assert marks(client.get(address, {"page": "no number"})) == marks(pages[0])


@pytest.mark.parametrize("name", ["trusses:job", "trusses:sheets"])
def test_one_is_found_by_how_its_mark_begins(many, client_of, builder, name, monkeypatch):
    monkeypatch.setattr(page, "MARKS_A_PAGE", 5)
    client, address = client_of(builder), reverse(name, args=[many.pk])
    assert marks(client.get(address, {"mark": "m1"})) == ["M1", "M10", "M11", "M12"]
    assert "No mark of this job begins with “&lt;b&gt;”." in client.get(address, {"mark": "<b>"}).content.decode()
    assert client.get(address, {"mark": "\x00"}).status_code == 200


def test_a_page_asks_as_often_for_thirteen_marks_as_for_one(truss, client_of, designer, request):
    Placement.objects.create(truss=truss, level="Roof", origin_x_in=0, origin_y_in=0, spacing_in=24, count=3)
    client, job = client_of(designer), truss.job
    pages = [reverse(name, args=[job.pk]) for name in ("trusses:job", "trusses:sheets")]
    pages.append(reverse("trusses:mark", args=[job.pk, truss.pk]))

    def counts() -> list[int]:
        found = []
        for address in pages:
            client.get(address)
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            found.append(len(queries))
        return found

    before = counts()
    request.getfixturevalue("many")
    assert counts() == before


def test_the_plan_reads_what_stands_there_once(many, truss, client_of, builder, king_post, designer):
    """A span is known by its document, so another document in its place is another span."""
    wide = {**king_post, "mark": "W1", "joints": {**king_post["joints"], "C": [300, 0]}}
    for mark in (truss, add_mark(many, wide, 1, designer)):
        Placement.objects.create(truss=mark, level="Roof", origin_x_in=0, origin_y_in=0, spacing_in=0, count=1)
    client = client_of(builder)
    plans = [client.get(reverse("trusses:mark", args=[many.pk, truss.pk])).context["levels"] for _ in range(2)]
    for ((_, rows),) in plans:
        assert {row.mark: row.span for row in rows} == {**{f"M{n}": 240 for n in range(1, 13)}, "K1": 240, "W1": 300}


def test_a_mark_makes_no_objects_of_all_that_stands_beside_it(many, truss, client_of, builder):
    """A job of thousands spent most of a page's time on that."""
    Placement.objects.create(truss=truss, level="Roof", origin_x_in=0, origin_y_in=0, spacing_in=24, count=3)
    client, address = client_of(builder), reverse("trusses:mark", args=[many.pk, truss.pk])
    client.get(address)
    made = []

    def counts(sender, instance, **_):
        made.append(instance)

    post_init.connect(counts, sender=Placement)
    try:
        answer = client.get(address)
    finally:
        post_init.disconnect(counts, sender=Placement)
    ((_, rows),) = answer.context["levels"]
    assert len(rows) == 13
    assert len(made) <= 2
