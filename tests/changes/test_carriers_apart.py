"""Some copies of a mark that carries others are changed: each takes along what stands on it, as the plan has it.

K5 (four copies, along y) stands with its bearing C on G1 (two copies, 30 ft along x), two on each at 2 1/2 and
4 1/2 ft:
G1's copy 1 at y = 240 carries K5's copies 1 and 2, copy 2 at y = 540 carries 3 and 4.
"""

from __future__ import annotations

from typing import Any

import pytest

from changes import workflow
from changes.carriers import moved_below
from changes.models import Option
from changes.pages import story
from changes.pages.sections import sections
from changes.workflow.starting import start_revision
from tests.changes.asking import approve, compute
from tests.refused import refused
from tests.trusses.standing import girder_document, loaded, place
from trusses.bearings import links, standing
from trusses.models import BearingLink, Copy, Truss
from trusses.revisions import add_mark


@pytest.fixture
def g1(job, designer):
    truss = add_mark(job, girder_document("G1"), 2, designer)
    place(truss, 0, 240, "x", 300, 2)
    _take_places(truss)
    return truss


@pytest.fixture
def k5(job, designer, king_post, g1):
    truss = add_mark(job, {**king_post, "mark": "K5"}, 4, designer)
    place(truss, 30, 0, "y", 24, 2)
    place(truss, 30, 300, "y", 24, 2)
    _take_places(truss)
    links.set_link(designer, truss, "C", carrier=g1)
    loaded(g1, designer)
    return truss


def _take_places(truss: Truss) -> None:
    free = list(truss.copies.order_by("number"))
    for row in truss.placements.order_by("pk"):
        mine, free = free[: row.count], free[row.count :]
        Copy.objects.filter(pk__in=[copy.pk for copy in mine]).update(placement=row)


def revised(designer: Any, truss: Truss, copies: list[int], plf: float) -> workflow.Request:
    """A designer's own option for some copies of a girder: with another weight on it."""
    truss.refresh_from_db()
    document = truss.current.document
    lines = [{**load, "plf": plf} for load in document["loads"]["line"]]
    drawn = {**document, "loads": {**document["loads"], "line": lines}}
    return compute(start_revision(designer, truss, reason="A heavier ceiling", document=drawn, copies=copies))


def roofed(designer: Any, truss: Truss, copies: list[int], psf: float) -> Option:
    """The option for some copies of a mark with another roof, computed and not yet decided."""
    truss.refresh_from_db()
    document = truss.current.document
    area = [{**load, "psf": psf} if i == 0 else dict(load) for i, load in enumerate(document["loads"]["area"])]
    drawn = {**document, "loads": {"area": area}}
    return compute(start_revision(designer, truss, reason="Tiles", document=drawn, copies=copies)).options.get()


def puts(mark: str) -> float:
    """The dead load that a copy puts under its bearing C, lb."""
    return Truss.objects.get(mark=mark).current.analysis["cases"]["dead"]["reactions_lb"]["C"][1]


def why_apart(designer: Any, truss: Truss, copies: list[int]) -> dict[str, Any]:
    """Why an ask for these copies is refused."""
    with pytest.raises(workflow.Refused) as refused:
        revised(designer, truss, copies, 14)
    assert (refused.value.code, refused.value.values["standing"]) == ("carrier-apart", ["K5"])
    return refused.value.values["why"]


def numbers(mark: str) -> list[int]:
    return list(Copy.objects.filter(truss__mark=mark).order_by("number").values_list("number", flat=True))


def dead(truss: Truss) -> dict[float, float]:
    """{inches along a carrier: the dead load that its drawing has there of what it carries}."""
    found: dict[float, float] = {}
    truss.refresh_from_db()
    for load in truss.current.taken_up["loads"]:
        if load["case"] == "dead":
            found[round(load["along_in"], 1)] = found.get(round(load["along_in"], 1), 0) + load["down_lb"]
    return found


@pytest.fixture
def split(designer, g1, k5):
    """G1's copy 2 on a drawing of its own."""
    approve(designer, revised(designer, g1, [2], 14))
    return Truss.objects.get(mark="G1-b")


def test_a_copy_goes_with_what_stands_on_it(split, designer, g1, k5):
    assert (numbers("G1"), numbers("G1-b"), numbers("K5")) == ([1], [2], [1, 2, 3, 4])
    assert dead(split) == pytest.approx(dead(g1))
    assert sorted(dead(split)) == [30, 54]
    assert not standing.carried(g1).behind
    assert not standing.carried(split).behind
    assert [(load.truss.mark, load.lands_in) for load in standing.carried(split).loads] == [("K5", (30, 54))]
    foot = next(foot for foot in standing.feet(k5) if foot.joint == "C")
    assert foot.on == ("G1", "G1-b")
    assert foot.says == ("on G1 and G1-b, at 2'-6\" and 4'-6\" from the left end of the one that it stands on")
    # one fact in one row: the plan says which copy on which
    assert BearingLink.objects.filter(truss=k5).count() == 1


