"""Looks that came with a tick which was taken back: what was said to be right goes with it, what is wrong stays."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes.inspection import links
from tests.refused import refused
from tests.trusses.reading import text
from tests.trusses.test_looks import ids
from trusses.copies import earlier, looks, undoing
from trusses.copies.models import Look
from trusses.marks.stages_page import looks_of
from trusses.models import Role
from trusses.production import move
from trusses.refusals import Refused
from trusses.sheets import fixing


@pytest.fixture
def other_lead(make_person, job):
    return make_person("other-lead", job, Role.SITE_LEAD)


def back(user, truss):
    undoing.take_back(user, truss, truss.events.filter(code="moved").last())


def test_a_look_is_told_as_taken_back_and_the_next_hand_has_its_own(built, site_lead, other_lead, client_of, api_of):
    right = {"bow": True, "plates": True, "wood": True}
    looks.tick(site_lead, built, ids(built, 1, 2), "delivered", points=right)
    back(other_lead, built)
    where = f"/jobs/{built.job_id}/trusses/{built.pk}/"
    page = text(client_of(site_lead).get(where))
    assert "Copies 1–2 , at delivery: taken back bow straight, plates tight, all there, wood sound" in page
    assert re.search(r"taken back by other-lead , \w+ \d+, \d{4}", page)
    (first, _) = api_of(site_lead).get(f"/api/v1/trusses/{built.pk}/looks/").json()
    assert first["taken_back"] == built.events.filter(code="taken back").get().at.isoformat().replace("+00:00", "Z")
    looks.tick(other_lead, built, ids(built, 1), "delivered", points=right)
    told = [(one["numbers"], one["look"].by, bool(one["back"])) for one in looks_of(list(built.copies.all()))]
    assert told == [("1", other_lead, False), ("1–2", site_lead, True)]


def test_the_same_hand_says_it_anew(here, site_lead):
    for _ in range(2):
        looks.tick(site_lead, here, ids(here, 1), "set", points={"place": True})
        back(site_lead, here)
    assert Look.objects.count() == len(looks.taken_back(looks.of_this_wood(here.copies.all()))) == 2


def test_that_another_found_the_same_wrong_is_kept_too(here, site_lead, other_lead):
    for person in (site_lead, other_lead, other_lead):
        looks.tick(person, here, ids(here, 1), "set", points={"end": False})
    assert [look.by for look in Look.objects.all()] == [site_lead, other_lead]


def test_an_inspector_is_told(built, site_lead, builder, client, client_of):
    looks.tick(site_lead, built, ids(built, 1), "delivered", points={"wood": True})
    back(site_lead, built)
    built.copies.update(stage="set")
    key = fixing.items(built)[0].key
    for done in (True, False):
        fixing.tick(site_lead, built, key, done=done, anchored="gable")
    _, token = links.hand_out(builder, built.job, for_whom="E", days=7)
    page = text(client.get(reverse("changes:inspect-mark", args=[token, built.pk])))
    assert re.search(r"Copy 1 , at delivery: taken back wood sound [^;]+; taken back by site-lead", page)
    at_work = text(client_of(site_lead).get(reverse("trusses:fixed", args=[built.job_id, built.pk])))
    assert ["Taken back: not in place after all, says site-lead" in one for one in (page, at_work)] == [True, True]


def test_what_was_put_right_is_open_again(here, site_lead):
    looks.tick(site_lead, here, ids(here, 1), "set", points={"end": False})
    looks.tick(site_lead, here, ids(here, 1), "set", points={"end": True})
    assert looks.open_looks(here.copies.all()) == []
    back(site_lead, here)
    with refused(Refused, "look-open", copies=[1], what=["end"]):
        move(site_lead, here, ids(here, 1), "set")
    assert looks.tick(site_lead, here, ids(here, 1), "set", points={"end": True}).moved == 1


def test_what_was_found_wrong_stays_found(built, site_lead):
    looks.tick(site_lead, built, ids(built, 1), "delivered", points={"wood": False, "bow": True})
    back(site_lead, built)
    (one,) = looks_of(list(built.copies.all()))
    assert (one["keeps"], one["back"]) == (True, None)


class TestWhatIsNailedToATruss:
    @pytest.fixture
    def tied(self, here, site_lead):
        """Everything beside the mark ticked."""
        looks.tick(site_lead, here, ids(here, 1, 2, 3), "set")
        self.tick(here, site_lead)
        assert self.done(here)
        assert all(self.done(here))
        return here

    @staticmethod
    def tick(truss, user):
        return [fixing.tick(user, truss, one.key, done=True, anchored="gable") for one in fixing.items(truss)]

    @staticmethod
    def done(truss):
        return [one.done for one in fixing.listed(truss)]

    def test_goes_with_the_truss_that_was_thrown_away(self, tied, site_lead, designer, client_of):
        anew = tied.copies.get(number=2)
        earlier.make_anew(designer, tied, [anew], "It is broken.")
        tied.copies.filter(number=2).update(stage="delivered", released_to=tied.current, built_to=tied.current)
        looks.tick(site_lead, tied, [anew.pk], "set")
        assert not any(self.done(tied))
        where = reverse("trusses:fixed", args=[tied.job_id, tied.pk])
        page = text(client_of(site_lead).get(where))
        assert page.count("It was ticked before a truss there was set, or set anew: look again.") == len(
            self.done(tied)
        )
        assert "in place Tie" not in page
        assert all(self.tick(tied, site_lead))
        assert all(self.done(tied))
        assert not any(self.tick(tied, site_lead)), "a second tap says nothing more"

    def test_is_looked_at_again_where_the_truss_was_set_again(self, tied, site_lead):
        back(site_lead, tied)
        assert not any(self.done(tied))
        looks.tick(site_lead, tied, ids(tied, 1, 2, 3), "set")
        assert not any(self.done(tied))
