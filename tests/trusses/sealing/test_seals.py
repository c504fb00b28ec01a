"""Who attaches, records and withdraws a sealed drawing; what waits for it; and that the sheet then says yes."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from django.urls import reverse

from tests.refused import refused
from tests.sealed import SAID, drawing
from trusses import verdicts
from trusses.analysis.verdict import BY_SEAL
from trusses.copies import earlier
from trusses.models import Job, MarkEvent, Stage
from trusses.production import move
from trusses.refusals import NotAllowed, Refused
from trusses.revisions import add_mark, issue_revision, read_and_analyse, write_variant
from trusses.sealing import files, recording, same_file, seals
from trusses.sealing.models import SealedDrawing
from trusses.sheets import sheet


def sheet_of(revision):
    four = sheet.answers(verdicts.of_revision(revision))
    return sheet.verdict(revision, revision.truss.current, four, seals.seal_of(revision)), four


def revised(truss, designer):
    document, analysis = read_and_analyse({**truss.current.document, "title": "Better"})
    return issue_revision(truss, truss.current, document, analysis, designer)


def ids(truss):
    return list(truss.copies.values_list("pk", flat=True))


class TestThePath:
    def steps(self, designer, site_lead):
        return [(designer, to) for to in ("released", "cut", "built")] + [(site_lead, "delivered"), (site_lead, "set")]

    def test_with_the_rule_on(self, asks_all, truss, attach, designer, builder, site_lead):
        """Release, then nothing is cut until it is attached, reviewed and accepted; then all the way."""
        move(designer, truss, ids(truss), "released")
        with refused(Refused, "not-sealed", mark="K1", copies=[1, 2, 3], to="cut"):
            move(designer, truss, ids(truss), "cut")
        seal = attach()
        for kind, missing in (("reviewed", "review"), ("accepted", "acceptance")):
            with refused(Refused, "not-sealed"):
                move(designer, truss, ids(truss), "cut")
            said = sheet_of(truss.current)[0]
            assert not said.build
            assert missing in said.says
            recording.record(builder, seal, kind, name="An invented name", on=truss.job.today())
        said, four = sheet_of(truss.current)
        assert said.build
        assert said.says == "Yes: build by its sealed drawing, which is attached."
        assert said.why.count(", recorded by builder") == 2
        assert [one.state for one in four] == ["passes", BY_SEAL, BY_SEAL, "attached"]
        for person, to in self.steps(designer, site_lead)[1:]:
            assert move(person, truss, ids(truss), to) == 3
        assert not any("unsealed" in event.values for event in truss.events.all())

    def test_with_the_rule_off_the_record_says_so(self, truss, designer, site_lead):
        for person, to in self.steps(designer, site_lead):
            assert move(person, truss, ids(truss), to) == 3
        bare = {event.values["to"]: event.values.get("unsealed") for event in truss.events.filter(code="moved")}
        assert bare == {"released": None, "cut": [1, 2, 3], "built": None, "delivered": None, "set": [1, 2, 3]}
        told = truss.events.get(values__to="cut").told
        assert told == "Copies 1–3: released → cut, to revision 0, without a sealed drawing that counts"
        assert not sheet_of(truss.current)[0].build

    def test_set_asks_for_what_a_copy_is_built_to(self, asks_all, truss, attach, designer, site_lead, client_of):
        old = truss.current
        truss.copies.update(stage=Stage.DELIVERED, built_to=old, released_to=old)
        new = revised(truss, designer)
        seals.say_what_is_asked(designer, truss.job, review=False, acceptance=False, without="blocks")
        attach(new)
        with refused(Refused, "not-sealed"):
            move(site_lead, truss, ids(truss), "set")
        # the page leads to what is missing for each revision that is built, not for today's
        truss.copies.filter(number=2).update(built_to=new)
        truss.copies.filter(number=3).update(built_to=revised(truss, designer))
        page = client_of(site_lead).get(reverse("trusses:mark", args=(truss.job_id, truss.pk))).content.decode()
        copies_there = page[page.index('id="copies"') :]
        for number, copies in ((0, 1), (2, 3)):
            where = reverse("trusses:seal", args=(truss.job_id, truss.pk, number))
            assert f'Copy {copies}: <a href="{where}">what is missing for revision {number}</a>' in copies_there
        assert copies_there.count("is missing") == 2
        truss.copies.update(built_to=old)
        attach(old, words="of revision 0")
        earlier.say(designer, truss, (1, 2, 3), "stays", "The drawing of revision 0 holds.")
        assert move(site_lead, truss, ids(truss), "set") == 3

    def test_what_the_sheet_says_no_to_is_not_cut(self, truss, attach, designer, builder):
        """A drawing that lacks nothing but doesn't cover what isn't checked."""
        seals.say_what_is_asked(designer, truss.job, review=False, acceptance=False, without="blocks")
        move(designer, truss, ids(truss), "released")
        attach(covers=("plates",))
        seal = seals.seal_of(truss.current)
        assert (seal.counts, seal.lacks, seal.missing) == (False, (), ("restraint",))
        with refused(Refused, "not-sealed", mark="K1", copies=[1, 2, 3], to="cut"):
            move(designer, truss, ids(truss), "cut")
        with pytest.raises(NotAllowed):
            recording.cover(builder, seal.drawing, ["restraint"])
        recording.cover(designer, seal.drawing, ["restraint"])
        assert seals.seal_of(truss.current).counts
        assert sheet_of(truss.current)[0].build
        assert seal.drawing.covers == ["plates"]  # what was attached is never edited
        assert truss.events.last().told.startswith("Sealed drawing of revision 0 said to cover the restraint")
        with refused(Refused, "recorded-already", kind="plates"):
            recording.cover(designer, seal.drawing, ["plates"])
        assert move(designer, truss, ids(truss), "cut") == 3

    def test_a_job_of_which_nobody_said_anything_blocks(self, db):
        assert seals.asked(Job(pk=10**6)) == seals.Asked(review=True, acceptance=True, blocks=True)


class TestARevisionHasItsOwn:
    def test_so_has_a_variant_s_first(self, truss, attach, designer):
        """A variant's revision 0 is a changed truss, however its number reads."""
        attach()
        document, analysis = read_and_analyse({**truss.current.document, "mark": "K1-b", "title": "Changed"})
        first = write_variant(truss, document, analysis, designer).current
        assert first.number == 0
        with refused(Refused, "sealed-for-another", mark="K1", number=0):
            attach(first)
        with refused(Refused, "sealed-before-it"):
            attach(first, words="earlier", sealed_on=truss.job.today() - timedelta(days=1))

    def test_one_attached_by_mistake_may_be_attached_where_it_belongs(self, truss, attach, designer):
        new = revised(truss, designer)
        mistaken = attach(truss.revisions.get(number=0), words="of revision 1")
        with refused(Refused, "sealed-for-another"):
            attach(new, words="of revision 1")
        recording.withdraw(designer, mistaken, "It is of revision 1")
        assert attach(new, words="of revision 1").revision == new

    def test_a_new_one_needs_a_new_one(self, truss, attach, designer):
        attach()
        new = revised(truss, designer)
        assert seals.seal_of(new) is None
        assert not sheet_of(new)[0].build
        with refused(Refused, "sealed-for-another", mark="K1", number=0):
            attach(new)
        with refused(Refused, "sealed-before-it"):
            attach(new, words="earlier", sealed_on=truss.job.today() - timedelta(days=1))
        attach(new, words="of revision 1")
        assert sheet_of(new)[0].build

    def test_what_it_does_not_cover_stays_unanswered(self, truss, attach):
        attach(covers=("plates",))
        said, four = sheet_of(truss.current)
        assert [one.state for one in four] == ["passes", BY_SEAL, "not checked", "attached"]
        assert not said.build
        assert said.why == "Restraint: not checked."

    def test_a_failing_check_stays_a_no(self, truss, attach):
        attach()
        worst = {**truss.current.analysis["checks"][0], "passes": False, "ratio": 1.2, "rule": "tension"}
        truss.current.analysis["checks"][0] = worst
        assert not sheet_of(truss.current)[0].build

    def test_a_girder_s_numbers_are_answered_by_it(self, truss, attach):
        truss.kinds = ["drag"]
        attach()
        said, four = sheet_of(truss.current)
        assert (four[0].state, said.build) == (BY_SEAL, True)
        truss.kinds = ["damaged"]
        said, four = sheet_of(truss.current)
        assert (four[0].state, said.build) == ("numbers only", False)


