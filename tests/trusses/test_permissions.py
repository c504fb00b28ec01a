"""Who may do what, as a table of people × actions, on the pages and the API alike.

Nobody signed in is sent to sign in (pages) or told 401 (API); an outsider gets the 404 of what doesn't exist.
"""

from __future__ import annotations

import itertools
import json
import re

import pytest
from django.http import Http404

from trusses import permissions
from trusses.models import Copy, Job, Membership, Placement, Revision, Role, Stage, Submission, Truss

PEOPLE = ("builder", "designer", "site lead", "outsider", "nobody")
ALL = (200, 200, 200, 404, 302)
DESIGNER = (403, 200, 403, 404, 302)
API_ALL = (200, 200, 200, 404, 401)
API_DESIGNER = (403, 201, 403, 404, 401)

# what, method, address, body: each person's answer in the order of PEOPLE
PAGES = [
    ("get", "/jobs/{job}/", None, ALL),
    ("get", "/jobs/{job}/sheets/", None, ALL),
    ("get", "/jobs/{job}/trusses/{truss}/", None, ALL),
    ("get", "/jobs/{job}/trusses/{truss}/revisions/0/", None, ALL),
    ("get", "/jobs/{job}/trusses/{truss}/revisions/0/small.svg", None, ALL),
    ("get", "/jobs/{job}/trusses/new/", None, DESIGNER),
    ("post", "/jobs/{job}/trusses/new/draw/", {"kind": "w", "span": "24'"}, DESIGNER),
    ("get", "/jobs/{job}/trusses/upload/", None, DESIGNER),
    ("get", "/jobs/{job}/trusses/{truss}/bearings/", None, ALL),
    ("post", "/jobs/{job}/trusses/{truss}/loads/", None, (403, 302, 403, 404, 302)),
    ("post", "/jobs/{job}/trusses/{truss}/bearings/", {"joint": "A", "wall": "north"}, (403, 302, 403, 404, 302)),
    ("post", "/jobs/{job}/trusses/{truss}/copies/", {"to": "released", "all": "designing"}, (403, 200, 403, 404, 302)),
    ("post", "/jobs/{job}/trusses/{built}/copies/", {"to": "delivered", "all": "built"}, (403, 403, 200, 404, 302)),
]
API = [
    ("get", "/api/v1/jobs/", None, (200, 200, 200, 200, 401)),
    ("get", "/api/v1/jobs/{job}/trusses/", None, API_ALL),
    ("get", "/api/v1/jobs/{job}/sheets/", None, API_ALL),
    ("get", "/api/v1/revisions/{sha256}/elevation.svg", None, API_ALL),
    ("post", "/api/v1/jobs/{job}/trusses/", {"document": "K2", "quantity": 2}, API_DESIGNER),
    ("get", "/api/v1/trusses/{truss}/bearings/", None, API_ALL),
    ("post", "/api/v1/trusses/{truss}/loads/", None, (403, 400, 403, 404, 401)),
    ("post", "/api/v1/trusses/{truss}/bearings/", {"joint": "A", "wall": "north"}, (403, 200, 403, 404, 401)),
    ("post", "/api/v1/trusses/{truss}/copies/", {"copies": [1], "to": "released"}, (403, 200, 403, 404, 401)),
    ("post", "/api/v1/trusses/{built}/copies/", {"copies": [1], "to": "delivered"}, (403, 403, 200, 404, 401)),
]


@pytest.fixture
def places(job, truss, designer, king_post):
    """What the addresses of the table are filled in with: K1 as designed and K3 with its one copy built."""
    from trusses.revisions import add_mark

    built = add_mark(job, {**king_post, "mark": "K3"}, 1, designer)
    built.copies.update(stage=Stage.BUILT, built_to=built.current)
    return {"job": job.pk, "truss": truss.pk, "built": built.pk, "sha256": truss.current.sha256}


def rows(table):
    return [
        pytest.param(method, address, body, person, answer, id=f"{person}-{method}-{address.strip('/')}")
        for method, address, body, answers in table
        for person, answer in zip(PEOPLE, answers, strict=True)
    ]


