"""Whose turn it is, what is new, what comes next of a request, and how to reach people."""

from __future__ import annotations

import html
import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes import workflow
from changes.inspection import corrections, links
from changes.models import Hold, Seen
from changes.workflow.turns import news, see, turns
from tests.changes.asking import FITS, HITS_WEB, approve, compute
from tests.sealed import SAID, drawing
from trusses.models import Job, Membership
from trusses.revisions import add_mark
from trusses.sealing import recording, seals


def told(user):
    return [(why, one.change.pk if one.change else None) for one in turns(user) for why in one.why if why != "onward"]


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


@pytest.fixture
def damage(job, truss, builder, needed_by):
    told = {"kind": "damage", "truss": truss, "copies": [2], "damage": {"member": "W1", "how": "cut", "at_in": 20}}
    return compute(workflow.file(builder, job, reason="It fell", needed_by=needed_by, asks=[told]))


@pytest.fixture
def several(job, truss, king_post, builder, designer, needed_by):
    """An opening in each of two marks, K1 and K2."""
    other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
    asks = [{"truss": each.pk, "kind": "opening", "opening": FITS} for each in (truss, other)]
    return compute(workflow.file(builder, job, reason="Trunk", needed_by=needed_by, asks=asks))


class TestWhoseTurn:
    def test_it_goes_from_one_to_the_other_and_ends(self, answered, builder, designer, site_lead, outsider):
        change = answered(HITS_WEB)
        assert ("decide", change.pk) in told(designer)
        assert told(builder) == told(site_lead) == told(outsider) == []
        workflow.decide(designer, change, verdict="send back", reason="Where does it start?")
        assert ("decide", change.pk) not in told(designer)
        assert told(builder) == [("answer", change.pk)]
        assert told(site_lead) == []
        workflow.withdraw(builder, change)
        assert told(builder) == told(designer) == []

    def test_damage_is_told_first_whoever_leads_the_site_or_decides(
        self, damage, answered, truss, client_of, designer, site_lead, builder
    ):
        """Until it ends; whatever else is needed sooner."""
        sooner = answered(HITS_WEB)
        type(sooner).objects.filter(pk=sooner.pk).update(needed_by=damage.needed_by - timedelta(days=3))
        truss.copies.filter(number=2).update(stage="set", built_to=truss.current)
        truss.copies.filter(number=3).update(stage="built", built_to=truss.current)
        first = turns(site_lead)[0]
        assert (first.why, first.change, first.damaged) == (("keep off",), damage, (("K1", (2,)),))
        page = client_of(site_lead).get("/turns/")
        assert "Copy 2 of K1 is damaged: keep off, and keep everybody out from under." in words(page)
        lines = page.content.decode()
        assert lines.index(f'href="/requests/{damage.pk}/"') < lines.index("copy 3 when it comes")
        assert (
            f'<b class="count">{len(turns(site_lead))}</b>'
            in client_of(site_lead).get("/turns/count/").content.decode()
        )
        assert [one.change for one in turns(designer)][:2] == [damage, sooner]
        assert ("keep off", damage.pk) not in told(designer) + told(builder)
        workflow.decide(designer, damage, verdict="decline", reason="It isn't damaged")
        assert ("keep off", damage.pk) not in told(site_lead)

    def test_a_hold_waits_until_it_is_answered(self, answered, designer):
        change = answered(HITS_WEB)
        assert told(designer) == [("hold", change.pk), ("decide", change.pk)]
        workflow.answer_hold(designer, Hold.objects.get(), acknowledge=True)
        assert told(designer) == [("decide", change.pk)]

    def test_what_was_issued_waits_for_its_seal_and_then_for_the_site(self, answered, client_of, designer, site_lead):
        """And the page keeps the job's menu."""
        change = answered(HITS_WEB)
        approve(designer, change)
        truss = change.asks.get().truss
        at = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        button = f'href="{at}revisions/1/seal/#attach">Attach the sealed drawing</a>'
        assert button in client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        page = client_of(designer).get("/turns/")
        assert "K1 Revision 1: attach the sealed drawing." in words(page)
        assert f'href="/jobs/{truss.job_id}/plan/"' in page.content.decode()
        truss.copies.update(stage="built", built_to=truss.current)
        assert "K1 Look at copies 1–3 when they come, and say so." in words(client_of(site_lead).get("/turns/"))

    def test_several_seals_are_attached_in_one_form(self, several, client_of, designer, builder):
        """Where its request and “Your turn” lead to it, and each mark's own page as well."""
        issued = [issue.revision for issue in approve(designer, several).issues.order_by("revision__truss__mark")]
        at = f"/jobs/{several.job_id}/sealed-drawings/attach/?" + "&amp;".join(f"revision={one.pk}" for one in issued)
        page = client_of(designer).get(f"/requests/{several.pk}/").content.decode()
        assert f'<a class="button" href="{at}">Attach their sealed drawings</a>' in page
        assert (
            page.count(f'href="/jobs/{several.job_id}/release/?revision=')
            == page.count(">Release all marks of this")
            == 1
        )
        assert page.count("Attach the sealed drawing of K") == 2
        theirs = words(client_of(builder).get(f"/requests/{several.pk}/"))
        assert "Attach their sealed drawings" not in theirs
        assert "Release all marks" not in theirs
        turns = client_of(designer).get("/turns/").content.decode()
        assert f'href="{at}"' in turns
        assert client_of(designer).get(html.unescape(at)).status_code == 200

    def test_what_others_decided_of_several_is_recorded_in_one_form(
        self, several, client_of, designer, builder, judged_here
    ):
        """Its request, “Your turn” and the page of each drawing lead there, and each drawing to the other."""
        job = several.job
        seals.say_what_is_asked(designer, job, review=True, acceptance=False, without="blocks")
        issued = [issue.revision for issue in approve(designer, several).issues.order_by("revision__truss__mark")]
        made = []
        for one in issued:
            sent = drawing(one.truss.mark)
            said = {**SAID, "sealed_on": job.today(), "covers": ("plates", "restraint")}
            made.append(recording.attach(designer, one, sent, len(sent.getvalue()), **said))
        at = f"/jobs/{job.pk}/sealed-drawings/record/?" + "&amp;".join(f"drawing={one.pk}" for one in made)
        first, second = (f"/jobs/{job.pk}/trusses/{one.truss_id}/revisions/1/seal/" for one in issued)
        for page in (f"/requests/{several.pk}/", first, second):
            assert f'href="{at}"' in client_of(builder).get(page).content.decode(), page
        assert f'href="{at}"' in client_of(designer).get("/turns/").content.decode()
        assert f'href="{second}"' in client_of(builder).get(first).content.decode()
        recording.record(builder, made[0], "reviewed", name="A reviewer", on=job.today())
        assert at not in client_of(builder).get(first).content.decode()
        assert f'href="{second}"' in client_of(builder).get(first).content.decode()

    def test_what_broke_is_whose_it_is(self, answered, builder, designer):
        change = answered(HITS_WEB)
        type(change).objects.filter(pk=change.pk).update(state="failed")
        assert told(builder) == [("compute", change.pk)]

    def test_damage_that_could_not_be_computed_is_the_designer_s(self, damage, builder, designer, site_lead, client_of):
        type(damage).objects.filter(pk=damage.pk).update(state="failed")
        assert told(designer) == [("damage", damage.pk)]
        assert told(builder) == [("compute", damage.pk)]
        assert told(site_lead) == [("keep off", damage.pk)]
        page = words(client_of(designer).get(reverse("changes:turns")))
        assert f"Request {damage.pk}: it tells of damage and couldn’t be computed; compute it again, or" in page

    def test_an_inspector_waits_for_whoever_of_the_job_answers(
        self, job, truss, builder, designer, site_lead, client_of
    ):
        link, _ = links.hand_out(builder, job, for_whom="E", days=1)
        said = {"by_name": "E", "truss": truss}
        row = corrections.correct(link, key=uuid4(), says="A tie is missing", **said)
        corrections.correct(link, key=uuid4(), says="And a hanger", **said)
        corrections.correct(link, key=uuid4(), by_name="E", says="No number on the house", truss=None)
        for person in (builder, designer, site_lead):
            assert told(person) == [("correct", None), ("correct", None)]
        answer = client_of(site_lead).get(reverse("changes:turns"))
        asked = "Answer it, an inspector asked for a correction:"
        assert f"K1 {asked} “A tie is missing”, and for 1 another." in words(answer)
        assert f"The job {asked} “No number on the house”." in words(answer)
        assert f'href="{reverse("changes:inspectors", args=[job.pk])}#correction-{row.pk}"' in answer.content.decode()
        for one in corrections.of_job(job):
            corrections.answer(site_lead, one, "Done")
        assert told(builder) == []
        corrections.say(link, row, key=uuid4(), accepted=False, by_name="E", says="Still missing")
        page = words(client_of(designer).get(reverse("changes:turns")))
        assert "K1 Answer it, an inspector says that it isn’t yet as it should be: “Still missing”." in page


