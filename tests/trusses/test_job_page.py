"""The page of a job: its marks as a list."""

from __future__ import annotations

import datetime
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.trusses.reading import HOSTILE, text
from trusses.models import Job, Stage, Truss
from trusses.revisions import add_mark


class TestTheListOfMarks:
    def test_says_how_many_where_and_until_when(self, client_of, builder, job, truss):
        truss.copies.filter(number=1).update(stage=Stage.CUT)
        Truss.objects.update(can_change_until=job.today() + datetime.timedelta(days=3))
        said = text(client_of(builder).get(f"/jobs/{job.pk}/"))
        assert "K1 3 trusses King post over the porch" in said
        assert "2–3 designing 1 cut" in said
        assert f"Can change until {job.today() + datetime.timedelta(days=3):%a, %b} " in said

    @pytest.mark.parametrize(
        ("days", "says"), [(-1, "Changes ended"), (0, "Last day for changes: today"), (None, "No last day")]
    )
    def test_says_when_changes_are_over(self, client_of, builder, job, truss, days, says):
        Truss.objects.update(can_change_until=None if days is None else job.today() + datetime.timedelta(days=days))
        assert says in text(client_of(builder).get(f"/jobs/{job.pk}/"))

    @pytest.mark.parametrize("address", ["/jobs/{job}/", "/jobs/{job}/sheets/"])
    def test_more_marks_take_no_more_queries(self, client_of, builder, job, truss, king_post, designer, address):
        client, counts = client_of(builder), []
        for mark in ("K2", "K3", None):
            with CaptureQueriesContext(connection) as queries:
                client.get(address.format(job=job.pk))
            counts.append(len(queries))
            if mark:
                add_mark(job, {**king_post, "mark": mark}, 2, designer)
        assert counts[0] == counts[1] == counts[2] <= 13

    def test_counts_marks_as_people_do(self, client_of, builder, job, king_post, designer):
        for mark in ("R10", "R2", "F1"):
            add_mark(job, {**king_post, "mark": mark}, 1, designer)
        html = client_of(builder).get(f"/jobs/{job.pk}/").content.decode()
        assert re.findall(r'class="mark">(\w+)<', html) == ["F1", "R2", "R10"]

    @pytest.mark.parametrize("page", ["", "sheets/"])
    def test_of_a_long_list_each_mark_is_one_tap_away(self, client_of, builder, job, king_post, designer, page):
        marks = [add_mark(job, {**king_post, "mark": f"K{n}"}, 1, designer) for n in range(1, 6)]
        at = f"/jobs/{job.pk}/{page}"
        assert "mark-chips" not in client_of(builder).get(at).content.decode(), "a short list is its own"
        marks.append(add_mark(job, {**king_post, "mark": "K10"}, 1, designer))
        html = client_of(builder).get(at).content.decode()
        chips = html.split('class="mark-chips')[1].split("</nav>")[0]
        assert re.findall(r">(K\d+)</a>", chips) == [one.mark for one in marks]
        assert all(f"/trusses/{one.pk}/" in chips for one in marks)
        assert html.index("mark-chips") < html.index('class="set-row"')

    def test_stays_small(self, client_of, builder, job, king_post, designer):
        for n in range(14):
            add_mark(job, {**king_post, "mark": f"K{n}"}, 1, designer)
        assert len(client_of(builder).get(f"/jobs/{job.pk}/").content) < 100_000

    def test_shows_each_mark_by_a_picture_that_is_fetched_once(self, client_of, builder, job, truss):
        client = client_of(builder)
        (address,) = re.findall(r'<img src="([^"]+)"', client.get(f"/jobs/{job.pk}/").content.decode())
        picture = client.get(address)
        assert picture["Content-Type"].startswith("image/svg+xml")
        assert "immutable" in picture["Cache-Control"]
        assert "private" in picture["Cache-Control"]

    def test_shows_hostile_names_as_words(self, client_of, builder, job, king_post, designer):
        Job.objects.filter(pk=job.pk).update(name=HOSTILE, place=HOSTILE)
        mark = add_mark(job, {**king_post, "mark": "<b>K</b>", "title": HOSTILE}, 1, designer)
        client = client_of(builder)
        for page in (
            f"/jobs/{job.pk}/",
            f"/jobs/{job.pk}/trusses/{mark.pk}/",
            f"/jobs/{job.pk}/trusses/{mark.pk}/revisions/0/",
        ):
            html = client.get(page).content.decode()
            assert "<script>alert" not in html
            assert "<b>K</b>" not in html
            assert "&lt;script&gt;" in html
