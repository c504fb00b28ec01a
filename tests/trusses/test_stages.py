"""Moving copies on: one step, once, by whom it concerns; the saw waits for what keeps it waiting."""

from __future__ import annotations

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404

from trusses import production as stages
from trusses.models import Revision, Stage
from trusses.production import furthest_behind, move, stage_counts
from trusses.revisions import Refused, issue_revision, read_and_analyse


def ids(truss):
    return list(truss.copies.values_list("pk", flat=True))


def test_a_copy_goes_all_the_way(truss, designer, site_lead):
    for person, steps in ((designer, ("released", "cut", "built")), (site_lead, ("delivered", "set"))):
        for to in steps:
            assert move(person, truss, ids(truss), to) == 3
    assert stage_counts([truss]) == {truss.pk: {"set": 3}}
    assert set(truss.copies.values_list("built_to", flat=True)) == {truss.current.pk}


def test_a_second_time_moves_nothing(truss, designer):
    assert move(designer, truss, ids(truss), "released") == 3
    assert move(designer, truss, ids(truss), "released") == 0


def test_those_that_are_further_stay(truss, designer):
    truss.copies.filter(number=1).update(stage=Stage.BUILT)
    assert move(designer, truss, ids(truss), "released") == 2
    assert stage_counts([truss])[truss.pk] == {"released": 2, "built": 1}


@pytest.mark.parametrize("to", ["set", "designing", "sold", ""])
def test_no_step_is_skipped_and_none_goes_back(truss, designer, site_lead, to):
    with pytest.raises(Refused):
        move(site_lead if to == "set" else designer, truss, ids(truss), to)
    assert stage_counts([truss])[truss.pk] == {"designing": 3}


@pytest.mark.parametrize(
    ("to", "who"),
    [
        ("released", "site lead"),
        ("cut", "builder"),
        ("delivered", "designer"),
        ("set", "builder"),
        ("released", "outsider"),
    ],
)
def test_by_somebody_else_it_is_refused(cast, truss, to, who):
    with pytest.raises(PermissionDenied):
        move(cast[who], truss, ids(truss), to)


def test_a_copy_of_another_mark_does_not_exist_here(truss, other_job, designer):
    with pytest.raises(Http404):
        move(designer, truss, [*ids(truss), other_job.copies.get().pk], "released")
    assert stage_counts([truss])[truss.pk] == {"designing": 3}


def test_what_was_found_is_kept_for_the_copies_that_move(truss, site_lead):
    truss.copies.update(stage=Stage.BUILT)
    truss.copies.filter(number=3).update(stage=Stage.DELIVERED, found_at_delivery="a knot")
    move(site_lead, truss, ids(truss), "delivered", found="wet")
    assert list(truss.copies.values_list("found_at_delivery", flat=True)) == ["wet", "wet", "a knot"]


class TestTheSaw:
    @pytest.fixture
    def released(self, truss):
        truss.copies.update(stage=Stage.RELEASED)
        return truss

    def test_waits_for_what_keeps_it_waiting(self, released, designer, monkeypatch):
        asked = []
        monkeypatch.setattr(stages, "before_cut", [lambda copies: asked.append(len(copies)), lambda copies: "Not yet."])
        with pytest.raises(Refused, match="Not yet"):
            move(designer, released, ids(released), "cut")
        assert asked == [3]
        assert stage_counts([released])[released.pk] == {"released": 3}

    def test_moves_nothing_that_another_hand_has_moved_meanwhile(self, released, designer, monkeypatch):
        """Somebody else ticks copy 1 between the look at the copies and the write."""
        first = released.copies.filter(number=1)
        monkeypatch.setattr(stages, "before_cut", [lambda copies: first.update(stage=Stage.BUILT) and None])
        assert move(designer, released, ids(released), "cut") == 2
        assert first.get().stage == Stage.BUILT

    def test_is_not_asked_of_any_other_step(self, truss, designer, monkeypatch):
        monkeypatch.setattr(stages, "before_cut", [lambda copies: "Not yet."])
        assert move(designer, truss, ids(truss), "released") == 3

    def test_cuts_to_the_revision_that_was_seen(self, released, designer):
        seen: Revision = released.current
        document, analysis = read_and_analyse({**seen.document, "title": "Better"})
        issue_revision(released, seen, document, analysis, designer)
        with pytest.raises(Refused, match="K1 has a newer revision"):
            move(designer, released, ids(released), "cut", seen=seen)
        assert move(designer, released, ids(released), "cut", seen=released.current) == 3

    def test_waits_for_a_hold_of_a_request(self, released, designer, builder, job):
        """Through what the change's app hands over when it starts."""
        from changes.models import Hold, Request

        change = Request.objects.create(job=job, filed_by=builder, reason="A duct", needed_by=job.today())
        hold = Hold.objects.create(request=change, truss=released, asked_by=builder)
        hold.copies.set(released.copies.filter(number=2))
        for standing, says in (("asked", "acknowledge or refuse it first"), ("acknowledged", "the saw waits")):
            Hold.objects.update(standing=standing)
            with pytest.raises(Refused, match=says):
                move(designer, released, ids(released), "cut")
        assert move(designer, released, list(released.copies.filter(number=1).values_list("pk", flat=True)), "cut") == 1
        Hold.objects.update(standing="refused")
        assert move(designer, released, ids(released), "cut") == 2


@pytest.mark.parametrize(
    ("counts", "behind"),
    [({}, "designing"), ({"set": 4}, "set"), ({"set": 4, "cut": 1}, "cut"), ({"built": 1, "released": 9}, "released")],
)
def test_a_mark_stands_where_its_last_copy_stands(counts, behind):
    assert furthest_behind(counts) == behind
