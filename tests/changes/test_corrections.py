"""What an inspector wants corrected: told on every page of its mark, answered by the job, accepted by an inspector."""

from __future__ import annotations

import html
import io
import re
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from changes.inspection import corrections, links
from changes.models import Correction
from trusses.models import Placement, Truss
from trusses.pictures import path_of
from trusses.refusals import NotAllowed, Refused
from trusses.sheets import fixing


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def photo():
    made = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "where it was taken"
    Image.new("RGB", (64, 48), "red").save(made, "JPEG", exif=exif)
    return SimpleUploadedFile("gable.jpg", made.getvalue(), "image/jpeg")


@pytest.fixture
def handed(job, truss, builder):
    """(link, token) of the job that has mark K1, whose three copies are set and placed on the plan."""
    cache.clear()
    place = {"level": "Roof", "direction": "x", "spacing_in": 24, "origin_x_in": 0, "origin_y_in": 0}
    made = Placement.objects.create(truss=truss, count=3, **place)
    truss.copies.update(placement=made, stage="set", built_to=truss.current)
    return links.hand_out(builder, job, for_whom="C. Inspector", days=30)


@pytest.fixture
def row(handed, truss, site_lead):
    """A row, hanger or tie of K1 that is ticked as in place."""
    item = fixing.items(truss)[0]
    fixing.tick(site_lead, truss, item.key, done=True, anchored="gable")
    assert fixing.listed(truss)[0].done
    return item


def asked(link, truss, **said):
    told = {"key": uuid4(), "by_name": "C. Inspector", "says": "The row stops at K1-3.", "truss": truss, **said}
    return corrections.correct(link, **told)


def accept(link, one, **said):
    corrections.say(link, one, **{"key": uuid4(), "accepted": True, "by_name": "C. Inspector", **said})


def members_pages(job, truss):
    of_job, of_mark = [job.pk], [job.pk, truss.pk]
    return {
        "job": reverse("trusses:job", args=of_job),
        "sheets": reverse("trusses:sheets", args=of_job),
        "setting": reverse("trusses:setting", args=of_job),
        "mark": reverse("trusses:mark", args=of_mark),
        "fixed": reverse("trusses:fixed", args=of_mark),
        "sheet": reverse("trusses:sheet", args=[*of_mark, 0]),
    }


class TestItStandsOnItsMark:
    def test_on_every_page_until_it_is_accepted(self, handed, row, job, truss, site_lead, client, client_of):
        link, token = handed
        one = asked(link, truss, item=row.key, copies=[3])
        its_words = f"Copy 3, {corrections.called(row)}: “ The row stops at K1-3. ”"
        inspects = [reverse("changes:inspect", args=[token]), reverse("changes:inspect-mark", args=[token, truss.pk])]
        for state in ("Not answered yet.", "Answered, not yet accepted by the inspector."):
            for name, at in members_pages(job, truss).items():
                told = words(client_of(site_lead).get(at))
                assert re.search("1 correction open", told, re.IGNORECASE), name
                if name in ("mark", "fixed", "sheet"):
                    assert its_words in told, name
                    assert state in told, name
            for at in inspects:
                assert "The row stops at K1-3." in words(client.get(at))
                assert re.search("1 correction open", words(client.get(at)), re.IGNORECASE)
            corrections.answer(site_lead, one, "Carried to K1-3.") if one.waits else None
            one.refresh_from_db()
        accept(link, one)
        for at in members_pages(job, truss).values():
            assert not re.search("correction open", words(client_of(site_lead).get(at)), re.IGNORECASE)

    def test_the_row_that_it_disputes_is_not_in_place(self, handed, row, job, truss, site_lead, client, client_of):
        link, token = handed
        index = reverse("changes:inspect", args=[token])
        assert "Restraint, hangers and ties of K1: 1 in place" in words(client.get(index))
        one = asked(link, truss, item=row.key)
        assert fixing.listed(truss)[0].done is False
        assert "1 in place" not in words(client.get(index))
        fixed = words(client_of(site_lead).get(members_pages(job, truss)["fixed"]))
        assert "an inspector disputes it" in fixed
        assert "Ticked, and not in place until the inspector accepts it." in fixed
        assert "disputed, though it is ticked" in words(client.get(f"{index}marks/{truss.pk}/"))
        fixing.tick(site_lead, truss, row.key, done=False)
        fixing.tick(site_lead, truss, row.key, done=True, anchored="gable")
        assert not fixing.listed(truss)[0].done, "ticked anew it waits for the inspector all the same"
        corrections.answer(site_lead, one, "Done")
        accept(link, one)
        assert fixing.listed(truss)[0].done

    def test_it_goes_where_its_copies_go(self, handed, job, truss):
        link, _ = handed
        of_one, of_all, of_job = asked(link, truss, copies=[2]), asked(link, truss), asked(link, None)
        home = Truss.objects.create(job=job, mark="K1-b", variant_of=truss)
        truss.copies.filter(number=2).update(truss=home)
        assert corrections.stands_on(of_one) == [home.pk]
        assert corrections.stands_on(of_all) == [truss.pk, home.pk]
        assert corrections.stands_on(of_job) == []
        truss.copies.update(truss=home)
        assert corrections.stands_on(of_all) == [home.pk]
        Truss.objects.filter(pk=home.pk).update(withdrawn_at="2026-11-28T12:00Z")
        assert corrections.stands_on(of_all) == [truss.pk]

    def test_one_of_the_job_is_counted_on_its_first_page(self, handed, job, builder, client_of):
        asked(handed[0], None)
        page = words(client_of(builder).get(reverse("trusses:job", args=[job.pk])))
        assert "Inspectors: links and corrections 1 correction open" in page


