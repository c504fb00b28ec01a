"""Moving copies on: one step, once, by whom it concerns; the saw waits for what keeps it waiting."""

from __future__ import annotations

import html

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404

from tests.refused import refused
from trusses import production as stages
from trusses.analysis.checks.stack import SERVICEABILITY
from trusses.models import Revision, Stage
from trusses.production import KeptOff, furthest_behind, move, stage_counts
from trusses.refusals import Refused
from trusses.revisions import add_mark, issue_revision, read_and_analyse


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


def not_yet(copies):
    return [KeptOff(copies, Refused("no-copy", "copies"))]


class TestTheSaw:
    @pytest.fixture
    def released(self, truss):
        truss.copies.update(stage=Stage.RELEASED, released_to=truss.current)
        return truss

    def test_waits_for_what_keeps_it_waiting(self, released, designer, monkeypatch):
        asked = []
        monkeypatch.setattr(stages, "before_cut", [lambda copies: asked.append(len(copies)) or (), not_yet])
        with refused(Refused, "no-copy"):
            move(designer, released, ids(released), "cut")
        assert asked == [3]
        assert stage_counts([released])[released.pk] == {"released": 3}

    def test_moves_nothing_that_another_hand_has_moved_meanwhile(self, released, designer, monkeypatch):
        """Somebody else ticks copy 1 between the look at the copies and the write."""
        first = released.copies.filter(number=1)
        monkeypatch.setattr(stages, "before_cut", [lambda copies: first.update(stage=Stage.BUILT) and ()])
        assert move(designer, released, ids(released), "cut") == 2
        assert first.get().stage == Stage.BUILT

    def test_is_not_asked_of_any_other_step(self, truss, designer, monkeypatch):
        monkeypatch.setattr(stages, "before_cut", [not_yet])
        assert move(designer, truss, ids(truss), "released") == 3

    def test_cuts_to_the_revision_that_was_seen(self, released, designer):
        seen: Revision = released.current
        document, analysis = read_and_analyse({**seen.document, "title": "Better"})
        issue_revision(released, seen, document, analysis, designer)
        with refused(Refused, "newer-revision"):
            move(designer, released, ids(released), "cut", seen=seen)
        assert move(designer, released, ids(released), "released", seen=released.current) == 3
        assert move(designer, released, ids(released), "cut", seen=released.current) == 3

    def test_waits_for_a_hold_of_a_request(self, released, designer, builder, job):
        """Through what the change's app hands over when it starts."""
        from changes.models import Hold, Request

        change = Request.objects.create(job=job, filed_by=builder, reason="A duct", needed_by=job.today())
        hold = Hold.objects.create(request=change, truss=released, asked_by=builder)
        hold.copies.set(released.copies.filter(number=2))
        for standing, says in (("asked", "acknowledge or refuse it first"), ("acknowledged", "held for request")):
            Hold.objects.update(standing=standing)
            with pytest.raises(Refused, match=says):
                move(designer, released, ids(released), "cut")
        assert move(designer, released, list(released.copies.filter(number=1).values_list("pk", flat=True)), "cut") == 1
        Hold.objects.update(standing="refused")
        assert move(designer, released, ids(released), "cut") == 2


def revise(truss, designer, **changes):
    document, analysis = read_and_analyse({**truss.current.document, **changes})
    return issue_revision(truss, truss.current, document, analysis, designer)


class TestReleasedToARevision:
    """A new revision reaches no saw before somebody has released it."""

    @pytest.fixture
    def revised(self, truss, designer):
        move(designer, truss, ids(truss)[:2], "released")
        revise(truss, designer, title="Better")
        return truss

    def test_the_saw_waits_for_the_new_release(self, revised, designer):
        says = "Copies 1, 2 of K1 are released to revision 0, and revision 1 is current: release revision 1 first"
        with pytest.raises(Refused, match=says):
            move(designer, revised, ids(revised)[:2], "cut", seen=revised.current)
        assert stage_counts([revised])[revised.pk] == {"designing": 1, "released": 2}
        assert set(revised.copies.values_list("built_to", flat=True)) == {None}

    def test_releasing_it_is_an_act_of_its_own_that_names_it(self, revised, designer):
        two = ids(revised)[:2]
        assert move(designer, revised, two, "released") == 0, "a repeat of the old release releases nothing anew"
        assert set(revised.copies.filter(pk__in=two).values_list("released_to__number", flat=True)) == {0}
        assert move(designer, revised, two, "released", seen=revised.current) == 2
        assert move(designer, revised, two, "released", seen=revised.current) == 0
        assert move(designer, revised, two, "cut", seen=revised.current) == 2
        assert set(revised.copies.filter(pk__in=two).values_list("built_to__number", flat=True)) == {1}

    def test_the_page_offers_the_release_and_not_the_saw(self, revised, designer, client_of):
        page = client_of(designer).get(f"/jobs/{revised.job_id}/trusses/{revised.pk}/").content.decode()
        assert "Copies 1–2 are not released to K1 revision 1." in page
        assert "Release the chosen ones to revision 1</button>" in page
        assert "Record: the chosen ones are cut" not in page
        body = {"to": "released", "all": "released", "seen": revised.current.pk}
        where = f"/jobs/{revised.job_id}/trusses/{revised.pk}/copies/"
        sure = client_of(designer).post(where, body).content.decode()
        assert "Release all 2 copies of K1 to revision 1?" in sure
        chosen = {"to": "released", "copy": ids(revised)[:2], "seen": revised.current.pk, "sure": "yes"}
        client_of(designer).post(where, chosen)
        page = client_of(designer).get(f"/jobs/{revised.job_id}/trusses/{revised.pk}/").content.decode()
        assert "Record: the chosen ones are cut" in page

    def test_a_program_names_the_revision(self, revised, designer, api_of):
        where, body = f"/api/v1/trusses/{revised.pk}/copies/", {"copies": [1, 2], "to": "cut"}
        answer = api_of(designer).post(where, body, format="json")
        assert (answer.status_code, "release revision 1 first" in str(answer.json())) == (400, True)
        for number, status in ((0, 400), (7, 404), (1, 200)):
            answer = api_of(designer).post(where, body | {"to": "released", "revision": number}, format="json")
            assert answer.status_code == status, number
        assert api_of(designer).post(where, body | {"revision": 1}, format="json").json()["copies"]["cut"] == 2


