"""The pages that add a mark: a shape of the trade, or a document's file."""

from __future__ import annotations

import datetime
import html
import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests.trusses.reading import HOSTILE, text
from tests.trusses.sent import sent, work
from trusses.models import Truss
from trusses.revisions import add_mark


class TestANewTruss:
    TYPED = {
        "kind": "king-post",
        "mark": "P1",
        "span": "16'",
        "pitch": "6",
        "quantity": "2",
        "spacing": "2'",
        "measured": "joints",
        "ceiling": "gypsum",
    }

    def add(self, client, job, **typed):
        return client.post(f"/jobs/{job.pk}/trusses/new/", {**self.TYPED, **typed})

    def test_is_added_with_its_copies(self, client_of, designer, job):
        typed = {**self.TYPED, "can_change_until": "2027-03-01"}
        answer = sent(client_of(designer), f"/jobs/{job.pk}/trusses/new/", typed)
        mark = Truss.objects.get()
        assert answer.redirect_chain == [(f"/jobs/{job.pk}/trusses/{mark.pk}/", 302)]
        assert "P1 is in the set, as revision 0." in text(answer)
        assert (mark.mark, mark.copies.count(), mark.can_change_until) == ("P1", 2, datetime.date(2027, 3, 1))
        assert mark.current.document["joints"]["t2"][0] - mark.current.document["joints"]["t0"][0] == 192

    def test_sent_twice_is_added_once(self, client_of, designer, job):
        client = client_of(designer)
        first = self.add(client, job)
        assert self.add(client, job)["Location"] == first["Location"]
        work()
        again = self.add(client, job)
        assert again.status_code == 422
        assert "This job has a mark P1 already." in text(again)
        assert 'value="16&#x27;"' in again.content.decode()
        assert Truss.objects.count() == 1

    @pytest.mark.parametrize(
        ("typed", "says"),
        [
            ({"span": "12' 13\""}, "13 inches after the feet make another foot"),
            ({"span": "-3"}, "a length can't be negative here"),
            ({"span": "4000'"}, "the most that is possible here"),
            ({"span": ""}, "Span: say how much, such as 36'."),
            ({"pitch": "steep"}, "Pitch: steep won't do; give a number"),
            ({"pitch": "nan"}, "Pitch: nan won't do"),
            ({"quantity": "0"}, "Say how many of this mark the job needs: a whole number, 1 to 500."),
            ({"quantity": ""}, "Say how many of this mark the job needs: a whole number, 1 to 500."),
            ({"top_lumber": "2x4 Balsa"}, "Balsa"),
            ({"mark": "R" * 21}, "Mark: at most 20 characters."),
            ({"can_change_until": "soon"}, "Enter a valid date."),
            ({"span": "16' " + "x" * 300}, "at most 200 characters"),
        ],
    )
    def test_that_is_wrong_says_where_and_keeps_what_was_typed(self, client_of, designer, job, typed, says):
        answer = self.add(client_of(designer), job, title="Over the <porch>", **typed)
        assert answer.status_code == 422
        assert says in text(answer)
        assert 'value="Over the &lt;porch&gt;"' in answer.content.decode()
        assert answer.content.count(b'role="alert"') == 1
        assert not Truss.objects.exists()

    def test_every_wrong_parameter_says_so_at_once(self, client_of, designer, job):
        said = text(self.add(client_of(designer), job, span="12' 13\"", pitch="steep", top_lumber="2x4 Balsa"))
        assert "another foot" in said
        assert "steep won't do" in said
        assert "Balsa" in said

    def test_that_the_worker_refuses_is_typed_again_from_where_it_was(self, client_of, designer, job, king_post):
        client = client_of(designer)
        where = self.add(client, job, title="Over the <porch>", span="17' 3\"")["Location"]
        add_mark(job, {**king_post, "mark": "P1"}, 1, designer)
        work()
        page = client.get(where)
        assert (
            'id="troubles" role="alert" tabindex="-1" autofocus><strong>It is not in the set.' in page.content.decode()
        )
        assert "This job has a mark P1 already." in text(page)
        back = html.unescape(re.search(r'href="([^"]*trusses/new/\?[^"]*)"', page.content.decode())[1])
        form = client.get(back).content.decode()
        typed = {"title": "Over the <porch>", "span": "17' 3\"", "mark": "P1", "kind": "king-post", "quantity": "2"}
        for name, value in typed.items():
            assert re.search(rf'name="{name}" value="{re.escape(html.escape(value))}"', form), name

    def test_is_drawn_while_typing(self, client_of, designer, job):
        draw = f"/jobs/{job.pk}/trusses/new/draw/"
        client = client_of(designer)
        drawn = client.post(draw, self.TYPED)
        assert 'data-member="W1"' in drawn.content.decode()
        assert "It is drawn, not computed" in text(drawn)
        broken = client.post(draw, {**self.TYPED, "span": "12' 13\""})
        assert broken.status_code == 200
        assert "It can't be drawn yet." in text(broken)
        assert "another foot" in text(broken)
        assert "<svg" not in broken.content.decode()
        assert not Truss.objects.exists()

    def test_another_shape_keeps_what_was_typed(self, client_of, designer, job):
        page = client_of(designer).get(
            f"/jobs/{job.pk}/trusses/new/", {"kind": "howe", "span": "31'", "title": HOSTILE}
        )
        assert 'value="31&#x27;"' in page.content.decode()
        assert 'name="kind" value="howe"' in page.content.decode()
        assert "<script>alert" not in page.content.decode()

    @pytest.mark.parametrize("kind", ["", "geodesic", HOSTILE])
    def test_an_unknown_shape_starts_from_the_usual_one(self, client_of, designer, job, kind):
        page = client_of(designer).get(f"/jobs/{job.pk}/trusses/new/", {"kind": kind})
        assert 'name="kind" value="w"' in page.content.decode()