class TestFromTheMarksPage:
    def test_a_row_copies_and_photos_are_chosen_there(self, handed, row, truss, job, client, client_of, outsider):
        _link, token = handed
        page = client.get(reverse("changes:inspect-mark", args=[token, truss.pk])).content.decode()
        assert f'<option value="{row.key}">' in html.unescape(page)
        assert 'value="C. Inspector"' in page
        typed = {"key": uuid4(), "on": truss.pk, "mark": truss.pk, "item": row.key, "copies": [2, 3]}
        typed |= {"says": "It stops short.", "by_name": "C. Inspector", "photo": [photo(), photo()]}
        sent = client.post(reverse("changes:inspect-correct", args=[token]), typed)
        assert sent["Location"] == f"{reverse('changes:inspect-mark', args=[token, truss.pk])}#corrections"
        one = Correction.objects.get()
        assert (one.item, one.copies, one.named, len(one.photos)) == (row.key, [2, 3], True, 1)
        with Image.open(path_of(job.pk, one.photos[0])) as kept:
            assert not kept.getexif()
        at = reverse("changes:inspect-photo", args=[token, "corrections", one.pk, 1])
        assert at in client.get(sent["Location"]).content.decode()
        assert client.get(at)["Content-Type"] == "image/jpeg"
        own = reverse("changes:correction-photo", args=["corrections", one.pk, 1])
        assert client_of(outsider).get(own).status_code == 404
        assert client.get(own).status_code == 302

    @pytest.mark.parametrize(
        ("wrong", "says"),
        [
            ({"says": ""}, "Say what is to be corrected"),
            ({"copies": [9]}, "9 is not one of the available choices"),
            ({"item": "tie of another"}, "Select a valid choice"),
        ],
    )
    def test_what_is_wrong_is_said_there_and_nothing_is_lost(self, handed, truss, client, wrong, says):
        typed = {
            "key": uuid4(),
            "on": truss.pk,
            "mark": truss.pk,
            "copies": [2],
            "says": "Short.",
            "by_name": "Own Name",
        }
        answer = client.post(reverse("changes:inspect-correct", args=[handed[1]]), typed | wrong)
        assert answer.status_code == 422
        assert says in words(answer)
        assert 'value="Own Name"' in answer.content.decode()
        assert not Correction.objects.exists()

    def test_so_many_photos_and_no_file_of_another_kind(self, handed, truss, client):
        typed = {"key": uuid4(), "on": truss.pk, "mark": truss.pk, "says": "Short.", "by_name": "C"}
        for sent in ([photo() for _ in range(4)], [SimpleUploadedFile("x.jpg", b"<svg/>", "image/jpeg")]):
            answer = client.post(reverse("changes:inspect-correct", args=[handed[1]]), typed | {"photo": sent})
            assert answer.status_code == 409
        assert not Correction.objects.exists()

    def test_the_next_is_about_the_same_mark(self, handed, truss, client):
        typed = {"key": uuid4(), "mark": truss.pk, "says": "x", "by_name": "C"}
        sent = client.post(reverse("changes:inspect-correct", args=[handed[1]]), typed)
        assert f"?about={truss.pk}#corrections" in sent["Location"]


