"""Approving for some copies splits a variant off; alike ones join it; a later approval brings them back."""

from __future__ import annotations

from typing import Any

import pytest

from changes import workflow
from changes.models import Issue, Option, Request
from tests.changes.asking import FITS, HITS_WEB, approve, compute, nothing_is_decided
from tests.refused import refused
from tests.trusses.standing import girder, loaded, stand
from trusses.bearings import links, standing
from trusses.copies import undoing
from trusses.models import Copy, MarkEvent, Placement, Stage, Truss
from trusses.production import move
from trusses.refusals import Refused as SetRefused
from trusses.revisions import add_mark, settle_copies


@pytest.fixture
def placed(truss) -> Truss:
    """K1 with its three copies in a row, 24 in. apart."""
    row = Placement.objects.create(truss=truss, origin_x_in=10, origin_y_in=100, spacing_in=24, count=3)
    truss.copies.update(placement=row)
    return truss


@pytest.fixture
def asked(job, builder, needed_by):
    """A request for openings, each (copies, opening) in a mark, computed."""

    def make(truss: Truss, *asks: tuple[list[int] | None, dict[str, Any]], reason: str = "Duct") -> Request:
        sent = [
            {"truss": truss.pk, "kind": "opening", "opening": opening, **({} if copies is None else {"copies": copies})}
            for copies, opening in asks
        ]
        return compute(workflow.file(builder, job, reason=reason, needed_by=needed_by, asks=sent))

    return make


def numbers(mark: str) -> list[int]:
    return list(Copy.objects.filter(truss__mark=mark).order_by("number").values_list("number", flat=True))


def stands(mark: str) -> list[tuple[Any, ...]]:
    rows = Placement.objects.filter(truss__mark=mark).order_by("origin_y_in")
    return list(rows.values_list("origin_x_in", "origin_y_in", "count", "turned"))


def told(change: Request, verb: str) -> dict[str, Any]:
    return change.events.get(verb=verb).values


def test_approving_for_one_copy_splits_a_variant_off(asked, designer, placed):
    change = asked(placed, ([2], HITS_WEB))
    assert (change.asks.get().copies, change.holds.get().copies.get().number) == ([2], 2)
    decision = approve(designer, change)
    placed.refresh_from_db()
    variant = Truss.objects.get(mark="K1-b")
    assert (placed.current.number, placed.revisions.count()) == (0, 1)
    assert (numbers("K1"), numbers("K1-b")) == ([1, 3], [2])
    assert (variant.variant_of, variant.current.number, variant.current.comes_from) == (placed, 0, placed.current)
    document = variant.current.document
    assert (document["mark"], [each["id"] for each in document["openings"]]) == ("K1-b", ["O1"])
    assert (variant.kinds, variant.can_change_until) == (placed.kinds, placed.can_change_until)
    assert (stands("K1"), stands("K1-b")) == ([(10, 100, 1, False), (10, 148, 1, False)], [(10, 124, 1, False)])
    assert decision.issues.get().revision == variant.current
    expected = {"mark": "K1", "variant": "K1-b", "copies": [2], "stays": [1, 3], "turned": []}
    assert told(change, "split") == expected
    left, came = MarkEvent.objects.order_by("id")
    assert (left.truss, left.code, left.values) == (placed, "copies left", {"copies": [2], "turned": [], "to": "K1-b"})
    assert (came.truss, came.code, came.values["from"]) == (variant, "copies came", "K1")


def test_all_copies_are_an_ordinary_revision(asked, designer, placed):
    approve(designer, asked(placed, ([1, 2, 3], HITS_WEB)))
    placed.refresh_from_db()
    assert (placed.current.number, Truss.objects.count(), numbers("K1")) == (1, 1, [1, 2, 3])


def test_copies_left_out_are_those_that_can_still_change(asked, designer, placed):
    """What is cut stays with the mark and its revision; the others become the variant."""
    placed.copies.filter(number=1).update(stage=Stage.CUT, built_to=placed.current)
    change = asked(placed, (None, HITS_WEB))
    assert change.asks.get().copies == [2, 3]
    approve(designer, change)
    placed.refresh_from_db()
    assert (numbers("K1"), numbers("K1-b"), placed.current.number) == ([1], [2, 3], 0)


