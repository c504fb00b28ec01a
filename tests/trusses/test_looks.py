"""Copies looked at when they come and when they are set; what is fixed beside them; the order of setting."""

from __future__ import annotations

import io
import re

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.analysis.findings.test_weights import WEIGHT, cantilever
from tests.refused import refused
from tests.trusses.reading import HOSTILE, text
from trusses.bearings import links
from trusses.copies import earlier, harmed, looks
from trusses.copies.models import Look
from trusses.marks.stages_page import looks_of
from trusses.models import Copy, Placement, Stage
from trusses.pictures import Sent
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import add_mark, settle_copies
from trusses.sheets import fixing


def ids(truss, *numbers):
    return list(truss.copies.filter(number__in=numbers or (1, 2, 3)).values_list("pk", flat=True))


def stages(truss):
    return list(truss.copies.order_by("number").values_list("stage", flat=True))


def photo(colour="red"):
    sent = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(sent, "JPEG")
    return SimpleUploadedFile("p.jpg", sent.getvalue(), "image/jpeg")


class TestDelivery:
    def test_what_was_right_and_is_wrong_since_is_no_more_told_as_right(self, built, site_lead, client_of):
        looks.tick(site_lead, built, ids(built), "delivered", points={"bow": True, "wood": True})
        looks.tick(site_lead, built, ids(built, 2), "delivered", points={"bow": False})
        told = [
            (one["numbers"], one["wrong"], one["right"], one["no_more"]) for one in looks_of(list(built.copies.all()))
        ]
        assert told == [
            ("2", ["Bow: bowed or bent"], [], []),
            ("1, 3", [], ["bow straight", "wood sound"], []),
            ("2", [], ["wood sound"], ["bow straight"]),
        ]
        said = text(client_of(site_lead).get(f"/jobs/{built.job_id}/trusses/{built.pk}/"))
        assert "Copy 2 , at delivery: wood sound; bow straight then, found otherwise since" in said

    def test_what_is_wrong_is_kept_and_keeps_the_copy_off(self, built, site_lead, designer):
        done = looks.tick(site_lead, built, ids(built, 1), "delivered", points={"bow": True, "plates": False}, note="x")
        assert (done.moved, done.wrong) == (1, (1,))
        looks.tick(site_lead, built, ids(built, 2, 3), "delivered", points={"bow": True})
        assert stages(built) == ["delivered"] * 3
        with refused(Refused, "look-open", copies=[1], what=["plates"]):
            move(site_lead, built, ids(built), "set")
        assert move(site_lead, built, ids(built, 2, 3), "set") == 2
        with pytest.raises(PermissionDenied):
            looks.close(site_lead, Look.objects.first(), "It is fine")
        looks.close(designer, Look.objects.first(), "A scratch, the plate holds")
        assert move(site_lead, built, ids(built, 1), "set") == 1
        with refused(Refused, "look-closed"):
            looks.close(designer, Look.objects.get(pk=Look.objects.first().pk), "again")

    def test_what_is_put_right_where_it_stands_is_not_called_damaged_with_another(self, built, site_lead):
        first, second = built.copies.order_by("number")[:2]
        Look.objects.create(copy=first, when="delivered", points={"bow": False, "plates": False}, by=site_lead)
        Look.objects.create(copy=second, when="set", points={"place": False}, by=site_lead)
        kept = {one.copies[0].number: (one.harm, one.what()) for one in looks.keeps_off([first, second])}
        assert {number: harm for number, (harm, _) in kept.items()} == {1: True, 2: False}
        assert kept[1][1] == "found bowed or bent and with plates loose or missing, and not told as damage yet"
        (hurt,) = harmed.off([first, second])
        assert hurt.each_said == [f"Copy 1: {kept[1][1]}"]

    def test_a_second_look_at_damage_ends_nothing(self, here, site_lead):
        looks.tick(site_lead, here, ids(here, 1), "set", points={"wood": False})
        with refused(Refused, "look-open", what=["wood"]):
            looks.tick(site_lead, here, ids(here, 1), "set", points={"wood": True})

    @pytest.mark.parametrize(
        ("how", "code"),
        [
            ({"counted": 2}, "count-off"),
            ({"points": {"place": True}}, "point-unknown"),
            ({"points": {"bow": "yes"}}, "point-unknown"),
            ({"note": "x" * 501}, "found-too-long"),
        ],
    )
    def test_is_refused_whole(self, built, site_lead, how, code):
        with refused(Refused, code):
            looks.tick(site_lead, built, ids(built), "delivered", **how)
        assert stages(built) == ["built"] * 3
        assert not Look.objects.exists()

    def test_what_is_wrong_is_kept_where_another_hand_ticked_first(self, built, site_lead, client_of):
        looks.tick(site_lead, built, ids(built, 1, 2), "delivered")
        # a phone that had no signal sends its own; of copy 3, which is built still, too
        body = {"to": "delivered", "copy": ids(built, 1), "point-plates": "wrong", "found": "bent", "photo": photo()}
        client_of(site_lead).post(f"/jobs/{built.job_id}/trusses/{built.pk}/copies/", body)
        one = Look.objects.get()
        assert (one.copy.number, one.wrong, one.note, len(one.photos)) == (1, ["plates"], "bent", 1)
        done = looks.tick(site_lead, built, ids(built, 2, 3), "delivered", points={"wood": False})
        assert (done.moved, done.wrong) == (1, (2, 3))
        for number in (1, 2, 3):
            with refused(Refused, "look-open", copies=[number]):
                move(site_lead, built, ids(built, number), "set")
        with refused(Refused, "found-late"):  # a note alone is told of as damage
            looks.tick(site_lead, built, ids(built, 1), "delivered", note="other")

    def test_a_copy_that_was_looked_at_is_never_taken_away(self, built, site_lead, designer):
        place = Placement.objects.create(truss=built, origin_x_in=0, origin_y_in=0, spacing_in=24, count=3)
        built.copies.update(placement=place)
        looks.tick(site_lead, built, ids(built, 3), "delivered", points={"bow": False})
        built.copies.update(stage=Stage.DESIGNING, built_to=None)
        Placement.objects.filter(pk=place.pk).update(count=2)
        settle_copies(built, designer)
        assert sorted(built.copies.values_list("number", flat=True)) == [1, 3]
        Look.objects.create(copy=built.copies.get(number=1), when="delivered", points={}, by=site_lead)
        Placement.objects.filter(pk=place.pk).update(count=1)
        with refused(Refused, "copies-begun", begun=2, places=1):
            settle_copies(built, designer)

    def test_by_the_site_lead_alone(self, built, designer, builder):
        for person in (designer, builder):
            with pytest.raises(PermissionDenied):
                looks.tick(person, built, ids(built), "delivered", points={"bow": False})

    def test_two_taps_are_one_look(self, here, site_lead):
        for _ in range(2):
            looks.tick(site_lead, here, ids(here, 1), "set", points={"end": False})
        assert Look.objects.count() == 1


