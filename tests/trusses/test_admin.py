"""The office's pages: they open for every record, and what must not disappear is refused with a sentence."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.conftest import PASSWORD
from trusses.models import Copy, Job, JobRates, Membership, Placement, PlateTable, Revision, Role, Stage, Truss
from trusses.production import move
from trusses.revisions import add_mark

MODELS = ("job", "truss", "placement", "copy", "revision", "jobrates", "platetable")


@pytest.fixture
def office(client_of, django_user_model):
    return client_of(django_user_model.objects.create_superuser("office", password=PASSWORD))


@pytest.fixture
def place(truss):
    return Placement.objects.create(truss=truss, origin_x_in=0, origin_y_in=0, spacing_in=24, count=3)


def rows(truss, place):
    return {
        "job": truss.job,
        "truss": truss,
        "placement": place,
        "copy": truss.copies.first(),
        "revision": truss.current,
        "jobrates": JobRates.objects.get_or_create(job=truss.job)[0],
        "platetable": PlateTable.objects.create(job=truss.job, report="Invented report of K1", rows=[]),
    }


@pytest.mark.parametrize("model", MODELS)
def test_lists_and_records_open(office, truss, place, model):
    row = rows(truss, place)[model]
    listed = office.get(f"/admin/trusses/{model}/")
    assert listed.status_code == 200
    assert str(row.pk) in listed.content.decode()
    assert office.get(f"/admin/trusses/{model}/?q=K1").status_code == 200
    assert office.get(f"/admin/trusses/{model}/{row.pk}/change/").status_code == 200


@pytest.mark.parametrize("model", MODELS)
def test_more_rows_take_no_more_queries(office, truss, place, king_post, designer, model):
    counts = []
    for mark in ("K2", "K3", None):
        with CaptureQueriesContext(connection) as queries:
            office.get(f"/admin/trusses/{model}/")
        counts.append(len(queries))
        if mark:
            more = add_mark(truss.job, {**king_post, "mark": mark}, 1, designer)
            Placement.objects.create(truss=more, origin_x_in=0, origin_y_in=0, spacing_in=24, count=1)
            Job.objects.create(name=f"House {mark}")
    # the first list of one row may need no filter's choices
    assert counts[1] == counts[2]


def test_nobody_but_the_office_gets_in(client_of, designer):
    assert client_of(designer).get("/admin/")["Location"].startswith("/admin/login/")


def test_a_job_with_its_people_is_made_there(office, builder):
    body = {
        "name": "House on Lot 2",
        "place": "",
        "time_zone": "America/Chicago",
        "memberships-TOTAL_FORMS": "1",
        "memberships-INITIAL_FORMS": "0",
        "memberships-0-user": builder.pk,
        "memberships-0-role": "site lead",
    }
    assert office.post("/admin/trusses/job/add/", body).status_code == 302
    assert Membership.objects.get(job__name="House on Lot 2").role == Role.SITE_LEAD


def test_a_time_zone_that_does_not_exist_is_refused_in_words(office):
    body = {
        "name": "House",
        "time_zone": "Mars/North",
        "memberships-TOTAL_FORMS": "0",
        "memberships-INITIAL_FORMS": "0",
    }
    page = office.post("/admin/trusses/job/add/", body)
    assert "is not a time zone of the tz database" in page.content.decode()


class TestRevisions:
    def test_can_be_read(self, office, truss):
        page = office.get(f"/admin/trusses/revision/{truss.current.pk}/change/").content.decode()
        assert truss.current.sha256 in page
        assert "King post over the porch" in page
        assert 'name="_save"' not in page

    @pytest.mark.parametrize("address", ["add/", "{pk}/delete/"])
    def test_can_not_be_made_or_deleted(self, office, truss, address):
        assert office.get(f"/admin/trusses/revision/{address.format(pk=truss.current.pk)}").status_code == 403

    def test_can_not_be_written(self, office, truss):
        assert office.post(f"/admin/trusses/revision/{truss.current.pk}/change/", {"number": 5}).status_code == 403
        assert Revision.objects.get().number == 0

    def test_show_hostile_words_as_words(self, office, job, king_post, designer):
        mark = add_mark(job, {**king_post, "title": "<script>alert(1)</script>"}, 1, designer)
        assert "<script>alert" not in office.get(f"/admin/trusses/revision/{mark.current.pk}/change/").content.decode()


class TestWhatIsKept:
    """A job or a mark with revisions and a copy that was cut stay; the page says why."""

    SAYS = {
        "job": "A job with trusses is kept",
        "truss": "A mark with revisions is kept",
    }

    @pytest.mark.parametrize("model", SAYS)
    def test_one(self, office, truss, model):
        truss.copies.update(built_to=truss.current)
        row = {"job": truss.job, "truss": truss}[model]
        address = f"/admin/trusses/{model}/{row.pk}/delete/"
        assert self.SAYS[model] in office.get(address).content.decode()
        assert office.post(address, {"post": "yes"}).status_code == 200
        self.still_there()

    def test_what_rests_on_it_is_named_in_part(self, office, truss, monkeypatch):
        monkeypatch.setattr("trusses.admin.Keeping.named", 0)
        truss.copies.update(built_to=truss.current)
        page = office.get(f"/admin/trusses/job/{truss.job_id}/delete/").content.decode()
        assert re.search(r"and [1-9]\d* other record", page)
        assert f"{truss.mark} revision 0" not in page

    @pytest.mark.parametrize("model", SAYS)
    def test_in_bulk(self, office, truss, model):
        truss.copies.update(built_to=truss.current)
        row = {"job": truss.job, "truss": truss}[model]
        body = {"action": "delete_selected", "_selected_action": [row.pk], "post": "yes"}
        page = office.post(f"/admin/trusses/{model}/", body, follow=True)
        assert page.status_code == 200
        assert self.SAYS[model] in page.content.decode()
        self.still_there()

    def still_there(self):
        assert (Job.objects.count(), Truss.objects.count(), Revision.objects.count(), Copy.objects.count()) == (
            1,
            1,
            1,
            3,
        )

    def test_a_person_who_issued_a_revision(self, office, truss, designer):
        page = office.post(f"/admin/auth/user/{designer.pk}/delete/", {"post": "yes"})
        assert page.status_code == 200
        assert "Cannot delete user" in page.content.decode()
        assert type(designer).objects.filter(pk=designer.pk).exists()

    @pytest.mark.parametrize("model", ["copy", "placement"])
    def test_a_copy_and_its_place_can_not_be_deleted(self, office, truss, place, model):
        row = {"copy": truss.copies.first(), "placement": place}[model]
        assert office.post(f"/admin/trusses/{model}/{row.pk}/delete/", {"post": "yes"}).status_code == 403
        body = {"action": "delete_selected", "_selected_action": [row.pk], "post": "yes"}
        office.post(f"/admin/trusses/{model}/", body, follow=True)
        self.still_there()
        assert Placement.objects.count() == 1

    def test_what_nothing_rests_on_goes(self, office, truss):
        empty = Job.objects.create(name="Nothing yet")
        assert office.post(f"/admin/trusses/job/{empty.pk}/delete/", {"post": "yes"}).status_code == 302
        assert not Job.objects.filter(name="Nothing yet").exists()


def test_the_last_day_for_changes_is_set_there(office, truss):
    body = {
        "can_change_until_0": "2027-05-01",
        "can_change_until": "2027-05-01",
        "placements-TOTAL_FORMS": "0",
        "placements-INITIAL_FORMS": "0",
    }
    assert office.post(f"/admin/trusses/truss/{truss.pk}/change/", body).status_code == 302
    truss.refresh_from_db()
    assert str(truss.can_change_until) == "2027-05-01"
    assert truss.current.number == 0


class TestCopiesAndPlaces:
    """Stages move on the mark's page alone, and as many copies stand as the places count."""

    def body(self, truss, *counts, **more):
        """The form of a mark with its places; `counts` in their order, further ones new."""
        places = list(truss.placements.all())
        told = {
            "can_change_until": "",
            "placements-TOTAL_FORMS": str(len(counts)),
            "placements-INITIAL_FORMS": str(len(places)),
        }
        for i, count in enumerate(counts):
            row = {"level": "Roof", "origin_x_in": 24 * i, "origin_y_in": 0, "direction": "x", "spacing_in": 24}
            row |= {"count": count, "truss": truss.pk, "id": places[i].pk if i < len(places) else ""}
            told |= {f"placements-{i}-{name}": str(value) for name, value in row.items()}
        return told | more

    def save(self, office, truss, *counts, **more):
        return office.post(f"/admin/trusses/truss/{truss.pk}/change/", self.body(truss, *counts, **more))

    def standing(self, truss):
        return dict(truss.copies.values_list("number", "placement__count"))

    def test_a_stage_is_no_field(self, office, truss):
        copy = truss.copies.first()
        truss.copies.update(stage=Stage.CUT, built_to=truss.current)
        page = office.get(f"/admin/trusses/copy/{copy.pk}/change/").content.decode()
        assert 'name="stage"' not in page
        assert 'name="built_to"' not in page
        answer = office.post(
            f"/admin/trusses/copy/{copy.pk}/change/", {"truss": truss.pk, "number": copy.number, "stage": "designing"}
        )
        assert answer.status_code == 403
        copy.refresh_from_db()
        assert copy.stage == "cut"
        assert office.get("/admin/trusses/copy/add/").status_code == 403

    def test_places_put_the_copies_where_they_stand(self, office, truss):
        assert self.save(office, truss, 2, 1).status_code == 302
        assert self.standing(truss) == {1: 2, 2: 2, 3: 1}
        assert not truss.events.exists(), "the count is the same"

    def test_more_places_make_copies_and_say_who(self, office, truss, django_user_model):
        assert self.save(office, truss, 2, 3).status_code == 302
        assert self.standing(truss) == {1: 2, 2: 2, 3: 3, 4: 3, 5: 3}
        assert set(truss.copies.values_list("stage", flat=True)) == {"designing"}
        event = truss.events.get()
        assert (event.code, event.values) == ("counted", {"before": 3, "after": 5})
        assert event.by == django_user_model.objects.get(username="office")

    def test_fewer_places_take_away_what_is_only_designed(self, office, truss):
        truss.copies.filter(number=3).update(stage=Stage.RELEASED, released_to=truss.current)
        assert self.save(office, truss, 2).status_code == 302
        assert self.standing(truss) == {1: 2, 3: 2}

    def test_what_is_released_is_never_taken_away(self, office, truss):
        self.save(office, truss, 3)
        truss.copies.update(stage=Stage.RELEASED, released_to=truss.current)
        answer = self.save(office, truss, 2)
        assert answer.status_code == 200
        says = "and 3 of K1 are released or further, or were looked at on site: none of these can be taken away."
        assert says in answer.content.decode()
        assert (truss.copies.count(), truss.placements.get().count) == (3, 3)

    def test_a_place_is_set_on_its_mark_alone(self, office, truss, place):
        assert office.get("/admin/trusses/placement/add/").status_code == 403
        answer = office.post(f"/admin/trusses/placement/{place.pk}/change/", {"count": 9})
        assert answer.status_code == 403
        place.refresh_from_db()
        assert place.count == 3

    def test_the_record_of_a_mark_is_read(self, office, truss, designer):
        move(designer, truss, list(truss.copies.values_list("pk", flat=True)), "released")
        listed = office.get("/admin/trusses/markevent/").content.decode()
        assert "Copies 1–3: designing → released, to revision 0" in listed
        assert office.post(f"/admin/trusses/markevent/{truss.events.get().pk}/delete/").status_code == 403
