"""Two requests on one mark know of each other: names, drawings, checks, holds, and what went stale."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from changes import workflow
from changes.carriers import moved_below, stale
from changes.models import Ask, Hold, Request
from changes.pages.in_short import answers
from tests.changes.asking import DAMAGE, FITS, HITS_WEB, STIFF_ENOUGH, approve, compute, with_small_chords, without_web
from tests.refused import refused
from trusses.bearings import links
from trusses.models import Truss
from trusses.revisions import add_mark
from trusses.sealing import seals

BESIDE = {**FITS, "centre_in": [105, 20]}
"""5 in. from FITS, which is 8 in. across with 1 in. clear all round: the two overlap by 5 in."""


def text(page) -> str:
    return html.unescape(page.content.decode())


def plain(page) -> str:
    """What a person reads of it."""
    return " ".join(re.sub("<[^>]+>", "", text(page)).replace("\u2060", "").replace("\xa0", " ").split())


class TestHolds:
    def test_one_released_says_which_still_hold(self, ask_for, designer, builder):
        """Two requests hold the same copies; one is withdrawn."""
        first, second = ask_for(FITS), ask_for(HITS_WEB)
        workflow.withdraw(builder, first)
        says = first.events.get(verb="release the hold").told
        assert says == f"The saw still waits for K1: request {second.pk} holds it."
        workflow.withdraw(builder, second)
        assert second.events.get(verb="release the hold").told == "No request holds K1 from the saw any more."

    def test_of_one_that_is_over_nothing_reads_as_a_release(self, ask_for, builder, client_of):
        """Copies are released, to the shop; a hold is lifted."""
        change = ask_for(FITS)
        workflow.withdraw(builder, change)
        page = re.sub("<[^>]+>", "", text(client_of(builder).get(f"/requests/{change.pk}/")))
        assert "K1, 3 copies, not yet cut: lifted on " in page
        assert "Hold lifted" in page
        assert "released" not in page

    def test_a_refused_one_says_so_too(self, ask_for, designer):
        first, second = ask_for(FITS), ask_for(HITS_WEB)
        workflow.answer_hold(designer, first.holds.get(), acknowledge=False, says="It is cut today.")
        says = first.events.get(verb="refuse the hold").told
        still = f"still for K1: request {second.pk} holds it."
        assert says == f"The saw does not wait for this request, and {still} It is cut today."

    def test_what_is_cut_is_held_by_nobody(self, ask_for, builder, truss, client_of):
        first, _ = ask_for(FITS), ask_for(HITS_WEB)
        truss.copies.update(stage="cut")
        assert "K1, 3 copies, all cut:" in re.sub("<[^>]+>", "", text(client_of(builder).get(f"/requests/{first.pk}/")))
        workflow.withdraw(builder, first)
        assert first.events.get(verb="release the hold").told == "No request holds K1 from the saw any more."

    def test_all_of_them_stand_beside_the_saw_before_anybody_is_asked(self, ask_for, designer, client_of, truss):
        """And no question is asked that is then refused; the holds end from here, also of what was sent back."""
        first, second = ask_for(FITS), ask_for(HITS_WEB)
        workflow.answer_hold(designer, first.holds.get(), acknowledge=True)
        truss.copies.update(stage="released", released_to=truss.current)
        client, at = client_of(designer), f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        told = text(client.get(at))
        assert f'held for <a href="/requests/{first.pk}/#decision">request {first.pk}</a>, filed' in told
        assert f'<a href="/requests/{second.pk}/#holds">request {second.pk}</a> asks for a hold, not answered' in told
        assert "Record: all 3 are cut" not in told
        refused_at_once = client.post(f"{at}copies/", {"to": "cut", "all": "released", "seen": truss.current_id})
        assert refused_at_once.status_code == 422
        assert f"Copies 1–3 are held for request {first.pk} until it is decided. Request {second.pk} asks" in text(
            refused_at_once
        )
        answered = client.post(f"/holds/{second.holds.get().pk}/answer/", {"acknowledge": "yes", "from": "mark"})
        assert answered["Location"] == f"{at}#copies"
        for change in (first, second):
            Request.objects.filter(pk=change.pk).update(state="sent back")
            page = text(client.get(f"/requests/{change.pk}/"))
            assert "Decline with the reason" in page
            assert "Issue this revision" not in page
            assert "Compute it again" in page
            gone = client.post(
                f"/requests/{change.pk}/decide/",
                {"verdict": "decline", "reason": "No word of it.", "state": "sent back"},
            )
            assert gone.status_code == 302
        assert "Record: all 3 are cut" in text(client.get(at))

    def test_the_page_of_the_withdrawn_one_says_it(self, ask_for, builder, client_of):
        first, second = ask_for(FITS), ask_for(HITS_WEB)
        workflow.withdraw(builder, first)
        told = text(client_of(builder).get(f"/requests/{first.pk}/"))
        assert f"The saw still waits for K1: request {second.pk} holds it." in told
        assert "No request holds" not in told


class TestKeptByOthers:
    """What a decision, or a seal, doesn't lift is told where either is given."""

    def test_before_the_decision_after_it_and_beside_the_seal(self, answered, ask_for, designer, client_of, truss):
        change, other = answered(FITS), ask_for(HITS_WEB)
        client, at = client_of(designer), f"/requests/{change.pk}/"
        waits = f"K1: the saw waits for copies 1 to 3: request {other.pk} "
        decide = plain(client.get(at)).partition("To be decided: ")[2]
        assert (
            f"Other requests hold these trusses, after this decision too {waits}asks for a hold on them, not" in decide
        )
        assert f"answered yet. Request {other.pk}, filed" in decide
        workflow.answer_hold(designer, other.holds.get(), acknowledge=True)
        approve(designer, change)
        issued = truss.revisions.get(number=1)
        for page in (at, reverse("trusses:seal", args=[truss.job_id, truss.pk, issued.number])):
            told = plain(client.get(page))
            assert f"{waits}holds them until it is decided." in told
            (kept,) = re.findall(r"data-kept>.*?<li[^>]*>(.*?)</li>", client.get(page).content.decode(), re.DOTALL)
            on_paper = re.sub(r'<span class="no-print">.*</span>', "", kept)
            assert on_paper.strip().endswith("holds them until it is decided.")
            assert f"request {change.pk} holds" not in told
        assert f"Other requests still hold these trusses {waits}" in plain(client.get(at))
        workflow.decide(designer, compute(other), verdict="decline", reason="No.")
        assert "the saw waits" not in plain(client.get(at))

    def test_damage_told_elsewhere_keeps_them_from_being_set(self, answered, designer, client_of, truss, builder):
        truss.copies.filter(number=2).update(stage="delivered", built_to=truss.current)
        change = answered(FITS)
        asks = [{"truss": truss.pk, "kind": "damage", "damage": DAMAGE, "copies": [2]}]
        told = workflow.file(builder, truss.job, reason="Dropped", needed_by=change.needed_by, asks=asks)
        page = plain(client_of(designer).get(f"/requests/{change.pk}/")).partition("To be decided: ")[2]
        assert f"K1: copy 2 can't be set: damage was told of in request {told.pk}," in page
        own = plain(client_of(designer).get(f"/requests/{told.pk}/")).partition("To be decided: ")[2]
        assert "hold these trusses" not in own

    def test_of_what_is_cut_and_of_other_marks_nothing_is_told(self, answered, ask_for, designer, client_of, truss):
        truss.copies.exclude(number=3).update(stage="cut", built_to=truss.current)
        change = answered(FITS)
        ask_for(HITS_WEB)
        at = f"/requests/{change.pk}/"
        assert "K1: the saw waits for copy 3: request" in plain(client_of(designer).get(at))
        Hold.objects.exclude(request=change).update(
            truss=add_mark(truss.job, {**truss.current.document, "mark": "K9"}, 1, designer)
        )
        assert "the saw waits for" not in plain(client_of(designer).get(at))


