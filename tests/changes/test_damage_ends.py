"""What keeps a damaged truss off, what ends that, and what never does; by a sealed repair: test_damage_repairs.py."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from changes import workflow
from changes.asks.as_cut import told_damaged
from changes.inspection import showing
from changes.models import Request, State
from changes.workflow import deciding
from changes.workflow.setting import damaged
from tests.changes.asking import DAMAGE, LOAD, answer_of, approve, attach, compute, post
from tests.refused import refused
from tests.sealed import SAID, drawing
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.copies import earlier, looks
from trusses.models import Copy, Placement, Stage
from trusses.production import move
from trusses.refusals import Refused as SetRefused
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import recording, seals


class TestItsEnd:
    @pytest.fixture
    def both(self, job, row, builder, needed_by):
        """Told of damage of copy 3, and asked for a weight on copy 3 or another."""

        def make(weighed):
            told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
            weight = {"kind": "load", "truss": row, "copies": [weighed], "load": LOAD}
            return compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=[told, weight]))

        return make

    def test_of_two_who_decide_at_once_one_decides(self, judged_here, ask, designer, monkeypatch):
        """Keeping it off leaves the state as it was, so the state alone doesn't tell the second that they are late."""
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        attach(designer, change)
        off = {"verdict": "approve", "reason": "It moved", "ends_by": "keep off"}
        read, other = deciding.read_lines, Request.objects.get(pk=change.pk)

        def meanwhile(*asked):
            monkeypatch.setattr(deciding, "read_lines", read)
            workflow.decide(designer, other, **off)
            return read(*asked)

        monkeypatch.setattr(deciding, "read_lines", meanwhile)
        with refused(workflow.Conflict, "moved-since", state="awaiting decision", last="approve"):
            workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert [one.ends_by for one in change.decisions.all()] == ["keep off"]

    def test_a_program_says_which_decision_it_saw_last(self, judged_here, ask, designer, api_of):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        attach(designer, change)
        program, where = api_of(designer), f"requests/{change.pk}/"
        saw = [program.get(f"/api/v1/{where}").json()["last_decision"]]
        workflow.decide(designer, change, verdict="approve", reason="It moved", ends_by="keep off")
        saw.append(program.get(f"/api/v1/{where}").json()["last_decision"])
        assert saw == [0, change.decisions.get().pk]
        repair = {"verdict": "approve", "reason": "Repair 12", "ends_by": "repair"}
        tries = [post(program, f"{where}decision/", {**repair, "after": one}).status_code for one in (*saw, -1)]
        assert tries == [409, 200, 400]

    def test_an_inspector_is_told_of_an_end_only_once_the_copy_may_be_set(
        self, judged_here, ask, row, designer, builder, site_lead
    ):
        (change, job) = ask("damage", DAMAGE, copies=[3]), row.job
        answer_of(change)
        first = attach(designer, change)
        ends = [showing.repairs(job)[0].end]
        recording.record(site_lead, first, "carried out", on=job.today())
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="It bows", ends_by="keep off")
        ends.append(showing.repairs(job)[0].end)
        assert ends == ["", "", "repair", ""]

    def test_a_new_truss_ends_it_too(self, ask, row, designer, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        workflow.decide(designer, change, verdict="approve", reason="Built anew on Monday", ends_by="new truss")
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        assert move(site_lead, row, [row.copies.get(number=3).pk], Stage.SET) == 1

    @pytest.mark.parametrize("recorded", [True, False])
    def test_the_damaged_truss_itself_is_never_set(self, ask, row, designer, site_lead, recorded):
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        at = {"released_to": row.current, "built_to": row.current} if recorded else {}
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, **at)
        third, fourth, fifth = row.copies.filter(number__in=(3, 4, 5)).order_by("number")
        Copy.objects.filter(pk=fourth.pk).update(stage=Stage.SET)
        workflow.decide(designer, change, verdict="approve", reason="A new one", ends_by="new truss")
        for copy in (third, fourth, fifth):
            copy.refresh_from_db()
        assert (third.stage, third.built_to, fourth.stage, fifth.stage) == ("designing", None, "designing", "delivered")
        with refused(SetRefused, "too-early", copies=[3]):
            move(site_lead, row, [third.pk], Stage.SET)
        told = [(one.values["from"], one.values["copies"], one.by) for one in row.events.filter(code="made anew")]
        assert told == [("delivered", [3], designer), ("set", [4], designer)]
        assert ("built to revision 0 is" in row.events.filter(code="made anew")[0].told) is recorded

    def test_the_order_of_setting_tells_of_all_that_keeps_off(
        self, ask, row, builder, designer, site_lead, king_post, client_of, django_assert_max_num_queries
    ):
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        second = add_mark(row.job, {**king_post, "mark": "K2"}, 5, designer)
        place = Placement.objects.create(truss=second, origin_x_in=0, origin_y_in=200, spacing_in=24, count=5)
        second.copies.update(stage=Stage.DELIVERED, built_to=second.current, placement=place)
        ask("damage", DAMAGE, copies=[3])
        page = f"/jobs/{row.job_id}/setting/"

        def off():
            rows = client_of(site_lead).get(page).content.decode().split('class="to-set')[1:]
            return [
                re.search(r"<b>(K\d-\d)</b>", one)[1]
                for one in rows
                if "don’t set" in one or "damaged, keep off" in one
            ]

        seals.say_what_is_asked(designer, row.job, review=False, acceptance=False, without="blocks")
        with django_assert_max_num_queries(45):  # of however many marks and copies
            assert off() == [f"K{mark}-{n}" for mark in (1, 2) for n in range(1, 6)], "nothing is sealed"
        seals.say_what_is_asked(designer, row.job, review=False, acceptance=False, without="warns")
        assert off() == ["K1-3"], "another mark's copy of that number isn't damaged"
        looks.tick(site_lead, row, [row.copies.get(number=4).pk], Stage.SET, points={"place": False})
        issue_revision(
            second, second.current, *read_and_analyse({**second.current.document, "title": "B"}, NOTHING_SAID), designer
        )
        second.refresh_from_db()
        earlier.say(designer, second, [1, 2, 3], "stays", "As built")
        earlier.say(designer, second, [4], "waits", "The crane")
        assert off() == ["K1-3", "K1-4", "K2-4", "K2-5"]

    def test_a_designer_who_declines_says_that_it_is_not_damaged(self, ask, row, designer, site_lead, client):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        assert damaged([third]).code == "copy-damaged"
        client.force_login(designer)
        page = client.get(reverse("changes:request", args=[change.pk])).content.decode()
        assert "Declining says by your name and reason that the truss isn't damaged." in page
        with refused(workflow.Refused, "say-why-declined"):
            workflow.decide(designer, change, verdict="decline")
        workflow.decide(designer, change, verdict="decline", reason="It was copy 4")
        assert (
            "By this the truss isn't damaged"
            in client.get(reverse("changes:request", args=[change.pk])).content.decode()
        )
        assert move(site_lead, row, [third.pk], Stage.SET) == 1

    def test_a_repair_that_turns_out_impossible_ends_by_a_new_truss_told_of_again(
        self, judged_here, ask, row, designer
    ):
        first = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(first)
        attach(designer, first)
        workflow.decide(designer, first, verdict="approve", reason="Repair 12", ends_by="repair")
        third, fourth = row.copies.filter(number__in=(3, 4)).order_by("number")
        again = ask("damage", {**DAMAGE, "note": "No room for the scab"}, copies=[3])
        later = ask("damage", {**DAMAGE, "member": "B1"}, copies=[3])
        answer_of(again)
        workflow.decide(designer, again, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]).values["request"] == later.pk
        compute(later)
        workflow.decide(designer, later, verdict="decline", reason="The same break")
        assert damaged([third]) is None
        assert damaged([fourth]).code == "repair-lacks"

    def test_a_designer_keeps_it_off_limits_until_something_ends_it(
        self, judged_here, ask, row, designer, client_of, api_of, site_lead
    ):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third, page = row.copies.get(number=3), f"/requests/{change.pk}/"
        desk = client_of(designer)
        words = {"verdict": "approve", "ends_by": "keep off"}
        assert desk.post(f"{page}decide/", words).status_code == 422
        for said in ("Nobody under it before Monday", "The engineer comes on Tuesday"):
            assert desk.post(f"{page}decide/", {**words, "reason": said}).status_code == 302
            assert said in client_of(site_lead).get(page).content.decode()
            change.refresh_from_db()
            assert (change.state, damaged([third]).code) == (State.AWAITING_DECISION, "copy-damaged")
            told = api_of(site_lead).get(f"/api/v1/requests/{change.pk}/").json()["decision"]
            assert (told["ends_by"], told["reason"]) == ("keep off", said)
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None
        assert "It doesn't end by that after all" in desk.get(page).content.decode()
        assert "It doesn't end by that after all" not in client_of(site_lead).get(page).content.decode()
        # told of anew in the same words meanwhile, it doesn't stand in the way
        again = ask("damage", DAMAGE, copies=[3])
        answer_of(again)
        assert (
            desk.post(
                f"{page}decide/", {**words, "state": "approved", "reason": "There is no lumber for it"}
            ).status_code
            == 302
        )
        change.refresh_from_db()
        assert change.state == State.AWAITING_DECISION
        workflow.decide(designer, again, verdict="decline", reason="Told twice")
        assert damaged([third]).values["request"] == change.pk
        attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert damaged([third]).code == "repair-lacks"

    def test_what_stays_off_limits_is_said_of_damage_alone(self, job, row, builder, designer, needed_by):
        told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
        weight = {"kind": "load", "truss": row, "copies": [4], "load": LOAD}
        change = workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=[told, weight])
        compute(change)
        with refused(workflow.Refused, "keep-off-alone"):
            workflow.decide(designer, change, verdict="approve", reason="Wait", ends_by="keep off")

    def test_where_its_computation_breaks_a_designer_still_ends_it(self, ask, row, designer, client_of):
        change = ask("damage", DAMAGE, copies=[3])
        change.__class__.objects.filter(pk=change.pk).update(state=State.FAILED)
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert 'value="decline"' in page
        assert 'value="approve"' not in page
        assert 'value="send back"' not in page
        change.refresh_from_db()
        workflow.decide(designer, change, verdict="decline", reason="It was another copy")
        assert damaged([row.copies.get(number=3)]) is None

    def test_a_new_truss_ends_nothing_that_was_told_of_later(self, ask, row, weaker, designer):
        """Copy 4 was built anew and then damaged; the ask of the old one is parted later, and so has a later id."""
        first = compute(ask("damage", DAMAGE, copies=[3, 4]))
        Copy.objects.filter(truss=row, number=4).update(built_to=weaker, stage=Stage.DELIVERED)
        later = compute(ask("damage", {**DAMAGE, "member": "B1"}, copies=[4]))
        compute(workflow.compute_again(designer, first))
        assert first.asks.get(copies=[4]).pk > later.asks.get().pk
        workflow.decide(designer, first, verdict="approve", reason="Both are built anew", ends_by="new truss")
        assert damaged([row.copies.get(number=3)]) is None
        assert damaged([row.copies.get(number=4)]).values["request"] == later.pk

    def test_an_answer_that_tells_of_none_ends_none(self, ask, row, designer, client_of):
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "question", "question": {"says": "May I?"}}]
        compute(workflow.answer(change.filed_by, change, says="Never mind", asks=other))
        page, words = client_of(designer).get(f"/requests/{change.pk}/").content.decode(), {"verdict": "approve"}
        assert "Damage to K1, copy 3 was told of before the answer" in page
        assert 'name="ends_by"' in page
        assert 'value="repair"' not in page
        with refused(workflow.Refused, "damage-ends-by"):
            workflow.decide(designer, change, **words, reason="You may")
        with refused(workflow.Refused, "repairs-left-out"):
            workflow.decide(designer, change, **words, reason="You may", ends_by="repair")
        # as it could be decided before
        Request.objects.filter(pk=change.pk).update(state=State.APPROVED)
        change.decisions.create(**words, reason="You may", by=designer)
        assert damaged([third]).code == "copy-damaged"
        Request.objects.filter(pk=change.pk).update(state=State.AWAITING_DECISION)
        workflow.decide(designer, change, **words, reason="Not yet", ends_by="keep off")
        assert damaged([third]).code == "copy-damaged"
        workflow.decide(designer, change, **words, reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None

    def test_an_answer_that_tells_of_another_copy_ends_that_alone(self, ask, row, designer, client_of):
        """Told of copy 3, sent back, and answered with damage to copy 4: copy 3 goes on until it is spoken of."""
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        of_third = change.asks.get()
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "damage", "copies": [4], "damage": DAMAGE}]
        compute(workflow.answer(change.filed_by, change, says="The next one too", asks=other))
        address = f"/requests/{change.pk}/"
        page = client_of(designer).get(address).content.decode()
        assert "Damage that was told of before the answer" in page
        assert "It ends by this decision too" not in page
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([row.copies.get(number=4)]) is None
        assert damaged([third]).code == "copy-damaged"
        assert "nothing was decided of it, and it keeps off" in client_of(designer).get(address).content.decode()
        workflow.decide(designer, change, verdict="approve", reason="Copy 3", ends_by="keep off", leaves=[of_third.pk])
        assert 3 in {number for _, number in told_damaged({row.pk})}
        assert change.decisions.last().leaves == []
        sent = {"verdict": "approve", "reason": "Copy 3 is whole", "ends_by": "new truss", "unharmed": str(of_third.pk)}
        assert client_of(designer).post(f"{address}decide/", {**sent, "reason": ""}).status_code == 422
        assert client_of(designer).post(f"{address}decide/", sent).status_code == 302
        assert damaged([third]) is None
        assert 3 not in {number for _, number in told_damaged({row.pk})}
        assert "K1, copy 3: not damaged, by this decision." in client_of(designer).get(address).content.decode()

    def test_what_a_later_request_ends_by_a_new_truss_is_said_no_more(self, ask, row, designer, client_of):
        """Copies 3 and 5 are left out of an answer; another request has copy 3 made anew."""
        change, third = compute(ask("damage", DAMAGE, copies=[3, 5])), row.copies.get(number=3)
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "damage", "copies": [4], "damage": DAMAGE}]
        compute(workflow.answer(change.filed_by, change, says="The next one too", asks=other))
        address, keeps = f"/requests/{change.pk}/", "told of before the answer: nothing was decided of it, and it keeps"
        said = lambda: client_of(designer).get(address).content.decode()  # noqa: E731
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert keeps in said()
        again = compute(ask("damage", {**DAMAGE, "note": "This one too"}, copies=[3]))
        workflow.decide(designer, again, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None
        assert f"Damage to K1, copy 5, {keeps}" in said()

    def test_it_is_kept_off_again_while_the_design_of_its_request_stays_issued(self, both, row, designer, client_of):
        change, page = both(4), "It doesn't end by that after all"
        load, third = change.asks.get(kind="load"), row.copies.get(number=3)
        issue = {"options": {load.pk: load.options.first().pk}}
        workflow.decide(designer, change, verdict="approve", reason="Anew", ends_by="new truss", **issue)
        address = f"/requests/{change.pk}/"
        assert page in client_of(designer).get(address).content.decode()
        workflow.decide(designer, change, verdict="approve", reason="No lumber", ends_by="keep off")
        assert damaged([third]).code == "copy-damaged"
        told = client_of(designer).get(address).content.decode()
        assert "Keep off: nothing ends the damage yet" in told
        assert "Issue this revision" not in told
        workflow.decide(designer, change, verdict="approve", reason="It came", ends_by="new truss")
        assert damaged([third]) is None
        assert [one.issues.count() for one in change.decisions.all()] == [1, 0, 0]
        told = [verb for verb, event in client_of(designer).get(address).context["events"] if event.verb == "approve"]
        assert told == ["New revision issued, not sealed", "Answered"]

    @pytest.mark.parametrize("own", [True, False], ids=["own request", "another request"])
    def test_it_goes_along_when_its_copy_becomes_a_variant_s(self, own, judged_here, both, ask, row, designer):
        change = both(3) if own else compute(ask("damage", DAMAGE, copies=[3]))
        told, sent = change.asks.get(kind="damage"), drawing("a repair")
        said = {**SAID, "sealed_on": row.job.today()}
        workflow.attach_repair(designer, change, told, sent, len(sent.getvalue()), **said)
        words = {"verdict": "approve", "reason": "Repair 12", "ends_by": "repair"}
        if own:
            load = change.asks.get(kind="load")
            workflow.decide(designer, change, **words, options={load.pk: load.options.first().pk})
        else:
            workflow.decide(designer, change, **words)
            approve(designer, compute(ask("load", LOAD, copies=[3])))
        third, asks = Copy.objects.get(number=3), change.asks.filter(kind="damage")
        assert third.truss.variant_of == row
        assert damaged([third]).code == "copy-damaged"
        assert asks.get().truss == third.truss
        # told of before copies took it along
        asks.update(truss=row)
        assert damaged([third]).values["mark"] == third.truss.mark
        asks.update(truss=third.truss)
        workflow.decide(designer, change, verdict="approve", reason="Another truss now", ends_by="keep off")
        compute(workflow.compute_again(designer, change))
        assert asks.get().revision == third.truss.current
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert damaged([third]) is None