class TestOneFileForSeveralMarks:
    def test_it_is_taken_only_where_somebody_says_that_it_shows_both(self, truss, attach, designer, king_post, job):
        """Unasked, another mark's drawing would make this mark's sheet say yes."""
        attach()
        other = add_mark(job, {**king_post, "mark": "R3"}, 1, designer).current
        today = job.today().isoformat()
        named = [{"mark": "K1", "number": 0, "by": "designer", "on": today}]
        with refused(Refused, "sealed-elsewhere", others=named, mark="R3", number=0):
            attach(other)
        assert seals.seal_of(other) is None
        second = attach(other, also_shows=True)
        assert same_file.others(second) == ["K1 revision 0"]
        assert other.truss.events.last().told.endswith(
            "; its file is on record for K1 revision 0 too, and was said to show this as well"
        )
        # what is corrected of it was said to show it already; a later revision needs one of its own, whatever is said
        attach(other, replaces=second, reason="The license", licence="54 321")
        assert seals.last_said(designer, job) == {**SAID, "licence": "54 321"}
        with refused(Refused, "sealed-for-another", mark="R3", number=0, by="designer", on=today):
            attach(revised(other.truss, designer), also_shows=True)


class TestTheRecord:
    def test_a_corrected_one_withdraws_the_first_and_keeps_it(self, asks_all, truss, attach, builder, designer):
        first = attach()
        recording.record(builder, first, "reviewed", name="A name", on=truss.job.today())
        with refused(Refused, "sealed-already"):
            attach(words="corrected")
        with refused(Refused, "seal-needs"):
            attach(words="corrected", replaces=first)
        with refused(Refused, "seal-unchanged"):
            attach(replaces=first, reason="Again")
        second = attach(words="corrected", replaces=first, reason="A plate was missing")
        standing = seals.seal_of(truss.current)
        assert standing.drawing == second
        assert standing.lacks == ("reviewed", "accepted")
        assert [one.drawing.pk for one in seals.all_of(truss)] == [second.pk, first.pk]
        assert seals.all_of(truss)[1].withdrawn.reason == "A plate was missing"
        assert files.content_of(truss.job_id, first.sha256) == drawing().getvalue()
        with refused(Refused, "seal-stands-no-more"):
            attach(words="late", replaces=first, reason="Late")
        with refused(Refused, "seal-withdrawn"):
            recording.record(builder, first, "accepted", name="A name", on=truss.job.today())
        codes = list(truss.events.values_list("code", flat=True))
        assert codes == ["sealed", "reviewed", "seal withdrawn", "sealed"]
        told = MarkEvent.objects.get(code="reviewed").told
        assert told.startswith("Sealed drawing of revision 0 reviewed for the building designer by A name on ")

    def test_what_it_was_said_to_cover_in_error_is_taken_back_with_the_same_file(self, truss, attach, designer):
        first = attach(covers=())
        recording.cover(designer, first, ["plates", "restraint"])
        assert seals.seal_of(truss.current).counts
        with refused(Refused, "seal-unchanged"):
            attach(replaces=first, reason="Again")
        attach(covers=(), replaces=first, reason="It doesn't cover them")
        standing = seals.seal_of(truss.current)
        assert (standing.covers, standing.counts) == ([], False)

    def test_withdrawn_it_counts_no_more(self, truss, attach, designer):
        seal = attach()
        assert sheet_of(truss.current)[0].build
        assert seals.last_said(designer, truss.job) == SAID
        recording.withdraw(designer, seal, "The engineer took it back")
        assert seals.last_said(designer, truss.job) == {}
        assert not sheet_of(truss.current)[0].build
        with refused(Refused, "recorded-already", kind="withdrawn"):
            recording.withdraw(designer, seal, "Twice")
        attach()

    def test_each_is_recorded_once(self, truss, attach, builder, designer):
        seal = attach()
        recording.record(builder, seal, "accepted", name="A name", on=truss.job.today())
        with refused(Refused, "recorded-already", kind="accepted"):
            recording.record(designer, seal, "accepted", name="Another", on=truss.job.today())

    def test_whose_it_is(self, cast, truss, attach, job):
        for who in ("builder", "site lead", "outsider"):
            with pytest.raises(NotAllowed):
                attach(by=cast[who])
            with pytest.raises(NotAllowed):
                seals.say_what_is_asked(cast[who], job, review=False, acceptance=False, without="warns")
        seal = attach()
        for who in ("site lead", "outsider"):
            with pytest.raises(NotAllowed):
                recording.record(cast[who], seal, "reviewed", name="A name", on=job.today())
        for who in ("builder", "site lead", "outsider"):
            with pytest.raises(NotAllowed):
                recording.withdraw(cast[who], seal, "Mine")
        with refused(Refused, "no-such-record"):
            recording.record(cast["designer"], seal, "carried out", on=job.today())

    @pytest.mark.parametrize(
        ("said", "code"),
        [
            ({"sealed_by": " "}, "seal-needs"),
            ({"sealed_by": "\u200b\u00ad"}, "seal-needs"),
            ({"sealed_by": "J. \u202eeoD"}, "seal-unprintable"),
            ({"sealed_by": "x\x00y"}, "seal-unprintable"),
            ({"sealed_by": "x" * 121}, "seal-text-long"),
            ({"licence": ""}, "seal-needs"),
            ({"state": "ZZ"}, "licence-state"),
            ({"state": "—"}, "licence-state"),
            ({"sealed_on": date(1980, 1, 1)}, "no-such-day"),
            ({"covers": ("lumber",)}, "covers-unknown"),
        ],
    )
    def test_what_is_refused(self, attach, said, code):
        with refused(Refused, code):
            attach(**said)
        assert not SealedDrawing.objects.exists()

    def test_what_nobody_sees_of_a_name_is_not_kept(self, attach):
        seal = attach(sealed_by="J.\u00a0Doe\u200b,\u00ad P.E.\u200e")
        assert SealedDrawing.objects.get(pk=seal.pk).sealed_by == "J. Doe, P.E."

    def test_nobody_records_tomorrow_or_before_the_seal(self, attach, builder, truss):
        seal, today = attach(), truss.job.today()
        with refused(Refused, "no-such-day"):
            recording.record(builder, seal, "accepted", name="A name", on=today + timedelta(days=1))
        with refused(Refused, "before-the-seal"):
            recording.record(builder, seal, "accepted", name="A name", on=today - timedelta(days=1))

    def test_a_file_that_is_larger_than_it_says(self, judged_here, designer, truss):
        sent = io.BytesIO(b"%PDF-" + b"x" * files.MOST_BYTES)
        with refused(Refused, "pdf-too-large"):
            recording.attach(designer, truss.current, sent, 10, **SAID, sealed_on=truss.job.today())