class TestMadeAnew:
    """A copy keeps its number when it is made anew, and nothing that was found of its old truss."""

    def anew(self, truss, designer):
        earlier.make_anew(designer, truss, list(truss.copies.filter(number=1).select_related("built_to")), "Broken")
        truss.copies.filter(number=1).update(stage=Stage.BUILT, built_to=truss.current)

    def test_the_same_damage_of_the_new_truss_keeps_it_off(self, built, site_lead, designer):
        found = {"plates": False}
        looks.tick(site_lead, built, ids(built, 1), "delivered", points=found)
        looks.close(designer, Look.objects.get(), "It is made anew")
        self.anew(built, designer)
        assert looks.tick(site_lead, built, ids(built, 1), "delivered", points=found).wrong == (1,)
        with refused(Refused, "look-open", copies=[1], what=["plates"]):
            move(site_lead, built, ids(built, 1), "set")
        assert Look.objects.count() == 2

    def test_damage_of_the_old_truss_keeps_no_new_one_off(self, built, site_lead, designer, client_of):
        right = {"bow": True, "plates": True, "wood": True}
        looks.tick(site_lead, built, ids(built, 1), "delivered", points=right)
        looks.tick(site_lead, built, ids(built, 1), "delivered", points=right | {"wood": False})
        self.anew(built, designer)
        assert looks.open_looks(built.copies.all()) == []
        # a look that finds of the new truss what was once found of the old one is a look of its own
        looks.tick(site_lead, built, ids(built, 1), "delivered", points=right)
        (look,) = looks.of_this_wood(built.copies.all())
        assert look.pk == Look.objects.last().pk
        page = text(client_of(site_lead).get(f"/jobs/{built.job_id}/trusses/{built.pk}/"))
        assert "Wood: split or broken" not in page
        assert "bow straight, plates tight, all there, wood sound" in page
        assert move(site_lead, built, ids(built, 1), "set") == 1