def test_copies_that_are_cut_are_refused_by_name(asked, placed):
    placed.copies.filter(number__in=(1, 3)).update(stage=Stage.BUILT, built_to=placed.current)
    with refused(workflow.Refused, "copies-cut", "asks[0] (K1)", copies=[1, 3]):
        asked(placed, ([1, 2, 3], HITS_WEB))


@pytest.mark.parametrize(
    ("copies", "code"),
    [
        ([], "copies-no-list"),
        (2, "copies-no-list"),
        ("2", "copies-no-list"),
        ([4], "no-such-copy"),
        ([True], "no-such-copy"),
    ],
)
def test_copies_that_are_none_are_refused(copies, code, asked, placed):
    with refused(workflow.Refused, code, "asks[0].copies"):
        asked(placed, (copies, HITS_WEB))


def test_overlapping_copies_are_asked_for_in_atoms(asked, designer, placed):
    """Copies 1 and 2 get one opening, 2 and 3 another: copy 2 gets both, and each group has its own options."""
    other = {**HITS_WEB, "centre_in": [120, 33]}
    change = asked(placed, ([1, 2], FITS), ([2, 3], other))
    groups = {}
    for ask in change.asks.all():
        groups.setdefault(tuple(ask.copies), []).append(ask.opening["id"])
    assert groups == {(1,): ["O1"], (2,): ["O1", "O2"], (3,): ["O2"]}
    for option in Option.objects.filter(stale=False):
        assert {tuple(ask.copies) for ask in option.asks.all()} == {tuple(option.copies)}
    approve(designer, change)
    held = {t.mark: sorted(o["id"] for o in t.current.document["openings"]) for t in Truss.objects.order_by("mark")}
    assert held == {"K1": ["O1"], "K1-b": ["O1", "O2"], "K1-c": ["O2"]}
    assert (numbers("K1"), numbers("K1-b"), numbers("K1-c")) == ([1], [2], [3])


def test_what_becomes_like_a_variant_joins_it(asked, designer, placed):
    approve(designer, asked(placed, ([1], FITS)))
    near = {**FITS, "centre_in": [FITS["centre_in"][0] + 0.375, FITS["centre_in"][1]]}
    change = asked(placed, ([2], near))
    approve(designer, change)
    assert (numbers("K1"), numbers("K1-b"), Truss.objects.count()) == ([3], [1, 2], 2)
    assert stands("K1-b") == [(10, 100, 2, False)]
    assert told(change, "join")["variant"] == "K1-b"
    assert Issue.objects.count() == 1, "the variant's own drawing counts"


def test_what_is_more_than_half_an_inch_away_is_another(asked, designer, placed):
    approve(designer, asked(placed, ([1], FITS)))
    approve(designer, asked(placed, ([2], {**FITS, "centre_in": [FITS["centre_in"][0] + 0.625, 20]})))
    assert sorted(Truss.objects.values_list("mark", flat=True)) == ["K1", "K1-b", "K1-c"]


def test_a_mirror_image_is_the_same_turned_end_for_end(asked, designer, placed):
    """K1 is 240 in. between bearings: what is 100 in. from one end of it is 140 in. from the other's."""
    approve(designer, asked(placed, ([1], FITS)))
    change = asked(placed, ([2], {**FITS, "centre_in": [140, 20]}))
    approve(designer, change)
    assert numbers("K1-b") == [1, 2]
    assert told(change, "join")["turned"] == [2]
    assert stands("K1-b") == [(10, 100, 1, False), (10, 124, 1, True)]


@pytest.fixture
def back(asked, designer):
    """A designer draws the opening out of copies of the variant again, and approves it."""

    def make(copies: list[int]) -> Request:
        variant = Truss.objects.get(mark="K1-b")
        document = {k: v for k, v in variant.current.document.items() if k != "openings"}
        change = workflow.start_revision(designer, variant, reason="The duct went elsewhere.", document=document)
        change = compute(change)
        approve(designer, change)
        return change

    return make


