"""The marks of one decision released in one form: a list of what it releases, and all of it or nothing."""

from __future__ import annotations

import re

import pytest

from tests.trusses.reading import text
from trusses.marks import release_page
from trusses.models import MarkEvent
from trusses.production import never
from trusses.revisions import add_mark, issue_revision, read_and_analyse


@pytest.fixture
def marks(truss, job, designer, king_post):
    return [truss, add_mark(job, {**king_post, "mark": "K2"}, 2, designer)]


def form_of(page) -> dict[str, list[str]]:
    sent: dict[str, list[str]] = {}
    for name, value in re.findall(r'name="(revision|copy|release|back)" value="([^"]*)"', page.content.decode()):
        sent.setdefault(name, []).append(value)
    return sent


def stages(marks):
    return {mark.mark: set(mark.copies.values_list("stage", flat=True)) for mark in marks}


def test_all_marks_are_released_by_one_form_that_lists_them(marks, job, designer, client_of):
    at = release_page.address(designer, job, [mark.current for mark in marks], "/requests/7/")
    client = client_of(designer)
    page = client.get(at)
    assert "K1: copies 1–3 to revision 0" in text(page)
    assert "K2: copies 1–2 to revision 0" in text(page)
    sent = form_of(page)
    done = client.post(at.split("?")[0], sent)
    assert (done.status_code, done["Location"]) == (302, "/requests/7/")
    assert stages(marks) == {"K1": {"released"}, "K2": {"released"}}
    assert MarkEvent.objects.filter(code="moved", by=designer).count() == 2
    assert release_page.address(designer, job, [mark.current for mark in marks], "/") == "", "nothing waits any more"
    assert client.post(at.split("?")[0], sent).status_code == 302, "a second tap is harmless"
    assert MarkEvent.objects.filter(code="moved").count() == 2


def test_where_one_is_refused_none_is_and_it_says_which(truss, job, designer, king_post, client_of):
    for load in king_post["loads"]["area"]:
        load["psf"] *= 3 if load["case"] == "snow" else 1
    marks = [truss, add_mark(job, {**king_post, "mark": "K2"}, 2, designer)]
    assert never(marks[1].current)
    revisions = [mark.current for mark in marks]
    client = client_of(designer)
    at = release_page.address(designer, job, revisions, "")
    page = client.get(at)
    assert "it can't be released" in text(page)
    sent = form_of(page)
    refused = client.post(at.split("?")[0], sent)
    assert refused.status_code == 422
    assert "Nothing was released: not every mark can be." in text(refused)
    assert text(refused).count("Nothing was released") == 1
    assert stages(marks) == {"K1": {"designing"}, "K2": {"designing"}}
    client.post(at.split("?")[0], sent | {"release": [str(revisions[0].pk)]})
    assert stages(marks) == {"K1": {"released"}, "K2": {"designing"}}
    none = client.post(at.split("?")[0], sent | {"release": []})
    assert (none.status_code, "Choose at least one mark to release." in text(none)) == (422, True)


def test_what_was_superseded_meanwhile_is_released_to_nothing(marks, job, designer, client_of):
    at = release_page.address(designer, job, [mark.current for mark in marks], "//elsewhere.example/")
    client = client_of(designer)
    sent = form_of(client.get(at))
    assert sent["back"] == [""]
    document = {**marks[1].current.document, "title": "Better"}
    issue_revision(marks[1], marks[1].current, *read_and_analyse(document), designer)
    refused = client.post(at.split("?")[0], sent)
    assert (refused.status_code, "K2 has a newer revision than the one on your page" in text(refused)) == (422, True)
    assert stages(marks) == {"K1": {"designing"}, "K2": {"designing"}}


def test_by_a_designer_alone(marks, job, builder, site_lead, outsider, client_of):
    at = f"/jobs/{job.pk}/release/?revision={marks[0].current_id}&revision=x&revision={'9' * 30}"
    codes = [client_of(person).get(at).status_code for person in (builder, site_lead, outsider)]
    assert codes == [403, 403, 404]
    assert release_page.address(builder, job, [mark.current for mark in marks], "") == ""
