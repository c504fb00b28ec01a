"""Copies one by one: who put each where it stands, a move taken back, and those of an earlier revision."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from tests.refused import refused
from tests.trusses.reading import HOSTILE, text
from trusses.copies import earlier, old_ones, trail, undoing
from trusses.models import MarkEvent, Stage
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import issue_revision, read_and_analyse


def ids(truss, *numbers):
    return list(truss.copies.filter(number__in=numbers or (1, 2, 3)).values_list("pk", flat=True))


def stages(truss):
    return list(truss.copies.order_by("number").values_list("stage", flat=True))


def last(truss, to):
    return truss.events.filter(code="moved", values__to=to).last()


def revise(truss, designer):
    return issue_revision(
        truss, truss.current, *read_and_analyse({**truss.current.document, "title": "Better"}), designer
    )


class TestTakenBack:
    @pytest.fixture
    def cut(self, truss, designer):
        move(designer, truss, ids(truss), "released")
        move(designer, truss, ids(truss, 1, 2), "cut")
        return truss

    def test_goes_back_and_the_record_keeps_both(self, cut, designer):
        event = last(cut, "cut")
        assert undoing.take_back(designer, cut, event, " Wrong\nrow ") == [1, 2]
        assert stages(cut) == ["released"] * 3
        assert set(cut.copies.values_list("built_to", "released_to")) == {(None, cut.current_id)}
        told = cut.events.last()
        assert (told.code, told.by, told.own_words) == ("taken back", designer, "Wrong row")
        assert cut.events.filter(pk=event.pk).exists()

    def test_twice_moves_nothing(self, cut, designer):
        event = last(cut, "cut")
        undoing.take_back(designer, cut, event)
        assert undoing.take_back(designer, cut, event) == []
        assert cut.events.filter(code="taken back").count() == 1

    def test_a_second_cut_is_not_taken_back_by_the_first_ones_undo(self, cut, designer):
        event = last(cut, "cut")
        undoing.take_back(designer, cut, event)
        move(designer, cut, ids(cut, 1, 2), "cut")
        assert undoing.take_back(designer, cut, event) == []
        assert stages(cut) == ["cut", "cut", "released"]

    def test_one_after_the_other_down_to_the_first(self, cut, designer):
        assert undoing.take_back(designer, cut, last(cut, "released")) == [3]
        with refused(Refused, "undo-moved-on", copies=[1, 2]):
            undoing.take_back(designer, cut, last(cut, "released"))
        undoing.take_back(designer, cut, last(cut, "cut"))
        assert undoing.take_back(designer, cut, last(cut, "released")) == [1, 2]
        assert stages(cut) == ["designing"] * 3
        assert set(cut.copies.values_list("released_to", flat=True)) == {None}

    def test_by_the_role_whose_move_it_is(self, cut, site_lead, builder, outsider):
        for person in (site_lead, builder, outsider):
            with pytest.raises(PermissionDenied):
                undoing.take_back(person, cut, last(cut, "cut"))
        assert stages(cut) == ["cut", "cut", "released"]

    def test_for_a_day(self, cut, designer, monkeypatch):
        now = timezone.now()
        monkeypatch.setattr(timezone, "now", lambda: now + timedelta(hours=24, minutes=1))
        with refused(Refused, "undo-late"):
            undoing.take_back(designer, cut, last(cut, "cut"))

    def test_never_past_a_decision_that_counted_on_the_cut(self, cut, designer):
        revise(cut, designer)
        with refused(Refused, "undo-overtaken", number=1):
            undoing.take_back(designer, cut, last(cut, "cut"))
        assert stages(cut) == ["cut", "cut", "released"]

    def test_what_was_found_goes_with_it_and_stays_in_the_record(self, truss, site_lead):
        truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
        move(site_lead, truss, ids(truss), "delivered", found="wet")
        undoing.take_back(site_lead, truss, last(truss, "delivered"))
        assert set(truss.copies.values_list("found_at_delivery", flat=True)) == {""}
        assert truss.events.first().own_words == "wet"

    def test_another_marks_move_is_none_of_this_one(self, cut, other_job, designer):
        for event in (None, MarkEvent.objects.create(truss=other_job, code="moved", values={})):
            with refused(Refused, "no-such-move"):
                undoing.take_back(designer, cut, event)

    def test_on_the_page_by_one_form(self, cut, designer, site_lead, client_of):
        where = f"/jobs/{cut.job_id}/trusses/{cut.pk}/"
        assert "Take this back" in text(client_of(designer).get(where))
        assert "Take this back" not in text(client_of(site_lead).get(where))
        body = {"event": last(cut, "cut").pk, "reason": HOSTILE}
        for says in ("Copies 1–2: taken back.", "That was taken back already."):
            page = client_of(designer).post(f"{where}copies/take-back/", body, follow=True)
            assert says in text(page)
        assert "<script>alert" not in page.content.decode()
        page = client_of(designer).post(f"{where}copies/take-back/", {"event": "9" * 30, "reason": "x" * 501})
        assert page.status_code == 422
        assert "There is no such move of copies" in text(page)

    def test_by_a_program_once_for_its_key(self, cut, designer, api_of):
        told = api_of(designer).get(f"/api/v1/trusses/{cut.pk}/copies/").json()
        assert [(one["stage"], one["built_to"], one["moved_by"]) for one in told] == [
            ("cut", 0, "designer"),
            ("cut", 0, "designer"),
            ("released", None, "designer"),
        ]
        where, body = f"/api/v1/trusses/{cut.pk}/copies/take-back/", {"move": told[0]["move"]}
        for _ in range(2):
            answer = api_of(designer).post(where, body, format="json", HTTP_IDEMPOTENCY_KEY="k")
            assert answer.json()["copies"] == {"released": 3}
        other = api_of(designer).post(where, {"move": 1}, format="json", HTTP_IDEMPOTENCY_KEY="k")
        assert other.status_code == 409


def test_a_tick_that_arrives_twice_is_done_once(truss, designer, api_of):
    """A phone sends what it kept again, after somebody took it back."""
    where, body = f"/api/v1/trusses/{truss.pk}/copies/", {"copies": [1, 2], "to": "released"}
    api_of(designer).post(where, body, format="json", HTTP_IDEMPOTENCY_KEY="k-1")
    undoing.take_back(designer, truss, last(truss, "released"))
    answer = api_of(designer).post(where, body, format="json", HTTP_IDEMPOTENCY_KEY="k-1")
    assert (answer.status_code, stages(truss)) == (200, ["designing"] * 3)
    for key in ("", "x" * 201):
        assert api_of(designer).post(where, body, format="json", HTTP_IDEMPOTENCY_KEY=key).status_code == 400
    api_of(designer).post(where, {**body, "to": "built"}, format="json", HTTP_IDEMPOTENCY_KEY="k-2")
    answer = api_of(designer).post(where, body, format="json", HTTP_IDEMPOTENCY_KEY="k-2")
    assert stages(truss) == ["released", "released", "designing"], "what is refused leaves its key free"


def test_each_copy_knows_whose_hand_put_it_there(truss, designer):
    move(designer, truss, ids(truss, 1, 2), "released")
    move(designer, truss, ids(truss, 1), "cut")
    hands = trail.hands(truss, list(truss.copies.order_by("number")), trail.of_family(truss))
    assert [([c.number for c in hand.copies], hand.event and hand.event.values["to"]) for hand in hands] == [
        ([1], "cut"),
        ([2], "released"),
        ([3], None),
    ]


class TestOfAnEarlierRevision:
    def test_none_is_set_before_a_word(self, truss, designer, site_lead, second_revision):
        truss.refresh_from_db()
        truss.copies.filter(number__lte=2).update(stage=Stage.DELIVERED)
        for what, reason in ((None, ""), ("waits", "The duct")):
            if what:
                earlier.say(designer, truss, (1, 2), what, reason)
            with refused(Refused, "earlier-unsaid", copies=[1, 2], current=1):
                move(site_lead, truss, ids(truss, 1, 2), "set")
        assert earlier.say(designer, truss, (1, 2), "stays", "No duct in that bay") == 2
        assert earlier.say(designer, truss, (1, 2), "stays", "No duct in that bay") == 0
        assert move(site_lead, truss, ids(truss, 1, 2), "set") == 2
        # the next revision asks anew
        truss.copies.filter(number__lte=2).update(stage=Stage.DELIVERED)
        revise(truss, designer)
        with refused(Refused, "earlier-unsaid"):
            move(site_lead, truss, ids(truss, 1, 2), "set")

    def test_they_are_told_of_in_the_order_of_their_numbers(self, truss, designer, second_revision):
        truss.refresh_from_db()
        earlier.say(designer, truss, (1,), "stays", "No duct in that bay")
        says = earlier.says(truss, list(truss.copies.select_related("built_to")))
        last = "copy 2 is built to revision 0, and nobody has said yet what is to be done with it"
        assert says == f"current for copy 3; copy 1 stays by revision 0; {last}"

    def test_made_anew_it_begins_again(self, truss, designer, second_revision):
        truss.refresh_from_db()
        assert earlier.say(designer, truss, (1,), earlier.ANEW, "It is too short") == 1
        assert earlier.say(designer, truss, (1,), earlier.ANEW, "It is too short") == 0
        assert stages(truss) == ["designing", "built", "designing"]
        assert truss.copies.get(number=1).built_to is None
        assert truss.events.filter(code="made anew").count() == 1

    def test_the_old_one_is_not_used_until_somebody_says_that_it_is_gone(
        self, truss, designer, site_lead, builder, client_of, second_revision
    ):
        truss.refresh_from_db()
        earlier.say(designer, truss, (1, 2), earlier.ANEW, HOSTILE)
        where = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        lead = client_of(site_lead)
        (old,) = old_ones.there(truss)
        assert (old.copies, old.built_to, old.stage) == ((1, 2), 0, "built")
        for page in (where, f"{where}revisions/1/"):
            html = lead.get(page).content.decode()
            assert page != where or "&lt;script&gt;" in html
            assert "<script>alert" not in html
            said = text(lead.get(page))
            assert said.count("Don’t use the old trusses of copies 1–2, built to revision 0.") == 1, page
        assert text(lead.get(f"{where}labels/")).count("no label for the old one, built to revision 0") == 2
        assert "says by name that it is done. Say that it is done" in text(lead.get(where))
        body = {"event": old.event.pk, "copy": [1], "says": " "}
        refused_page = lead.post(f"{where}copies/gone/", body)
        assert (refused_page.status_code, "where it stands and how it is marked" in text(refused_page)) == (422, True)
        assert client_of(builder).post(f"{where}copies/gone/", body | {"says": "Sawn up"}).status_code == 403
        said = text(lead.post(f"{where}copies/gone/", body | {"says": "Sawn up"}, follow=True))
        assert "The old truss of copy 1: destroyed or set apart" in said
        assert "Sawn up" in said
        told = lead.get(f"/api/v1/trusses/{truss.pk}/copies/").json()
        (left,) = old_ones.there(truss)
        assert [one["old_one"] for one in told] == [None, left.event.pk, None]
        call = {"old_one": left.event.pk, "copies": [2], "says": "Behind the shop, crossed out in red"}
        answer = lead.post(f"/api/v1/trusses/{truss.pk}/copies/gone/", call, content_type="application/json")
        assert answer.status_code == 200, answer.json()
        assert old_ones.there(truss) == []
        assert old_ones.say_gone(site_lead, truss, left.event.pk, (2,), "Again") == []

    def test_nothing_is_said_of_an_old_truss_that_there_never_was(
        self, truss, designer, site_lead, client_of, api_of, second_revision
    ):
        truss.refresh_from_db()
        where, lead = f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/gone/", client_of(site_lead)
        none = lead.post(where, {"event": 99999, "copy": [1], "says": "Sawn up"})
        assert (none.status_code, "K1 has no such old trusses" in text(none)) == (422, True)
        earlier.say(designer, truss, (1, 2), earlier.ANEW, "Too short.")
        assert "made anew: “ Too short. ” " in text(lead.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/"))
        (old,) = old_ones.there(truss)
        for copies in ([3], [1, 3]):
            page = lead.post(where, {"event": old.event.pk, "copy": copies, "says": "Sawn up"})
            assert (page.status_code, "K1: copy 3 was not to be made anew then" in text(page)) == (422, True)
        call = f"/api/v1/trusses/{truss.pk}/copies/gone/"
        for event, copies in ((99999, [1]), (truss.events.first().pk + 99, [1]), (old.event.pk, [1, 3])):
            sent = {"old_one": event, "copies": copies, "says": "Sawn up"}
            assert api_of(site_lead).post(call, sent, format="json").status_code == 400
        assert not truss.events.filter(code="old one gone").exists()
        said = [lead.post(where, {"event": old.event.pk, "copy": [1], "says": "Sawn up"}, follow=True) for _ in "12"]
        assert ["That was said already." in text(page) for page in said] == [False, True]

    @pytest.mark.parametrize(
        ("numbers", "what", "reason", "code"),
        [
            ((), "stays", "why", "no-copy"),
            ((1,), "sold", "why", "earlier-what"),
            ((1,), "stays", " ", "earlier-reason"),
            ((1,), "stays", "x" * 501, "reason-long"),
            ((3,), "stays", "why", "earlier-none"),
        ],
    )
    def test_is_refused(self, truss, designer, second_revision, numbers, what, reason, code):
        truss.refresh_from_db()
        with refused(Refused, code):
            earlier.say(designer, truss, numbers, what, reason)

    def test_by_a_designer_who_saw_todays_revision(self, truss, designer, site_lead, second_revision):
        old = truss.revisions.get(number=0)
        truss.refresh_from_db()
        with pytest.raises(PermissionDenied):
            earlier.say(site_lead, truss, (1,), "stays", "why")
        with refused(Refused, "newer-revision"):
            earlier.say(designer, truss, (1,), "stays", "why", old)

    def test_stands_on_both_sheets_the_lists_and_the_page(self, truss, designer, site_lead, client_of, second_revision):
        truss.refresh_from_db()
        job, client = truss.job_id, client_of(site_lead)
        where = f"/jobs/{job}/trusses/{truss.pk}/"
        assert "nobody has said yet what is to be done with them" in text(client.get(f"{where}revisions/1/"))
        body = {"copy": [1, 2], "what": "stays", "reason": HOSTILE, "seen": truss.current_id}
        refused_page = client_of(designer).post(f"{where}copies/earlier/", body | {"what": ""})
        assert refused_page.status_code == 422
        assert "they stay, they wait, or they are made anew" in text(refused_page)
        assert "&lt;script&gt;" in refused_page.content.decode()
        form = r'<details class="no-print"[^>]*><summary>Say what is to be done</summary>'
        assert re.search(form, client_of(designer).get(where).content.decode())
        client_of(designer).post(f"{where}copies/earlier/", body)
        assert "current for copy 3; copies 1–2 stay by revision 0." in text(client.get(f"{where}revisions/1/"))
        assert "Only copies 1–2 stay by it, built already" in text(client.get(f"{where}revisions/0/"))
        for page in (f"/jobs/{job}/", f"/jobs/{job}/sheets/"):
            assert "1–2 built to revision 0, stays by it" in text(client.get(page)), page
        assert "stay by it" in text(client.get(where))
        told = client.get(f"/api/v1/trusses/{truss.pk}/copies/").json()
        assert [one["earlier"] for one in told] == ["stays", "stays", ""]
