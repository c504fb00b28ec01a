"""A mark's first design is corrected or withdrawn by a designer, while nothing of it is released; the record stays."""

from __future__ import annotations

import copy
import html
import json
import re

import pytest
from django.core.exceptions import PermissionDenied

from tests.changes.asking import TOO_SOFT, without_web
from tests.refused import refused
from tests.trusses.sent import correct, sent, work
from trusses.bearings import links
from trusses.marks.correcting import withdraw
from trusses.models import Stage, Submission
from trusses.production import move
from trusses.refusals import Refused, Superseded


@pytest.fixture
def better(truss):
    document = copy.deepcopy(truss.current.document)
    document["members"][4]["lumber"] = "2x6 SPF No.1/No.2"
    return document


def ids(truss):
    return list(truss.copies.values_list("pk", flat=True))


class TestCorrecting:
    def test_writes_the_next_revision_and_keeps_the_first(self, truss, designer, better):
        first = truss.current
        correct(designer, truss, better, "The web was drawn too small.", first)
        truss.refresh_from_db()
        assert (truss.current.number, truss.current.document) == (1, better)
        assert truss.revisions.get(number=0).document == first.document
        event = truss.events.get()
        assert (event.by, event.code) == (designer, "corrected")
        assert event.values == {"before": 0, "after": 1, "reason": "The web was drawn too small."}

    def test_two_designers_at_once_make_one_correction(self, truss, designer, make_person, job, better):
        other = make_person("second-designer", job, "designer")
        seen = truss.current
        correct(designer, truss, better, "One.", seen)
        with refused(Superseded, "superseded"):
            correct(other, truss, {**better, "title": "Two"}, "Two.", seen)
        truss.refresh_from_db()
        assert truss.revisions.count() == 2
        assert truss.events.count() == 1

    def test_a_double_click_is_refused_and_writes_nothing(self, truss, designer, better):
        correct(designer, truss, better, "One.")
        with refused(Refused, "nothing-corrected"):
            correct(designer, truss, better, "One.")
        assert truss.revisions.count() == 2

    @pytest.mark.parametrize("stage", ["released", "cut", "set"])
    def test_not_once_a_copy_is_released(self, stage, truss, designer, better):
        truss.copies.filter(number=2).update(stage=stage)
        with refused(Refused, "copy-begun"):
            correct(designer, truss, better, "Too late.")
        with refused(Refused, "copy-begun"):
            withdraw(designer, truss, "Too late.")
        assert truss.revisions.count() == 1

    def test_not_while_a_released_mark_carries_it(self, truss, designer, better, job):
        from tests.trusses.standing import girder, place

        g1 = girder(job, designer, y=240)
        place(truss, 120, 0, "y", 120, 2)
        links.set_link(designer, truss, "C", carrier=g1)
        g1.copies.update(stage=Stage.RELEASED, released_to=g1.current)
        with refused(Refused, "carrier-begun"):
            correct(designer, truss, better, "Heavier.")

    def test_needs_a_reason(self, truss, designer, better):
        with pytest.raises(Refused, match="Say why") as refused:
            correct(designer, truss, better, " ")
        assert refused.value.field == "reason"

    def test_accepts_a_deflection_by_name_and_nothing_else(self, truss, designer):
        soft = without_web(truss.current.document, bottom=TOO_SOFT)
        with refused(Refused, "fails-unless-accepted"):
            correct(designer, truss, soft, "No web in the way.")
        revision = correct(designer, truss, soft, "No web in the way.", accepts=["total deflection"])
        assert revision.accepts == [{"rule": "total deflection", "reason": "No web in the way."}]
        weak = copy.deepcopy(soft)
        weak["members"][2]["lumber"] = weak["members"][3]["lumber"] = "2x4 SPF No.3"
        with refused(Refused, "fails-for-good"):
            correct(designer, truss, weak, "Cheaper.", accepts=["total deflection"])

    @pytest.mark.parametrize("who", ["builder", "site lead", "outsider"])
    def test_by_nobody_else(self, who, cast, truss, better):
        for act in (lambda: correct(cast[who], truss, better, "Mine."), lambda: withdraw(cast[who], truss, "Mine.")):
            with pytest.raises(PermissionDenied):
                act()


class TestWithdrawing:
    def test_takes_it_out_of_the_set_and_keeps_the_record(self, truss, designer, client_of):
        withdraw(designer, truss, "The porch is gone.")
        assert (truss.withdrawn_at is not None, truss.revisions.count()) == (True, 1)
        assert truss.events.get().values == {"revision": 0, "reason": "The porch is gone."}
        with refused(Refused, "withdrawn"):
            move(designer, truss, ids(truss), "released")
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        sheet = client_of(designer).get(f"{where}revisions/0/").content.decode()
        assert "No. This mark is withdrawn: do not build from this." in sheet
        page = html.unescape(client_of(designer).get(where).content.decode())
        assert "K1 is withdrawn from the set" in page
        assert "The porch is gone." in page

    def test_twice_is_refused(self, truss, designer):
        withdraw(designer, truss, "Gone.")
        with refused(Refused, "withdrawn-already"):
            withdraw(designer, truss, "Gone.")
        assert truss.events.count() == 1

    def test_a_correction_brings_it_back(self, truss, designer, better):
        withdraw(designer, truss, "Gone.")
        correct(designer, truss, better, "The porch is back.")
        truss.refresh_from_db()
        assert truss.withdrawn_at is None
        assert move(designer, truss, ids(truss), "released") == 3

    def test_not_what_carries_another(self, truss, designer, job, king_post):
        from tests.trusses.standing import girder, stand

        g1 = girder(job, designer)
        stand(job, designer, king_post, "K5", g1)
        with refused(Refused, "carries-others"):
            withdraw(designer, g1, "No girder.")