class TestWhatFails:
    """A check of strength, stability or bearing that fails keeps every copy from release, saw and press."""

    @pytest.fixture
    def weak(self, job, designer, king_post):
        for load in king_post["loads"]["area"]:
            load["psf"] *= 3 if load["case"] == "snow" else 1
        return add_mark(job, {**king_post, "mark": "K9"}, 2, designer)

    @pytest.mark.parametrize(("at", "to"), [("designing", "released"), ("released", "cut"), ("cut", "built")])
    def test_goes_nowhere(self, at, to, weak, designer):
        built_to = weak.current if at == "cut" else None
        weak.copies.update(stage=at, released_to=weak.current, built_to=built_to)
        worst = max(check["ratio"] for check in weak.current.analysis["checks"])
        with pytest.raises(
            Refused, match=f"K9 can't be {to}: in revision 0 .* stands at {worst:.0%} .*nobody can accept"
        ):
            move(designer, weak, ids(weak), to)
        assert stage_counts([weak])[weak.pk] == {at: 2}

    def test_the_page_offers_no_way(self, weak, designer, client_of):
        page = html.unescape(client_of(designer).get(f"/jobs/{weak.job_id}/trusses/{weak.pk}/").content.decode())
        assert "it can't be released" in page
        assert "are released</button>" not in page

    def test_a_deflection_alone_does_not_keep_it(self, truss, designer):
        """Its designer may accept that; here one check of deflection is told to fail."""
        analysis = dict(truss.current.analysis)
        analysis["checks"] = [{**c, "passes": c["of"] != "truss"} for c in analysis["checks"]]
        assert {c["rule"] for c in analysis["checks"] if not c["passes"]} <= SERVICEABILITY
        assert stages.never(Revision(analysis=analysis)) is None


class TestTheRecord:
    def test_says_who_moved_which_copies_where_and_when(self, truss, designer, site_lead):
        move(designer, truss, ids(truss), "released")
        move(designer, truss, ids(truss)[:2], "cut")
        truss.copies.filter(number=1).update(stage="built")
        move(site_lead, truss, ids(truss)[:1], "delivered", found="wet")
        move(site_lead, truss, ids(truss)[:1], "delivered", found="wet")
        told = [(e.by, e.code, e.values) for e in truss.events.all()]
        assert told == [
            (
                designer,
                "moved",
                {"from": "designing", "to": "released", "copies": [1, 2, 3], "revision": 0, "found": ""},
            ),
            (
                designer,
                "moved",
                {"from": "released", "to": "cut", "copies": [1, 2], "revision": 0, "found": "", "unsealed": [1, 2]},
            ),
            (site_lead, "moved", {"from": "built", "to": "delivered", "copies": [1], "revision": 0, "found": "wet"}),
        ]

    def test_never_changes(self, truss, designer):
        move(designer, truss, ids(truss), "released")
        with pytest.raises(ValidationError):
            truss.events.update(code="withdrawn")
        with pytest.raises(ValidationError):
            truss.events.all().delete()

    def test_stands_on_the_page_and_is_given_to_programs(self, truss, designer, site_lead, client_of, api_of):
        move(designer, truss, ids(truss)[:2], "released")
        page = client_of(site_lead).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/").content.decode()
        assert "Copies 1–2: designing → released, to revision 0" in page
        told = api_of(site_lead).get(f"/api/v1/trusses/{truss.pk}/events/").json()["results"]
        assert [(e["by"], e["code"], e["values"]["copies"]) for e in told] == [("designer", "moved", [1, 2])]

    def test_belongs_to_the_members_of_the_job(self, truss, outsider, api_of):
        assert api_of(outsider).get(f"/api/v1/trusses/{truss.pk}/events/").status_code == 404


@pytest.mark.parametrize(
    ("counts", "behind"),
    [({}, "designing"), ({"set": 4}, "set"), ({"set": 4, "cut": 1}, "cut"), ({"built": 1, "released": 9}, "released")],
)
def test_a_mark_stands_where_its_last_copy_stands(counts, behind):
    assert furthest_behind(counts) == behind