def test_a_later_approval_undoes_it_and_the_variant_ends(asked, designer, placed, back):
    approve(designer, asked(placed, ([2, 3], FITS)))
    change = back([2, 3])
    variant = Truss.objects.get(mark="K1-b")
    assert (numbers("K1"), numbers("K1-b")) == ([1, 2, 3], [])
    assert variant.withdrawn_at is not None
    assert stands("K1") == [(10, 100, 3, False)]
    assert variant.events.last().code == "ended"
    assert told(change, "join")["stays"] == []
    approve(designer, asked(placed, ([3], FITS)))
    variant.refresh_from_db()
    assert (numbers("K1-b"), variant.withdrawn_at) == ([3], None), "its design comes back under its name"


def test_stages_go_with_the_copies(asked, designer, placed, client_of):
    placed.copies.filter(number=2).update(stage=Stage.RELEASED, released_to=placed.current)
    approve(designer, asked(placed, ([2], HITS_WEB)))
    copy = Copy.objects.get(truss__mark="K1-b")
    assert (copy.stage, copy.released_to) == ("released", placed.current)
    at = f"/jobs/{placed.job_id}/trusses/{copy.truss_id}/"
    pages = {name: client_of(designer).get(at + name).content.decode() for name in ("revisions/0/", "", "labels/")}
    assert "2 released to K1 revision 0, not yet to this" in pages["revisions/0/"]
    assert "Copy 2 is not released to K1-b revision 0." in pages[""]
    assert "Released to K1 revision 0, <strong>which is superseded" in pages["labels/"]
    assert "released to K1 revision 0" in client_of(designer).get(f"/jobs/{placed.job_id}/plan/").content.decode()
    with pytest.raises(workflow.Refused, match="released to revision 0 of K1, and revision 0 is current"):
        move(designer, copy.truss, [copy.pk], "cut")
    move(designer, copy.truss, [copy.pk], "released", seen=copy.truss.current)
    assert move(designer, copy.truss, [copy.pk], "cut") == 1


def test_a_copy_made_later_gets_a_number_that_no_variant_has(asked, designer, placed):
    approve(designer, asked(placed, ([3], HITS_WEB)))
    Placement.objects.create(truss=placed, origin_x_in=10, origin_y_in=400, spacing_in=24, count=1)
    settle_copies(placed, designer)
    assert numbers("K1") == [1, 2, 4]


def test_what_another_request_asks_of_them_goes_with_them(asked, designer, placed):
    other = asked(placed, ([2, 3], FITS), reason="Another duct")
    hold = other.holds.get()
    approve(designer, asked(placed, ([2], HITS_WEB)))
    variant = Truss.objects.get(mark="K1-b")
    asks = {ask.truss.mark: ask.copies for ask in other.asks.filter(replaced=False)}
    assert asks == {"K1": [3], "K1-b": [2]}
    held = {h.truss.mark: [c.number for c in h.copies.all()] for h in other.holds.exclude(standing="released")}
    assert held == {"K1": [3], "K1-b": [2]}
    assert hold.truss == placed
    assert [ask.truss for ask in other.overtaken] == [variant]
    old = Option.objects.get(request=other)
    with refused(workflow.Refused, "option-of-another-ask"):
        approve(designer, other, dict.fromkeys(other.asks.filter(replaced=False).values_list("pk", flat=True), old.pk))
    other = compute(workflow.compute_again(designer, other))
    approve(designer, other)
    assert (numbers("K1"), numbers("K1-b"), numbers("K1-c")) == ([1], [2], [3])
    assert {one["id"] for one in Truss.objects.get(mark="K1-b").current.document["openings"]} == {"O1", "O2"}


def test_requests_on_other_copies_don_t_overtake_each_other(asked, designer, placed):
    first, second = asked(placed, ([1], HITS_WEB)), asked(placed, ([3], {**HITS_WEB, "centre_in": [120, 33]}))
    approve(designer, first)
    assert not second.overtaken
    approve(designer, second)
    assert (numbers("K1"), numbers("K1-b"), numbers("K1-c")) == ([2], [1], [3])