class TestWhatIsNew:
    def test_an_answer_is_new_until_its_page_was_open(self, answered, builder, designer, client_of):
        change = answered(HITS_WEB)
        assert [one.pk for one in news(builder)] == [change.pk]
        assert news(designer) == []
        client = client_of(builder)
        count = reverse("changes:turn-count")
        assert words(client.get(count)) == "Your turn 1 new"
        page = client.get(reverse("changes:request", args=[change.pk])).content.decode()
        (asks,) = re.findall(r'hx-get="([^"]*/turns/count/[^"]*)"', page)
        assert words(client.get(asks)) == "Your turn"
        workflow.decide(designer, change, verdict="send back", reason="Where?")
        assert words(client.get(count)) == "Your turn 1 1 new"
        waits = words(client_of(designer).get(reverse("changes:turns")))
        assert f"Request {change.pk}: acknowledge or refuse the hold." in waits
        listed = words(client.get(reverse("changes:turns")))
        assert f"Request {change.pk}: answer the question with which it was sent back to you." in listed

    def test_a_row_says_what_to_do_by_when_and_names_the_job_only_beside_others(
        self, answered, builder, designer, client_of, job
    ):
        change, where = answered(HITS_WEB), reverse("changes:turns")
        day = f"{change.needed_by:%b} {change.needed_by.day}"
        row = f"K1 Request {change.pk}: acknowledge or refuse the hold, then decide. {change.reason}"
        assert f"{row} answer needed by {day}" in words(client_of(designer).get(where))
        more = "takes a redesign; with the least change, what it stands on or is tied to takes more"
        new = f"K1 Request {change.pk} awaiting decision {more} {change.reason} · "
        assert f"{new}{job.today():%b} {job.today().day}" in words(client_of(builder).get(where))
        other = Job.objects.create(name="House B")
        Membership.objects.create(job=other, user=designer, role="designer")
        assert f"{row} · {job.name} answer needed by {day}" in words(client_of(designer).get(where))

    def test_what_was_decided_leads_and_not_what_was_computed_before(self, answered, builder, designer, client_of):
        change, where = answered(FITS), reverse("changes:turns")
        assert f"Request {change.pk} awaiting decision fits as it is" in words(client_of(builder).get(where))
        workflow.decide(designer, change, verdict="decline", reason="The chase stays clear.")
        page = client_of(builder).get(where)
        assert f"Request {change.pk} declined {change.reason}" in words(page)
        assert '<span class="tag stop">declined</span>' in page.content.decode()
        assert "fits as it is" not in words(page)
        assert "fits as it is" not in words(client_of(builder).get(f"/jobs/{change.job_id}/requests/?state=all"))

    def test_that_an_end_of_damage_was_none_is_new(self, damage, builder, designer):
        workflow.decide(designer, damage, verdict="approve", reason="Built anew", ends_by="new truss")
        see(builder, damage.pk)
        assert news(builder) == []
        workflow.decide(designer, damage, verdict="approve", reason="There is no lumber", ends_by="keep off")
        assert [one.pk for one in news(builder)] == [damage.pk]

    def test_what_one_did_oneself_is_not_new(self, answered, builder):
        change = answered(HITS_WEB)
        see(builder, change.pk)
        workflow.withdraw(builder, change)
        assert news(builder) == []

    def test_nobody_sees_for_another(self, answered, builder, designer, outsider, client_of):
        change = answered(HITS_WEB)
        for who in (designer, outsider):
            client_of(who).get(reverse("changes:turn-count"), {"opened": change.pk})
        assert not Seen.objects.exists()
        for odd in ("", "x", "-1", "9" * 40, "²"):
            assert client_of(builder).get(reverse("changes:turn-count"), {"opened": odd}).status_code == 200
        assert [one.pk for one in news(builder)] == [change.pk]

    def test_marks_stand_as_one_counts_them(self, job, truss, king_post, designer, client_of):
        for mark in ("K10", "K2"):
            add_mark(job, {**king_post, "mark": mark}, 1, designer)
        (one,) = turns(designer)
        assert one.marks == ["K1", "K2", "K10"]

    def test_who_left_the_job_is_told_nothing(self, answered, builder, job):
        answered(HITS_WEB)
        job.memberships.filter(user=builder).delete()
        assert news(builder) == turns(builder) == []

    def test_it_asks_as_often_for_three_as_for_one(self, answered, designer, django_assert_max_num_queries):
        for n in range(3):
            answered({**HITS_WEB, "id": f"O{n}", "centre_in": [120 - 12 * n, 20]})
        with django_assert_max_num_queries(9):
            assert [one.why for one in turns(designer)] == [*[("hold", "decide")] * 3, ("onward",)]

    def test_the_page_asks_as_often_for_three_answers_as_for_one(
        self, job, truss, builder, designer, needed_by, client_of
    ):
        client, where, counts = client_of(builder), reverse("changes:turns"), []
        for n in range(3):
            asks = [{"truss": truss.pk, "kind": "question", "question": {"says": f"May I hang {n} swings?"}}]
            change = compute(workflow.file(builder, job, reason="Swings", needed_by=needed_by, asks=asks))
            workflow.decide(designer, change, verdict="approve", reason="No")
            with CaptureQueriesContext(connection) as queries:
                assert "answered by a designer" in words(client.get(where))
            counts.append(len(queries))
        assert counts[0] == counts[2]