class TestWhatIsOpen:
    @pytest.fixture
    def held(self, ask_for, designer):
        change = ask_for(FITS)
        workflow.answer_hold(designer, change.holds.get(), acknowledge=True)
        return change

    @pytest.mark.parametrize("address", ["trusses/{truss}/", "trusses/{truss}/revisions/0/"])
    def test_stands_on_the_mark_and_its_sheet(self, address, held, truss, site_lead, client_of):
        where = f"/jobs/{truss.job_id}/{address.format(truss=truss.pk)}"
        told = text(client_of(site_lead).get(where))
        assert "Open on K1" in told
        assert f'href="/requests/{held.pk}/">Request {held.pk}</a>, filed: “' in told
        assert "Hold on copies 1–3 for" in told
        assert "acknowledged</strong> by designer, the saw waits" in told

    def test_stands_where_it_is_asked_whether_copies_are_released(self, held, truss, designer, client_of):
        truss.copies.update(stage="designing", released_to=None)
        where, body = f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", {"to": "released", "all": "designing"}
        told = text(client_of(designer).post(where, {**body, "seen": truss.current.pk}))
        assert "Release all 3 copies of K1?" in told
        assert "Hold on copies 1–3 for" in told

    @pytest.mark.parametrize(("stage", "to"), [("released", "cut"), ("cut", "built")])
    def test_stands_before_each_move_of_copies_that_it_is_open_on(self, held, truss, designer, client_of, stage, to):
        """A cut can't be undone: whether all are meant or some that were chosen, what is open is read first."""
        truss.copies.update(stage=stage, released_to=truss.current)
        if to == "built":
            truss.copies.update(built_to=truss.current)
        held.holds.update(standing="released")
        seals.say_what_is_asked(designer, truss.job, review=True, acceptance=True, without="warns")
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/"
        body = {"to": to, "copy": truss.copies.get(number=2).pk, "seen": truss.current.pk}
        told = text(client_of(designer).post(where, body))
        assert f"Is copy 2 of K1 {to}?" in told
        assert f'href="/requests/{held.pk}/">Request {held.pk}</a>, filed: “' in told
        assert truss.copies.get(number=2).stage == stage
        client_of(designer).post(where, body | {"sure": "yes"})
        assert truss.copies.get(number=2).stage == to

    def test_stands_on_the_list_of_sheets(self, held, truss, site_lead, client_of, builder):
        where = f"/jobs/{truss.job_id}/sheets/"
        told = text(client_of(site_lead).get(where))
        assert "1 open request" in told
        assert "1 hold on the saw" in told
        workflow.withdraw(builder, held)
        told = text(client_of(site_lead).get(where))
        assert "open request" not in told
        assert "on the saw" not in told

    def test_is_given_to_programs(self, held, truss, site_lead, outsider, api_of, king_post, designer, job):
        add_mark(job, {**king_post, "mark": "K2"}, 1, designer)
        where = f"/api/v1/jobs/{truss.job_id}/waiting/"
        told = {row["mark"]: row for row in api_of(site_lead).get(where).json()["results"]}
        assert [one["id"] for one in told["K1"]["requests"]] == [held.pk]
        assert told["K1"]["holds"] == [
            {"id": held.holds.get().pk, "request": held.pk, "standing": "acknowledged", "copies": [1, 2, 3]}
        ]
        assert (told["K2"]["requests"], told["K2"]["holds"]) == ([], [])
        assert api_of(outsider).get(where).status_code == 404