def test_looks_of_different_times_are_told_apart(built, site_lead):
    for points, numbers in (({"bow": True}, (1, 2)), ({"wood": True}, (1,)), ({"bow": True}, (1, 3))):
        built.copies.filter(number__in=numbers).update(stage=Stage.BUILT)
        looks.tick(site_lead, built, ids(built, *numbers), "delivered", points=points)
    told = [(one["numbers"], one["right"]) for one in looks_of(list(built.copies.all()))]
    assert told == [("1, 3", ["bow straight"]), ("1", ["wood sound"]), ("1–2", ["bow straight"])]
    times = [one["look"].at for one in looks_of(list(built.copies.all()))]
    assert times == sorted(set(times), reverse=True)


class TestSetting:
    def test_with_anything_wrong_nothing_is_set_and_what_was_found_is_kept(self, here, site_lead):
        done = looks.tick(site_lead, here, ids(here, 1, 2), "set", points={"place": True, "end": False}, note="turned")
        assert (done.moved, done.wrong) == (0, (1, 2))
        assert stages(here) == ["delivered"] * 3
        with refused(Refused, "look-open", what=["end"]):
            move(site_lead, here, ids(here, 1), "set")
        # put right, and said so
        assert looks.tick(site_lead, here, ids(here, 1, 2), "set", points={"end": True}).moved == 2

    def test_what_is_no_there_yet_is_named(self, built, site_lead):
        with refused(Refused, "too-early"):
            looks.tick(site_lead, built, ids(built, 1), "set", points={"end": False})
        assert not Look.objects.exists()