class TestAnsweredAndAccepted:
    def test_by_the_site_lead_with_a_photo_then_by_the_inspector(
        self, handed, truss, job, site_lead, client, client_of
    ):
        link, token = handed
        one = asked(link, truss)
        at = reverse("changes:answer-correction", args=[one.pk])
        assert client_of(site_lead).post(at, {"says": "Carried on.", "photo": photo()}).status_code == 302
        members = reverse("changes:inspectors", args=[job.pk])
        index = reverse("changes:inspect", args=[token])
        for told in (words(client_of(site_lead).get(members)), words(client.get(index))):
            assert "Answered: Carried on. site-lead ," in told
            assert "answered, not yet accepted by the inspector" in told
        of_word = one.words.get().pk
        assert client.get(f"{index}words/{of_word}/1.jpg")["Content-Type"] == "image/jpeg"
        own = reverse("changes:correction-photo", args=["words", of_word, 1])
        assert client_of(site_lead).get(own)["Content-Type"] == "image/jpeg"
        word = reverse("changes:inspect-word", args=[token, one.pk])
        said = {"key": uuid4(), "by_name": "C. Inspector", "says": "", "word": "not yet"}
        late = client.post(word, said)
        assert late.status_code == 422
        assert "Say what is still to be done." in words(late)
        assert client.post(word, said | {"says": "The diagonal is missing."}).status_code == 302
        assert Correction.objects.get().state == "not yet"
        client_of(site_lead).post(at, {"says": "Added."})
        client.post(word, {"key": uuid4(), "by_name": "C. Inspector", "word": "accepted", "on": truss.pk})
        for told in (words(client_of(site_lead).get(members)), words(client.get(index))):
            kept = [told.index(says) for says in ("Carried on.", "The diagonal is missing.", "Added.")]
            assert kept == sorted(kept)
            assert "accepted by the inspector" in told

    def test_a_word_sent_twice_is_one_and_the_second_of_two_is_not_lost(self, handed, truss, builder):
        link, _ = handed
        one = asked(link, truss)
        corrections.answer(builder, one, "Done")
        said = {"key": uuid4(), "accepted": True, "by_name": "C"}
        corrections.say(link, one, **said)
        corrections.say(link, one, **said)
        assert one.words.count() == 2
        with pytest.raises(Refused, match="with other words"):
            corrections.say(link, one, **said | {"by_name": "D"})
        with pytest.raises(Refused, match="Something was said of it meanwhile"):
            corrections.say(link, one, key=uuid4(), accepted=False, by_name="C", says="No")

    def test_not_by_another_inspector_while_the_first_has_a_link(self, handed, truss, builder, other_job, make_person):
        link, _ = handed
        one = asked(link, truss)
        corrections.answer(builder, one, "Done")
        another, _ = links.hand_out(builder, link.job, for_whom="The insurer", days=9)
        again, _ = links.hand_out(builder, link.job, for_whom="c. inspector ", days=9)
        for other in (another, again):
            with pytest.raises(Refused, match="another inspector’s link"):
                accept(other, one)
        links.end(builder, link)
        one = corrections.of_job(link.job).get(pk=one.pk)
        with pytest.raises(Refused, match="another inspector’s link"):
            accept(another, one)
        accept(again, one)
        assert Correction.objects.get(pk=one.pk).state == "accepted"
        with pytest.raises(Refused, match="This link has ended"):
            accept(corrections.of_job(link.job).get(pk=one.pk).link, one)


