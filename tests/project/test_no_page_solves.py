"""No page of the demo's set solves a frame in the process that serves it; the worker does, before."""

from __future__ import annotations

import re
from collections import deque
from html import unescape
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from changes.models import Decision, Request, State
from project import demo
from trusses import drawing
from trusses.analysis.frame import solve
from trusses.models import Job

OWN_PREVIEW = re.compile(r"^/jobs/\d+/trusses/new/")
"""A designer's own shape is analysed while it is typed, within a stated amount of work (DEVELOPERS.md)."""
LEFT_OUT = re.compile(r"^/(admin|static|api|account|sign|demo|log)|/plain|/members/\?|\.(png|pdf|svg|txt|css|js)$")
MOST = 900


class Solved(AssertionError):
    """Raised in place of an answer, so that no page can catch it as a refusal."""


@pytest.fixture
def the_set(db, settings, monkeypatch) -> Job:
    settings.DEMO = True
    demo.prepare("a long enough password", reset=False, say=lambda _: None)

    def solved(*_: Any) -> None:
        raise Solved("a frame was solved in a web request")

    monkeypatch.setattr(solve, "_solve", solved)
    for picture in ("elevation", "detail", "thumbnail"):  # hundreds of them, and none is of interest here
        monkeypatch.setattr(drawing, picture, lambda *_, **__: "<svg></svg>")
    return Job.objects.get()


def person(name: str) -> Client:
    client = Client()
    client.force_login(get_user_model().objects.get(username=name))
    return client


def seen(client: Client, *start: str) -> set[str]:
    """Every page that links lead to; each of a kind that a query makes, once."""
    waiting, done = deque(start), set(start)
    while waiting:
        address = waiting.popleft()
        answer = client.get(address)
        assert answer.status_code in (200, 302), (address, answer.status_code)
        assert len(done) < MOST
        if not answer.get("Content-Type", "").startswith("text/html"):
            continue
        for link in re.findall(r'href="(/[^"#]*)', answer.content.decode()):
            to = unescape(link)
            if to not in done and not LEFT_OUT.search(to) and not OWN_PREVIEW.match(to):
                done.add(to)
                waiting.append(to)
    return done


def test_no_page_does(the_set):
    designer = person("designer")
    found = seen(designer, "/", f"/jobs/{the_set.pk}/requests/?state=all")
    asks = {address for address in seen(person("builder"), f"/jobs/{the_set.pk}/") if address.endswith("/ask/")}
    assert len(found) > 60
    assert len(asks) > 3
    requests = [address for address in found if re.fullmatch(r"/requests/\d+/", address)]
    assert len(requests) == Request.objects.count()


def test_checks_under_each_combination_and_of_each_member_do_not(the_set):
    change = Request.objects.filter(state=State.AWAITING_DECISION).order_by("pk").first()
    option, client = change.options.exclude(analysis=None).first(), person("designer")
    for combination in option.analysis["combinations"]:
        address = f"/requests/{change.pk}/"
        assert client.get(address, {"option": option.pk, "combination": combination}).status_code == 200
        member = {"member": option.document["members"][0]["id"], "combination": combination}
        assert client.get(f"{address}options/{option.pk}/members/", member).status_code == 200


def test_a_decision_that_loads_carriers_follows_what_the_worker_stored(the_set):
    """The request with a heavier roof, whose truss stands on a girder."""
    waiting = Request.objects.filter(state=State.AWAITING_DECISION, options__consequences__analysis__isnull=False)
    change = waiting.distinct().get()
    option = change.options.filter(stale=False, consequences__isnull=False).order_by("worst_ratio").first()
    carrier = option.consequences.get()
    body = {"verdict": Decision.Choice.APPROVE.value, "reason": "Slate, as sold."}
    body |= {f"option-{ask.pk}": option.pk for ask in change.asks.all()}
    answer = person("designer").post(f"/requests/{change.pk}/decide/", body)
    assert answer.status_code == 302, re.findall(r'role="alert".*?</', answer.content.decode(), re.S)
    carrier.carrier.refresh_from_db()
    assert carrier.carrier.current.sha256 == carrier.sha256
    assert carrier.carrier.current.analysis == carrier.analysis