class TestOnThePage:
    def send(self, client, truss, **body):
        return client.post(f"/jobs/{truss.job_id}/trusses/{truss.pk}/copies/", body, follow=True)

    def test_with_photo_and_note(self, built, site_lead, designer, outsider, client_of):
        one = built.copies.get(number=1).pk
        page = self.send(
            client_of(site_lead), built, to="delivered", copy=one, counted="1", found=HOSTILE, photo=photo(),
            **{"point-plates": "wrong", "point-bow": "right"},
        )  # fmt: skip
        said = text(page)
        assert "Something is wrong with copy 1" in said
        assert "Plates: loose or missing bow straight" in said
        assert "Not to be set. Tell of the damage" in said
        found = Look.objects.get()
        told = f"/jobs/{built.job_id}/trusses/{built.pk}/ask/damage/?look={found.pk}"
        assert told in page.content.decode()
        assert "Copy 1 don’t set" in said
        assert "<script>alert" not in page.content.decode()
        look = Look.objects.get()
        assert client_of(site_lead).get(f"/looks/{look.pk}/1.jpg")["Content-Type"] == "image/jpeg"
        assert client_of(outsider).get(f"/looks/{look.pk}/1.jpg").status_code == 404
        # what opens the form asks for a word, and is none itself: nobody reads on it that the copy may be set
        asked = text(client_of(designer).get(f"/jobs/{built.job_id}/trusses/{built.pk}/"))
        assert "it may be set. Say that it may be set all the same Why;" in asked
        empty = client_of(designer).post(f"/looks/{look.pk}/close/", {"says": " "})
        assert (empty.status_code, "Say why it may be set" in text(empty)) == (422, True)
        page = client_of(designer).post(f"/looks/{look.pk}/close/", {"says": "Pressed again"}, follow=True)
        assert "“ Pressed again ”" in text(page)

    def test_several_photos_are_kept_and_a_point_is_left_open_again(self, built, site_lead, client_of):
        page = client_of(site_lead).get(f"/jobs/{built.job_id}/trusses/{built.pk}/").content.decode()
        assert page.count("> not looked at</label>") == page.count('value="" checked> not looked at') == 3
        body = {"to": "delivered", "copy": ids(built, 1), "point-bow": "", "point-wood": "right"}
        self.send(client_of(site_lead), built, **body, photo=[photo(), photo("blue")])
        (look,) = Look.objects.all()
        assert (look.points, len(look.photos)) == ({"wood": True}, 2)
        shown = [client_of(site_lead).get(f"/looks/{look.pk}/{n}.jpg").status_code for n in (0, 1, 2, 3)]
        assert shown == [404, 200, 200, 404]
        page = self.send(client_of(site_lead), built, to="delivered", copy=ids(built, 2), photo=[photo()] * 7)
        assert "7 photos were sent; 6 can go with it." in text(page)

    def test_a_refusal_loses_nothing_typed(self, built, site_lead, client_of):
        body = {"to": "delivered", "copy": ids(built, 1, 2), "counted": "3", "found": "wet", "point-wood": "wrong"}
        page = self.send(client_of(site_lead), built, **body)
        html = page.content.decode()
        assert page.status_code == 422
        assert "You counted 3 and chose 2" in text(page)
        assert 'name="counted" inputmode="numeric" autocomplete="off" value="3"' in html
        assert html.count(" checked") == 2 + 3  # both copies; of three points one is wrong, two weren't looked at
        assert ">wet</textarea>" in html
        page = self.send(client_of(site_lead), built, **{**body, "counted": "many"})
        assert "“many” is no number" in text(page)
        page = self.send(client_of(site_lead), built, to="delivered", all="built", photo=photo())
        assert "A photo is of the trusses that it shows" in text(page)
        assert stages(built) == ["built"] * 3

    def test_all_at_once_is_asked_with_what_was_found(self, built, site_lead, client_of):
        body = {"to": "delivered", "all": "built", "counted": "3", "point-bow": "right"}
        sure = self.send(client_of(site_lead), built, **body)
        assert "Are all 3 copies of K1 delivered? " in text(sure)
        assert "Bow: straight ." in text(sure)
        assert '<input type="hidden" name="point-bow" value="right">' in sure.content.decode()

    def test_one_word_says_all_is_as_it_should_be(self, built, site_lead, client_of):
        body = {"to": "delivered", "whole": "right", "point-bow": "wrong"}
        self.send(client_of(site_lead), built, copy=ids(built, 1), **body)
        assert Look.objects.get().points == {"bow": False, "plates": True, "wood": True}
        sure = self.send(client_of(site_lead), built, to="delivered", all="built", whole="right")
        assert "Bow: straight . Plates: tight, all there . Wood: sound ." in text(sure)

    @pytest.mark.parametrize("whole", ["right", "open"])
    def test_without_a_word_on_what_was_found_it_is_asked_first(self, here, site_lead, client_of, whole):
        body = {"to": "set", "copy": ids(here, 1, 2)}
        asked = self.send(client_of(site_lead), here, **body, whole="below")
        assert "Are copies 1–2 of K1 set? " in text(asked)
        assert "Nothing was said of what was found." in text(asked)
        assert f'name="whole" value="{whole}"' in asked.content.decode()
        assert stages(here) == ["delivered"] * 3
        self.send(client_of(site_lead), here, **body, whole=whole)
        assert stages(here) == ["set", "set", "delivered"]
        assert "Is copy 3 of K1 set? " in text(self.send(client_of(site_lead), here, to="set", copy=ids(here, 2, 3)))
        assert Look.objects.count() == (2 if whole == "right" else 0)

    def test_all_that_can_be_set_leaves_out_those_that_can_not(self, here, site_lead, client_of):
        looks.tick(site_lead, here, ids(here, 1), "set", points={"wood": False})
        client = client_of(site_lead)
        page = client.get(f"/jobs/{here.job_id}/trusses/{here.pk}/")
        html = page.content.decode()
        assert "Record: all 2 that can be are set" in text(page)
        assert [f'value="{pk}" disabled' in html for pk in ids(here)] == [True, False, False]
        sure = self.send(client, here, to="set", all="delivered")
        assert re.findall(r'name="copy" value="(\d+)"', sure.content.decode()) == [str(pk) for pk in ids(here, 2, 3)]
        assert "Not these:" in text(sure)

    def test_what_stands_wrong_can_be_ticked_once_it_is_put_right(self, here, site_lead, client_of):
        looks.tick(site_lead, here, ids(here, 1), "set", points={"end": False})
        looks.tick(site_lead, here, ids(here, 2), "set", points={"end": False, "bow": False})
        html = client_of(site_lead).get(f"/jobs/{here.job_id}/trusses/{here.pk}/").content.decode()
        assert [f'value="{pk}" disabled' in html for pk in ids(here)] == [False, True, False]
        assert "All 2" not in html
        assert looks.tick(site_lead, here, ids(here, 1), "set", points={"end": True}).moved == 1

    def test_through_the_api_once_for_a_key(self, built, site_lead, api_of):
        where = f"/api/v1/trusses/{built.pk}/looks/"
        body = {"copies": [1], "to": "delivered", "points": '{"wood": false}', "photos": photo()}
        for _ in range(2):
            body["photos"].seek(0)
            answer = api_of(site_lead).post(where, body, format="multipart", HTTP_IDEMPOTENCY_KEY="k-1")
            assert answer.status_code == 200, answer.json()
        (look,) = answer.json()
        assert (look["copy"], look["points"], look["keeps_off"]) == (1, {"wood": False}, True)
        for bad in ({"copies": [2], "points": []}, {"copies": [10**30]}):
            answer = api_of(site_lead).post(where, {"to": "delivered", **bad}, format="json")
            assert answer.status_code == 400

    def test_a_copy_of_no_number_that_a_row_has_is_no_error(self, built, site_lead, designer, client_of, api_of):
        page = self.send(client_of(site_lead), built, to="delivered", copy="9" * 20)
        assert (page.status_code, "Choose copies from the list." in text(page)) == (422, True)
        body = {"copies": [10**30], "what": "stays", "reason": "x", "revision": 0}
        answer = api_of(designer).post(f"/api/v1/trusses/{built.pk}/copies/earlier/", body, format="json")
        assert answer.status_code == 400


