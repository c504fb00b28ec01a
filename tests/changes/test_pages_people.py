"""Who sees and may do what on the pages of a request: every person against every page and every act."""

from __future__ import annotations

import pytest
from django.urls import reverse

from changes import workflow
from changes.models import Request
from tests.changes.asking import FITS, compute
from tests.changes.reading import text, url

OK, REDIRECT, FORBIDDEN, MISSING = 200, 302, 403, 404
PEOPLE = ("builder", "designer", "site lead", "outsider", "nobody")


def pages(change: Request) -> dict[str, str]:
    """Every page that shows something of a request, by name."""
    ask = change.asks.get()
    return {
        "queue": url("queue", change.job_id),
        "ask": url("ask", change.job_id, ask.truss_id),
        "request": url("request", change.pk),
        "progress": url("progress", change.pk),
        "edit": url("edit-option", change.pk, change.options.first().pk),
    }


ROLES = {
    "queue": (OK, OK, OK, MISSING, REDIRECT),
    "ask": (OK, FORBIDDEN, FORBIDDEN, MISSING, REDIRECT),
    "request": (OK, OK, OK, MISSING, REDIRECT),
    "progress": (286, 286, 286, MISSING, REDIRECT),
    "edit": (FORBIDDEN, OK, FORBIDDEN, MISSING, REDIRECT),
}

ACTS = {
    "decide": (FORBIDDEN, REDIRECT, FORBIDDEN, MISSING, REDIRECT),
    "withdraw": (REDIRECT, FORBIDDEN, FORBIDDEN, MISSING, REDIRECT),
    "compute": (REDIRECT, REDIRECT, FORBIDDEN, MISSING, REDIRECT),
    "answer": (422, FORBIDDEN, FORBIDDEN, MISSING, REDIRECT),
    "answer-hold": (FORBIDDEN, REDIRECT, FORBIDDEN, MISSING, REDIRECT),
}
"""Answering a request that was not sent back is refused in words to its builder, too."""


class TestPeople:
    @pytest.mark.parametrize("who", PEOPLE)
    @pytest.mark.parametrize("page", ROLES)
    def test_see(self, client_of, cast, answered, page, who):
        address = pages(answered())[page]
        answer = client_of(cast[who]).get(address)
        assert answer.status_code == ROLES[page][PEOPLE.index(who)]
        if who == "nobody":
            assert answer.headers["Location"].startswith(reverse("sign-in"))

    @pytest.mark.parametrize("who", PEOPLE)
    @pytest.mark.parametrize("act", ACTS)
    def test_do(self, client_of, cast, answered, act, who):
        change = answered()
        events = change.events.count()
        which = change.holds.get().pk if act == "answer-hold" else change.pk
        body = {"verdict": "send back", "reason": "Why here?", "says": "It must.", "acknowledge": "yes"}
        answer = client_of(cast[who]).post(url(act, which), body)
        allowed = ACTS[act][PEOPLE.index(who)]
        assert answer.status_code == allowed
        done = allowed == REDIRECT and who != "nobody" and act != "compute"
        assert (change.events.count() > events) == done

    @pytest.mark.parametrize("act", sorted(ACTS.keys() - {"withdraw"}))  # which asks on a page of its own first
    def test_only_post(self, client_of, designer, answered, act):
        assert client_of(designer).get(url(act, answered().pk)).status_code == 405

    @pytest.mark.parametrize("who", ["builder", "designer", "site lead"])
    def test_find_nothing_of_a_foreign_job(self, client_of, cast, make_person, answered, other_job, who):
        """With ids of rows that exist: a foreign mark in the own job's address, an option of another request."""
        own, client = answered(), client_of(cast[who])
        assert client.get(url("queue", other_job.job_id)).status_code == MISSING
        assert client.get(url("ask", own.job_id, other_job.pk)).status_code == MISSING
        assert client.get(url("ask", other_job.job_id, other_job.pk)).status_code == MISSING
        stranger = make_person("stranger", other_job.job, "builder")
        asks = [{"truss": other_job, "kind": "opening", "opening": FITS}]
        needed_by = other_job.job.today()
        foreign = compute(workflow.file(stranger, other_job.job, reason="Theirs", needed_by=needed_by, asks=asks))
        missing = client.get(url("request", 99_999))
        for address in (url("request", foreign.pk), url("edit-option", own.pk, foreign.options.get().pk)):
            answer = client.get(address)
            assert (answer.status_code, text(answer)) == (MISSING, text(missing))
        for act in ("decide", "withdraw", "compute", "answer"):
            assert client.post(url(act, foreign.pk), {"verdict": "decline", "reason": "x"}).status_code == MISSING
        assert client.post(url("answer-hold", foreign.holds.get().pk), {"acknowledge": "yes"}).status_code == MISSING
        foreign.refresh_from_db()
        assert foreign.state == "awaiting decision"
