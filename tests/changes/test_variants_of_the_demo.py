"""The demo's G1 carries nine copies of R11; two of these get a heavier roof and a duct."""

from __future__ import annotations

import pytest

from changes import workflow
from project import demo
from tests.changes.asking import approve, compute
from trusses import demo_asks, demo_set
from trusses.bearings import standing
from trusses.models import Truss


@pytest.fixture
def sun_room(job, designer):
    """R11 and the girder that carries it, as the demo writes them."""
    those = [mark for mark in demo_set.marks() if mark.mark in ("R11", "G1")]
    for mark in those:
        demo._mark(job, mark, designer)
    for mark in those:
        demo._stands_on(job, mark, designer)
    return {truss.mark: truss for truss in Truss.objects.select_related("current")}


def dead_at(carrier: Truss) -> list[tuple[str, float, float]]:
    """(whose, inches along the carrier, pounds) of what stands on it by dead load, from its left."""
    loads = [one for one in carrier.current.taken_up["loads"] if one["case"] == "dead"]
    return sorted(((one["mark"], one["along_in"], one["down_lb"]) for one in loads), key=lambda one: one[1])


def test_the_girder_gets_the_variants_reactions_at_its_two_places_only(sun_room, job, builder, designer, needed_by):
    monos, girder = sun_room["R11"], sun_room["G1"]
    _, opening, heavier = demo_asks.heavier_roof()
    before = dead_at(girder)
    assert [mark for mark, _, _ in before] == ["R11"] * 9
    asks = [{"truss": monos.pk, "kind": "opening", "opening": opening, "copies": [2, 3]}]
    change = compute(workflow.file(builder, job, reason="Slate", needed_by=needed_by, asks=asks))
    (ask,) = change.asks.all()
    option = workflow.draw_option(designer, change, ask=ask, document=heavier)
    compute(change)
    approve(designer, change, {ask.pk: option.pk}, reason="A heavier roof over the two.")
    variant = Truss.objects.get(mark="R11-b")
    girder = Truss.objects.get(pk=girder.pk)
    after = dead_at(girder)
    assert [mark for mark, _, _ in after] == ["R11", "R11-b", "R11-b", *["R11"] * 6]
    assert [along for _, along, _ in after] == [along for _, along, _ in before]
    (joint,) = variant.stands_on.filter(carrier=girder).values_list("joint", flat=True)
    heavy = variant.current.analysis["cases"]["dead"]["reactions_lb"][joint][1]
    light = monos.current.analysis["cases"]["dead"]["reactions_lb"][joint][1]
    assert heavy > light
    assert [down for mark, _, down in after if mark == "R11-b"] == pytest.approx([heavy] * 2, abs=0.01)
    assert [down for mark, _, down in after if mark == "R11"] == pytest.approx([light] * 7, abs=0.01)
    # the girder stands in equilibrium under its own dead load and what is on it
    own = before_own(sun_room["G1"], before)
    reactions = sum(up for _, up in girder.current.analysis["cases"]["dead"]["reactions_lb"].values())
    assert reactions == pytest.approx(own + sum(down for _, _, down in after), rel=1e-6)
    assert standing.carried(girder).behind == ()
    assert (girder.current.number, monos.revisions.count()) == (1, 1)


def before_own(girder: Truss, carried: list[tuple[str, float, float]]) -> float:
    """The girder's own dead load, pounds: what its bearings held before, less what stood on it."""
    reactions = girder.current.analysis["cases"]["dead"]["reactions_lb"].values()
    return sum(up for _, up in reactions) - sum(down for _, _, down in carried)