class TestNames:
    def test_a_second_opening_never_has_the_name_of_the_first(self, answered, truss, designer):
        first, second = answered(FITS), answered(HITS_WEB)
        assert (FITS["id"], HITS_WEB["id"]) == ("O1", "O1")
        assert [change.asks.get().opening["id"] for change in (first, second)] == ["O1", "O2"]
        assert [each["id"] for each in second.options.first().document["openings"]] == ["O2"]
        approve(designer, first)
        workflow.compute_again(designer, second)
        compute(second)
        assert second.asks.get().opening["id"] == "O2"
        approve(designer, second)
        truss.refresh_from_db()
        assert [each["id"] for each in truss.current.document["openings"]] == ["O1", "O2"]

    def test_one_that_was_withdrawn_frees_its_name(self, ask_for, builder):
        workflow.withdraw(builder, ask_for(FITS))
        assert ask_for(HITS_WEB).asks.get().opening["id"] == "O1"


class TestTheOther:
    @pytest.fixture
    def two(self, answered):
        return answered(FITS), answered(BESIDE, reason="Return duct")

    def test_is_told_drawn_and_checked_on_the_page(self, two, designer, client_of):
        first, second = two
        told = text(client_of(designer).get(f"/requests/{second.pk}/"))
        assert f">Request {first.pk}</a>, awaiting decision: opening O1" in told
        assert 'It overlaps opening O2, which is asked here, by 5" with the clear space of both' in told
        assert "It would be clear in the design shown." in told
        before = told[told.index("Before</span>: revision 0") : told.index("After: ")]
        assert before.count("O1") >= 1
        assert "Other open requests ask for openings in K1 too" in text(
            client_of(designer).get(f"/requests/{first.pk}/")
        )

    def test_one_that_would_be_blocked_is_told(self, answered, designer, client_of, truss):
        """The first wants the place of the web; the second's option keeps the web there."""
        answered(HITS_WEB)
        second = answered(FITS)
        told = text(client_of(designer).get(f"/requests/{second.pk}/"))
        assert "It would not be clear in the design shown." in told
        decides = told[told.rindex("Decide") :]
        again = "Opening O1 of request"
        assert f"{again} {second.pk - 1} would not be clear in K1." in decides[: decides.index("Issue this revision")]

    def test_is_given_to_programs(self, two, designer, api_of):
        first, second = two
        told = api_of(designer).get(f"/api/v1/requests/{second.pk}/").json()["pending"]
        assert [(one["request"], one["opening"]["id"], one["clear"]) for one in told] == [(first.pk, "O1", True)]
        assert "overlaps opening O2" in told[0]["overlaps"]

    def test_is_said_while_a_thumb_drags(self, ask_for, truss, builder, api_of, client_of):
        change = ask_for(FITS)
        answer = api_of(builder).post("/api/v1/fit/", {"truss": truss.pk, "opening": BESIDE}, format="json").json()
        assert answer["fits"] is True
        assert f'overlaps opening O1, which request {change.pk} asks for, by 5"' in answer["beside"]
        page = text(client_of(builder).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/ask/?along=97 1/4&up=17 1/4"))
        assert "O1" in page

    def test_nothing_is_told_of_one_that_is_closed(self, two, builder, designer, client_of):
        first, second = two
        workflow.withdraw(builder, first)
        assert "Other open requests" not in text(client_of(designer).get(f"/requests/{second.pk}/"))


class TestComputingAgain:
    def test_keeps_what_a_designer_drew_computed_anew(self, answered, designer, truss):
        first, second = answered(FITS), answered(HITS_WEB)
        ask = second.asks.get()
        document = without_web(truss.current.document, ask.opening, bottom=STIFF_ENOUGH)
        old = workflow.draw_option(designer, second, ask=ask.pk, document=document, title="Without the web")
        compute(second)
        approve(designer, first)
        workflow.compute_again(designer, second)
        compute(second)
        old.refresh_from_db()
        new = second.options.get(stale=False, drawn_by=designer)
        assert old.stale
        assert (new.redrawn_of, new.title, new.revision.number) == (old, "Without the web", 1)
        assert new.analysis["truss_sha256"] == new.sha256 != old.sha256
        assert {each["id"] for each in new.document["openings"]} == {"O1", "O2"}, "what was approved since is in it"
        assert new.passes is True
        assert "1 drawn option computed anew" in second.events.filter(verb="finish computing").last().told
        approve(designer, second, {ask.pk: new.pk})
        truss.refresh_from_db()
        assert truss.current.document == new.document

    def test_a_second_time_keeps_one(self, answered, designer, truss):
        change = answered(HITS_WEB)
        ask = change.asks.get()
        document = without_web(truss.current.document, ask.opening, bottom=STIFF_ENOUGH)
        workflow.draw_option(designer, change, ask=ask.pk, document=document)
        compute(change)
        for round_trip in ("Which duct?", "How high?"):
            workflow.decide(designer, change, verdict="send back", reason=round_trip)
            workflow.answer(change.filed_by, change, says="The trunk.")
            compute(change)
            assert change.options.filter(stale=False, drawn_by=designer).count() == 1

    def test_one_that_lacks_what_is_asked_now_is_not_carried_over_and_told(self, answered, designer, truss):
        change = answered(HITS_WEB)
        ask = change.asks.get()
        document = without_web(truss.current.document, ask.opening, bottom=STIFF_ENOUGH)
        workflow.draw_option(designer, change, ask=ask.pk, document=document, title="Without the web")
        compute(change)
        workflow.decide(designer, change, verdict="send back", reason="Higher?")
        other = [{"truss": truss.pk, "kind": "opening", "opening": FITS}]
        workflow.answer(change.filed_by, change, says="To the left.", asks=other)
        compute(change)
        assert not change.options.filter(stale=False, drawn_by=designer).exists()
        says = change.events.filter(verb="finish computing").last().told
        assert "“Without the web” doesn't hold what is asked now" in says


class TestTheQueue:
    def test_marks_what_went_stale(self, answered, designer, client_of, job):
        first, second = answered(FITS), answered(HITS_WEB)
        where = f"/jobs/{job.pk}/requests/"
        assert "stale" not in text(client_of(designer).get(where))
        approve(designer, first)
        assert "K1 changed since: compute again" in text(client_of(designer).get(where))
        assert stale([second]) == {second.pk: ["K1"]}

    def test_a_row_says_who_asked_until_when_there_is_time_and_nothing_twice(self, answered, client_of, builder, job):
        change = answered(FITS)
        left = (change.needed_by - job.today()).days
        row = (
            f"Request {change.pk}: {change.reason} asked by builder, {job.today():%b} {job.today().day} · fits as it is"
            f" awaiting decision {change.needed_by:%b} {change.needed_by.day}, {left} days left"
        )
        page = re.sub(r"<[^>]+>", " ", text(client_of(builder).get(f"/jobs/{job.pk}/requests/")))
        assert row in " ".join(page.split())

    def test_what_was_answered_differently_is_told_by_mark(self):
        said = [("R2", "fits"), ("R10", "none pass"), ("R3", "none pass"), ("R2", "fits"), ("R1", "")]
        asks = [Ask(truss=Truss(mark=mark), verdict=verdict) for mark, verdict in said]
        assert answers(asks) == "no redesign passes (R3, R10); fits as it is (R2)"
        assert answers(asks[1:3]) == "no redesign passes"
        assert answers([]) == ""

    def test_sheathing_touches_only_marks_that_it_can_touch(self, job, builder, designer, king_post, needed_by, truss):
        """K1's top chords are 2x6, which take no CT (NDS 4.4.2: 2x4 or smaller); those of K4 are 2x4."""
        four = with_small_chords(king_post) | {"mark": "K4"}
        k4 = add_mark(job, four, 1, designer)
        changes = {}
        for mark in (truss, k4):
            asks = [{"truss": mark.pk, "kind": "opening", "opening": FITS}]
            changes[mark.mark] = compute(
                workflow.file(builder, job, reason=f"Duct in {mark.mark}", needed_by=needed_by, asks=asks)
            )
        job.sheathing_km = 2300
        job.save()
        assert {name: moved_below(change) for name, change in changes.items()} == {"K1": [], "K4": ["K4"]}
        assert stale(changes.values()) == {changes["K4"].pk: ["K4"]}
        assert approve(designer, changes["K1"]).issues.count() == 1
        with refused(workflow.Conflict, "basis-moved"):
            approve(designer, changes["K4"], reason="A light roof.", accepts=["total deflection"])

    def test_sheathing_touches_a_mark_by_the_option_that_it_can_touch(self, answered, designer, job, truss):
        """A drawn option with 2x4 top chords, of a truss whose own are 2x6."""
        change = answered(FITS)
        document = with_small_chords(truss.current.document) | {"openings": [FITS]}
        option = workflow.draw_option(designer, change, ask=change.asks.get(), document=document)
        compute(change)
        job.sheathing_km = 2300
        job.save()
        assert moved_below(change) == ["K1"]
        chosen = {change.asks.get().pk: option.pk}
        with refused(workflow.Conflict, "basis-moved"):
            approve(designer, change, chosen, reason="A light roof.", accepts=["total deflection"])

    def test_a_wall_plate_still_touches(self, answered, designer, truss):
        change = answered(FITS)
        links.set_link(designer, truss, "A", wall="north wall", plate="2x6 DF-L No.2")
        assert moved_below(change) == ["K1"]


def test_what_is_asked_beside_another_is_drawn_under_the_name_that_it_gets(ask_for, builder, client_of, truss):
    """K1's first open request has O1: the next is O2 while it is dragged, and when it was sent."""
    ask_for(FITS)
    page = text(client_of(builder).get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/ask/?along=12'&shape=circle"))
    assert 'id="askO2"' in page or ">O2" in page
    # in the drawings for a desk and a phone; enlarged stands only what is asked here
    assert (page.count('>O1 8" round'), page.count('>O2 8" round')) == (2, 3)