class TestClosedByName:
    def test_only_once_answered_and_no_link_is_left_to_accept_it(self, handed, truss, builder, site_lead):
        link, _ = handed
        one = asked(link, truss)
        fresh = corrections.of_job(link.job)
        for do in (lambda: None, lambda: corrections.answer(builder, one, "Done")):
            do()
            with pytest.raises(Refused, match="only once it is answered and no link is left"):
                corrections.close(builder, fresh.get(pk=one.pk), "He left")
        links.end(builder, link)
        with pytest.raises(NotAllowed):
            corrections.close(site_lead, fresh.get(pk=one.pk), "He left")
        corrections.close(builder, fresh.get(pk=one.pk), "He left")
        assert Correction.objects.get().state == "closed"

    def test_it_is_told_to_the_next_inspector_who_has_the_last_word(
        self, handed, truss, job, builder, client, client_of
    ):
        link, _ = handed
        one = asked(link, truss)
        corrections.answer(builder, one, "Done")
        page = reverse("changes:inspectors", args=[job.pk])
        assert "Close it by my name" not in words(client_of(builder).get(page))
        links.end(builder, link)
        assert "Close it by my name" in words(client_of(builder).get(page))
        closed = client_of(builder).post(reverse("changes:close-correction", args=[one.pk]), {"says": ""})
        assert closed.status_code == 422
        client_of(builder).post(reverse("changes:close-correction", args=[one.pk]), {"says": "The office closed."})
        again, token = links.hand_out(builder, job, for_whom="C. Inspector", days=9)
        told = words(client.get(reverse("changes:inspect", args=[token])))
        assert "Closed without the inspector’s word: The office closed. builder ," in told
        accept(again, corrections.of_job(job).get(), accepted=False, says="It isn’t done.")
        assert corrections.of_job(job).get().state == "not yet"


class TestThroughTheApi:
    def test_told_answered_and_closed_under_the_same_rules(self, handed, row, truss, job, builder, site_lead, api_of):
        link, _ = handed
        one = asked(link, truss, item=row.key, copies=[3])
        every, api = f"/api/v1/jobs/{job.pk}/corrections/", api_of(site_lead)
        (told,) = api.get(every).json()
        assert told["about"] == corrections.called(row)
        assert (told["mark"], told["copies"], told["state"], told["open"]) == ("K1", [3], "asked", True)
        (fixed, *_) = api.get(f"/api/v1/trusses/{truss.pk}/fixed/").json()
        assert (fixed["corrections"], fixed["done"]) == ([one.pk], False)
        answer, close = (f"/api/v1/corrections/{one.pk}/{verb}/" for verb in ("answer", "close"))
        assert api.post(answer, {"says": "Done", "photos": [photo()]}, format="multipart").status_code == 200
        assert api.post(answer, {"says": "Done again"}, format="json").status_code == 400
        assert api.post(close, {"says": "He left"}, format="json").status_code == 403
        assert api_of(builder).post(close, {"says": "He left"}, format="json").status_code == 400
        links.end(builder, link)
        told = api_of(builder).post(close, {"says": "He left"}, format="json").json()
        assert [(word["word"], word["who"], len(word["photos"])) for word in told["words"]] == [
            ("answered", "site-lead", 1),
            ("closed", "builder", 0),
        ]
        assert (told["state"], told["open"]) == ("closed", False)

    def test_another_jobs_are_nobodys(self, handed, truss, job, outsider, api_of):
        one = asked(handed[0], truss)
        api = api_of(outsider)
        assert api.get(f"/api/v1/jobs/{job.pk}/corrections/").status_code == 404
        assert api.post(f"/api/v1/corrections/{one.pk}/answer/", {"says": "x"}, format="json").status_code == 404


def test_what_a_phone_keeps_is_fetched_anew_once_something_was_said(handed, truss, job, site_lead, client_of):
    def versions():
        told = client_of(site_lead).get(reverse("kept", args=[job.pk])).json()["pages"]
        return {one["url"]: one["version"] for one in told}

    pages = [at for at in versions() if at in members_pages(job, truss).values()]
    assert len(pages) == 6
    before = versions()
    one = asked(handed[0], truss)
    then = versions()
    corrections.answer(site_lead, one, "Done")
    now = versions()
    assert [at for at in pages if len({before[at], then[at], now[at]}) != 3] == []
