"""What keeps a damaged truss off, what ends that, and what never does."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from changes import workflow
from changes.asks.as_cut import told_damaged
from changes.inspection import showing
from changes.models import Request, State
from changes.refusals import NotAllowed
from changes.workflow import deciding
from changes.workflow.setting import damaged
from changes.workflow.turns import turns
from tests.changes.asking import DAMAGE, LOAD, answer_of, approve, attach, compute, post
from tests.refused import refused
from tests.sealed import SAID, drawing
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.copies import earlier, looks, undoing
from trusses.models import Copy, Placement, Stage
from trusses.production import move
from trusses.refusals import Refused as SetRefused
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import seals


class TestItsEnd:
    @pytest.fixture
    def both(self, job, row, builder, needed_by):
        """Told of damage of copy 3, and asked for a weight on copy 3 or another."""

        def make(weighed):
            told = {"kind": "damage", "truss": row, "copies": [3], "damage": DAMAGE}
            weight = {"kind": "load", "truss": row, "copies": [weighed], "load": LOAD}
            return compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=[told, weight]))

        return make

    def test_it_is_not_set_until_a_sealed_repair_ends_it(self, judged_here, ask, row, designer, builder, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third, fourth = Copy.objects.filter(truss=row, number__in=(3, 4)).order_by("number")
        with refused(SetRefused, "copy-damaged", copies=[3], request=change.pk):
            move(site_lead, row, [third.pk, fourth.pk], Stage.SET)
        assert move(site_lead, row, [fourth.pk], Stage.SET) == 1
        with refused(workflow.Refused, "say-what-was-done"):
            workflow.decide(designer, change, verdict="approve")
        sealed = {"verdict": "approve", "reason": "Repair drawing 12, sealed by the engineer"}
        with refused(workflow.Refused, "damage-ends-by"):
            workflow.decide(designer, change, **sealed)
        with refused(workflow.Refused, "repair-without-drawing"):
            workflow.decide(designer, change, **sealed, ends_by="repair")
        today, attached = row.job.today(), attach(designer, change)
        with refused(SetRefused, "copy-damaged"):
            move(site_lead, row, [third.pk], Stage.SET)
        waits = [[one.change for one in turns(site_lead) if "repair" in one.why]]
        workflow.decide(designer, change, **sealed, ends_by="repair")
        waits.append([one.change for one in turns(site_lead) if "repair" in one.why])
        with refused(SetRefused, "repair-lacks", lacks=["carried out"], copies=[3]):
            move(site_lead, row, [third.pk], Stage.SET)
        with pytest.raises(PermissionDenied):
            seals.record(builder, attached, "carried out", on=today)
        seals.record(site_lead, attached, "carried out", on=today)
        waits.append([one.change for one in turns(site_lead) if "repair" in one.why])
        assert waits == [[], [change], []]
        assert move(site_lead, row, [third.pk], Stage.SET) == 1
        assert "attach a repair" in change.events.values_list("verb", flat=True)

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
        seals.record(site_lead, first, "carried out", on=job.today())
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        ends.append(showing.repairs(job)[0].end)
        workflow.decide(designer, change, verdict="approve", reason="It bows", ends_by="keep off")
        ends.append(showing.repairs(job)[0].end)
        assert ends == ["", "", "repair", ""]

    def test_the_needed_words_are_marked_and_offered_from_the_attached_drawing(
        self, judged_here, ask, designer, client
    ):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        client.force_login(designer)
        at = reverse("changes:request", args=[change.pk])
        page = client.get(at).content.decode()
        assert 'Reason, or the question to builder <span class="needed">needed</span>' in page
        assert 'data-fill="reason"' not in page, "nothing is attached yet"
        attach(designer, change)
        page = client.get(at).content.decode()
        assert f'data-fill="reason" data-value="Repair of K1, sealed drawing by {SAID["sealed_by"]}, license ' in page
        assert 'id="to-decide"' not in page, "an empty bar over a decision in words"

    def test_a_corrected_repair_is_looked_at_anew(self, judged_here, ask, row, designer, site_lead):
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        first = attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        seals.record(site_lead, first, "carried out", on=row.job.today())
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        assert damaged([third]) is None
        with refused(SetRefused, "sealed-already"):
            attach(designer, change, "corrected")
        attach(designer, change, "corrected", replaces=first, reason="A scab was short")
        assert damaged([third]).code == "repair-lacks"
        assert seals.seal_of(row.current) is None

    def test_the_job_s_review_counts_for_repairs_too(self, judged_here, ask, row, designer, site_lead, builder):
        seals.say_what_is_asked(designer, row.job, review=True, acceptance=False, without="warns")
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        attached = attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        third = row.copies.get(number=3)
        assert damaged([third]).values["lacks"] == ["reviewed", "carried out"]
        seals.withdraw(designer, attached, "The engineer took it back")
        assert damaged([third]).code == "copy-damaged"

    def test_it_is_carried_out_once_its_drawing_is_reviewed_and_accepted_and_told_by_who_looked(
        self, judged_here, ask, row, designer, site_lead, builder, client_of
    ):
        seals.say_what_is_asked(designer, row.job, review=True, acceptance=True, without="blocks")
        change, today = ask("damage", DAMAGE, copies=[3]), row.job.today()
        answer_of(change)
        attached = attach(designer, change, sealed_on=today - timedelta(days=2))
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        step = page[page.index('id="record-carried-out"') :]
        assert "<form" not in step[: step.index("</section>")], "it isn't asked for out of order"
        with refused(SetRefused, "carried-out-early", lacks=["reviewed", "accepted"]):
            seals.record(designer, attached, "carried out", on=today)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        queue, steps = f"/jobs/{row.job_id}/requests/", []

        def waits():
            """Whose turn it is, and what the queue of open requests says."""
            own = [[why for one in turns(who) if one.change for why in one.why] for who in (designer, site_lead)]
            page = client_of(builder).get(queue).content.decode()
            steps.append((*own, *re.findall(r"waits for (.*?)</span>", page)))

        waits()
        seals.record(builder, attached, "reviewed", name="The building designer", on=today - timedelta(days=1))
        with refused(SetRefused, "carried-out-early", lacks=["accepted"]):
            seals.record(site_lead, attached, "carried out", on=today)
        seals.record(builder, attached, "accepted", name="The department", on=today - timedelta(days=1))
        waits()
        with refused(SetRefused, "carried-out-before"):
            seals.record(site_lead, attached, "carried out", on=today - timedelta(days=2))
        with refused(SetRefused, "carried-out-own", own=designer.get_username()):
            seals.record(designer, attached, "carried out", name="Site lead", on=today)
        assert seals.record(site_lead, attached, "carried out", on=today).name == site_lead.get_username()
        waits()
        by_hand = "the carrying out, recorded by who looked at it, of its sealed repair"
        review, acceptance = "the building designer&#x27;s review", "the building department&#x27;s acceptance"
        assert steps == [
            (["records"], [], f"{review}, {acceptance} and {by_hand}"),
            ([], ["repair"], by_hand),
            ([], []),
        ]
        page = client_of(builder).get(f"/requests/{change.pk}/").content.decode()
        assert "waits for nothing: what ends its damage is recorded" in page

    def test_every_page_that_tells_copies_keeps_off_the_damaged_one_and_tells_its_repair(
        self, judged_here, ask, row, builder, designer, site_lead, client_of, client
    ):
        Copy.objects.filter(truss=row).update(stage=Stage.BUILT, built_to=row.current)
        place = Placement.objects.create(truss=row, origin_x_in=0, origin_y_in=0, spacing_in=24, count=5)
        row.copies.filter(number__lte=5).update(placement=place)
        lead, at = client_of(site_lead), f"/jobs/{row.job_id}/trusses/{row.pk}/"
        sheet = f"{at}revisions/0/"
        paper = re.search(r"/paper/[A-Za-z0-9]+/", lead.get(sheet).content.decode())[0]
        pages = [sheet, f"{at}labels/", f"/jobs/{row.job_id}/plan/", at, f"/jobs/{row.job_id}/setting/", paper]

        def told():
            return [one.get(page).content.decode() for page in pages for one in [client if page == paper else lead]]

        assert not any("keep off" in page.lower() for page in told())
        change = ask("damage", DAMAGE, copies=[3])
        answer_of(change)
        first, labels, plan, mark, setting, code = told()
        second_line = first[first.index("<!--status-->") : first.index("<!--/status-->")]
        assert second_line.index("Not copy 3: damaged, keep off.") < second_line.index("Do not build from this")
        assert f'href="/requests/{change.pk}/#repair"' in second_line
        edges = lead.get(reverse("trusses:margins", args=[row.job_id, row.pk, 0])).content.decode()
        assert "Not copy 3\\3a  damaged\\2c  keep off" in edges
        assert labels.count("Damaged: keep off. Not to be set.") == 1
        assert 'class="hurt"' in plan
        assert "K1-3, damaged: keep off" in plan
        assert "Not copy 3: damaged, keep off." in mark
        assert mark.count("Copy 3: W1 cut or broken through.") == 1
        assert '<a href="#wrong">What is wrong with it</a>' in mark
        # whoever moves no copies on reads it there as well
        for page in (at, f"/jobs/{row.job_id}/", f"/jobs/{row.job_id}/sheets/"):
            assert client_of(builder).get(page).content.decode().count("Copy 3: damaged, keep off.") == 1
        assert setting.count("damaged, keep off") == 1
        assert "<dt>Damaged: keep off</dt><dd><strong>copy 3</strong>" in code
        chosen = [row.copies.get(number=number).pk for number in (2, 3)]
        right = {"bow": True, "plates": True, "wood": True}
        with refused(SetRefused, "look-of-hurt", copies=[3]):
            looks.tick(site_lead, row, chosen, Stage.DELIVERED, points=right)
        assert looks.tick(site_lead, row, chosen[:1], Stage.DELIVERED, points=right).moved == 1
        assert looks.tick(site_lead, row, chosen[1:], Stage.DELIVERED).moved == 1
        attached = attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert "Not copy 3: damaged, keep off." in told()[0]
        asked = f"/requests/{change.pk}/"
        assert "<strong>At once</strong>" in lead.get(asked).content.decode()
        seals.record(site_lead, attached, "carried out", on=row.job.today())
        mended = lead.get(asked).content.decode()
        assert "<strong>At once</strong>" not in mended, "what is repaired isn't called to be kept off above its repair"
        assert "What was said before it was repaired" in mended
        first, labels, _, _, _, code = after = told()
        assert not any("keep off" in page.lower() for page in after)
        assert f"Copy 3 was damaged and was repaired, by the repair drawing sealed by {SAID['sealed_by']} on " in first
        assert labels.count("Repaired by a drawing of its own.") == 1
        assert "<dt>Repaired, by a drawing of its own</dt><dd>copy 3</dd>" in code

    def test_only_damage_is_repaired_and_only_by_the_designer(self, judged_here, ask, builder, site_lead, designer):
        question = ask("question", {"says": "May I?"})
        with refused(workflow.Refused, "repairs-no-damage"):
            attach(designer, question)
        change = ask("damage", DAMAGE, copies=[3])
        for person in (builder, site_lead):
            with pytest.raises(NotAllowed):
                attach(person, change)
        # as it could be before: what is told as damage is withdrawn no more
        change.__class__.objects.filter(pk=change.pk).update(state=State.WITHDRAWN)
        change.refresh_from_db()
        with refused(workflow.Refused, "repairs-nothing-withdrawn"):
            attach(designer, change)

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

    def test_a_cut_isn_t_taken_back_from_under_its_repair(self, judged_here, ask, row, designer, site_lead):
        third, fourth = row.copies.filter(number__in=(3, 4)).order_by("number")
        move(designer, row, [third.pk, fourth.pk], "released")
        for copy in (third, fourth):
            move(designer, row, [copy.pk], "cut")
        of_fourth, of_third = row.events.filter(values__to="cut").order_by("-pk")
        change = ask("damage", DAMAGE, copies=[3])
        with refused(SetRefused, "undo-damaged", copies=[3], request=change.pk):
            undoing.take_back(designer, row, of_third)
        answer_of(change)
        attached = attach(designer, change)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        seals.record(site_lead, attached, "carried out", on=row.job.today())
        with refused(SetRefused, "undo-damaged"):
            undoing.take_back(designer, row, of_third)
        assert undoing.take_back(designer, row, of_fourth) == [4]
        # where another is made in its place, that one's cut is as any other
        again = ask("damage", {**DAMAGE, "note": "No room for the scab"}, copies=[3])
        answer_of(again)
        workflow.decide(designer, again, verdict="approve", reason="Built anew", ends_by="new truss")
        move(designer, row, [third.pk], "released")
        move(designer, row, [third.pk], "cut")
        assert undoing.take_back(designer, row, row.events.filter(values__to="cut").last()) == [3]

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
            return [re.search(r"<b>(K\d-\d)</b>", one)[1] for one in rows if "don’t set" in one]

        seals.say_what_is_asked(designer, row.job, review=False, acceptance=False, without="blocks")
        with django_assert_max_num_queries(34):
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

    def test_nothing_else_ends_by_a_repair(self, ask, designer):
        change = ask("question", {"says": "May I?"})
        answer_of(change)
        with refused(workflow.Refused, "ends-no-damage"):
            workflow.decide(designer, change, verdict="approve", reason="Yes", ends_by="repair")

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

    def test_a_repair_stays_with_what_it_was_drawn_for(self, judged_here, ask, row, weaker, designer):
        """Of two revisions with as many copies each, the drawing's revision names what its ask is about."""
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        attached = attach(designer, change)
        Copy.objects.filter(truss=row, number=3).update(built_to=weaker, stage=Stage.DELIVERED)
        compute(workflow.compute_again(designer, change))
        one = change.asks.get(repairs__drawing=attached)
        assert (one.copies, one.revision) == ([4], attached.revision)

    def test_a_repair_of_what_was_not_worked_out_is_none(
        self, judged_here, ask, row, weaker, designer, site_lead, client_of
    ):
        change, now = ask("damage", DAMAGE, copies=[3]), {"on": row.job.today()}
        answer_of(change)
        seals.record(site_lead, attach(designer, change), "carried out", **now)
        Copy.objects.filter(truss=row).update(built_to=row.current, stage=Stage.DELIVERED)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        third = row.copies.get(number=3)
        assert damaged([third]) is None
        Copy.objects.filter(truss=row).update(built_to=weaker)
        third.refresh_from_db()
        assert damaged([third]).code == "copy-damaged"
        with refused(workflow.Refused, "repairs-other-decided", copies=[3]):
            attach(designer, change, "another")
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert "keep off again with the reason, then compute again" in page
        assert 'name="sealed_by"' not in page
        # as it could be attached before: it counts for nothing until its damage is worked out
        change.asks.update(revision=weaker)
        seals.record(site_lead, attach(designer, change, "another"), "carried out", **now)
        assert damaged([third]) is None
        change.asks.update(revision=row.current)
        assert damaged([third]).code == "copy-damaged"
        workflow.decide(designer, change, verdict="approve", reason="Another drawing", ends_by="keep off")
        with refused(workflow.Refused, "repairs-other", copies=[3]):
            attach(designer, change, "a third")
        compute(workflow.compute_again(designer, change))
        workflow.decide(designer, change, verdict="approve", reason="Repair 13", ends_by="repair")
        assert damaged([third]) is None

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

    def test_a_repair_of_what_an_answer_left_out_ends_nothing(
        self, judged_here, ask, row, designer, site_lead, client_of
    ):
        """Attached and carried out for copy 3 before the answer told of copy 4 alone, which is to be made anew."""
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        seals.record(site_lead, attach(designer, change), "carried out", on=row.job.today())
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "damage", "copies": [4], "damage": DAMAGE}]
        compute(workflow.answer(change.filed_by, change, says="The next one too", asks=other))
        workflow.decide(designer, change, verdict="approve", reason="Built anew", ends_by="new truss")
        assert "nothing was decided of it, and it keeps off" in (
            client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        )
        with refused(SetRefused, "copy-damaged", copies=[3], request=change.pk):
            move(site_lead, row, [third.pk], Stage.SET)
        # nor does one word of a decision on what the answer told of
        change.decisions.create(verdict="approve", reason="Repair 12", by=designer, ends_by="repair")
        assert damaged([third]).code == "copy-damaged"

    def test_a_repair_counts_by_a_decision_that_says_so(self, judged_here, ask, row, designer, site_lead):
        """As it could be decided before: approved, and not by what it ends."""
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        seals.record(site_lead, attach(designer, change), "carried out", on=row.job.today())
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert damaged([third]) is None
        change.decisions.create(verdict="approve", reason="Repair 12", by=designer)
        assert damaged([third]).code == "copy-damaged"

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
