"""The sealed drawings of several revisions in one form: each a record of its own, one that is wrong keeps none out."""

from __future__ import annotations

import hashlib
import io
import re
from datetime import timedelta
from typing import Any

import pytest

from tests.sealed import SAID, drawing
from tests.trusses.reading import text
from tests.trusses.sealing.test_seals import revised
from trusses.marks.correcting import withdraw
from trusses.models import Revision, Truss
from trusses.revisions import add_mark
from trusses.sealing import files, seals, together_page
from trusses.sealing.models import SealedDrawing

JUDGED = files.judged
"""As a process of its own, which `judged_here` does without."""


@pytest.fixture
def three(judged_here, truss, job, designer, king_post) -> list[Revision]:
    """The current revisions of K1, R3 and R4."""
    others = [add_mark(job, {**king_post, "mark": mark}, 1, designer) for mark in ("R3", "R4")]
    return [one.current for one in (truss, *others)]


@pytest.fixture
def at(job, three) -> str:
    return f"/jobs/{job.pk}/sealed-drawings/attach/?" + "&".join(f"revision={one.pk}" for one in three)


@pytest.fixture
def sent(job, three):
    """What the form sends: a file of its own for each revision, but for those that `words` say otherwise of."""

    def sent(words: dict[int, Any] | None = None, **other: Any) -> dict[str, Any]:
        said = {**SAID, "sealed_on": job.today().isoformat()}
        for which, one in enumerate(three):
            content = (words or {}).get(which, f"drawing of {one.truss.mark}")
            if content is not None:
                said[f"of-{one.pk}-drawing"] = content if hasattr(content, "read") else drawing(content)
                said[f"of-{one.pk}-covers"] = ["plates", "restraint"]
        return said | other

    return sent


def on_record() -> dict[str, str]:
    rows = SealedDrawing.objects.filter(records=None).order_by("pk")
    return {one.truss.mark: one.sha256 for one in rows.select_related("truss")}


def told(answer: Any) -> str:
    return " ".join(text(answer).split())


def test_each_is_a_record_of_its_own_and_the_sealer_is_typed_once(client_of, designer, at, sent, three):
    desk = client_of(designer)
    page = desk.get(at).content.decode()
    assert [page.count(f'name="{one}"') for one in (*SAID, "sealed_on")] == [1, 1, 1, 1]
    assert all(f"Sealed drawing of {mark} revision 0" in page for mark in ("K1", "R3", "R4"))
    answer = desk.post(at, sent(), follow=True)
    assert answer.redirect_chain == [(at, 302)]
    assert "Attached: K1 revision 0, R3 revision 0 and R4 revision 0." in told(answer)
    files = {m: hashlib.sha256(drawing(f"drawing of {m}").getvalue()).hexdigest() for m in ("K1", "R3", "R4")}
    assert on_record() == files
    for drawn in SealedDrawing.objects.all():
        assert (drawn.sealed_by, drawn.licence, drawn.state) == tuple(SAID.values())
        assert (drawn.covers, drawn.attached_by) == (["plates", "restraint"], designer)
        assert drawn.truss.events.filter(code="sealed").count() == 1
    assert 'type="file"' not in answer.content.decode()


def test_one_wrong_file_loses_nothing_of_the_rest_and_names_its_mark(client_of, designer, at, sent, three, monkeypatch):
    monkeypatch.setattr(files, "judged", JUDGED)
    desk, wrong = client_of(designer), io.BytesIO(b"no pdf")
    wrong.name = "b.pdf"
    answer = desk.post(at, sent({1: wrong}, licence="Kept as typed"))
    assert answer.status_code == 422
    assert "Sealed drawing of R3 revision 0: That is no PDF: the file doesn't begin as one." in told(answer)
    assert "Attached: K1 revision 0 and R4 revision 0." in told(answer)
    assert set(on_record()) == {"K1", "R4"}
    page = answer.content.decode()
    assert page.count('type="file"') == 1
    assert 'value="Kept as typed"' in page
    assert page.count("checked") == 2  # what R3's drawing covers
    again = sent({0: None, 2: None}, licence="Kept as typed")
    assert desk.post(at, again).status_code == 302
    assert set(on_record()) == {"K1", "R3", "R4"}


def test_what_is_left_empty_is_attached_later(client_of, designer, at, sent):
    assert client_of(designer).post(at, sent({1: None, 2: None})).status_code == 302
    assert set(on_record()) == {"K1"}
    page = client_of(designer).get(at).content.decode()
    assert page.count('type="file"') == 2


def test_the_same_file_twice_takes_somebodys_word(client_of, designer, at, sent, three):
    desk = client_of(designer)
    answer = desk.post(at, sent({1: "drawing of K1", 2: None}))
    assert answer.status_code == 422
    assert "This file also shows R3 revision 0" in told(answer)
    assert set(on_record()) == {"K1"}
    tick = {f"of-{three[1].pk}-also_shows": "on"}
    assert desk.post(at, sent({0: None, 1: "drawing of K1", 2: None}, **tick)).status_code == 302
    assert on_record()["R3"] == on_record()["K1"]