def test_a_copy_cut_meanwhile_is_a_conflict_and_then_left_out(asked, designer, placed):
    change = asked(placed, ([1, 2], HITS_WEB))
    placed.copies.filter(number=1).update(stage=Stage.CUT, built_to=placed.current)
    with refused(workflow.Conflict, "copies-cut-since", copies=[1]):
        approve(designer, change)
    assert nothing_is_decided(change)
    change = compute(workflow.compute_again(designer, change))
    approve(designer, change)
    assert (numbers("K1"), numbers("K1-b")) == ([1, 3], [2])


def test_the_next_name_that_is_free(asked, designer, placed, job, king_post):
    add_mark(job, {**king_post, "mark": "K1-b"}, 1, designer)
    approve(designer, asked(placed, ([2], HITS_WEB)))
    assert numbers("K1-c") == [2]


class TestCarried:
    """K5 (two copies) stands with its bearing C on G1 at the thirds of its 30 ft."""

    @pytest.fixture
    def g1(self, job, designer):
        return girder(job, designer)

    @pytest.fixture
    def k5(self, job, designer, king_post, g1):
        truss = stand(job, designer, king_post, "K5", g1)
        loaded(g1, designer)
        return truss

    @pytest.fixture
    def heavier(self, asked, designer, k5):
        """A designer's option for copy 2 with a heavier roof on it."""
        change = asked(k5, ([2], FITS))
        ask = change.asks.get()
        document = {**k5.current.document, "openings": [FITS]}
        document["loads"] = {"area": [dict(load) for load in document["loads"]["area"]]}
        document["loads"]["area"][0]["psf"] = 14
        option = workflow.draw_option(designer, change, ask=ask, document=document)
        return compute(change), {ask.pk: option.pk}

    def test_the_carrier_gets_the_variants_reactions_at_its_places_only(self, heavier, designer, k5, g1):
        """The dead load of K5 on its bearing C at 10 psf, and that of the variant at 14 psf, each once."""
        change, chosen = heavier
        before = at_places(g1)
        approve(designer, change, chosen)
        variant = Truss.objects.get(mark="K5-b")
        g1.refresh_from_db()
        assert g1.current.number == 2, "loaded once before"
        dead = {
            mark: t.current.analysis["cases"]["dead"]["reactions_lb"]["C"][1]
            for mark, t in (("K5", k5), ("K5-b", variant))
        }
        assert dead["K5-b"] > dead["K5"] * 1.1
        after = at_places(g1)
        assert sorted(after) == sorted(before)
        first, second = sorted(after)
        assert after[first] == pytest.approx(dead["K5"], abs=0.01)
        assert after[second] == pytest.approx(dead["K5-b"], abs=0.01)
        assert not standing.carried(g1).behind
        assert links.chain_of([variant]).links[0].carrier == "G1"

    def test_a_variant_that_presses_alike_leaves_the_carrier_as_it_is(self, asked, designer, k5, g1):
        change = asked(k5, ([2], FITS))
        approve(designer, change)
        before = g1.current
        g1.refresh_from_db()
        assert (g1.current, standing.carried(g1).behind) == (before, ())
        assert numbers("K5-b") == [2]

    def test_some_copies_of_a_carrier_can_t_go_from_the_others(self, asked, g1, k5):
        Copy.objects.create(truss=g1, number=2)
        with refused(workflow.Refused, "carrier-apart", "asks[0].copies", standing=["K5"]):
            asked(g1, ([1], FITS))


def at_places(carrier: Truss) -> dict[float, float]:
    """{inches along the carrier: the dead load that stands there}."""
    found: dict[float, float] = {}
    for load in carrier.current.taken_up["loads"]:
        if load["case"] == "dead":
            found[round(load["along_in"], 1)] = found.get(round(load["along_in"], 1), 0) + load["down_lb"]
    return found


def test_a_cut_that_a_variant_was_decided_on_is_not_taken_back(asked, placed, designer):
    first = [placed.copies.get(number=1).pk]
    move(designer, placed, first, "released")
    move(designer, placed, first, "cut")
    approve(designer, asked(placed, ([2], HITS_WEB)))
    with refused(SetRefused, "undo-left", copies=[2], of="K1-b"):
        undoing.take_back(designer, placed, placed.events.filter(values__to="cut").last())
