"""The way in: signing in and out, the demo's door, and the page of one's jobs."""

from __future__ import annotations

import re

from django.test import Client

from tests.conftest import PASSWORD
from tests.trusses.reading import HOSTILE, LONG, text
from trusses.models import Job, Membership, Role


class TestSigningIn:
    def test_with_a_name_as_long_as_a_name_can_be(self, make_person):
        make_person(LONG)
        answer = Client().post("/sign-in/", {"username": LONG, "password": PASSWORD}, follow=True)
        assert answer.status_code == 200
        assert LONG in text(answer)

    def test_keeps_the_name_when_the_password_is_wrong(self, builder):
        answer = Client().post("/sign-in/", {"username": "builder", "password": "wrong"})
        assert 'value="builder"' in answer.content.decode()
        assert "This user name and password don’t belong together." in text(answer)
        assert b'id="troubles" role="alert" tabindex="-1" autofocus' in answer.content
        assert answer.content.count(b"autofocus") == 1

    def test_says_what_is_missing(self, builder):
        answer = Client().post("/sign-in/", {"username": "builder", "password": ""})
        assert "Not signed in. Password: Type your password." in text(answer)

    def test_comes_back_to_the_page_that_was_asked_for(self, builder, truss, job):
        page = f"/jobs/{job.pk}/trusses/{truss.pk}/"
        client = Client()
        answer = client.post(client.get(page)["Location"], {"username": "builder", "password": PASSWORD, "next": page})
        assert answer["Location"] == page

    def test_never_leads_elsewhere(self, builder):
        body = {"username": "builder", "password": PASSWORD, "next": "https://example.org/"}
        assert Client().post("/sign-in/", body)["Location"] == "/"

    def test_signing_out_takes_a_post(self, client_of, builder):
        client = client_of(builder)
        assert client.get("/sign-out/").status_code == 405
        assert client.post("/sign-out/")["Location"] == "/sign-in/"
        assert client.get("/")["Location"].startswith("/sign-in/")


class TestTheDemosDoor:
    def test_is_not_there_outside_the_demo(self, builder, settings):
        settings.DEMO = False
        assert Client().post("/demo/enter/builder/").status_code == 404
        assert "demo" not in text(Client().get("/sign-in/")).lower()

    def test_lets_in_the_invented_people_only(self, builder, make_person, django_user_model, settings):
        settings.DEMO = True
        make_person("somebody")
        django_user_model.objects.create_superuser("outsider", password=PASSWORD)
        answers = {
            name: Client().post(f"/demo/enter/{name}/").status_code
            for name in ("builder", "somebody", "outsider", "designer")
        }
        assert answers == {"builder": 302, "somebody": 404, "outsider": 404, "designer": 404}
        assert Client().get("/demo/enter/builder/").status_code == 405

    def test_bar_says_that_everything_is_invented(self, client_of, builder, job, settings):
        settings.DEMO = True
        page = client_of(builder).get(f"/jobs/{job.pk}/")
        assert "everything here is invented" in text(page)
        assert re.findall(r'aria-pressed="(\w+)">([\w ]+)<', page.content.decode()) == [
            ("true", "Builder"),
            ("false", "Designer"),
            ("false", "Site lead"),
            ("false", "Outsider"),
        ]


class TestHome:
    def test_goes_into_the_only_job(self, client_of, builder, job):
        assert client_of(builder).get("/")["Location"] == f"/jobs/{job.pk}/"

    def test_lists_several_with_the_role_in_each(self, client_of, builder, job):
        other = Job.objects.create(name=HOSTILE)
        Membership.objects.create(job=other, user=builder, role=Role.SITE_LEAD)
        page = client_of(builder).get("/")
        assert "you are the builder" in text(page)
        assert "you are the site lead" in text(page)
        assert HOSTILE not in page.content.decode()

    def test_says_so_where_there_is_none(self, client_of, outsider):
        assert "You are not a member of any job." in text(client_of(outsider).get("/"))
