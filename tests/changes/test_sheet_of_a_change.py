"""What a sheet tells of the change that its revision was issued for: a weight, a bearing that moved."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.urls import reverse

from changes import workflow
from changes.models import Issue
from tests.changes.asking import LOAD, answer_of, approve, compute, first_options
from trusses.models import BearingLink, WallLine
from trusses.sheets.weights import issued


@pytest.fixture
def sheet_of(client_of, site_lead):
    """The first part of the sheet of what a request issued, in words, and its drawings."""

    def read(change):
        revision = Issue.objects.get(decision__request=change).revision
        at = reverse("trusses:sheet", args=[change.job_id, revision.truss_id, revision.number])
        page = client_of(site_lead).get(at).content.decode()
        first = page[page.index('<div class="first">') : page.index('class="appendix"')]
        return " ".join(unescape(re.sub(r"<[^>]+>", " ", first)).split()), page

    return read


def test_a_weight_is_told_on_the_first_part_and_drawn_as_it_was_asked(ask, designer, sheet_of):
    change = ask("load", {**LOAD, "weight_lb": 90, "shared": "stiff"}, copies=[1, 2, 3])
    answer_of(change)
    approve(designer, change)
    first, page = sheet_of(change)
    says = (
        "New: 90 lb air handler, hung 10'-0\" from the left bearing, shared by copies 1–3 by a stiff cross-beam, 30 lb"
        " each."
    )
    assert says in first
    assert first.index("Changed since") < first.index(says) < first.index("Check with a tape")
    assert "see the list" not in first
    assert "Load new" not in first, "it is told once"
    assert "stiff cross-beam" in page[page.index('id="elevation"') :]
    assert "Dead: 30 lb down on the bottom chord" in unescape(page)


def test_a_weight_that_nothing_is_said_to_share_is_one_in_all(ask, designer, sheet_of):
    change = ask("load", {**LOAD, "weight_lb": 60, "shared": "one"}, copies=[1, 2, 3])
    answer_of(change)
    approve(designer, change)
    first, _ = sheet_of(change)
    assert (
        "New: 60 lb air handler, hung 10'-0\" from the left bearing, one in all over copies 1–3: each is designed to"
        " carry all of it."
    ) in first


def test_copies_whose_designs_became_one_are_told_each_with_its_weight(
    truss, job, builder, designer, needed_by, sheet_of
):
    """Copy 3 asks for its own at the mirrored place and is turned for the same design: by the drawing of the sheet both
    hang 5 ft from the left bearing."""
    asks = [
        {"truss": truss.pk, "kind": "load", "load": {**LOAD, "weight_lb": 60, "at_in": at}, "copies": copies}
        for at, copies in ((60, [1, 2]), (180, [3]))
    ]
    change = compute(workflow.file(builder, job, reason="Two heaters", needed_by=needed_by, asks=asks))
    approve(designer, change)
    revision = Issue.objects.get(decision__request=change).revision
    first, _ = sheet_of(change)
    one = "60 lb air handler, hung 5'-0\" from the left bearing"
    assert f"{one}, one in all over copies 1–2" in first
    assert f"{one}, on copy 3" in first
    assert [(told.weight.at_in, told.drawn) for told in issued(revision)] == [(60, True), (60, False)]


def test_a_moved_bearing_is_the_headline_with_what_it_carries(ask, row, designer, sheet_of):
    BearingLink.objects.filter(truss=row).delete()
    WallLine.objects.create(job=row.job, label="Kitchen wall", level="Roof", points=[[228, -20], [228, 200]])
    change = ask("bearing", {"change": "moved", "joint": "C", "to_in": 228})
    answer_of(change)
    approve(designer, change)
    first, page = sheet_of(change)
    changed = first[first.index("Changed since") :]
    assert re.match(
        r"Changed since revision 0: A bearing moved 12\" to the left: it was 20'-0\", and is 19'-0\", from the left"
        r" bearing \(by the plan Kitchen wall; nobody said what it stands on\)\. What is below it carries [\d,]+ lb"
        r" down at most, [\d,]+ lb before\.",
        changed,
    ), changed[:400]
    assert "by the plan Kitchen wall" in page[page.index('id="supports"') :]


def test_a_run_is_told_with_its_height_above_the_floor_that_a_tape_stands_on(file_run, designer, client_of, site_lead):
    """From the plate as it was asked, and from the floor below, whose sheathing nobody knows; falling, copy by copy."""
    change = compute(file_run(slope_in_per_ft=0.25))
    workflow.decide(designer, change, verdict="approve", options=first_options(change))
    revision = Issue.objects.filter(decision__request=change, revision__truss__mark__startswith="K1").first().revision
    page = client_of(site_lead).get(reverse("trusses:sheet", args=[change.job_id, revision.truss_id, revision.number]))
    says = " ".join(unescape(re.sub(r"<[^>]+>", " ", page.content.decode())).split())
    floor = "(bearing at 8'-1 1/8\" above the bare floor, its sheathing not counted; assumed)"
    assert f"8 in. duct, request {change.pk}: its middle is 1'-9 1/4\" above the top of the wall plate," in says
    assert f"9'-10 3/8\" above the floor of the storey below {floor} in copy 3; 1'-9 3/4\" above" in says
    assert 'in copy 1. It falls 1/4" a foot.' in says
