"""A wall that bearings are asked to leave, and the other trusses that bear on it."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from changes.asks.on_walls import alike, leaves, moving
from tests.changes.asking import answer_of, approve
from trusses import paper_codes
from trusses.bearings import links
from trusses.models import BearingLink, Copy, WallLine
from trusses.plan.on_walls import Bears, Number, bearing_on
from trusses.revisions import add_mark

WALL = "basement bearing wall"
STANDS = {"bearings": [{"joint": "A"}, {"joint": "C"}], "joints": {"A": [0, 0], "C": [240, 0]}}


@pytest.mark.parametrize(
    ("wish", "by"),
    [
        ({"change": "moved", "joint": "C", "to_in": 232}, {"C": -8}),
        ({"change": "moved", "joint": "gone", "to_in": 232}, {}),
        ({"change": "taken away", "joint": "A"}, {"A": None}),
        ({"change": "added", "at_in": 120, "width_in": 3.5}, {}),
        (
            {
                "change": "measured",
                "walls": [{"joint": "A", "x_in": 0.1, "y_in": 1}, {"joint": "C", "x_in": 242, "y_in": 0}],
            },
            {"C": 2},
        ),
    ],
)
def test_which_bearings_leave_their_wall(wish, by):
    assert leaves(wish, STANDS) == by


def test_two_go_alike_only_the_same_way():
    assert alike(8, 8.2)
    assert alike(None, None)
    assert not alike(8, -8)
    assert not alike(None, 0.0)
    assert not alike(8, 9)


def test_what_bears_on_a_wall_is_told_by_how_far_it_is():
    stages = ["set", "set", "delivered", "released", "designing"]
    five = Bears(2, "F2", ("A",), {Number(2, n): stage for n, stage in enumerate(stages)})
    assert five.says == "F2, 5 copies: 2 set, 1 delivered, 2 not cut yet"
    left = five.besides({Number(2, 2), Number(2, 3), Number(2, 4)})
    assert left.says == "F2, 2 copies: all set"
    assert left.is_cut
    assert five.besides(five.copies) is None


@pytest.fixture
def beside(row, designer, job, king_post):
    """K1 ends and K2 begins on one wall; of K2, 2 are set and 1 is delivered."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 3, designer)
    links.set_link(designer, row, "C", wall=WALL, plate="2x6 DF-L No.2")
    links.set_link(designer, other, "A", wall=WALL)
    Copy.objects.filter(truss=other).update(stage="set", built_to=other.current, released_to=other.current)
    Copy.objects.filter(truss=other, number=3).update(stage="delivered")
    return other


def read(client, address):
    page = client.get(address)
    assert page.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", "", page.content.decode())))


MOVED = {"change": "moved", "joint": "C", "to_in": 232}
K2 = "K2, 3 copies: 2 set, 1 delivered"


def test_whoever_asks_decides_or_sets_is_told_who_else_bears_on_the_wall(
    ask, beside, row, job, client_of, api_of, builder, designer, site_lead
):
    typed = {"change": "moved", "joint": "C", "by": '8"', "toward": "left", "copies": ""}
    form = reverse("changes:ask-kind", args=[job.pk, row.pk, "bearing"])
    live = client_of(builder).post(form, typed, headers={"HX-Request": "true"}).content.decode()
    assert K2 in live
    change = ask("bearing", MOVED)
    sheet = reverse("trusses:sheet", args=[job.pk, beside.pk, 0])
    own = reverse("trusses:sheet", args=[job.pk, row.pk, 0])
    asked = f'Request {change.pk} asks to move {WALL} 8" under K1. Copies 1–3 of K2 bear on it too, at bearing A'
    first = read(client_of(site_lead), sheet).partition("Appendix")[0]
    assert "Ask the designer before setting" in first
    assert asked in first
    paper = reverse("trusses:paper", args=[paper_codes.counting(beside.current).token])
    assert "Ask the designer before setting: the wall under it moves." in read(client_of(None), paper)
    one = answer_of(change)
    assert one.options.filter(passes=True).exists()
    address = reverse("changes:request", args=[change.pk])
    assert f"Other trusses bear on the same wall, {WALL}: {K2}." in read(client_of(builder), address)
    decide = read(client_of(designer), address)
    assert f"{WALL} also carries {K2}." in decide.partition("Decide")[2]
    [told] = api_of(builder).get(f"/api/v1/requests/{change.pk}/").json()["asks"]
    assert told["others_on_walls"] == [f"{WALL}: {K2}"]
    approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="The wall comes in")
    assert K2 in read(client_of(builder), address)
    assert f'By the decision on request {change.pk}, {WALL} moves 8" under K1' in read(client_of(site_lead), sheet)
    assert "Ask the designer before setting: the wall" not in read(client_of(site_lead), own.replace("/0/", "/1/"))
    mark = read(client_of(designer), reverse("trusses:mark", args=[job.pk, beside.pk]))
    assert "until the like is decided for them, or a designer says anew what they stand on" in mark
    # the bearing went with its wall, and its plate was checked where it stands now
    row.refresh_from_db()
    [new] = [b["joint"] for b in row.current.document["bearings"] if b["joint"] != "A"]
    assert new != "C"
    assert BearingLink.objects.get(truss=row, joint=new).wall.label == WALL
    assert row.current.analysis["surroundings"]["wall_plates"] == {new: "2x6 DF-L No.2"}
    # until a designer says anew what they bear on
    links.set_link(designer, beside, "A", wall=WALL)
    assert "before setting: the wall" not in read(client_of(site_lead), sheet)


def test_those_for_whom_the_like_is_asked_are_told_no_more(ask, beside, job, designer):
    Copy.objects.filter(truss=beside).update(stage="released")
    links.set_link(designer, beside, "C", wall=WALL)
    ask("bearing", MOVED)
    [told] = moving(job)
    assert [one.says for one in told.others] == ["K2, 3 copies: all not cut yet"]
    # the other way is not the like, nor is the wall taken away
    ask("bearing", {"change": "moved", "joint": "A", "to_in": 8}, truss=beside.pk, copies=[1])
    assert [[one.mark for one in told.others] for told in moving(job)] == [["K2"], ["K1", "K2"]]
    ask("bearing", MOVED, truss=beside.pk, copies=[1, 3])
    assert [one.says for one in moving(job)[0].others] == ["K2, 1 copy: not cut yet"]


def test_a_mark_of_which_nobody_said_anything_bears_where_the_plan_draws_a_wall(beside, row, job):
    BearingLink.objects.filter(truss=row).delete()
    WallLine.objects.filter(label=WALL).update(level="Roof", points=[[240, -10], [240, 200]])
    [on] = bearing_on(job).values()
    assert [(one.mark, one.joints) for one in on] == [("K1", ("C",)), ("K2", ("A",))]