@pytest.mark.parametrize(("method", "address", "body", "person", "answer"), rows(PAGES))
def test_pages(cast, client_of, places, method, address, body, person, answer):
    response = getattr(client_of(cast[person]), method)(address.format(**places), body)
    assert response.status_code == answer
    if person == "nobody":
        assert response["Location"].startswith("/sign-in/?next=")
    if answer == 403:
        assert "of this job can" in response.content.decode()


@pytest.mark.parametrize(("method", "address", "body", "person", "answer"), rows(API))
def test_api(cast, api_of, places, king_post, method, address, body, person, answer):
    if body and "document" in body:
        body = {**body, "document": {**king_post, "mark": body["document"]}}
    response = getattr(api_of(cast[person]), method)(address.format(**places), body, format="json")
    assert response.status_code == answer
    if answer == 403:
        assert "of this job can" in response.json()["detail"]


@pytest.mark.parametrize("person", ["builder", "site lead", "outsider"])
def test_what_is_refused_changes_nothing(cast, api_of, client_of, places, king_post, person):
    before = (Truss.objects.count(), Revision.objects.count(), list(Copy.objects.order_by("pk").values_list("stage")))
    api = api_of(cast[person])
    api.post(
        f"/api/v1/jobs/{places['job']}/trusses/",
        {"document": {**king_post, "mark": "K9"}, "quantity": 1},
        format="json",
    )
    api.post(f"/api/v1/trusses/{places['truss']}/copies/", {"copies": [1], "to": "released"}, format="json")
    client_of(cast[person]).post(
        f"/jobs/{places['job']}/trusses/new/", {"kind": "w", "span": "24'", "mark": "R9", "quantity": 1}
    )
    assert not Submission.objects.exists()
    after = (Truss.objects.count(), Revision.objects.count(), list(Copy.objects.order_by("pk").values_list("stage")))
    assert after == before


FOREIGN = [
    "/jobs/{job}/",
    "/jobs/{job}/sheets/",
    "/jobs/{job}/trusses/new/",
    "/jobs/{job}/trusses/{truss}/",
    "/jobs/{own_job}/trusses/{truss}/",
    "/jobs/{own_job}/trusses/{truss}/revisions/0/",
    "/jobs/{job}/trusses/{own_truss}/",
    "/jobs/{own_job}/trusses/{truss}/bearings/",
    "/api/v1/trusses/{truss}/bearings/",
    "/jobs/{own_job}/trusses/{truss}/revisions/0/small.svg",
    "/api/v1/jobs/{job}/trusses/",
    "/api/v1/jobs/{job}/sheets/",
]


@pytest.mark.parametrize("address", FOREIGN)
def test_foreign_and_missing_are_the_same_404(client_of, designer, job, truss, other_job, address):
    client = client_of(designer)
    mine = {"own_job": job.pk, "own_truss": truss.pk}
    foreign = client.get(address.format(job=other_job.job_id, truss=other_job.pk, **mine))
    missing = client.get(address.format(job=10**9, truss=10**9, **mine))
    absurd = client.get(address.format(job=10**30, truss=10**30, **mine))
    assert [r.status_code for r in (foreign, missing, absurd)] == [404, 404, 404]
    assert without_token(foreign) == without_token(missing) == without_token(absurd)


def without_token(response) -> str:
    """The body without the form token, which is masked anew each time."""
    return re.sub(r'(csrfmiddlewaretoken" value="|X-CSRFToken": ")[^"]+', "", response.content.decode())


def test_a_foreign_drawing_is_the_same_404(api_of, job, designer, king_post, make_person):
    from trusses.revisions import add_mark

    strange = Job.objects.create(name="Somebody else's house")
    theirs = add_mark(strange, {**king_post, "title": "Not yours"}, 1, make_person("other", strange, Role.DESIGNER))
    api = api_of(designer)
    foreign = api.get(f"/api/v1/revisions/{theirs.current.sha256}/elevation.svg")
    missing = api.get(f"/api/v1/revisions/{'0' * 64}/elevation.svg")
    assert (
        (foreign.status_code, foreign.json())
        == (missing.status_code, missing.json())
        == (404, {"detail": "Not found."})
    )