class TestTheNextStep:
    def test_who_by_when_until_when_and_whether_the_saw_waits(self, answered, client_of, builder, designer, job, truss):
        type(truss).objects.filter(pk=truss.pk).update(can_change_until=job.today() + timedelta(days=1))
        change = answered(HITS_WEB)
        where = reverse("changes:request", args=[change.pk])
        page = words(client_of(builder).get(where))
        assert "Waits for a designer's decision" in page.replace("&#x27;", "'")
        assert "Last day for changes of K1" in page
        late = "14 days left. That is after the last day for changes of K1: it may be cut by then"
        assert late in page
        queue, tag = reverse("changes:queue", args=[job.pk]), "an answer is wanted after the last day for K1"
        assert tag in words(client_of(designer).get(queue))
        type(truss).objects.filter(pk=truss.pk).update(can_change_until=change.needed_by)
        assert "That is after" not in words(client_of(builder).get(where))
        assert tag not in words(client_of(designer).get(queue))
        type(truss).objects.filter(pk=truss.pk).update(can_change_until=job.today() + timedelta(days=1))
        assert ", 1 day left" in page
        assert "The saw the shop has not answered the hold on K1 (3 not yet cut)" in page
        workflow.answer_hold(designer, Hold.objects.get(), acknowledge=True)
        assert "The saw waits for K1 (3 not yet cut)" in words(client_of(builder).get(where))

    def test_what_has_ended_has_none(self, answered, client_of, builder):
        change = answered(HITS_WEB)
        workflow.withdraw(builder, change)
        page = client_of(builder).get(reverse("changes:request", args=[change.pk])).content.decode()
        assert 'class="next-step"' not in page


class TestPeople:
    def test_each_says_how_to_be_reached(self, client_of, builder, designer, job, truss):
        where = reverse("trusses:people", args=[job.pk])
        assert client_of(designer).post(where, {"phone": "(555) 010-0199"}).status_code == 302
        page = client_of(builder).get(where).content.decode()
        assert "(555) 010-0199" in page
        assert job.memberships.exclude(user=designer).exclude(phone="").count() == 0

    @pytest.mark.parametrize("phone", ["call me", "555", "javascript:alert(1)", "5" * 31, '"><b>1'])
    def test_what_is_no_number_is_said_and_kept(self, client_of, designer, job, phone):
        answer = client_of(designer).post(reverse("trusses:people", args=[job.pk]), {"phone": phone})
        if phone == "555":  # short numbers exist
            assert answer.status_code == 302
            return
        assert answer.status_code == 422
        assert "Not kept." in answer.content.decode()
        assert job.memberships.exclude(phone="").count() == 0

    def test_who_is_no_member_sees_nobody(self, client_of, outsider, job):
        assert client_of(outsider).get(reverse("trusses:people", args=[job.pk])).status_code == 404
