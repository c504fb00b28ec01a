"""What a phone keeps of a job, and whose it says that it is."""

from __future__ import annotations

import json
import re

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.trusses.standing import girder, girder_document, stand
from trusses.bearings import links
from trusses.marks.correcting import withdraw
from trusses.models import Job, PaperCode, WallLine
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import seals


@pytest.fixture
def listed(client_of, job, truss):
    def of(person):
        return client_of(person).get(reverse("kept", args=[job.pk]))

    return of


def version(answer, part):
    return {page["version"] for page in answer.json()["pages"] if part in page["url"]}


@pytest.mark.parametrize("who", ["builder", "site lead"])
def test_the_list_has_what_is_opened_on_the_deck_and_each_opens(cast, client_of, listed, job, truss, who):
    pages = [page["url"] for page in listed(cast[who]).json()["pages"]]
    assert {
        reverse("trusses:job", args=[job.pk]),
        reverse("trusses:sheets", args=[job.pk]),
        reverse("trusses:plan", args=[job.pk]),
        reverse("trusses:sheet", args=[job.pk, truss.pk, 0]),
        reverse("trusses:mark", args=[job.pk, truss.pk]),
        reverse("changes:ask-kind", args=[job.pk, truss.pk, "damage"]),
    } <= set(pages)
    client = client_of(cast[who])
    assert {client.get(page).status_code for page in pages} == {200}


def test_a_designer_keeps_what_was_opened_and_no_more(listed, designer):
    assert listed(designer).json()["pages"] == []


def test_others_learn_nothing(listed, outsider):
    assert listed(outsider).status_code == 404
    assert listed(None).status_code == 302


def test_a_new_revision_is_another_version_and_tells_what_is_dead(listed, site_lead, designer, truss, king_post):
    before = listed(site_lead)
    assert [sheet.get("dead_by") for sheet in before.json()["sheets"]] == [None]
    issue_revision(truss, truss.current, *read_and_analyse(king_post | {"title": "Another"}), designer)
    after = listed(site_lead)
    assert {sheet["url"][-4:]: sheet.get("dead_by") for sheet in after.json()["sheets"]} == {"s/0/": 1, "s/1/": None}
    assert not version(before, "/revisions/") & version(after, "/revisions/")
    assert all(re.fullmatch(r"\d{6}", sheet["code"]) for sheet in after.json()["sheets"])
    papers = {sheet["paper"] for sheet in after.json()["sheets"]}
    assert papers == set(PaperCode.objects.values_list("token", flat=True))


def test_a_withdrawn_mark_is_told_whatever_its_revision(listed, site_lead, designer, truss, king_post):
    issue_revision(truss, truss.current, *read_and_analyse(king_post | {"title": "Another"}), designer)
    before = listed(site_lead)
    withdraw(designer, truss, "The porch is gone.")
    after = listed(site_lead)
    assert [sheet.get("withdrawn") for sheet in before.json()["sheets"]] == [None, None]
    assert [sheet.get("withdrawn") for sheet in after.json()["sheets"]] == ["K1", "K1"]
    assert not version(before, "/revisions/") & version(after, "/revisions/")


def test_what_the_job_asks_of_seals_is_another_version_of_each_sheet(listed, site_lead, designer, job):
    before = listed(site_lead)
    seals.say_what_is_asked(designer, job, review=False, acceptance=True, without="blocks")
    after = listed(site_lead)
    for part in ("/revisions/", "/sheets/"):
        assert not version(before, part) & version(after, part)


def test_what_is_said_around_a_truss_is_another_version_of_its_sheet(listed, site_lead, designer, job, truss):
    """Its wall plate is pressed on, and its sheathing holds it: the sheet's figures are others."""

    def of(part):
        return version(listed(site_lead), part)

    sheet, plan = f"/trusses/{truss.pk}/revisions/0/", f"/jobs/{job.pk}/plan/"
    seen = [of(sheet)]
    links.set_link(designer, truss, "A", wall="south wall", plate="2x4 SPF No.1/No.2", carrier=None)
    seen.append(of(sheet))
    of_plan = of(plan)
    WallLine.objects.update(plate="2x6 DF-L No.2")
    seen.append(of(sheet))
    assert of(plan) != of_plan
    Job.objects.filter(pk=job.pk).update(sheathing_km=600)
    seen.append(of(sheet))
    assert len({tuple(one) for one in seen}) == 4


