"""How often pages ask the database: as often for three rows as for one."""

from __future__ import annotations

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes import workflow
from changes.models import Ask, Decision, Request
from project.middleware import reads_once
from tests.changes.asking import HITS_WEB, attach, compute
from trusses.models import Job, Membership, Role
from trusses.once import once, page
from trusses.revisions import add_mark
from trusses.sealing import seals


def asked(client, address: str) -> int:
    client.get(address)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


class TestARequest:
    @pytest.mark.parametrize("who", ["builder", "designer"])
    def test_three_openings_take_no_more_than_one(self, answered, client_of, cast, who):
        client = client_of(cast[who])
        three = [{**HITS_WEB, "id": f"O{n}", "centre_in": [120 - 12 * n, 20]} for n in range(3)]
        one, more = answered(HITS_WEB), answered(*three)
        counts = [asked(client, reverse("changes:request", args=[change.pk])) for change in (one, more)]
        assert counts[0] == counts[1]
        assert counts[0] <= 16

    def test_a_second_look_draws_nothing(self, answered, client_of, designer, monkeypatch):
        from trusses import drawing

        address = reverse("changes:request", args=[answered(HITS_WEB).pk])
        first = client_of(designer).get(address).content
        drawn = []
        monkeypatch.setattr(drawing, "elevation", lambda *_, **__: drawn.append(1) or "<svg></svg>")
        again = client_of(designer).get(address).content
        assert drawn == []
        assert again.count(b"<svg") == first.count(b"<svg") > 3


class TestTheQueue:
    def test_it_asks_as_often_for_three_marks_with_options_as_for_one(
        self, client_of, designer, builder, job, king_post, needed_by
    ):
        client, address = client_of(designer), reverse("changes:queue", args=[job.pk])
        counts = []
        for n in range(1, 4):
            mark = add_mark(job, {**king_post, "mark": f"Q{n}"}, 1, designer)
            asks = [{"truss": mark.pk, "kind": "opening", "opening": HITS_WEB}]
            compute(workflow.file(builder, job, reason=f"Duct {n}", needed_by=needed_by, asks=asks))
            counts.append(asked(client, address))
        assert "Q3" in client.get(address).content.decode()
        assert counts[0] == counts[2] <= 13


class TestYourTurn:
    @pytest.mark.parametrize("stage", ["delivered", "set"])
    def test_it_asks_as_often_for_four_marks_as_for_one(self, client_of, site_lead, designer, job, king_post, stage):
        counts = []
        for n in range(1, 5):
            mark = add_mark(job, {**king_post, "mark": f"Q{n}"}, 2, designer)
            mark.copies.update(stage=stage, built_to=mark.current, released_to=mark.current)
            counts.append(asked(client_of(site_lead), "/turns/"))
        assert counts[0] == counts[3]

    def test_unfinished_repairs_of_three_jobs_are_read_as_those_of_one(self, job, truss, builder, designer, king_post):
        counts, jobs = [], []
        for n in range(3):
            one = job if n == 0 else Job.objects.create(name=f"Job {n}", time_zone="America/Denver")
            Membership.objects.get_or_create(user=designer, job=one, defaults={"role": Role.DESIGNER})
            mark = add_mark(one, {**king_post, "mark": f"Q{n}"}, 2, designer)
            told = {"job": one, "filed_by": builder, "reason": "Broken", "needed_by": one.today(), "state": "approved"}
            change = Request.objects.create(**told)
            Ask.objects.create(request=change, truss=mark, revision=mark.current, copies=[1], kind="damage", wish={})
            Decision.objects.create(request=change, verdict="approve", reason="x", ends_by="repair", by=designer)
            attach(designer, change, f"repair {n}")
            if n == 1:
                seals.say_what_is_asked(designer, one, review=False, acceptance=True, without="blocks")
            jobs.append(one.pk)
            with CaptureQueriesContext(connection) as queries:
                found = workflow.unfinished(jobs)
            counts.append(len(queries))
        assert counts[0] == counts[2] <= 8
        # the first asks for neither review nor acceptance, one that said nothing for both
        assert [len(found[pk]) for pk in sorted(found)] == [1, 2, 3]


class TestReadOnce:
    def test_only_while_a_page_is_made(self):
        read = []
        take = lambda: once("rows", lambda: read.append(1) or len(read))  # noqa: E731
        assert [take(), take()] == [1, 2]
        with page():
            assert [take(), take()] == [3, 3]
        with page():
            assert take() == 4
        assert take() == 5

    @pytest.mark.parametrize(("method", "reads"), [("get", 1), ("head", 1), ("post", 2)])
    def test_a_form_that_is_sent_reads_anew(self, rf, method, reads):
        """What it decides by is not what was read before."""
        read = []

        def answer(request):
            for _ in range(2):
                once("rows", lambda: read.append(1))
            return HttpResponse()

        reads_once(answer)(getattr(rf, method)("/"))
        assert len(read) == reads