def test_what_changes_above_reaches_the_copies_that_carry_it_and_no_others(split, designer, g1, k5):
    """K5's copies 3 and 4, which stand on G1's copy 2, get a heavier roof: its variant's drawing takes that up."""
    before = dead(g1), g1.current_id
    document = k5.current.document
    heavy = [{**load, "psf": 14} if i == 0 else dict(load) for i, load in enumerate(document["loads"]["area"])]
    drawn = {**document, "loads": {"area": heavy}}
    change = compute(start_revision(designer, k5, reason="Tiles", document=drawn, copies=[3, 4]))
    option = change.options.get()
    assert [row.carrier.mark for row in option.consequences.all()] == ["G1-b"]
    approve(designer, change)
    g1.refresh_from_db()
    split.refresh_from_db()
    assert (dead(g1), g1.current_id) == before
    assert split.current.number == 1
    put = Truss.objects.get(mark="K5-b").current.analysis["cases"]["dead"]["reactions_lb"]["C"][1]
    assert put > before[0][30] * 1.1
    assert dead(split) == pytest.approx({30: put, 54: put}, abs=0.01)


def test_copies_that_join_a_mark_take_its_load_to_what_they_stand_on(split, designer, g1, k5):
    """K5-b stands on G1-b alone; K5's copies on G1 get its roof too, and G1 what they then put there."""
    approve(designer, roofed(designer, k5, [3, 4], 14).request)
    on_split = dead(split)
    option = roofed(designer, k5, [1, 2], 14)
    assert [row.carrier.mark for row in option.consequences.all()] == ["G1"]
    approve(designer, option.request)
    assert (numbers("K5"), numbers("K5-b")) == ([], [1, 2, 3, 4])
    assert dead(g1) == pytest.approx({30: puts("K5-b"), 54: puts("K5-b")}, abs=0.01)
    assert dead(split) == on_split
    assert not standing.carried(g1).behind
    assert not standing.carried(split).behind


def test_a_plain_change_beside_a_variant_that_stands_on_two_carriers(split, designer, g1, k5):
    """K5-b's copy 2 stands on G1 and its copies 3 and 4 on G1-b; K5's copy 1, on G1, gets another roof."""
    approve(designer, roofed(designer, k5, [2, 3, 4], 14).request)
    option = roofed(designer, k5, [1], 13)
    assert [(row.carrier.mark, row.trouble) for row in option.consequences.all()] == [("G1", None)]
    assert option.passes, option.says
    on_split = dead(split)
    approve(designer, option.request)
    assert dead(g1) == pytest.approx({30: puts("K5"), 54: puts("K5-b")}, abs=0.01)
    assert dead(split) == on_split
    assert not standing.carried(g1).behind


def test_what_an_option_rests_on_is_also_the_mark_that_its_copies_join(split, designer, g1, k5):
    """K5-b, which copies 1 and 2 would join, gets another roof; or G1-b, on which it stands, another drawing."""
    approve(designer, roofed(designer, k5, [3, 4], 13).request)
    k5_b = Truss.objects.get(mark="K5-b")
    option = roofed(designer, k5, [1, 2], 13)
    assert option.joins == [k5_b.pk]
    assert moved_below(option.request) == []
    approve(designer, revised(designer, split, [2], 16))
    assert moved_below(option.request) == ["K5"]
    with pytest.raises(workflow.Conflict):
        approve(designer, option.request)
    again = compute(workflow.compute_again(designer, option.request))
    assert moved_below(again) == []
    approve(designer, roofed(designer, k5_b, [3, 4], 13.5).request)
    assert moved_below(again) == ["K5"]
    with pytest.raises(workflow.Conflict):
        approve(designer, again)


def test_where_another_of_the_family_became_alike_since_it_is_computed_again(split, designer, g1, k5):
    """K5's copy 1 gets the roof that K5-b, which it would not have joined, was given meanwhile."""
    approve(designer, roofed(designer, k5, [3, 4], 14).request)
    k5_b = Truss.objects.get(mark="K5-b")
    option = roofed(designer, k5, [1], 13)
    assert (option.joins, moved_below(option.request)) == ([], [])
    approve(designer, roofed(designer, k5_b, [3, 4], 13).request, reason="Lighter")
    assert moved_below(option.request) == ["K5"]
    with refused(workflow.Conflict, "basis-moved"):
        approve(designer, option.request)
    again = compute(workflow.compute_again(designer, option.request))
    assert (again.options.get(stale=False).joins, moved_below(again)) == ([k5_b.pk], [])
    approve(designer, again)
    assert numbers("K5-b") == [1, 3, 4]