def kind(key):
    """What a key is of, without the copies."""
    return " ".join(key.split()[:2])


def key_of(truss, what):
    return next(item.key for item in fixing.items(truss) if kind(item.key) == what)


class TestFixed:
    @pytest.fixture
    def standing(self, truss, designer, job):
        place = Placement.objects.create(
            truss=truss, origin_x_in=0, origin_y_in=0, direction="y", spacing_in=24, count=3
        )
        truss.copies.update(placement=place, stage="set", built_to=truss.current)
        links.set_link(designer, truss, "A", wall="south wall", plate="", carrier=None)
        return truss

    def test_tells_from_where_to_where_and_to_what(self, standing):
        found = {kind(item.key): item for item in fixing.items(standing)}
        assert found["top_chord Roof"].what == "Top chord: rows 2'-0\" on center or closer"
        assert (found["bottom_chord Roof"].starts, found["bottom_chord Roof"].ends) == ("K1-1", "K1-3")
        assert found["tie A"].anchored == "south wall"
        assert "lb up" in found["tie A"].what
        assert found["tie C"].anchored == ""

    def test_a_row_ends_where_the_next_truss_of_its_mark_is_beyond_a_gap(self, standing):
        """An entry between two porches: nobody nails a row across it, and one copy by itself is named once."""
        standing.placements.update(count=2)
        there = {"origin_x_in": 240, "origin_y_in": 0, "direction": "y", "spacing_in": 24, "count": 1}
        far = Placement.objects.create(truss=standing, **there)
        standing.copies.filter(number=3).update(placement=far)
        found = [(item.starts, item.ends) for item in fixing.items(standing) if kind(item.key) == "top_chord Roof"]
        assert found == [("K1-1", "K1-2"), ("at K1-3 alone", "at K1-3 alone")]

    def test_is_ticked_by_the_site_lead_and_taken_back(self, standing, site_lead, designer):
        with refused(Refused, "anchored-where"):
            fixing.tick(site_lead, standing, key_of(standing, "bottom_chord Roof"), done=True)
        with refused(Refused, "no-such-item"):
            fixing.tick(site_lead, standing, "tie Z", done=True)
        with pytest.raises(PermissionDenied):
            fixing.tick(designer, standing, key_of(standing, "tie A"), done=True)
        for changed in (True, False):
            assert fixing.tick(site_lead, standing, key_of(standing, "tie A"), done=True) is changed
        assert [one.done for one in fixing.listed(standing) if kind(one.item.key) == "tie A"] == [True]
        assert fixing.tick(site_lead, standing, key_of(standing, "tie A"), done=False)
        assert not any(one.done for one in fixing.listed(standing))

    def test_nothing_is_in_place_at_a_truss_that_is_not_set(self, standing, site_lead, client_of):
        """Not by a tick of before either: the list that an inspector reads is the same."""
        key = key_of(standing, "top_chord Roof")
        fixing.tick(site_lead, standing, key, done=True, anchored="gable")
        standing.copies.filter(number__in=[1, 2]).update(stage="delivered")
        assert not any(one.done for one in fixing.listed(standing))
        assert fixing.rows_alike(fixing.listed(standing)) == []
        for wanted in (key, key_of(standing, "tie A")):
            with refused(Refused, "item-waits", waits=["K1-1", "K1-2"]):
                fixing.tick(site_lead, standing, wanted, done=True, anchored="gable")
        where = f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/"
        page = client_of(site_lead).get(where)
        assert "Not in place until K1-1–2 are set." in text(page)
        assert "It is in place" not in text(page)
        answer = client_of(site_lead).post(f"{where}tick/", {"item": key, "anchored": "gable"})
        assert (answer.status_code, "Nothing was ticked. Not in place until K1-1" in text(answer)) == (422, True)
        standing.copies.update(stage="set")
        assert [one.done for one in fixing.listed(standing) if one.item.key == key] == [True]

    def test_a_tick_stretches_over_nothing_that_came_since(self, standing, site_lead, designer):
        def done():
            return {kind(one.item.key) for one in fixing.listed(standing) if one.done}

        def tick_all():
            for one in fixing.items(standing):
                fixing.tick(site_lead, standing, one.key, done=True, anchored="gable")
            return done()

        every = tick_all()
        assert {"bottom_chord Roof", "tie A"} <= every
        standing.placements.update(count=4)
        settle_copies(standing, designer)
        assert not done(), "one more at the end"
        standing.copies.update(stage="set", built_to=standing.current)
        assert tick_all() == every
        standing.placements.update(direction="x")
        assert done() == {"tie A", "tie C"}, "they run the other way"
        assert tick_all() == every
        standing.copies.filter(number=3).update(number=2_000)
        standing.copies.filter(number=4).update(number=3_000)
        tick_all()
        standing.copies.filter(number=2).update(number=20)
        assert not done(), "the first and the last stay, and another stands between"
        assert all(len(one.key) <= 120 for one in fixing.items(standing))

    def test_on_its_page_and_through_the_api(self, standing, site_lead, builder, client_of, api_of):
        where = f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/"
        assert "It is in place" not in text(client_of(builder).get(where))
        body = {"item": key_of(standing, "bottom_chord Roof"), "anchored": ""}
        page = client_of(site_lead).post(f"{where}tick/", body)
        assert (page.status_code, "a row holds nothing alone" in text(page)) == (422, True)
        page = client_of(site_lead).post(f"{where}tick/", {**body, "anchored": HOSTILE}, follow=True)
        assert "<script>alert" not in page.content.decode()
        assert "Starts at K1-1, ends at K1-3. Anchored to" in text(page)
        call = f"/api/v1/trusses/{standing.pk}/fixed/"
        answer = api_of(site_lead).post(
            call, {"item": key_of(standing, "tie A")}, format="json", HTTP_IDEMPOTENCY_KEY="k"
        )
        assert {kind(one["item"]): one["done"] for one in answer.json()}["tie A"] is True
        assert api_of(site_lead).post(call, {"item": "tie Z"}, format="json").status_code == 400

    def test_nothing_chosen_is_told_to_choose(self, standing, site_lead, client_of, api_of):
        where = f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/"
        page = client_of(site_lead).post(f"{where}tick/", {"together": "1", "anchored": "gable wall"})
        assert page.status_code == 422
        assert "Nothing was ticked. Choose at least one row, hanger or tie." in text(page)
        answer = api_of(site_lead).post(f"/api/v1/trusses/{standing.pk}/fixed/", {"item": ""}, format="json")
        assert answer.status_code == 400
        assert "Choose at least one row, hanger or tie." in answer.content.decode()

    def test_what_is_refused_says_so_at_its_row_and_the_last_answer_is_offered(self, standing, site_lead, client_of):
        where = f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/"
        client, first = client_of(site_lead), fixing.items(standing)[0]
        html = client.post(f"{where}tick/", {"item": first.key, "anchored": " "}).content.decode()
        assert html.index("Nothing was ticked.") > html.index(f'id="{first.slug}"')
        assert html.count(" autofocus aria-invalid") == 1
        done = client.post(f"{where}tick/", {"item": first.key, "anchored": "gable wall"})
        assert done["Location"] == f"{where}#{first.slug}"
        assert 'data-value="gable wall"' in client.get(where).content.decode()

    def test_rows_of_one_anchor_are_ticked_together_or_none_is(self, standing, site_lead, client_of):
        where = f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/"
        rows = [one.key for one in fixing.rows_alike(fixing.listed(standing))]
        assert {kind(key) for key in rows} >= {"top_chord Roof", "bottom_chord Roof"}
        assert not any(kind(key).startswith("tie") for key in rows), "a tie is no row"
        body = {"together": "1", "anchored": "gable wall"}
        refused_ = client_of(site_lead).post(f"{where}tick/", {**body, "item": [*rows, "tie Z"]})
        assert (refused_.status_code, any(one.done for one in fixing.listed(standing))) == (422, False)
        assert refused_.content.decode().count(" checked>") == len(rows)
        client_of(site_lead).post(f"{where}tick/", {**body, "item": rows})
        assert {one.item.key for one in fixing.listed(standing) if one.done} == set(rows)
        assert fixing.rows_alike(fixing.listed(standing)) == []

    def test_photos_come_to_its_tick_and_go_with_it(self, standing, site_lead, outsider, client_of, api_of):
        key = key_of(standing, "tie A")

        def last():
            return next(one.last for one in fixing.listed(standing) if one.item.key == key)

        send = {"item": key, "photo": photo()}
        client_of(site_lead).post(f"/jobs/{standing.job_id}/trusses/{standing.pk}/fixed/tick/", send)
        body = {"item": key, "photos": [photo("blue"), photo()]}
        answer = api_of(site_lead).post(f"/api/v1/trusses/{standing.pk}/fixed/", body, format="multipart")
        shown = next(one["photos"] for one in answer.json() if one["item"] == key)
        assert shown == [f"/fixed/{last().pk}/1.jpg", f"/fixed/{last().pk}/2.jpg"]
        assert {client_of(site_lead).get(one)["Content-Type"] for one in shown} == {"image/jpeg"}
        assert client_of(outsider).get(shown[0]).status_code == 404
        with refused(Refused, "photos-too-many", most=12, sent=14):
            colours = [(n, 0, 0) for n in range(0, 240, 20)]
            for these in (colours[:6], colours[6:]):
                sent = [Sent(file, file.size) for file in map(photo, these)]
                fixing.tick(site_lead, standing, key, done=True, photos=sent)
        fixing.tick(site_lead, standing, key, done=False)
        fixing.tick(site_lead, standing, key, done=True)
        assert last().photos == [], "ticked anew it is looked at anew"

    def test_the_order_of_setting_tells_place_end_and_what_keeps_off(self, standing, site_lead, client_of):
        standing.copies.update(stage=Stage.DELIVERED, built_to=standing.current)
        looks.tick(site_lead, standing, ids(standing, 2), "set", points={"bow": False})
        said = text(client_of(site_lead).get(f"/jobs/{standing.job_id}/setting/"))
        assert "K1 marked end toward the bottom of the plan, south wall Tick its copies" in said
        assert "1 K1-1 0\" to the right of the plan's zero delivered, built to revision 0" in said
        assert said.count("damaged, keep off") == 1


