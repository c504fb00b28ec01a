"""The sealed repair of damage: who attaches it, what it lacks until it counts, and what it ends."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.urls import reverse

from changes import workflow
from changes.models import State
from changes.refusals import NotAllowed
from changes.workflow.setting import damaged
from changes.workflow.turns import turns
from tests.changes.asking import DAMAGE, answer_of, attach, compute
from tests.refused import refused
from tests.sealed import SAID
from trusses.copies import looks, undoing
from trusses.models import Copy, Placement, Stage
from trusses.production import move
from trusses.refusals import Refused as SetRefused
from trusses.sealing import recording, seals


class TestItsRepair:
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
            recording.record(builder, attached, "carried out", on=today)
        recording.record(site_lead, attached, "carried out", on=today)
        waits.append([one.change for one in turns(site_lead) if "repair" in one.why])
        assert waits == [[], [change], []]
        assert move(site_lead, row, [third.pk], Stage.SET) == 1
        assert "attach a repair" in change.events.values_list("verb", flat=True)

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
        recording.record(site_lead, first, "carried out", on=row.job.today())
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
        recording.withdraw(designer, attached, "The engineer took it back")
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
            recording.record(designer, attached, "carried out", on=today)
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        queue, steps = f"/jobs/{row.job_id}/requests/", []

        def waits():
            """Whose turn it is, and what the queue of open requests says."""
            own = [[why for one in turns(who) if one.change for why in one.why] for who in (designer, site_lead)]
            page = client_of(builder).get(queue).content.decode()
            steps.append((*own, *re.findall(r"waits for (.*?)</span>", page)))

        waits()
        recording.record(builder, attached, "reviewed", name="The building designer", on=today - timedelta(days=1))
        with refused(SetRefused, "carried-out-early", lacks=["accepted"]):
            recording.record(site_lead, attached, "carried out", on=today)
        recording.record(builder, attached, "accepted", name="The department", on=today - timedelta(days=1))
        waits()
        with refused(SetRefused, "carried-out-before"):
            recording.record(site_lead, attached, "carried out", on=today - timedelta(days=2))
        with refused(SetRefused, "carried-out-own", own=designer.get_username()):
            recording.record(designer, attached, "carried out", name="Site lead", on=today)
        assert recording.record(site_lead, attached, "carried out", on=today).name == site_lead.get_username()
        waits()
        by_hand = "a record, by name, of the carrying out of its sealed repair"
        review, acceptance = "the building designer&#x27;s review", "the building department&#x27;s acceptance"
        assert steps == [
            (["records"], ["keep off"], f"{review}, {acceptance} and {by_hand}"),
            ([], ["keep off", "repair"], by_hand),
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
        assert "<dt>This paper is for</dt><dd>copies 1–2, 4–5</dd>" in code
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
        recording.record(site_lead, attached, "carried out", on=row.job.today())
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
        recording.record(site_lead, attached, "carried out", on=row.job.today())
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

    def test_nothing_else_ends_by_a_repair(self, ask, designer):
        change = ask("question", {"says": "May I?"})
        answer_of(change)
        with refused(workflow.Refused, "ends-no-damage"):
            workflow.decide(designer, change, verdict="approve", reason="Yes", ends_by="repair")

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
        recording.record(site_lead, attach(designer, change), "carried out", **now)
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
        recording.record(site_lead, attach(designer, change, "another"), "carried out", **now)
        assert damaged([third]) is None
        change.asks.update(revision=row.current)
        assert damaged([third]).code == "copy-damaged"
        workflow.decide(designer, change, verdict="approve", reason="Another drawing", ends_by="keep off")
        with refused(workflow.Refused, "repairs-other", copies=[3]):
            attach(designer, change, "a third")
        compute(workflow.compute_again(designer, change))
        workflow.decide(designer, change, verdict="approve", reason="Repair 13", ends_by="repair")
        assert damaged([third]) is None

    def test_a_repair_of_what_an_answer_left_out_ends_nothing(
        self, judged_here, ask, row, designer, site_lead, client_of
    ):
        """Attached and carried out for copy 3 before the answer told of copy 4 alone, which is to be made anew."""
        change, third = compute(ask("damage", DAMAGE, copies=[3])), row.copies.get(number=3)
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        recording.record(site_lead, attach(designer, change), "carried out", on=row.job.today())
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
        recording.record(site_lead, attach(designer, change), "carried out", on=row.job.today())
        workflow.decide(designer, change, verdict="approve", reason="Repair 12", ends_by="repair")
        assert damaged([third]) is None
        change.decisions.create(verdict="approve", reason="Repair 12", by=designer)
        assert damaged([third]).code == "copy-damaged"