@pytest.mark.parametrize(
    ("words", "other", "says"),
    [
        ({0: None, 1: None, 2: None}, {}, "Choose at least one PDF."),
        ({}, {"licence": ""}, "License number: Give the number on the seal."),
        ({}, {"sealed_on": "2990-01-01"}, "Sealed on: Jan 1, 2990 can't be the day"),
    ],
)
def test_what_is_wrong_of_the_seal_attaches_nothing_and_is_said_once(client_of, designer, at, sent, words, other, says):
    answer = client_of(designer).post(at, sent(words, **other))
    assert (answer.status_code, on_record()) == (422, {})
    troubles = told(answer).partition("Nothing was attached.")[2].partition("Sealed drawing of K1 revision 0")[0]
    assert says in troubles


def test_what_would_lose_the_files_is_held_by_the_browser_and_else_said_at_each(client_of, designer, at, sent):
    page = client_of(designer).get(at).content.decode()
    form = re.search(r'<form[^>]*enctype="multipart/form-data"[^>]*>', page)[0]
    assert "novalidate" not in form, "so that what is needed is asked for before the files are sent"
    assert re.search(r'<input type="date"[^>]*name="sealed_on"[^>]* required', page)
    assert "Choose the file anew" not in page
    answer = client_of(designer).post(at, sent(sealed_on=""))
    assert (answer.status_code, on_record()) == (422, {})
    assert told(answer).count("Choose the file anew: a browser doesn’t send it twice.") == 3


def test_a_day_before_one_revision_keeps_out_that_one_alone(client_of, designer, truss, at, sent, three, job):
    second = revised(truss, designer)
    sign = f"{at.partition('?')[0]}?revision={second.pk}&revision={three[1].pk}"
    said = sent({0: None, 2: None}, sealed_on=(job.today() - timedelta(days=1)).isoformat())
    answer = client_of(designer).post(sign, said | {f"of-{second.pk}-drawing": drawing("drawing of K1")})
    assert answer.status_code == 422
    assert "Sealed drawing of K1 revision 1: Revision 1 was issued on" in told(answer)
    assert set(on_record()) == {"R3"}


def test_what_is_covered_without_a_pdf_is_asked_about(client_of, designer, at, sent, three):
    said = sent({1: None, 2: None}) | {f"of-{three[1].pk}-covers": ["plates"]}
    answer = client_of(designer).post(at, said)
    assert "Sealed drawing of R3 revision 0: Choose its PDF, or untick what it covers." in told(answer)
    assert set(on_record()) == {"K1"}


def test_whose_it_is(client_of, designer, builder, outsider, at, job, three, king_post):
    assert [client_of(who).get(at).status_code for who in (designer, builder, outsider)] == [200, 403, 404]
    assert client_of(designer).get(at.partition("?")[0]).status_code == 404
    assert together_page.address(designer, job, three).endswith(at.partition("?")[2])
    assert together_page.address(builder, job, three) == together_page.address(designer, job, three[:1]) == ""


def test_what_stands_already_is_not_replaced(client_of, designer, attach, at, sent, three):
    first = attach()
    answer = client_of(designer).post(at, sent())
    assert answer.status_code == 422
    who = designer.get_full_name() or designer.username
    assert f"The PDF chosen for K1 revision 0 was not attached: another is, by {who}." in told(answer)
    assert "All of them are attached" not in told(answer)
    assert "#id_of-" not in answer.content.decode()
    assert seals.seal_of(Truss.objects.get(mark="K1").current).drawing == first
    assert set(on_record()) == {"K1", "R3", "R4"}


def test_what_is_sent_twice_is_attached_once_and_no_trouble(client_of, designer, at, sent):
    desk = client_of(designer)
    assert [desk.post(at, sent()).status_code for _ in range(2)] == [302, 302]
    assert SealedDrawing.objects.count() == 3


def test_a_revision_that_was_superseded_meanwhile_gets_none(client_of, designer, truss, at, sent, three):
    """The form was opened before K1's revision 1 was issued."""
    revised(truss, designer)
    answer = client_of(designer).post(at, sent())
    assert answer.status_code == 422
    assert "K1 has revision 1 now, so nothing was attached to revision 0." in told(answer)
    assert set(on_record()) == {"R3", "R4"}
    page = client_of(designer).get(at)
    assert "K1 has revision 1 now" in told(page)
    assert f"of-{three[0].pk}-drawing" not in page.content.decode()


def test_a_withdrawn_mark_gets_none(client_of, designer, truss, at, sent):
    withdraw(designer, truss, "not built")
    answer = client_of(designer).post(at, sent())
    assert "K1 is withdrawn: nothing was attached to it." in told(answer)
    assert set(on_record()) == {"R3", "R4"}


def test_says_what_all_of_them_may_have_and_which_file_is_anothers_too(client_of, designer, at, sent, three):
    desk = client_of(designer)
    assert "All that is sent at once has 16 MB at most" in told(desk.get(at))
    tick = {f"of-{three[1].pk}-also_shows": "on"}
    answer = desk.post(at, sent({1: "drawing of K1"}, **tick), follow=True)
    assert "The very file is on record for R3 revision 0 too: see that it shows this truss." in told(answer)