class TestUploading:
    def send(self, client, job, content: bytes, name="K1.json", quantity="2"):
        file = SimpleUploadedFile(name, content, content_type="application/json")
        return client.post(f"/jobs/{job.pk}/trusses/upload/", {"file": file, "quantity": quantity})

    def test_stores_the_document(self, client_of, designer, job, king_post):
        answer = self.send(client_of(designer), job, json.dumps(king_post).encode(), name="whatever.exe")
        assert answer.status_code == 302
        work()
        assert Truss.objects.get().current.document == king_post

    @pytest.mark.parametrize(
        ("content", "says"),
        [
            (b"", "The document is empty."),
            (b"\x89PNG\r\n\x1a\n\x00\x00", ""),
            (bytes(range(256)) * 20, ""),
            (b"{}", "format"),
            (b"[" * 50_000, ""),
            (b" " * 5_000_000, "5,000,000 bytes; a truss document can have"),
            (b'{"format": NaN}', "NaN"),
            (b'{"mark": "A", "mark": "B"}', "mark"),
        ],
    )
    def test_judges_by_content(self, client_of, designer, job, content, says):
        page = self.send(client_of(designer), job, content)
        assert page.status_code == 422
        (trouble,) = re.findall(r'<span class="trouble"[^>]*>(.*?)</span>', page.content.decode(), re.S)
        assert says in trouble
        assert len(re.sub("<[^>]+>", "", trouble)) > 15
        assert 'value="2"' in page.content.decode()
        assert not Truss.objects.exists()

    @pytest.mark.parametrize(
        ("count", "says"), [(1_000_000, "bytes; a truss document can have"), (60_000, "60,000 joints are more than")]
    )
    def test_refuses_a_million_joints(self, client_of, designer, job, king_post, count, says):
        joints = ",".join(f'"J{n}":[0,0]' for n in range(count))
        content = json.dumps({**king_post, "joints": 0}).replace('"joints": 0', f'"joints": {{{joints}}}').encode()
        page = self.send(client_of(designer), job, content)
        assert page.status_code == 422
        assert says in text(page)

    def test_what_would_fill_the_disk_is_not_even_read(self, client_of, designer, job, settings):
        settings.UPLOAD_MAX_BYTES = 100_000
        answer = self.send(client_of(designer), job, b" " * 200_000)
        assert answer.status_code == 413
        assert "A form can bring 0.1 MB with its photos and files, and 2 MB of what is typed." in text(answer)

    def test_without_a_file_says_so(self, client_of, designer, job):
        page = client_of(designer).post(f"/jobs/{job.pk}/trusses/upload/", {"quantity": "7"})
        assert "Choose the file of a truss document." in text(page)
        assert 'value="7"' in page.content.decode()