def test_what_stands_on_it_is_another_version_of_each_carrier_and_of_nothing_else(
    listed, site_lead, designer, job, truss, king_post
):
    """Their drawings lack the new loads then: their lumber isn't answered for any more."""
    g1 = girder(job, designer)
    k5 = stand(job, designer, king_post, "K5", g1)
    g2 = add_mark(job, girder_document("G2"), 1, designer)
    links.set_link(designer, g1, "B", carrier=g2, hung=[{"member": "B1", "at_in": 90}])
    before = listed(site_lead)
    issue_revision(k5, k5.current, *read_and_analyse(k5.current.document | {"title": "Another"}), designer)
    after = listed(site_lead)
    for mark, same in ((g1, False), (g2, False), (truss, True)):
        sheet = f"/trusses/{mark.pk}/revisions/0/"
        assert (version(before, sheet) == version(after, sheet)) is same


def test_each_account_has_a_name_of_its_own_on_every_page(client_of, job, truss, builder, site_lead):
    address = reverse("trusses:sheet", args=[job.pk, truss.pk, 0])
    of = {person: client_of(person).get(address)["Kept-For"] for person in (builder, site_lead)}
    assert len(set(of.values())) == 2
    assert client_of(builder).get(reverse("trusses:job", args=[job.pk]))["Kept-For"] == of[builder]
    assert client_of(None).get(reverse("sign-in"))["Kept-For"] == "nobody"
    assert "Kept-For" not in client_of(None).get(address)  # on its way to the sign-in page: no page of anybody's
    assert f'data-whose="{of[builder]}"' in client_of(builder).get(address).content.decode()


def test_what_says_current_stands_between_two_marks_that_the_worker_knows(client_of, site_lead, job, truss):
    """The worker puts its own words there once a kept sheet is too old."""
    page = client_of(site_lead).get(reverse("trusses:sheet", args=[job.pk, truss.pk, 0])).content.decode()
    assert "<!--kept-->" in page
    assert page.count("<!--status-->") == page.count("<!--/status-->") == 1
    before, _, rest = page.partition("<!--status-->")
    status, _, after = rest.partition("<!--/status-->")
    assert "first-line" in status
    assert "second-line" in status
    assert "first-line" not in before + after


def test_the_worker_answers_for_every_page_and_knows_the_setting(client, settings):
    settings.KEPT_CURRENT_H = 12
    answer = client.get("/worker.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert "default-src 'self'" in answer["Content-Security-Policy"]
    known = json.loads(re.match(r"const KNOWS = (.*);\n", answer.content.decode())[1])
    assert known["current_s"] == 12 * 3600
    assert client.post(known["leaves"][0]).status_code == 302


def test_it_installs_with_icons_of_its_own(client):
    told = client.get(reverse("manifest")).json()
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    for icon in told["icons"]:
        assert finders.find(icon["src"].removeprefix("/static/")), icon


def test_contact_says_who_is_there_and_gives_a_token(client_of, builder):
    told = client_of(builder).get(reverse("contact")).json()
    assert told["who"] == client_of(builder).get(reverse("device"))["Kept-For"]
    assert len(told["csrf"]) == 64
    with CaptureQueriesContext(connection) as asked:  # PostgreSQL takes no such text
        answer = client_of(builder).get(reverse("contact"), {"keys": "key-of-no-form\0"})
    assert (answer.status_code, answer.json()["arrived"]) == (200, {})
    assert "key-of-no-form" not in "".join(query["sql"] for query in asked)
    assert client_of(None).get(reverse("contact") + "?keys=abc").json()["arrived"] == {}