class TestPagesAndApi:
    def test_the_page_corrects_and_brings_back_what_was_typed(self, truss, designer, client_of, better):
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/"
        client = client_of(designer)
        assert "Make this the current revision" in client.get(where).content.decode()
        typed = {"document": json.dumps(better | {"mark": "K7"}), "reason": "Wrong web.", "seen": truss.current.pk}
        page = client.post(where, typed)
        assert (page.status_code, "Wrong web." in page.content.decode()) == (422, True)
        assert "of mark K7" in page.content.decode()
        done = sent(client, where, typed | {"document": json.dumps(better)})
        truss.refresh_from_db()
        assert truss.current.number == 1
        told = html.unescape(done.content.decode())
        assert "Corrected: revision 1 of K1 is current." in told
        assert "Corrected: revision 1 in place of revision 0" in told

    def test_what_the_worker_refuses_is_typed_again_from_where_it_was(self, truss, designer, client_of):
        """A deflection that fails is found by the analysis alone; its acceptance is a tap in the same form."""
        where, client = f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/", client_of(designer)
        soft = without_web(truss.current.document, bottom=TOO_SOFT)
        typed = {"document": json.dumps(soft), "reason": "No web in <the> way.", "seen": truss.current.pk}
        page = sent(client, where, typed).content.decode()
        assert "Nothing was corrected." in page
        assert "it can be accepted only with a reason" in page
        back = html.unescape(re.search(r'href="([^"]*correct/[^"]*)"', page)[1])
        form = client.get(back).content.decode()
        assert 'value="total deflection"' not in client.get(where).content.decode()  # nothing of today's design fails
        assert 'value="total deflection"' in form
        assert "No web in &lt;the&gt; way." in form
        assert json.loads(html.unescape(re.search(r"<textarea[^>]*>(.*?)</textarea>", form, re.S)[1])) == soft
        sent(client, back, typed | {"accepts": "total deflection"})
        truss.refresh_from_db()
        assert truss.current.accepts == [{"rule": "total deflection", "reason": "No web in <the> way."}]

    def test_a_second_click_finds_what_the_first_sent(self, truss, designer, client_of, better):
        where, client = f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/", client_of(designer)
        typed = {"document": json.dumps(better), "reason": "Wrong web.", "seen": truss.current.pk}
        assert client.post(where, typed)["Location"] == client.post(where, typed)["Location"]
        assert Submission.objects.count() == 1

    def test_whoever_lost_the_role_meanwhile_corrects_nothing(self, truss, designer, client_of, better, job):
        where, client = f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/", client_of(designer)
        client.post(where, {"document": json.dumps(better), "reason": "Wrong web.", "seen": truss.current.pk})
        job.memberships.filter(user=designer).update(role="builder")
        work()
        assert Submission.objects.get().trouble["code"] == "role"
        assert truss.revisions.count() == 1

    def test_the_page_withdraws(self, truss, designer, client_of):
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/"
        typed = {"document": "", "reason": "Not needed.", "withdraw": "1", "seen": truss.current.pk}
        assert client_of(designer).post(where, typed).status_code == 302
        truss.refresh_from_db()
        assert truss.withdrawn_at is not None

    @pytest.mark.parametrize(("who", "status"), [("builder", 403), ("site lead", 403), ("outsider", 404)])
    def test_nobody_else_gets_the_page_or_the_calls(self, who, status, cast, truss, client_of, api_of, better):
        assert client_of(cast[who]).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/correct/").status_code == status
        for call, body in (("correct", {"document": better}), ("withdraw", {})):
            body |= {"reason": "Mine.", "revision": 0}
            answer = api_of(cast[who]).post(f"/api/v1/trusses/{truss.pk}/{call}/", body, format="json")
            assert answer.status_code == status

    def test_programs_correct_and_withdraw(self, truss, designer, api_of, better):
        program, where = api_of(designer), f"/api/v1/trusses/{truss.pk}"
        body = {"document": better, "reason": "Wrong web.", "revision": 0}
        answer = program.post(f"{where}/correct/", body, format="json")
        assert (answer.status_code, answer.json()["kind"], answer.json()["waits"]) == (202, "correction", True)
        work()
        told = program.get(f"/api/v1/submissions/{answer.json()['id']}/").json()
        assert (told["waits"], told["truss"], told["revision"], told["trouble"]) == (False, truss.pk, 1, "")
        assert program.post(f"{where}/correct/", body, format="json").status_code == 400
        gone = program.post(f"{where}/withdraw/", {"reason": "Gone.", "revision": 1}, format="json").json()
        assert gone["withdrawn_at"] is not None
        codes = [one["code"] for one in program.get(f"{where}/events/").json()["results"]]
        assert codes == ["corrected", "withdrawn"]
