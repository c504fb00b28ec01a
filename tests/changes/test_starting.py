"""A designer starts a revision without a builder's request: its reason, the same comparison, the same decision."""

from __future__ import annotations

import copy
import html

import pytest

from changes import workflow
from changes.models import Request
from tests.changes.asking import FITS, approve, compute, first_options
from tests.refused import refused


@pytest.fixture
def better(truss):
    document = copy.deepcopy(truss.current.document)
    document["members"][4]["lumber"] = "2x6 SPF No.1/No.2"
    return document


@pytest.fixture
def started(truss, designer, better):
    return compute(workflow.start_revision(designer, truss, reason="A stiffer post.", document=better))


def test_it_is_computed_compared_and_decided_like_any_other(started, designer, truss, better):
    assert started.state == "awaiting decision", started.computations.get().trouble
    ask, option = started.asks.get(), started.options.get()
    assert (ask.kind, ask.opening, ask.verdict) == ("revision", None, "options")
    assert (option.passes, option.drawn_by, option.stale) == (True, designer, False)
    changed = {one["id"]: one["change"] for one in option.comparison["members"] if one["change"] != "kept"}
    assert changed == {"W1": "resized"}
    assert [(e.verb, e.by) for e in started.events.filter(verb="start")] == [("start", designer)]
    assert started.holds.get().standing == "asked"
    approve(designer, started, first_options(started))
    truss.refresh_from_db()
    assert (truss.current.number, truss.current.document) == (1, better)
    assert started.decisions.get().issues.get().revision == truss.current


def test_it_starts_from_todays_truss_and_is_edited(truss, designer, better):
    change = compute(workflow.start_revision(designer, truss, reason="To be drawn."))
    same = change.options.get()
    assert same.title == "Today's truss, to start from"
    with refused(workflow.Refused, "option-unchanged"):
        approve(designer, change, first_options(change))
    drawn = workflow.draw_option(designer, change, ask=change.asks.get(), document=better)
    compute(change)
    approve(designer, change, {change.asks.get().pk: drawn.pk})
    truss.refresh_from_db()
    assert truss.current.document == better


def test_a_double_click_starts_one(truss, designer, better):
    first = workflow.start_revision(designer, truss, reason="A stiffer post.", document=better)
    with refused(workflow.Refused, "asked-already", request=first.pk, state="filed"):
        workflow.start_revision(designer, truss, reason="A stiffer post.", document=better)
    assert Request.objects.count() == 1


def test_it_can_be_withdrawn_by_who_started_it_alone(started, designer, make_person, job, builder):
    other = make_person("second-designer", job, "designer")
    for person in (other, builder):
        with pytest.raises(workflow.NotAllowed):
            workflow.withdraw(person, started)
    workflow.withdraw(designer, started)
    assert started.state == "withdrawn"


def test_it_goes_stale_and_is_computed_again_on_todays_truss(started, answered, designer, truss, better):
    approve(designer, answered(FITS))
    workflow.compute_again(designer, started)
    compute(started)
    option = started.options.get(stale=False)
    assert option.revision.number == 1
    assert option.document["openings"] == truss.revisions.get(number=1).document["openings"], "approved since: kept"
    assert option.document["members"] == better["members"]
    approve(designer, started, first_options(started))
    truss.refresh_from_db()
    assert truss.current.number == 2


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"reason": " "}, "Say why the truss is revised"),
        ({"needed_by": "2020-01-01"}, "is past"),
        ({"document": {"mark": "K1"}}, "document: "),
    ],
)
def test_what_is_wrong_is_refused_in_words(truss, designer, change, says):
    with pytest.raises(workflow.Refused, match=says):
        workflow.start_revision(designer, truss, **{"reason": "A stiffer post."} | change)
    assert not Request.objects.exists()


def test_not_once_every_copy_is_cut(truss, designer):
    truss.copies.update(stage="cut", built_to=truss.current)
    with refused(workflow.Refused, "past-change"):
        workflow.start_revision(designer, truss, reason="Too late.")


