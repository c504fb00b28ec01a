"""Damage as it is told of: what is said at once, what of it is worked out, and from which revision."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from changes import workflow
from changes.asks import as_built
from changes.models import Ask, Photo, Request, State
from changes.pages import in_short
from changes.workflow.setting import damaged
from tests.changes.asking import DAMAGE, LOAD, answer_of, attach, codes, compute
from tests.refused import refused
from tests.trusses.test_looks import photo
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.copies import looks
from trusses.models import Copy, Stage
from trusses.pictures import Sent
from trusses.revisions import issue_revision, read_and_analyse


class TestDamage:
    def test_first_what_to_do_then_what_it_does_and_what_a_repair_carries(self, ask):
        one = answer_of(ask("damage", DAMAGE, copies=[3]))
        assert codes(one.told)[:4] == ["keep-off", "leave-lying", "whom-to-call", "shore-at"]
        assert one.verdict == ""
        assert one.figures["shores"] == ["D"]
        assert one.figures["repair"]["nailing"]
        assert not one.options.exists()

    def test_what_is_not_set_is_left_lying_and_shores_are_told_by_their_distance(self, ask, truss):
        truss.copies.filter(number__in=[2, 3]).update(stage=Stage.DELIVERED, built_to=truss.current)
        truss.copies.filter(number=2).update(stage=Stage.SET)
        lies = answer_of(ask("damage", DAMAGE, copies=[3])).told_apart["now"]
        assert lies[1] == "It isn't recorded as set: leave it lying, and don't lift, turn or set it."
        assert lies[3].startswith("Where it stands or hangs already, it is shored only as a registered design ")
        assert "at the panel point of the bottom chord " in lies[3]
        assert "panel point D" not in lies[3]
        of_ground = answer_of(ask("damage", {**DAMAGE, "how": "bow", "size_in": 1}, copies=[3])).told_apart["does"]
        assert all(one.startswith("As if it were set, which it isn't recorded to be: under ") for one in of_ground)
        assert "under its dead load alone, " in of_ground[0]
        stood = answer_of(ask("damage", {**DAMAGE, "acting": ["snow"]}, copies=[2]))
        assert stood.told_apart["does"][0].startswith("Under its dead load and snow, as was said to be on it now, ")
        stands = answer_of(ask("damage", DAMAGE, copies=[2])).told_apart["now"]
        assert stands[1].startswith("Call the truss designer and a registered design professional now.")
        assert stands[2].startswith(
            "It is shored only as a registered design professional says, and by whom they say: at "
        )

    def test_who_says_how_to_shore_is_called_first_and_what_stands_is_not_told_it_is_not_set(
        self, ask, truss, builder, client_of
    ):
        truss.copies.filter(number__in=[2, 3]).update(stage=Stage.DELIVERED, built_to=truss.current)
        truss.copies.filter(number=2).update(stage=Stage.SET)
        lies, stands = (
            client_of(builder).get(f"/requests/{answer_of(told).request_id}/").content.decode()
            for told in (ask("damage", DAMAGE, copies=[number]) for number in (3, 2))
        )
        for page in (lies, stands):
            assert 0 < page.index("professional now. Nobody") < page.index("is shored only as a registered design")
        assert "It is not set, loaded or repaired before" in lies
        assert "It is not set, loaded" not in stands
        assert "It is not loaded or repaired, and nobody goes under it but whoever shores it as a registered" in stands

    @pytest.mark.parametrize(
        ("wanted", "says"),
        [
            ({"member": "B1", "at_in": 60}, "it doesn't stand by itself."),
            ({"how": "split", "member": "W1", "at_in": 10}, "it is over a limit: bending of member B1.2"),
            ({"how": "bow", "size_in": 0.25}, "No leave to load it or to go under it"),
        ],
    )
    def test_no_phone_folds_away_what_a_damaged_truss_does_not_bear(self, ask, row, site_lead, client_of, wanted, says):
        row.copies.update(stage=Stage.SET, built_to=row.current)
        one = compute(ask("damage", {**DAMAGE, **wanted}, copies=[3]))
        page = client_of(site_lead).get(f"/requests/{one.pk}/").content.decode()
        seen = re.sub(r'(<details class="folds"><summary>.*?</summary>).*?</details>', r"\1", page, flags=re.DOTALL)
        assert says in html.unescape(seen)

    def test_nothing_is_said_of_the_saw_once_the_wood_is_cut_and_nobody_is_asked_what_it_is_for(
        self, ask, truss, builder, client_of, job
    ):
        page = client_of(builder).get(f"/jobs/{job.pk}/trusses/{truss.pk}/ask/damage/").content.decode()
        assert "What happened" in page
        assert "Damage was found." not in page
        truss.copies.filter(number=3).update(stage=Stage.DELIVERED, built_to=truss.current)
        cut, not_cut = (ask("damage", DAMAGE, copies=[number]) for number in (3, 1))
        said = [client_of(builder).get(f"/requests/{one.pk}/").content.decode() for one in (cut, not_cut)]
        assert ["<dt>The saw" in one for one in said] == [False, True]

    def test_open_damage_leads_the_queue_and_has_no_last_day_for_changes(self, ask, truss, job, needed_by):
        """The day until which a truss can change bites nobody where the wood is cut: its own page tells none either."""
        today = job.today()
        load = ask("load", LOAD)
        truss.copies.update(stage=Stage.DELIVERED, built_to=truss.current)
        type(truss).objects.filter(pk=truss.pk).update(can_change_until=today - timedelta(days=20))
        harm = ask("damage", DAMAGE, copies=[3])
        told = in_short.lines(in_short.by_urgency(Request.objects.filter(job=job)), {})
        assert [(one["change"], one["days"]) for one in told] == [(harm, (needed_by - today).days), (load, -20)]
        Request.objects.filter(pk=harm.pk).update(state=State.APPROVED)
        assert in_short.by_urgency(Request.objects.filter(job=job)).first() == load, "decided it leads nothing"

    def test_what_a_chord_is_taken_apart_into_is_told_by_the_name_that_the_drawing_has(self, ask, row):
        split = answer_of(ask("damage", {**DAMAGE, "how": "split", "member": "B1"}, copies=[3]))
        ids = {member["id"] for member in row.current.document["members"]}
        of = [one["values"]["id"] for one in split.told if one["values"].get("of") == "member"]
        called = {id_: name for one in split.told for id_, name in one.get("called", {}).items()}
        assert of
        assert {called.get(each, each) for each in of} <= {*ids, *called.values()}
        assert not {each for each in of if each not in ids and each not in called}

    @pytest.mark.parametrize("how", ["cut", "notched", "split", "plate torn", "end short", "bow"])
    @pytest.mark.parametrize("member", ["W1", "B1", "T1"])
    def test_nothing_ever_passes(self, ask, how, member):
        one = answer_of(ask("damage", {**DAMAGE, "how": how, "member": member, "size_in": 1}, copies=[3]))
        assert "pass" not in one.says.lower()

    @pytest.mark.parametrize(
        ("wanted", "more", "code"),
        [
            (DAMAGE, {}, "damaged-copies"),
            ({**DAMAGE, "member": "W9"}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "at_in": 61}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "acting": ["wind"]}, {"copies": [3]}, "wish"),
            ({**DAMAGE, "how": "tired"}, {"copies": [3]}, "wish"),
            (DAMAGE, {"copies": [3], "photos": [1]}, "no-such-photo"),
            (DAMAGE, {"copies": [3], "photos": "1"}, "photos-no-list"),
        ],
    )
    def test_what_is_refused(self, ask, wanted, more, code):
        with refused(workflow.Refused, code):
            ask("damage", wanted, **more)

    def test_a_copy_that_is_set_can_be_told_of(self, ask, row):
        Copy.objects.filter(truss=row).update(stage=Stage.SET)
        assert ask("damage", DAMAGE, copies=[3]).asks.get().copies == [3]

    def test_what_was_found_at_delivery_goes_this_way_once_it_is_told_of(self, ask, row, site_lead):
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        looks.tick(site_lead, row, [third.pk], Stage.SET, points={"wood": False})
        assert [one.why.code for one in looks.keeps_off([third])] == ["look-open"]
        change = ask("damage", DAMAGE, copies=[3])
        assert not list(looks.keeps_off([third]))
        assert damaged([third]).code == "copy-damaged"
        Request.objects.filter(pk=change.pk).update(state=State.WITHDRAWN)  # before its answer
        assert [one.why.code for one in looks.keeps_off([third])] == ["look-open"], (
            "taken back, nothing of it is closed"
        )

    def test_its_asker_neither_withdraws_it_nor_asks_something_else_instead(self, ask, row, designer, client):
        third, change = row.copies.get(number=3), ask("damage", DAMAGE, copies=[3])
        builder = change.filed_by
        with refused(workflow.Conflict, "damage-stays"):
            workflow.withdraw(builder, change)
        answer_of(change)
        client.force_login(builder)
        assert (
            reverse("changes:withdraw", args=[change.pk]) not in client.get(f"/requests/{change.pk}/").content.decode()
        )
        workflow.decide(designer, change, verdict="send back", reason="Which copy?")
        other = [{"truss": row.pk, "kind": "question", "question": {"says": "May I?"}}]
        workflow.answer(builder, change, says="Never mind", asks=other)
        with refused(workflow.Conflict, "damage-stays", request=change.pk):
            workflow.withdraw(builder, change)
        assert change.state == State.FILED
        assert damaged([third]).code == "copy-damaged"

    def test_each_copy_is_answered_from_what_it_was_built_to(self, ask, row, weaker):
        """Copy 2 was built to revision 0, copy 3 released to it, copy 4 built to revision 1, which is current."""
        Copy.objects.filter(truss=row, number=2).update(built_to=weaker, released_to=row.current, stage=Stage.CUT)
        Copy.objects.filter(truss=row, number=3).update(released_to=weaker)
        Copy.objects.filter(truss=row, number=4).update(built_to=row.current, stage=Stage.CUT)
        change = compute(ask("damage", {**DAMAGE, "member": "T1"}, copies=[2, 3, 4]))
        older, current = change.asks.order_by("id")
        assert (older.copies, older.revision, current.copies, current.revision) == ([2, 3], weaker, [4], row.current)
        told = next(one for one in older.told if one["code"] == "damaged-revision")
        assert told["values"] == {"number": 0, "current": 1, "unsure": [3], "of": ""}
        assert "damaged-revision" not in codes(current.told)
        assert older.figures["repair"] != current.figures["repair"]
        # nothing is overtaken: what stands there stays what it is
        assert not change.overtaken
        with refused(workflow.Conflict, "nothing-moved"):
            workflow.compute_again(change.filed_by, change)

    def test_a_piece_that_only_the_built_truss_has_can_be_told_of(self, ask, row, designer, client_of):
        """Revision 1 has another web; the copies were built to revision 0, and its web is the one that broke."""
        was = row.current
        document = {**was.document, "members": [dict(member) for member in was.document["members"]]}
        next(member for member in document["members"] if member["id"] == "W1")["id"] = "W7"
        issue_revision(row, was, *read_and_analyse(document, NOTHING_SAID), designer)
        Copy.objects.filter(truss=row).update(built_to=was, stage=Stage.DELIVERED)
        row.refresh_from_db()
        change = ask("damage", DAMAGE, copies=[3])
        assert answer_of(change).revision == was
        with refused(workflow.Refused, "wish"):
            ask("damage", {**DAMAGE, "member": "W7"}, copies=[3])
        page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        assert "Worked out from revision 0, not from revision 1, which is current." in page

    def test_the_form_draws_what_the_copies_were_built_to(self, row, weaker, site_lead, client_of):
        Copy.objects.filter(truss=row, number=2).update(built_to=weaker, stage=Stage.DELIVERED)
        Copy.objects.filter(truss=row, number=4).update(built_to=row.current, stage=Stage.DELIVERED)
        lead, at = client_of(site_lead), reverse("changes:ask-kind", args=[row.job_id, row.pk, "damage"])
        for copies, drawn in (("2", weaker), ("4", row.current), ("2, 4", row.current), ("", row.current)):
            page = lead.get(at, {"copies": copies}).content.decode()
            assert f'name="drawn" value="{drawn.pk}"' in page, copies
        assert "This is revision 0, as built" in lead.get(at, {"copies": "2"}).content.decode()
        # chosen on the page, it leads to the drawing of what was built
        typed = lead.post(at, {"copies": "2", "drawn": row.current_id}, headers={"HX-Request": "true"})
        assert "Built to revision 0; the drawing" in typed.content.decode()
        typed = lead.post(at, {"copies": "2", "drawn": weaker.pk}, headers={"HX-Request": "true"})
        assert "the drawing is of another" not in typed.content.decode()

    @pytest.mark.parametrize(
        ("member", "at", "place"),
        [
            ("B2", "3'-0\"", ("B2", 36.0)),  # the right half of piece B1
            ("B1", "3'-0\"", ("B1", 36.0)),
            ("W1", "1'-8\"", ("W1", 40.0)),  # from its lower end; its first joint is the upper one
        ],
    )
    def test_a_form_that_a_phone_held_since_before_pieces_were_asked_for_is_taken(
        self, row, site_lead, client_of, needed_by, member, at, place
    ):
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        to = reverse("changes:ask-kind", args=[row.job_id, row.pk, "damage"])
        held = {"copies": "3", "member": member, "how": "cut", "at": at, "reason": "It fell", "key": "0" * 32}
        lead = client_of(site_lead)
        lead.post(to, {**held, "needed_by": needed_by.isoformat(), "drawn": row.current_id, "send": "1"})
        wish = Ask.objects.get().wish
        assert (wish["member"], wish["at_in"]) == (place[0], pytest.approx(place[1], abs=1 / 32))

    @pytest.mark.parametrize(("member", "at"), [("B2", "10'-1\""), ("W9", "1'-0\""), ("B2", "")])
    def test_what_such_a_form_can_not_mean_is_chosen_anew(self, row, site_lead, client_of, needed_by, member, at):
        to = reverse("changes:ask-kind", args=[row.job_id, row.pk, "damage"])
        held = {"copies": "3", "member": member, "how": "cut", "at": at, "reason": "It fell", "key": "0" * 32}
        answer = client_of(site_lead).post(to, {**held, "needed_by": needed_by.isoformat(), "send": "1"})
        assert answer.status_code == 422
        assert "Say which piece is damaged" in answer.content.decode()
        assert not Ask.objects.exists()

    def test_what_was_found_of_a_copy_comes_along(self, row, site_lead, client_of, needed_by, settings, tmp_path):
        settings.DATA_DIR = tmp_path
        Copy.objects.filter(truss=row).update(stage=Stage.DELIVERED, built_to=row.current)
        third = row.copies.get(number=3)
        sent = [Sent(photo(), 0)]
        looks.tick(site_lead, row, [third.pk], Stage.SET, points={"bow": False}, note="By the left end", photos=sent)
        found = third.looks.get()
        lead, at = client_of(site_lead), reverse("changes:ask-kind", args=[row.job_id, row.pk, "damage"])
        page = lead.get(at, {"look": found.pk})
        form = page.context["form"]
        known = {name: form[name].value() for name in ("copies", "note", "how")}
        assert known == {"copies": "3", "note": "Bow: bowed or bent. By the left end", "how": "bow"}
        assert f"/looks/{found.pk}/1.jpg" in page.content.decode()
        typed = {**known, "piece": "W1", "at": '20"', "size": '2"', "look": found.pk, "key": "one"}
        lead.post(at, {**typed, "needed_by": needed_by.isoformat()})
        assert Photo.objects.get(pk__in=Ask.objects.get().wish["photos"]).sha256 == found.photos[0]

    def test_what_is_recorded_as_built_otherwise_meanwhile_is_worked_out_again(
        self, judged_here, ask, row, weaker, designer, client_of
    ):
        change = ask("damage", DAMAGE, copies=[3, 4])
        answer_of(change)
        attached = attach(designer, change)
        Copy.objects.filter(truss=row, number=3).update(built_to=weaker, stage=Stage.DELIVERED)
        assert "recorded as built to" in client_of(designer).get(f"/requests/{change.pk}/").content.decode()
        sealed = {"verdict": "approve", "reason": "Repair 12", "ends_by": "repair"}
        with refused(workflow.Conflict, "damaged-built-since", mark="K1"):
            workflow.decide(designer, change, **sealed)
        with refused(workflow.Refused, "repairs-several"):
            attach(designer, change, "another")
        compute(workflow.compute_again(designer, change))
        assert {tuple(one.copies): one.revision for one in change.asks.all()} == {(3,): weaker, (4,): row.current}
        # the drawing that was attached is of what copy 4 is
        assert attached.revision == row.current
        with refused(workflow.Refused, "repair-without-drawing"):
            workflow.decide(designer, change, **sealed)

    def test_its_page_asks_as_often_for_three_copies_as_for_one(
        self, job, row, builder, designer, needed_by, client_of
    ):
        counts = []
        for n in (1, 3):
            asks = [{"truss": row.pk, "kind": "damage", "copies": [k + 1], "damage": DAMAGE} for k in range(n)]
            change = compute(workflow.file(builder, job, reason=f"{n}", needed_by=needed_by, asks=asks))
            where = reverse("changes:request", args=[change.pk])
            client_of(designer).get(where)
            with CaptureQueriesContext(connection) as queries:
                assert client_of(designer).get(where).status_code == 200
            counts.append(len(queries))
        assert counts[0] == counts[1] <= 40

    def test_of_copies_that_went_from_the_set_it_is_answered_still(self, ask, row):
        change = ask("damage", DAMAGE, copies=[3])
        Copy.objects.filter(truss=row, number=3).delete()
        told = answer_of(change).told
        assert codes(told)[0] == "keep-off"
        gone = next(one for one in told if one["code"] == "damaged-copies-gone")
        assert gone["values"] == {"mark": "K1", "copies": [3]}
        assert change.asks.get().told_apart["which"][0].startswith("The set has no copy 3 of K1")
        assert as_built.moved(change) == []

    @pytest.mark.parametrize(("kind", "wanted"), [("damage", DAMAGE), ("question", {"says": "May I hang a swing?"})])
    def test_beside_a_design_it_has_no_part_in_what_is_drawn(
        self, kind, wanted, job, row, request, builder, designer, needed_by
    ):
        """Told of the same copies as a weight, for which a designer drew an option; then another revision came."""
        asks = [{"truss": row.pk, "copies": [3], kind: wanted}, {"truss": row.pk, "copies": [3], "load": LOAD}]
        asks = [{"kind": one, **each} for one, each in zip((kind, "load"), asks, strict=True)]
        change = compute(workflow.file(builder, job, reason="Both", needed_by=needed_by, asks=asks))
        weight = change.asks.get(kind="load")
        document = weight.options.first().document
        drawn = workflow.draw_option(designer, change, ask=weight, document=document, title="Mine")
        assert [one.kind for one in drawn.asks.all()] == ["load"]
        compute(change)
        request.getfixturevalue("weaker")
        assert compute(workflow.compute_again(builder, change)).state == State.AWAITING_DECISION
        again = change.options.get(stale=False, drawn_by=designer)
        assert ([one.kind for one in again.asks.all()], again.redrawn_of) == (["load"], drawn)

    def test_the_saw_does_not_wait_for_it(self, ask):
        assert not ask("damage", DAMAGE, copies=[3]).holds.exists()
