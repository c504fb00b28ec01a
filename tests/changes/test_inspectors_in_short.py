"""A mark in one line for an inspector, and changes told apart by what became of them."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.urls import reverse

from changes import workflow
from changes.inspection import corrections, links, showing
from tests.changes.asking import DAMAGE, HITS_WEB, approve
from tests.sealed import SAID, drawing
from trusses.copies import looks
from trusses.models import Truss
from trusses.plan import on_walls
from trusses.sealing import recording, seals
from trusses.sheets import fixing


@pytest.fixture
def handed(job, truss, builder):
    """(link, token) of the job that has mark K1."""
    cache.clear()
    return links.hand_out(builder, job, for_whom="Plans examiner", days=30)


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def pages(client, token, truss):
    """The job's page and the mark's, by the link."""
    return [
        client.get(reverse("changes:inspect", args=[token])),
        client.get(reverse("changes:inspect-mark", args=[token, truss.pk])),
    ]


def short(job, truss):
    found = showing.marks(job, [Truss.objects.select_related("current").get(pk=truss.pk)])[0].in_short
    return found.says, [one.says for one in found.open]


def test_what_is_done_adds_up(handed, job, truss, designer, builder, site_lead, client, judged_here):
    assert short(job, truss) == ("Not sealed. Copies 1–3 designing. 0 of 2 rows, hangers and ties in place.", [])
    seals.say_what_is_asked(designer, job, review=True, acceptance=False, without="warns")
    sent = drawing()
    said = {**SAID, "sealed_on": job.today(), "covers": ("plates", "restraint")}
    attached = recording.attach(designer, truss.current, sent, len(sent.getvalue()), **said)
    truss.copies.update(stage="set", built_to=truss.current)
    for item in fixing.items(truss):
        fixing.tick(site_lead, truss, item.key, done=True, anchored="gable")
    stands = "Copies 1–3 set, built to revision 0. 2 of 2 rows, hangers and ties in place."
    assert short(job, truss)[0].startswith("Sealed; not recorded: ")
    recording.record(builder, attached, "reviewed", name="B. Designer", on=job.today())
    assert short(job, truss) == (f"Sealed and reviewed by the building designer. {stands}", [])
    for page in pages(client, handed[1], truss):
        nothing = "No correction, damage, wall or request is open on it."
        assert f"Sealed and reviewed by the building designer. {stands} {nothing}" in words(page)


def test_all_that_is_open_on_it_is_told_in_the_same_line(handed, job, truss, site_lead, builder, ask_for, client):
    truss.copies.update(stage="delivered", built_to=truss.current)
    asked = [{"truss": truss, "kind": "damage", "copies": [3], "damage": DAMAGE}]
    harm = workflow.file(site_lead, job, reason="A saw.", needed_by=job.today(), asks=asked)
    truss.copies.filter(number=1).update(stage="designing", built_to=None)
    change = ask_for()
    link, token = handed
    said = {"by_name": "E", "says": "No tie", "truss": truss}
    first = corrections.correct(link, key=uuid4(), **said)
    assert short(job, truss)[1] == [
        "1 correction",
        "copy 3 damaged",
        f"request {harm.pk} tells of damage to it, not decided",
        f"request {change.pk} asks to change it, not decided",
    ]
    corrections.answer(builder, first, "Done")
    assert short(job, truss)[1][0] == "1 correction, answered and not accepted yet"
    corrections.correct(link, key=uuid4(), **said)
    assert short(job, truss)[1][0] == "2 corrections, 1 of them answered and not accepted yet"
    index = reverse("changes:inspect", args=[token])
    for page in pages(client, token, truss):
        told = words(page)
        assert f"; Request {change.pk} asks to change it, not decided ." in told
        assert f'href="{index}#request-{change.pk}"' in page.content.decode()
    assert f'id="request-{change.pk}"' in client.get(index).content.decode()


def test_what_became_of_a_change_is_told_apart_and_leads_on(handed, answered, designer, truss, client):
    declined, waits, issued = answered(), answered(reason="Another duct"), answered(HITS_WEB)
    workflow.decide(designer, declined, verdict="decline", reason="The chase stays clear.")
    approve(designer, issued)
    page = client.get(reverse("changes:inspect", args=[handed[1]])).content.decode()
    found = {}
    for change in (declined, waits, issued):
        part = page.partition(f'id="request-{change.pk}"')[2].partition("</li>")[0]
        found[change.pk] = re.search(r'<span class="([a-z ]*)">([^<]+)</span></p>', part).groups()
        assert f'<a href="{reverse("changes:inspect-mark", args=[handed[1], truss.pk])}">K1</a>' in part
    assert list(found.values()) == [
        ("soft", "Declined: nothing is changed by it"),
        ("tag look", "Asked, not decided"),
        ("tag", "Decided: revision issued"),
    ]


def test_what_was_found_wrong_and_a_wall_that_may_move_are_open_too(handed, job, truss, site_lead, client, monkeypatch):
    truss.copies.update(stage="delivered", built_to=truss.current)
    looks.tick(site_lead, truss, [truss.copies.get(number=2).pk], "set", points={"place": False})
    moves = on_walls.Under("It moves.", "/requests/7/", decided=False, stands=("", False), request=7)
    comes = replace(moves, request=8, decided=True, comes=True)
    monkeypatch.setattr(on_walls, "under", lambda truss: [moves, moves, comes])
    assert short(job, truss)[1] == [
        "copy 2: what was found wrong isn’t closed",
        "a wall may move under it by request 7",
        "a wall comes under it by request 8",
    ]
    for page in pages(client, handed[1], truss):
        assert "is open on it" not in words(page)
    at = reverse("changes:inspect-mark", args=[handed[1], truss.pk])
    assert f'href="{at}#looks">Copy 2: what was found wrong' in page.content.decode()
