"""A wall that an added bearing brings under trusses, and what passes over it without a bearing there."""

from __future__ import annotations

import copy
import html
import re

import pytest
from django.urls import reverse

from changes import workflow
from changes.asks.new_walls import coming
from tests.changes.asking import answer_of, approve
from tests.refused import refused
from trusses import paper_codes
from trusses.bearings import links
from trusses.models import Copy, Placement, WallLine
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import add_mark
from trusses.sheets import setting_page

ADDED = {"change": "added", "at_in": 120, "width_in": 3.5}
FAR = "10'-0\" to the right of the plan’s zero"


@pytest.fixture
def beside(row, job, king_post, designer):
    """K2 stands in the row of K1's five copies, from 0 to 96 in. up the plan, and goes on with it."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 3, designer)
    place = Placement.objects.create(truss=other, origin_x_in=0, origin_y_in=120, spacing_in=24, count=3, turned=True)
    other.copies.update(placement=place)
    return other


def told(job):
    return [(one.does, [bears.says for bears in one.others]) for one in coming(job)]


def read(client, address):
    page = client.get(address)
    assert page.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", page.content.decode())))


def test_without_a_wall_on_the_plan_it_goes_from_the_first_copy_to_the_last(ask, beside, job):
    change = ask("bearing", ADDED, copies=[1, 3, 4])
    does = f"Request {change.pk} asks for a wall or post under K1, {FAR}"
    assert told(job) == [(does, ["K1, 1 copy: not cut yet"])]


def test_where_the_plan_draws_a_wall_it_goes_as_far_as_that(ask, beside, job):
    WallLine.objects.create(job=job, label="grid B", level="Roof", points=[[121, -10], [121, 150]])
    change = ask("bearing", ADDED)
    does = f'Request {change.pk} asks for a wall or post under K1, 1" to the left of grid B'
    assert told(job) == [(does, ["K2, 2 copies: all not cut yet"])]


@pytest.mark.parametrize(("at_in", "passes"), [(120, True), (13, True), (11, False), (229, False)])
def test_what_bears_near_it_does_not_pass_over_it(ask, beside, job, at_in, passes):
    ask("bearing", {**ADDED, "at_in": at_in}, copies=[1, 3])
    assert [others != [] for _, others in told(job)] == [passes]


def test_those_for_whom_a_bearing_there_is_asked_too_are_told_no_more(ask, beside, job):
    WallLine.objects.create(job=job, label="grid B", level="Roof", points=[[120, -10], [120, 200]])
    ask("bearing", ADDED)
    assert [others for _, others in told(job)] == [["K2, 3 copies: all not cut yet"]]
    # K2 stands turned: what is 10 ft from its left is 10 ft from its right here
    ask("bearing", ADDED, truss=beside.pk, copies=[1, 2, 3])
    assert [others for _, others in told(job)] == [[], []]


def test_on_each_page_and_before_it_is_set(ask, beside, row, job, client_of, api_of, builder, designer, site_lead):
    WallLine.objects.create(job=job, label="grid B", level="Roof", points=[[120, -10], [120, 150]])
    Copy.objects.filter(truss=beside).update(stage="delivered", built_to=beside.current, released_to=beside.current)
    client, form = client_of(builder), reverse("changes:ask-kind", args=[job.pk, row.pk, "bearing"])
    typed = {"change": "added", "along": "10'", "width": '3 1/2"', "copies": ""}
    live = html.unescape(client.post(form, typed, headers={"HX-Request": "true"}).content.decode())
    two = "K2, 2 copies: all delivered"
    assert "Other trusses pass over it without a bearing there" in live
    assert two in live
    change = ask("bearing", ADDED)
    does = f"Request {change.pk} asks for a wall or post under K1, at grid B"
    stop = (
        f"A wall may come under it where it has no bearing (asked in request {change.pk}, not decided): ask the"
        " designer how it is kept clear, before it is set."
    )
    sheet = reverse("trusses:sheet", args=[job.pk, beside.pk, 0])
    for who, page in (
        (site_lead, sheet),
        (designer, reverse("trusses:mark", args=[job.pk, beside.pk])),
    ):
        says = read(client_of(who), page)
        assert stop in says
        assert f"{does}. Copies 1–2 of K2 pass over it, and nobody asked that they bear there" in says
    paper = reverse("trusses:paper", args=[paper_codes.counting(beside.current).token])
    assert stop in read(client_of(None), paper)
    plan = read(client_of(site_lead), reverse("trusses:plan", args=[job.pk]) + "?level=Roof")
    assert f"{does}. Without a bearing there pass over it: {two}. Not decided." in plan
    setting = read(client_of(site_lead), reverse("trusses:setting", args=[job.pk]) + "?level=Roof")
    assert setting.count("a wall may come under it: ask first") == 2
    one = beside.copies.get(number=1)
    with refused(Refused, "wall-comes", "asked", mark="K2", copies=[1], does=does):
        move(site_lead, beside, [one.pk], "set")
    assert move(site_lead, beside, [one.pk], "set", asked_first="Dana: an inch under it") == 1
    assert move(site_lead, beside, [beside.copies.get(number=3).pk], "set") == 1
    ask_ = answer_of(change)
    address = reverse("changes:request", args=[change.pk])
    two = "K2, 2 copies: 1 set, 1 delivered"
    assert f"pass over it without a bearing there: {two}" in read(client, address)
    assert f"Over it pass without a bearing {two}." in read(client_of(designer), address).partition("Decide")[2]
    [ask_told] = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"]
    assert ask_told["others_on_walls"] == [f"the added bearing, at grid B: {two}"]
    approve(designer, change, {ask_.pk: ask_.options.filter(passes=True).first().pk}, reason="A wall comes")
    [(does, others)] = told(job)
    assert does == f"By the decision on request {change.pk} a wall or post comes under K1, at grid B"
    assert others == [two]
    # what is said of bearings elsewhere says nothing of this wall
    links.set_link(designer, beside, "A", wall="front wall")
    assert told(job) == [(does, [two])]
    mark = read(client_of(designer), reverse("trusses:mark", args=[job.pk, beside.pk]))
    assert "Told here and on its sheet until the like is decided for them." in mark


def test_no_tap_sets_what_a_wall_comes_under(ask, beside, job, client_of, site_lead, monkeypatch):
    """Were all sealed, the third alone is said to be set as it should be by one tap."""
    monkeypatch.setattr(setting_page, "without_seal", lambda *_: [])
    WallLine.objects.create(job=job, label="grid B", level="Roof", points=[[120, -10], [120, 150]])
    Copy.objects.filter(truss=beside).update(stage="delivered", built_to=beside.current, released_to=beside.current)
    address = reverse("trusses:setting", args=[job.pk]) + "?level=Roof"
    assert read(client_of(site_lead), address).count("Set, as it should be") == 3
    ask("bearing", ADDED)
    page = client_of(site_lead).get(address).content.decode()
    assert re.findall(r'form="tap-(\d+)"', page) == [str(beside.copies.get(number=3).pk)]


def test_what_cantilevers_over_it_is_told_too(ask, row, job, king_post, designer, client_of):
    """K3 bears at its middle and its right end, and lies as far to the left as K1, between its first two copies."""
    first, last = king_post["bearings"]
    free = king_post | {"mark": "K3", "bearings": [{**first, "joint": "D"}, last]}
    other = add_mark(job, free, 1, designer)
    place = Placement.objects.create(truss=other, origin_x_in=120, origin_y_in=12, spacing_in=24, count=1)
    other.copies.update(placement=place)
    change = ask("bearing", {**ADDED, "at_in": 60}, copies=[1, 2])
    assert [others for _, others in told(job)] == [["K3, 1 copy: not cut yet"]]
    # how far it goes is supposed, and told so, until a wall is drawn there
    page, supposed = (
        reverse("changes:request", args=[change.pk]),
        "How far it goes is supposed: from the first to the last",
    )
    assert supposed in read(client_of(designer), page)
    WallLine.objects.create(job=job, label="grid B", level="Roof", points=[[60, -10], [60, 150]])
    says = read(client_of(designer), page)
    assert "It comes at grid B. A truss that touches a wall bears on it" in says
    assert supposed not in says


@pytest.fixture
def decide(designer):
    def make(change):
        one = answer_of(change)
        approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="A wall comes")

    return make


@pytest.mark.parametrize(("turned", "joint", "to_in"), [(False, "A", 10), (True, "C", 230)])
def test_it_stays_where_it_comes_when_the_bearing_moves_where_the_row_begins(
    ask, row, job, decide, turned, joint, to_in
):
    row.placements.update(turned=turned)
    decide(ask("bearing", ADDED))
    before = told(job)
    decide(ask("bearing", {"change": "moved", "joint": joint, "to_in": to_in}))
    assert told(job) == before
    assert row.placements.get().origin_x_in == 10


def test_nor_does_it_leave_where_it_is_added_beyond_the_first_bearing(
    beside, job, king_post, builder, designer, needed_by, decide
):
    """K3 has its left end free and gets a wall under it, over which K2 passes."""
    first, last = king_post["bearings"]
    free = copy.deepcopy(king_post) | {"mark": "K3", "bearings": [{**first, "joint": "D"}, last]}
    for load in free["loads"]["area"]:
        load["psf"] /= 10
    other = add_mark(job, free, 2, designer)
    place = Placement.objects.create(truss=other, origin_x_in=220, origin_y_in=120, spacing_in=24, count=2)
    other.copies.update(placement=place)
    bearing = {"change": "added", "at_in": 0, "width_in": 3.5}
    asks = [{"truss": other.pk, "kind": "bearing", "bearing": bearing}]
    change = workflow.file(builder, job, reason="A wall", needed_by=needed_by, asks=asks)
    assert told(job) == [
        (
            f"Request {change.pk} asks for a wall or post under K3, 8'-4\" to the right of the plan’s zero",
            ["K2, 2 copies: all not cut yet"],
        )
    ]
    decide(change)
    [(does, others)] = told(job)
    assert "under K3, 8'-4\" to the right" in does
    assert others == ["K2, 2 copies: all not cut yet"]