def test_copies_join_one_by_one_and_the_last_ends_their_mark(split, designer, g1, k5):
    approve(designer, roofed(designer, k5, [3, 4], 14).request)
    on_split = dead(split)
    option = roofed(designer, k5, [2], 14)
    assert [row.carrier.mark for row in option.consequences.all()] == ["G1"]
    approve(designer, option.request)
    assert dead(g1) == pytest.approx({30: puts("K5"), 54: puts("K5-b")}, abs=0.01)
    assert dead(split) == on_split
    # K5-b stands on both now
    option = roofed(designer, k5, [1], 14)
    assert [row.carrier.mark for row in option.consequences.all()] == ["G1"]
    approve(designer, option.request)
    assert numbers("K5") == []
    assert dead(g1) == pytest.approx({30: puts("K5-b"), 54: puts("K5-b")}, abs=0.01)
    assert dead(split) == on_split
    assert not standing.carried(g1).behind
    assert not standing.carried(split).behind


def test_copies_that_join_a_mark_that_ended_take_its_load_along(designer, g1, k5):
    light = k5.current.document["loads"]["area"][0]["psf"]
    approve(designer, roofed(designer, k5, [1, 3], 14).request)
    heavy = dead(g1)
    ended = Truss.objects.get(mark="K5-b")
    approve(designer, roofed(designer, ended, [1, 3], light).request, reason="As light as at first")
    ended.refresh_from_db()
    assert ended.withdrawn_at is not None
    option = roofed(designer, k5, [1, 3], 14)
    assert [row.carrier.mark for row in option.consequences.all()] == ["G1"]
    approve(designer, option.request)
    assert (numbers("K5"), numbers("K5-b")) == ([2, 4], [1, 3])
    assert dead(g1) == pytest.approx(heavy, abs=0.01)
    assert dead(g1)[30] == pytest.approx(puts("K5-b"), abs=0.01)
    assert not standing.carried(g1).behind


def test_of_one_that_carries_unlike_copies_nothing_goes(designer, g1, k5):
    """Three of K5 on one copy of G1 and one on the other: one drawing doesn't serve both as it is."""
    row = k5.placements.order_by("pk").last()
    row.origin_y_in, row.count = 300, 1
    row.save()
    place(k5, 100, 0, "y", 24, 1)
    _take_places(k5)
    assert why_apart(designer, g1, [2])["code"] == "lands-differently"


def test_a_copy_without_a_place_keeps_all_together(designer, g1, k5):
    Copy.objects.create(truss=k5, number=5)
    why = why_apart(designer, g1, [1])
    assert (why["code"], why["values"]["unplaced"]) == ("not-all-in-plan", "K5")


def test_a_later_approval_brings_the_copy_back(split, designer, g1, k5):
    """The variant drawn as its mark is: it ends, and K5 stands on G1 alone again."""
    approve(designer, revised(designer, split, [2], 12), reason="The ceiling is as light as at first")
    assert (numbers("G1"), numbers("G1-b")) == ([1, 2], [])
    assert [link.carrier for link in links.chain_of([k5]).links] == ["G1"]
    assert not standing.carried(g1).behind


def test_a_carrier_parts_and_what_stands_on_it_changes_in_one_decision(designer, builder, job, needed_by, g1, k5):
    """A weight on K5's copies 3 and 4, another one on G1's copy 2, which carries them: its first revision has both."""
    weight = {"what": "stone", "weight_lb": 60, "how": "set"}
    asks = [
        {"truss": k5.pk, "kind": "load", "copies": [3, 4], "load": {**weight, "at_in": 120}},
        {"truss": g1.pk, "kind": "load", "copies": [2], "load": {**weight, "at_in": 300}},
    ]
    change = compute(workflow.file(builder, job, reason="Stone", needed_by=needed_by, asks=asks))
    options = {ask.pk: ask.options.order_by("rank").first().pk for ask in change.asks.all()}
    before = dead(g1), g1.current_id
    shown, lacks = story.carriers(change, sections(change))
    assert lacks is None
    assert {row.carrier.mark for row in shown} >= {"G1-b"}
    decided = approve(designer, change, options)
    split = Truss.objects.get(mark="G1-b")
    assert (numbers("G1"), numbers("G1-b"), numbers("K5"), numbers("K5-b")) == ([1], [2], [1, 2], [3, 4])
    assert split.current.number == 0
    assert decided.issues.get(revision=split.current).because == ["K5-b"]
    assert dead(split) == pytest.approx({30: puts("K5-b"), 54: puts("K5-b")}, abs=0.01)
    assert puts("K5-b") > before[0][30] + 20
    assert [load["down_lb"] for load in split.current.document["loads"]["point"] if load.get("down_lb") == 60]
    g1.refresh_from_db()
    assert (dead(g1), g1.current_id) == before
    assert not standing.carried(split).behind
    assert not standing.carried(g1).behind