def test_a_tie_of_trusses_without_a_place_in_plan_is_in_place_once_they_are_set(job, designer, site_lead):
    mark = add_mark(job, cantilever(WEIGHT), 2, designer)
    mark.copies.filter(number=1).update(stage=Stage.SET)

    def tie():
        return next(one for one in fixing.items(mark) if one.what.startswith("Tie at bearing A"))

    assert (tie().starts, tie().waits) == ("at each of copies 1–2", ("P-2",))
    with refused(Refused, "item-waits", waits=["P-2"]):
        fixing.tick(site_lead, mark, tie().key, done=True, anchored="north wall")
    mark.copies.update(stage=Stage.SET)
    assert fixing.tick(site_lead, mark, tie().key, done=True, anchored="north wall")
    # one that comes to the mark since stands on nothing that was looked at
    Copy.objects.create(truss=mark, number=3)
    assert not any(one.done for one in fixing.listed(mark))


@pytest.mark.parametrize("pounds", [80, 120])
def test_a_tie_is_listed_for_the_uplift_without_a_weight_that_may_be_gone(job, designer, pounds):
    """100 lb of snow on the cantilever lift A by 50 lb; with the weight on it 10 are left, or none."""
    document = cantilever({**WEIGHT, "down_lb": pounds}, mark="P", lateral_restraint={"bottom_chord_in": 24})
    mark = add_mark(job, document, 1, designer)
    ties = [one.what for one in fixing.items(mark) if one.what.startswith("Tie")]
    assert ties == ["Tie at bearing A, for at least 50 lb up"]
