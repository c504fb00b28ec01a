"""What a decision on a wall that only the plan draws leaves to be asked of the other trusses on it."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from changes.asks.on_walls import moving
from tests.changes.asking import answer_of, approve
from trusses.models import Job, Placement, WallLine
from trusses.revisions import add_mark
from trusses.sheets import setting_page

K2 = "K2, 3 copies: all delivered"


@pytest.fixture
def stands(job, king_post, designer):
    """A mark's three copies at a place of the plan, ready to be set."""

    def make(mark, x, y):
        other = add_mark(job, {**king_post, "mark": mark}, 3, designer)
        place = Placement.objects.create(truss=other, origin_x_in=x, origin_y_in=y, spacing_in=24, count=3)
        other.copies.update(placement=place, stage="delivered", built_to=other.current, released_to=other.current)
        return other

    return make


@pytest.fixture
def beside(row, stands):
    """K2 goes on in the row of K1's five copies."""
    return stands("K2", 0, 120)


@pytest.fixture
def decide(ask, designer):
    def make(joint, to_in, **more):
        change = ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}, **more)
        one = answer_of(change)
        approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall moves")
        return change

    return make


@pytest.fixture
def taps(job, client_of, site_lead, monkeypatch):
    """How many copies one tap would set, and of how many the order of setting says to ask first."""
    monkeypatch.setattr(setting_page, "without_seal", lambda *_: [])

    def read():
        address = reverse("trusses:setting", args=[job.pk]) + "?level=Roof"
        page = html.unescape(client_of(site_lead).get(address).content.decode())
        return len(re.findall(r'form="tap-', page)), page.count("its wall moves: ask first")

    return read


def draw(job, label, x, low=-10, high=300):
    return WallLine.objects.create(job=job, label=label, level="Roof", points=[[x, low], [x, high]])


def told(job):
    return [(one.does, [bears.says for bears in one.others]) for one in moving(Job.objects.get(pk=job.pk))]


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(("joint", "to_in"), [("A", 8), ("A", 16), ("C", 224)])
def test_the_stop_outlives_the_approval(beside, row, job, decide, taps, turned, joint, to_in):
    """At whichever end of the drawing, also where the row begins elsewhere by the new one."""
    row.placements.update(turned=turned)
    draw(job, "wall", 240 if (joint == "C") != turned else 0)
    request = decide(joint, to_in)
    [(does, others)] = told(job)
    assert does.startswith(f"By the decision on request {request.pk}, wall moves")
    assert others == [K2]
    assert taps() == (0, 3)


def test_an_open_ask_keeps_its_wall_where_another_decision_moves_the_row(beside, job, ask, decide):
    draw(job, "wall", 240)
    request = ask("bearing", {"change": "moved", "joint": "C", "to_in": 200})
    decide("A", 16)
    assert told(job) == [(f"Request {request.pk} asks to move wall 3'-4\" to the left on the plan under K1", [K2])]


def test_no_wall_is_named_that_stands_where_the_bearing_went(beside, job, stands, decide):
    stands("P1", 12, 216)
    draw(job, "front wall", 0, high=200)
    draw(job, "porch beam", 12, low=0)
    request = decide("A", 10)
    does = f'By the decision on request {request.pk}, front wall moves 10" to the right on the plan under K1'
    assert told(job) == [(does, [K2])]