@pytest.fixture
def named(job, designer, king_post, g1):
    """K6, four copies on the first of G1 alone, its places named copy by copy."""
    Copy.objects.filter(truss=g1, number=2).delete()
    g1.placements.update(count=1)
    truss = add_mark(job, {**king_post, "mark": "K6"}, 4, designer)
    hung = [{"member": "B1", "at_in": at} for at in (30, 54, 78, 102)]
    links.set_link(designer, truss, "C", carrier=g1, hung=hung)
    loaded(g1, designer)
    return truss


def places(mark: str) -> list[float]:
    return [place["at_in"] for place in BearingLink.objects.get(truss__mark=mark).hung]


def test_named_places_go_with_the_copies_that_join_a_mark(named, designer, g1):
    approve(designer, roofed(designer, named, [2, 4], 13).request)
    assert (places("K6"), places("K6-b")) == ([30, 78], [54, 102])
    option = roofed(designer, named, [3], 13)
    assert option.passes, option.says
    approve(designer, option.request)
    assert (places("K6"), places("K6-b")) == ([30], [54, 78, 102])
    heavy = puts("K6-b")
    assert dead(g1) == pytest.approx({30: puts("K6"), 54: heavy, 78: heavy, 102: heavy}, abs=0.01)
    # and back: the last one too, after which the variant ends
    light = named.current.document["loads"]["area"][0]["psf"]
    back = roofed(designer, Truss.objects.get(mark="K6-b"), [2, 3, 4], light)
    approve(designer, back.request, reason="As light as at first")
    assert (places("K6"), numbers("K6"), numbers("K6-b")) == ([30, 54, 78, 102], [1, 2, 3, 4], [])
    assert dead(g1) == pytest.approx(dict.fromkeys((30, 54, 78, 102), puts("K6")), abs=0.01)
    assert not standing.carried(g1).behind


def test_nobody_joins_a_mark_whose_places_alone_were_named(named, designer, g1):
    """K6-b's places in plan count, K6's were named: which of them is whose isn't known."""
    approve(designer, roofed(designer, named, [2, 4], 13).request)
    BearingLink.objects.filter(truss__mark="K6-b").update(hung=[])
    option = roofed(designer, named, [3], 13)
    assert option.passes is False
    with pytest.raises(workflow.Refused):
        approve(designer, option.request)


def test_a_carrier_with_named_places_parts_and_each_has_them(designer, g1, k5):
    hung = [{"member": "B1", "at_in": 120}, {"member": "B1", "at_in": 144}]
    links.set_link(designer, k5, "C", carrier=g1, hung=hung)
    loaded(g1, designer)
    approve(designer, revised(designer, g1, [2], 14))
    split = Truss.objects.get(mark="G1-b")
    assert (numbers("G1"), numbers("G1-b")) == ([1], [2])
    for truss in (g1, split):
        assert sorted(dead(truss)) == [120, 144]
        assert not standing.carried(truss).behind
    # a heavier roof for all is taken up by both
    approve(designer, roofed(designer, k5, [1, 2, 3, 4], 13).request)
    assert dead(g1) == pytest.approx({120: puts("K5"), 144: puts("K5")}, abs=0.01)
    assert dead(split) == pytest.approx(dead(g1))
    # and it comes back
    approve(designer, revised(designer, split, [2], 12), reason="As light as at first")
    assert (numbers("G1"), numbers("G1-b")) == ([1, 2], [])
    assert not standing.carried(g1).behind


def test_a_carrier_joins_no_mark_on_which_something_else_stands(split, designer, g1, k5):
    """K5-b, heavier, stands on G1-b alone: drawn as G1 is but for that, its copy stays what it is."""
    approve(designer, roofed(designer, k5, [3, 4], 13).request)
    heavy = dead(split)
    approve(designer, revised(designer, split, [2], 12), reason="As light as at first")
    assert (numbers("G1"), numbers("G1-b")) == ([1], [2])
    assert dead(split) == heavy