class TestPageAndApi:
    def test_the_page_leads_to_the_request(self, truss, designer, client_of):
        client, where = client_of(designer), f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        assert f"{where}revise/" in client.get(where).content.decode()
        page = client.post(f"{where}revise/", {"reason": "", "document": "{"})
        assert page.status_code == 422
        told = page.content.decode()
        assert "Say why the truss is revised" in told
        # one look of refusals: it takes the focus, and leads to the field
        refusal = told[told.index('id="troubles"') :]
        assert "autofocus" in refusal[:60]
        assert '<a href="#id_reason">' in refusal
        for typed, says in (("{", "is not JSON"), ("[" * 100_000, "nested deeper")):
            page = client.post(f"{where}revise/", {"reason": "Drawn elsewhere.", "document": typed})
            assert page.status_code == 422
            assert says in page.content.decode()
        answer = client.post(f"{where}revise/", {"reason": "A stiffer post.", "needed_by": "", "document": ""})
        change = Request.objects.get()
        assert answer["Location"] == f"/requests/{change.pk}/"
        compute(change)
        told = html.unescape(client.get(f"/requests/{change.pk}/").content.decode())
        assert "A revision of K1 that its designer started: A stiffer post." in told
        assert "Revision started" in told
        # today's truss is there to be edited: nothing to issue yet
        assert "as it is today: nothing to issue." in told
        assert "Issue this revision" not in told

    @pytest.mark.parametrize(("who", "status"), [("builder", 403), ("site lead", 403), ("outsider", 404)])
    def test_nobody_else(self, who, status, cast, truss, client_of, api_of):
        assert client_of(cast[who]).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revise/").status_code == status
        answer = api_of(cast[who]).post(f"/api/v1/trusses/{truss.pk}/revise/", {"reason": "Mine."}, format="json")
        assert answer.status_code == status

    def test_programs_start_it(self, truss, designer, api_of, better):
        program = api_of(designer)
        body = {"reason": "A stiffer post.", "document": better}
        answer = program.post(f"/api/v1/trusses/{truss.pk}/revise/", body, format="json")
        assert (answer.status_code, answer.json()["state"]) == (201, "filed")
        change = compute(Request.objects.get())
        told = program.get(f"/api/v1/requests/{change.pk}/").json()
        assert (told["asks"][0]["kind"], told["asks"][0]["opening"]) == ("revision", None)
        assert told["asks"][0]["options"][0]["passes"] is True

    def test_a_builder_does_not_ask_for_one(self, truss, builder, api_of, body):
        body["asks"][0]["kind"] = "revision"
        answer = api_of(builder).post("/api/v1/requests/", body, format="json")
        assert answer.status_code == 400
        assert not Request.objects.exists()


def test_a_revision_that_nobody_asked_for_is_called_no_redesign(started, designer, client_of):
    """Today's truss to start from, or a document: neither answers an ask, so that no verdict of an ask stands there."""
    for address in (f"/requests/{started.pk}/", f"/jobs/{started.job_id}/requests/"):
        told = html.unescape(client_of(designer).get(address).content.decode()).lower()
        assert "computed, to be decided by a designer" in told
        assert "takes a redesign" not in told


def test_a_mark_whose_copies_are_all_cut_offers_no_form_for_a_revision(truss, designer, client_of):
    truss.copies.update(stage="cut")
    page = client_of(designer).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revise/").content.decode()
    assert "cut already." in page
    assert "repair request or a new truss" in page
    assert 'name="reason"' not in page


def test_nobody_is_asked_by_oneself(started, designer, client_of, answered):
    """A designer's own request has no other whom a question would go to; a builder's has."""
    own = html.unescape(client_of(designer).get(f"/requests/{started.pk}/").content.decode())
    assert "Reason, or what you have to find out first" in own
    assert "Send back until you know" in own
    assert "question to designer" not in own
    theirs = html.unescape(client_of(designer).get(f"/requests/{answered(FITS).pk}/").content.decode())
    assert "Reason, or the question to builder" in theirs
    assert "Send back with the question" in theirs