def test_a_foreign_copy_is_the_same_404(client_of, designer, job, truss, other_job):
    client, theirs = client_of(designer), other_job.copies.get()
    for copy in (theirs.pk, 10**9):
        answer = client.post(
            f"/jobs/{job.pk}/trusses/{truss.pk}/copies/", {"to": "released", "copy": copy, "sure": "yes"}
        )
        assert answer.status_code == 404
    theirs.refresh_from_db()
    assert theirs.stage == "designing"


class TestTheTable:
    def test_every_verb_names_roles(self):
        assert all(roles and roles <= frozenset(Role) for roles in permissions.VERBS.values())

    @pytest.mark.parametrize("verb", permissions.VERBS)
    def test_decides(self, cast, job, verb):
        allowed = {person for person, user in cast.items() if user and permissions.may(user, verb, job)}
        assert allowed == {role.value for role in permissions.VERBS[verb]}

    def test_an_unknown_verb_is_a_mistake(self, builder, job):
        with pytest.raises(KeyError):
            permissions.may(builder, "cut", job)

    def test_copies_move_one_stage_at_a_time_and_never_back(self):
        order = list(Stage)
        assert list(permissions.STAGE_MOVES) == list(itertools.pairwise(order))

    def test_a_role_elsewhere_counts_nothing_here(self, make_person, job, truss):
        elsewhere = Job.objects.create(name="Another house")
        person = make_person("both", elsewhere, Role.DESIGNER)
        Membership.objects.create(job=job, user=person, role=Role.BUILDER)
        assert permissions.role_in(person, job) == Role.BUILDER
        assert not permissions.may(person, "add a mark", job)
        assert {j.name: j.role for j in permissions.jobs_of(person)} == {
            elsewhere.name: "designer",
            job.name: "builder",
        }

    def test_someone_who_left_sees_nothing(self, designer, job, truss):
        designer.is_active = False
        designer.save()
        assert permissions.role_in(designer, job) is None
        assert not permissions.jobs_of(designer).exists()
        assert not permissions.visible(Truss, designer).exists()

    def test_a_superuser_is_no_member(self, django_user_model, job, truss):
        office = django_user_model.objects.create_superuser("office", password="a long enough password")
        with pytest.raises(Http404):
            permissions.job_or_404(office, job.pk)

    @pytest.mark.parametrize("model", [Job, Truss, Revision, Copy, Placement, Membership])
    def test_rows_of_each_kind_lead_to_their_job(self, model, designer, outsider, truss, job, other_job):
        for one in (truss, other_job):
            Placement.objects.create(truss=one, origin_x_in=0, origin_y_in=0, spacing_in=24, count=1)
        mine = permissions.visible(model, designer)
        assert mine.exists()
        assert mine.count() < model.objects.count()
        assert not permissions.visible(model, outsider).exists()

    def test_rows_that_lead_to_no_job_are_shown_to_nobody(self, designer, django_user_model):
        with pytest.raises(LookupError):
            permissions.visible(django_user_model, designer)


def test_the_refusal_says_who_may(client_of, builder, job):
    answer = client_of(builder).get(f"/jobs/{job.pk}/trusses/new/")
    assert "Only a designer of this job can add a mark." in answer.content.decode()


def test_a_token_signs_in_as_its_person(api_of, designer, outsider, truss, job):
    from rest_framework.authtoken.models import Token
    from rest_framework.test import APIClient

    for person, answer in ((designer, 200), (outsider, 404)):
        program = APIClient(HTTP_AUTHORIZATION=f"Token {Token.objects.create(user=person)}")
        assert program.get(f"/api/v1/jobs/{job.pk}/trusses/").status_code == answer
    assert json.loads(APIClient().get("/api/v1/jobs/").content).keys() == {"detail"}
