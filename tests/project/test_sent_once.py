"""A form under a key does what it does once, and is answered alike however often it comes."""

from __future__ import annotations

import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from changes.models import Photo, Request
from project.models import SentForm
from project.offline.whose import whose
from trusses.models import MarkEvent, Stage
from trusses.revisions import add_mark

KEY = "0123456789abcdef"


@pytest.fixture
def delivers(client_of, site_lead, job, truss):
    """Copies that stand built are ticked as delivered, by a page (a field) or by a phone afterwards (a header)."""
    truss.copies.update(stage=Stage.BUILT, built_to=truss.current)
    numbers = dict(truss.copies.values_list("number", "pk"))

    def send(*copies, key=KEY, later=False, client=None, **more):
        body = {"to": "delivered", "copy": [numbers[number] for number in copies], "whole": "open", **more}
        client = client or client_of(site_lead)
        address = reverse("trusses:move-copies", args=[job.pk, truss.pk])
        if later:
            return client.post(address, body, headers={"Idempotency-Key": key})
        return client.post(address, body | {"idempotency-key": key})

    return send


def moved(truss):
    return [event.values["copies"] for event in truss.events.filter(code=MarkEvent.Code.MOVED)]


def test_the_same_form_twice_moves_once_and_is_answered_alike(delivers, truss):
    first, again = delivers(1, 2), delivers(1, 2)
    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    assert delivers(1, 2, later=True).json() == {"to": first["Location"]}
    assert moved(truss) == [[1, 2]]


def test_a_phone_that_sends_it_on_hears_where_it_led(delivers, truss):
    assert delivers(1, later=True).json()["to"].endswith("#copies")
    assert delivers(1, later=True).status_code == 200
    assert moved(truss) == [[1]]


def test_another_form_under_the_same_key_does_nothing(delivers, truss):
    delivers(1)
    assert delivers(2).status_code == 409
    answer = delivers(2, later=True)
    assert answer.status_code == 409
    assert answer.json()["says"][0] == "That form was sent already"
    assert moved(truss) == [[1]]


def test_the_same_key_and_fields_at_another_mark_are_another_form(
    delivers, client_of, site_lead, job, truss, king_post
):
    other = add_mark(job, king_post | {"mark": "K2"}, 1, site_lead)
    delivers(1)
    body = {"to": "delivered", "copy": [truss.copies.get(number=1).pk]}
    address = reverse("trusses:move-copies", args=[job.pk, other.pk])
    assert client_of(site_lead).post(address, body, headers={"Idempotency-Key": KEY}).status_code == 409


def test_what_was_typed_under_another_account_is_taken_by_neither_way(delivers, truss, builder, site_lead):
    answer = delivers(1, **{"queued-by": whose(builder)})
    assert answer.status_code == 409
    assert "That was typed under another account" in answer.content.decode()
    later = delivers(1, later=True, **{"queued-by": whose(builder)})
    assert later.status_code == 401  # it waits on, for whoever typed it
    assert later.json()["says"][0] == "That was typed under another account"
    assert moved(truss) == []
    assert delivers(1, **{"queued-by": whose(site_lead)}).status_code == 302
    assert delivers(1, later=True).status_code == 200  # the same form


def test_what_was_refused_may_come_again_and_says_why(delivers, truss):
    truss.copies.filter(number=3).update(stage=Stage.CUT)
    answer = delivers(3, later=True, found="bent plate")
    assert answer.status_code == 422
    assert answer.json()["says"][0] == "Nothing was changed."
    assert "Cop" in answer.json()["says"][1]
    assert not SentForm.objects.exists()
    truss.copies.filter(number=3).update(stage=Stage.BUILT)
    assert delivers(3, later=True, found="bent plate").status_code == 200
    assert truss.copies.get(number=3).found_at_delivery == "bent plate"


def test_going_back_to_a_refusal_does_nothing_though_it_would_be_taken_by_now(delivers, truss):
    """A browser that goes back over its history sends the same form under the same key; nobody chose that again."""
    page = {"queued-from": f"/jobs/{truss.job_id}/trusses/{truss.pk}/"}
    truss.copies.filter(number=3).update(stage=Stage.CUT)
    assert delivers(3, found="bent plate", **page).status_code == 422
    again = delivers(3, found="bent plate", **page)  # a second tap
    assert again.status_code == 422
    assert "bent plate" in again.content.decode()
    truss.copies.filter(number=3).update(stage=Stage.BUILT)
    answer = delivers(3, found="bent plate", **page)
    assert answer.status_code == 409
    told = answer.content.decode()
    assert "refused when it was sent, and is not done now" in told
    assert "delivered now" not in told, "what the form would have said, had it been done"
    assert f'href="{page["queued-from"]}">Open it anew' in told
    assert moved(truss) == []
    assert truss.copies.get(number=3).found_at_delivery == ""
    assert delivers(3, key="of-the-page-anew", found="bent plate").status_code == 302


