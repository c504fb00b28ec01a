"""What the bearings of a mark stand on where the plan has its copies both ways round, on every page that tells it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.analysis.findings.test_weights import WEIGHT, cantilever
from tests.trusses.reading import text
from trusses.models import BearingLink, MarkEvent, Placement, Truss, WallLine
from trusses.plan.feet import feet
from trusses.plan.placing import wall
from trusses.revisions import add_mark
from trusses.sheets import fixing

BOTH = {
    "A": "front (copies 1–2); back (copy 3, turned end for end)",
    "C": "back (copies 1–2); front (copy 3, turned end for end)",
}


def stands(truss: Truss, turned_at: float = 0.0) -> Truss:
    """Copies 1 and 2 begin at x = 0, copy 3 stands turned from `turned_at` on, beside them."""
    for numbers, x, y, turned in (((1, 2), 0.0, 0, False), ((3,), turned_at, 48, True)):
        row = Placement.objects.create(
            truss=truss, origin_x_in=x, origin_y_in=y, spacing_in=24, count=len(numbers), turned=turned
        )
        truss.copies.filter(number__in=numbers).update(placement=row)
    return truss


def says(truss: Truss, *joints: str, **walls: str) -> None:
    for joint, label in walls.items():
        line, _ = WallLine.objects.get_or_create(job=truss.job, label=label)
        BearingLink.objects.update_or_create(truss=truss, joint=joint, defaults={"wall": line})


@pytest.fixture(params=["by a decision", "on the plan"])
def both(request, truss, designer) -> Truss:
    """A stands on the front wall and C on the back one; copy 3 stands turned between the same two."""
    says(truss, A="front", C="back")
    stands(truss)
    if request.param == "by a decision":
        values = {"copies": [3], "turned": [3], "about_in": {"3": 120.0}}
        MarkEvent.objects.create(truss=truss, by=designer, code=MarkEvent.Code.TURNED, values=values)
    return truss


def told(truss: Truss, *numbers: int) -> dict[str, str]:
    truss = Truss.objects.get(pk=truss.pk)
    return {foot.joint: foot.says for foot in feet(truss, numbers or None)}


def test_the_two_ways_round_are_told_apart(both):
    assert told(both) == BOTH
    assert told(both, 1, 2) == {"A": "front", "C": "back"}
    assert told(both, 3) == {"A": "back", "C": "front"}


@pytest.mark.parametrize("page", ["mark", "bearings", "sheet"])
def test_a_page_of_the_mark_tells_both(both, client_of, designer, page):
    number = [0] if page == "sheet" else []
    said = text(client_of(designer).get(reverse(f"trusses:{page}", args=[both.job_id, both.pk, *number])))
    for joint, under in BOTH.items():
        assert f"earing {joint}: {under}" in said
    assert "marked end, bearing A: " + BOTH["A"] in said or page != "sheet"


def test_the_form_of_a_bearing_has_what_is_under_the_copies_that_it_speaks_of(both, client_of, designer):
    page = client_of(designer).get(reverse("trusses:bearings", args=[both.job_id, both.pk]))
    assert [form.initial["wall"] for _, form in page.context["rows"]] == ["front", "back"]
    both.copies.exclude(number=3).delete()
    page = client_of(designer).get(reverse("trusses:bearings", args=[both.job_id, both.pk]))
    assert [form.initial["wall"] for foot, form in page.context["rows"]] == [
        foot.says for foot, _ in page.context["rows"]
    ]


def test_a_program_reads_both(both, api_of, designer):
    first = api_of(designer).get(f"/api/v1/trusses/{both.pk}/bearings/").json()["bearings"][0]
    assert (first["joint"], first["wall"]["label"], first["says"]) == ("A", "front", BOTH["A"])
    parts = [(one["copies"], one["turned"], one["wall"]["label"]) for one in first["parts"]]
    assert parts == [([1, 2], False, "front"), ([3], True, "back")]


def test_the_order_of_setting_names_the_wall_of_each(both, client_of, site_lead):
    page = client_of(site_lead).get(reverse("trusses:setting", args=[both.job_id]))
    ends = {row["stands"].number: row["end"] for row in page.context["rows"]}
    assert ends == {1: "front", 2: "front", 3: "back"}


def test_ties_of_the_two_ways_round_are_two_with_a_wall_each(job, designer):
    mark = add_mark(job, cantilever(WEIGHT), 3, designer)
    says(mark, A="front", B="back")
    stands(mark)
    ties = [one for one in fixing.items(mark) if one.what.startswith("Tie at bearing A")]
    assert [(one.starts, one.anchored) for one in ties] == [
        ("at each of copies 1–2", "front"),
        ("at copy 3, turned end for end", "back"),
    ]
    assert [one.waits for one in ties] == [("P-1", "P-2"), ("P-3",)]


def test_beyond_a_wall_between_two_wings_it_is_the_wall_between_and_then_none_that_was_said(truss):
    """C of all copies stands on the wall between; A of copy 3 stands on the far side, of which nobody spoke."""
    says(truss, A="left", C="between")
    stands(truss, turned_at=240.0)
    assert told(truss) == {"A": "left (copies 1–2); not said (copy 3, turned end for end)", "C": "between"}


def test_on_the_far_side_the_plan_says_what_it_draws_there(truss, designer):
    says(truss, A="left", C="between")
    stands(truss, turned_at=240.0)
    wall(designer, truss.job, None, "right", "Roof", [[480, -50], [480, 100]])
    right = "by the plan right; nobody said what it stands on"
    assert told(truss)["A"] == f"left (copies 1–2); {right} (copy 3, turned end for end)"


def test_a_mark_that_stands_one_way_round_is_told_as_it_was_said(truss):
    says(truss, A="front", C="back")
    stands(truss)
    truss.placements.update(turned=True)
    assert told(truss) == {"A": "front", "C": "back"}


def test_the_order_of_setting_asks_no_more_for_each_mark_with_turned_copies(job, king_post, designer, client_of):
    address, asked = reverse("trusses:setting", args=[job.pk]) + "?level=Roof", []
    client = client_of(designer)
    for mark in ("Q1", "Q2", "Q3"):
        other = add_mark(job, {**king_post, "mark": mark}, 3, designer)
        stands(other)
        Placement.objects.filter(truss=other).update(level="Roof")
        says(other, A="front", C="back")
        values = {"copies": [3], "turned": [3], "about_in": {"3": 120.0}}
        MarkEvent.objects.create(truss=other, by=designer, code=MarkEvent.Code.TURNED, values=values)
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            assert client.get(address).status_code == 200
        asked.append(len(queries))
    assert asked[1] == asked[2]
