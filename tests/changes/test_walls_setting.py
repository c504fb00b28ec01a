"""Setting a truss on a wall that is asked to move from under another: nobody does before a designer was asked."""

from __future__ import annotations

import html
import re

import pytest
from django.urls import reverse

from changes.models import Ask, Request
from tests.changes.on_a_wall import LEFT, MOVED, WALL, read
from tests.refused import refused
from trusses.copies import looks
from trusses.copies.models import Look
from trusses.models import Copy, MarkEvent, Placement
from trusses.production import move
from trusses.refusals import Refused


class TestSetting:
    """Copy 3 of K2 came and bears on the wall that is asked to move under K1 alone."""

    SAID = "Dana: shored on both sides until it is decided"

    @pytest.fixture
    def third(self, ask, beside):
        beside.copies.filter(number=3).update(built_to=beside.current, released_to=beside.current)
        self.request = ask("bearing", MOVED)
        return beside.copies.get(number=3)

    def stage(self, copy):
        return Copy.objects.get(pk=copy.pk).stage

    def test_is_refused_without_a_word_that_the_designer_was_asked(self, third, beside, site_lead):
        does = f"Request {self.request.pk} asks to move {WALL} {LEFT} under K1"
        for set_it in (move, looks.tick):
            with refused(Refused, "wall-moves", "asked", mark="K2", copies=[3], does=does):
                set_it(site_lead, beside, [third.pk], "set")
        with refused(Refused, "reason-long", "asked", most=500, length=501):
            move(site_lead, beside, [third.pk], "set", asked_first="x" * 501)
        assert move(site_lead, beside, [third.pk], "set", asked_first=self.SAID) == 1
        event = MarkEvent.objects.get(truss=beside, code="moved")
        assert (event.by, event.asked, event.values["asked_of"]) == (site_lead, self.SAID, [3])

    def test_nothing_else_that_keeps_it_off_is_lifted_by_it(self, third, beside, site_lead):
        Look.objects.create(copy=third, when="delivered", points={"wood": False}, by=site_lead)
        with refused(Refused, "look-open"):
            move(site_lead, beside, [third.pk], "set", asked_first=self.SAID)

    def test_those_for_whom_the_like_is_asked_are_set_as_ever(self, third, beside, row, ask, site_lead):
        beside.copies.filter(number=3).update(stage="released")
        ask("bearing", {"change": "moved", "joint": "A", "to_in": 8}, truss=beside.pk, copies=[3])
        Placement.objects.filter(truss=beside).update(turned=True, origin_x_in=0)
        beside.copies.filter(number=3).update(stage="delivered")
        assert move(site_lead, beside, [third.pk], "set") == 1

    def test_on_the_page_with_a_tick_and_words(self, third, beside, job, site_lead, client_of):
        client, address = client_of(site_lead), reverse("trusses:move-copies", args=[job.pk, beside.pk])
        page = read(client, reverse("trusses:mark", args=[job.pk, beside.pk]))
        assert "Ask the designer before setting copy 3" in page
        assert "Copy 3 ask first" in page
        tick = {"to": "set", "copy": third.pk, "whole": "right", "found": "<b>wet</b>"}
        for typed, says in (
            ({}, "It is not set before the designer was asked"),
            ({"asked": "yes"}, "Say which designer you asked about the wall"),
            ({"asked-says": self.SAID}, "Tick that you asked the designer"),
        ):
            answer = client.post(address, tick | typed)
            told = answer.content.decode()
            assert (answer.status_code, says in html.unescape(told)) == (422, True)
            assert f'value="{third.pk}" checked' in told
            assert ">&lt;b&gt;wet&lt;/b&gt;</textarea>" in told
            assert ('name="asked" value="yes" checked' in told) == ("asked" in typed)
            assert (f">{self.SAID}</textarea>" in told) == ("asked-says" in typed)
        assert self.stage(third) == "delivered"
        # nothing was said of what was found: asked first, and the words go along
        asked = {"asked": "yes", "asked-says": f" {self.SAID}\n"}
        sure = client.post(address, {"to": "set", "copy": third.pk} | asked).content.decode()
        assert "Is copy 3 of K2 set?" in sure
        assert "Not these:" not in sure
        fields = dict(re.findall(r'<input type="hidden" name="(asked[a-z-]*)" value="([^"]*)"', sure))
        assert fields == {"asked": "yes", "asked-says": self.SAID}
        client.post(address, {"to": "set", "copy": third.pk, "sure": "yes", "whole": "right"} | fields)
        assert self.stage(third) == "set"
        after = read(client, reverse("trusses:mark", args=[job.pk, beside.pk]))
        assert after.count(f"The designer was asked first: “{self.SAID}”") == 2  # at the copy, and in the record
        assert "the designer asked first about the wall under copy 3" in after

    def test_with_something_wrong_nothing_is_set_and_the_words_stay(self, third, beside, job, site_lead, client_of):
        body = {"to": "set", "copy": third.pk, "point-end": "wrong", "asked": "yes", "asked-says": self.SAID}
        client_of(site_lead).post(reverse("trusses:move-copies", args=[job.pk, beside.pk]), body)
        assert self.stage(third) == "delivered"
        assert MarkEvent.objects.get(truss=beside, code="looked at").asked == self.SAID

    def test_what_came_since_the_page_was_opened_is_asked_about_anew(
        self, third, beside, job, site_lead, ask, client_of
    ):
        client, address = client_of(site_lead), reverse("trusses:move-copies", args=[job.pk, beside.pk])
        page = client.get(reverse("trusses:mark", args=[job.pk, beside.pk])).content.decode()
        shown = [html.unescape(one) for one in re.findall(r'name="asked-about" value="([^"]*)"', page)]
        assert len(shown) == 1
        other = ask("bearing", {"change": "taken away", "joint": MOVED["joint"]})
        tick = {"to": "set", "copy": third.pk, "whole": "right", "asked": "yes", "asked-says": self.SAID}
        answer = client.post(address, tick | {"asked-about": shown}, headers={"Idempotency-Key": "typed-before"})
        assert answer.status_code == 422
        assert f"Request {other.pk} asks to take" in " ".join(answer.json()["says"])
        assert self.stage(third) == "delivered"
        page = client.get(reverse("trusses:mark", args=[job.pk, beside.pk])).content.decode()
        both = [html.unescape(one) for one in re.findall(r'name="asked-about" value="([^"]*)"', page)]
        assert len(both) == 2
        client.post(address, tick | {"asked-about": both})
        assert self.stage(third) == "set"

    def test_what_is_set_on_it_already_is_told_beside_what_is_not(self, third, beside, job, site_lead, client_of):
        numbers = sorted(beside.copies.filter(stage="set").values_list("number", flat=True))
        page = read(client_of(site_lead), reverse("trusses:mark", args=[job.pk, beside.pk]))
        assert numbers == [1, 2]
        assert "ask the designer how what is set on it (1–2) is held, and before any more is set." in page

    def test_the_words_of_a_second_hand_are_not_lost(self, third, beside, site_lead):
        assert move(site_lead, beside, [third.pk], "set", asked_first=self.SAID) == 1
        assert move(site_lead, beside, [third.pk], "set", asked_first=self.SAID) == 0
        with refused(Refused, "asked-late", "asked", copies=[3]):
            move(site_lead, beside, [third.pk], "set", asked_first="not to be set")

    def test_where_nothing_is_to_be_asked_no_record_says_that_somebody_was(self, third, beside, site_lead):
        Request.objects.filter(pk=self.request.pk).update(state="withdrawn")
        move(site_lead, beside, [third.pk], "set", asked_first=self.SAID)
        event = MarkEvent.objects.get(truss=beside, code="moved")
        assert (event.asked, event.values["asked"]) == ("", self.SAID)

    def test_a_tick_for_all_never_goes_with_those_to_be_asked_about(self, third, beside, job, site_lead, client_of):
        body = {"to": "set", "all": "delivered", "asked": "yes", "asked-says": self.SAID}
        client_of(site_lead).post(reverse("trusses:move-copies", args=[job.pk, beside.pk]), body)
        assert self.stage(third) == "delivered"

    def test_all_that_can_be_leaves_it_out_and_says_so(self, third, beside, job, site_lead, client_of):
        first = beside.copies.get(number=1)
        Copy.objects.filter(pk=first.pk).update(stage="delivered")
        ask = {"change": "moved", "joint": "A", "to_in": 8}  # K2's own, of copy 1 alone, would be alike
        Placement.objects.filter(truss=beside).update(turned=True, origin_x_in=0)
        Ask.objects.create(request=self.request, truss=beside, kind="bearing", wish=ask, copies=[1])
        page = client_of(site_lead).post(
            reverse("trusses:move-copies", args=[job.pk, beside.pk]), {"to": "set", "all": "delivered"}
        )
        told = html.unescape(page.content.decode())
        assert "Is copy 1 of K2 that can be set?" in told
        assert "Not these:</strong> K2: the wall under copy 3 moves or may move." in told
        assert f'name="copy" value="{third.pk}"' not in told

    def test_a_tick_that_a_phone_sends_on_is_told_what_came_meanwhile(self, third, beside, job, site_lead, client_of):
        body = {"to": "set", "copy": third.pk, "whole": "right"}
        later = {"Idempotency-Key": "typed-before-the-wall-moved"}
        address = reverse("trusses:move-copies", args=[job.pk, beside.pk])
        answer = client_of(site_lead).post(address, body, headers=later)
        assert answer.status_code == 422
        assert "the wall under copy 3 moves or may move." in " ".join(answer.json()["says"])
        assert self.stage(third) == "delivered"
        body |= {"asked": "yes", "asked-says": self.SAID}
        arrived = client_of(site_lead).post(address, body, headers=later)
        assert arrived.json()["to"].endswith("#copies")
        assert self.stage(third) == "set"

    @pytest.mark.parametrize("call", ["copies", "looks"])
    def test_through_the_api(self, third, beside, site_lead, api_of, call):
        program, address = api_of(site_lead), f"/api/v1/trusses/{beside.pk}/{call}/"
        answer = program.post(address, {"copies": [3], "to": "set"}, format="json")
        assert answer.status_code == 400
        assert "the wall under copy 3 moves or may move." in str(answer.json()["asked"])
        answer = program.post(address, {"copies": [3], "to": "set", "asked": self.SAID}, format="json")
        assert answer.status_code == 200
        told = program.get(f"/api/v1/trusses/{beside.pk}/copies/").json()
        assert [one["asked_first"] for one in told] == ["", "", self.SAID]

    def test_the_order_of_setting_says_it_of_the_copies_that_it_is_of(self, third, beside, job, site_lead, client_of):
        page = read(client_of(site_lead), reverse("trusses:setting", args=[job.pk]))
        assert page.count("its wall may move: ask first") == 3
        assert "don’t set" not in page