def test_what_is_put_right_after_a_refusal_is_taken(delivers, client_of, site_lead, truss):
    truss.copies.filter(number=3).update(stage=Stage.CUT)
    assert delivers(1, 3).status_code == 422
    keys = {"keys": KEY}
    assert client_of(site_lead).get(reverse("contact"), keys).json()["arrived"] == {}
    assert delivers(1).status_code == 302
    assert delivers(1).status_code == 302
    assert moved(truss) == [[1]]


def test_what_was_found_is_not_lost_where_another_hand_was_first(delivers, truss):
    """A phone had no signal while somebody else ticked the same copy."""
    delivers(1, key="another-hand")
    answer = delivers(1, later=True, found="bent plate")
    assert answer.status_code == 422
    assert "Copy 1 was delivered already, by another hand" in " ".join(answer.json()["says"])
    assert moved(truss) == [[1]]
    assert delivers(1, key="a-second-tick").status_code == 302  # which says nothing of its own
    assert delivers(2, later=True, found="bent plate").status_code == 200


def test_what_is_not_ones_to_do_is_told_and_not_kept(delivers, client_of, builder):
    answer = delivers(1, later=True, client=client_of(builder))
    assert answer.status_code == 403
    assert answer.json()["says"][0] == "That is not yours to do here"
    assert not SentForm.objects.exists()


def test_nobody_signed_in_is_told_to_sign_in(delivers, truss):
    assert delivers(1, later=True, client=Client()).status_code == 401
    assert delivers(1, client=Client())["Location"].startswith(reverse("sign-in"))
    assert moved(truss) == []


def test_a_page_that_asks_something_is_no_arrival(delivers, truss):
    answer = delivers(later=True, all="built")
    assert answer.status_code == 409
    assert answer.json()["says"][0].startswith("Are all 3 copies of K1 delivered")
    assert not SentForm.objects.exists()


def test_a_key_is_a_persons_own(delivers, truss, client_of, make_person, job):
    delivers(1)
    other = make_person("second-lead", job, "site lead")
    assert delivers(2, client=client_of(other)).status_code == 302
    assert moved(truss) == [[1], [2]]


def test_a_stolen_token_is_refused_before_anything(delivers, site_lead, truss):
    client = Client(enforce_csrf_checks=True)
    client.force_login(site_lead)
    assert delivers(1, later=True, client=client).status_code == 403
    assert moved(truss) == []


def test_damage_with_a_photo_arrives_once(client_of, site_lead, job, truss, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    out = io.BytesIO()
    Image.new("RGB", (40, 30)).save(out, "JPEG")

    def send(**how):
        body = {
            "copies": "2",
            "member": "W1",
            "how": "cut",
            "at": '1"',
            "reason": "The plumber cut it.",
            "needed_by": job.today().isoformat(),
            "key": KEY,
            "photos": SimpleUploadedFile("web.jpg", out.getvalue(), "image/jpeg"),
        }
        address = reverse("changes:ask-kind", args=[job.pk, truss.pk, "damage"])
        return client_of(site_lead).post(address, body, **how)

    told = send(headers={"Idempotency-Key": KEY}).json()
    assert send(headers={"Idempotency-Key": KEY}).json() == told
    assert send()["Location"] == told["to"]  # the page's own way, which knows the key by the request
    assert Request.objects.count() == Photo.objects.count() - 1 == 1  # the last one's photo came before its key was met
    assert client_of(site_lead).get(reverse("contact"), {"keys": f"{KEY},unknown-key"}).json()["arrived"] == {
        KEY: told["to"]
    }


@pytest.mark.parametrize(
    ("page", "leads"), [("/jobs/1/trusses/1/", "/jobs/1/trusses/1/"), ("//elsewhere.example/", "/copies/")]
)
def test_what_was_sent_already_leads_back_to_its_own_page(delivers, page, leads):
    delivers(1)
    said = delivers(2, **{"queued-from": page}).content.decode()
    link = re.search(r'<a class="button quiet" href="([^"]*)">Open it anew', said)
    assert link is not None
    assert link[1].endswith(leads)
    assert link[1].startswith("/jobs/")
