"""The API while a thumb drags: fit, drawings, and the schema of all of it."""

from __future__ import annotations

import json

import pytest

from changes.models import Ask, Event, Request
from tests.changes.asking import API, CUTS_CHORD, FITS, HITS_WEB, compute, post
from trusses.revisions import add_mark


def test_the_elevation_is_an_svg_whatever_is_accepted(program, answered):
    option = answered(HITS_WEB).options.first()
    for accept in ("image/svg+xml", "*/*", "application/json", "image/avif,image/webp,*/*;q=0.8"):
        answer = program.get(f"{API}/options/{option.pk}/elevation.svg", HTTP_ACCEPT=accept)
        assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml; charset=utf-8")
        assert answer.content.startswith(b"<svg")


@pytest.mark.parametrize("accept", ["image/svg+xml", "*/*", "application/json"])
def test_a_drawing_that_is_none_is_refused_in_json(accept, program):
    for path in ("options/987654321/elevation.svg", f"revisions/{'0' * 64}/elevation.svg"):
        answer = program.get(f"{API}/{path}", HTTP_ACCEPT=accept)
        assert answer.status_code == 404
        assert answer.json()["detail"]


def test_a_revisions_drawing_may_be_asked_for_by_its_type(program, truss):
    answer = program.get(f"{API}/revisions/{truss.current.sha256}/elevation.svg", HTTP_ACCEPT="image/svg+xml")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml; charset=utf-8")


def test_fit_answers_while_a_thumb_drags_and_stores_nothing(program, truss):
    clear = post(program, "fit/", {"truss": truss.pk, "opening": FITS})
    assert clear.status_code == 200
    assert clear.json()["fits"] is True
    assert clear.json()["touches"] == []
    assert clear.json()["spare_in"] > 0
    assert clear.json()["nearest"] is None
    blocked = post(program, "fit/", {"truss": truss.pk, "opening": HITS_WEB}).json()
    assert (blocked["fits"], blocked["touches"], blocked["never"]) == (False, ["W1"], False)
    assert blocked["spare_in"] == pytest.approx(-6.75, abs=1e-9)  # half of 3 1/2 in., 4 in., 1 in.
    assert blocked["nearest"] == {"centre_in": [113.25, 20], "moved_in": 6.75}
    assert post(program, "fit/", {"truss": truss.pk, "opening": CUTS_CHORD}).json()["never"] is True
    assert not Request.objects.exists()
    assert not Ask.objects.exists()
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    ("opening", "says"),
    [
        ({**FITS, "diameter_in": -3}, "opening (O1): diameter_in"),
        ({**FITS, "diameter_in": float("nan")}, "opening.diameter_in: must be a number, not NaN"),
        ({"shape": "circle", "centre_in": [1, 1]}, "diameter_in"),
        (3, "must be an object"),
    ],
)
def test_fit_refuses_a_wrong_opening(opening, says, program, truss):
    answer = program.generic(
        "POST", f"{API}/fit/", json.dumps({"truss": truss.pk, "opening": opening}), content_type="application/json"
    )
    assert (answer.status_code, list(answer.json())) == (400, ["opening"])
    assert says in answer.json()["opening"][0]


def test_the_schema_has_all_of_it_and_no_warnings(capsys):
    from drf_spectacular.generators import SchemaGenerator

    schema = SchemaGenerator().get_schema(request=None, public=True)
    assert {
        "/api/v1/requests/",
        "/api/v1/requests/{id}/",
        "/api/v1/requests/{id}/options/",
        "/api/v1/requests/{id}/decision/",
        "/api/v1/requests/{id}/withdraw/",
        "/api/v1/requests/{id}/answer/",
        "/api/v1/requests/{id}/compute/",
        "/api/v1/holds/{id}/answer/",
        "/api/v1/fit/",
        "/api/v1/options/{id}/elevation.svg",
    } <= set(schema["paths"])
    heard = capsys.readouterr()
    assert "changes" not in heard.err + heard.out, heard.err


def test_an_opening_that_the_truss_has_already_is_named(program, job, designer, king_post, needed_by):
    truss = add_mark(job, {**king_post, "mark": "K3", "openings": [{**FITS, "id": "vent"}]}, 1, designer)
    told = post(program, "fit/", {"truss": truss.pk, "opening": {**FITS, "centre_in": [96, 20]}}).json()
    assert told["fits"] is True
    assert told["beside"].startswith('It overlaps opening vent, which this truss has already, by 6"')
    assert post(program, "fit/", {"truss": truss.pk, "opening": {**FITS, "centre_in": [84, 20]}}).json()["beside"] == ""
    asks = [{"truss": truss.pk, "kind": "opening", "opening": {**FITS, "centre_in": [96, 20]}}]
    body = {"job": job.pk, "reason": "Larger", "needed_by": needed_by.isoformat(), "asks": asks}
    change = compute(Request.objects.get(pk=post(program, "requests/", body).json()["id"]))
    assert "It overlaps opening vent, which this truss has already" in change.asks.get().says


def test_where_a_row_of_restraint_must_go_is_told_while_it_moves(program, job, designer, king_post):
    """W1's edges are at 118.25 and 121.75 in., its row 30 in. up, 1 1/2 in. out from either; the opening with its
    clearance ends half an inch from the right one."""
    king_post["lateral_restraint"]["webs"] = {"W1": 1}
    taken = {"id": "vent", "shape": "circle", "centre_in": [114.75, 30], "diameter_in": 6}
    wanted = {**taken, "id": "O1", "centre_in": [126.25, 30], "clearance_in": 1}
    truss = add_mark(job, {**king_post, "mark": "K5"}, 1, designer)
    told = post(program, "fit/", {"truss": truss.pk, "opening": wanted}).json()
    assert (told["fits"], told["beside"]) == (
        True,
        "Row of restraint on W1: on its left edge only; on the right one this opening is in the way.",
    )
    truss = add_mark(job, {**king_post, "mark": "K6", "openings": [taken]}, 1, designer)
    told = post(program, "fit/", {"truss": truss.pk, "opening": wanted}).json()["beside"]
    assert told.startswith("Row of restraint on W1: this opening and opening vent leave no room for it on either edge.")
    moved = {**wanted, "centre_in": [128, 30]}
    assert post(program, "fit/", {"truss": truss.pk, "opening": moved}).json()["beside"] == ""


def test_far_outside_the_thumb_still_gets_an_answer(program, truss):
    told = post(program, "fit/", {"truss": truss.pk, "opening": {**FITS, "centre_in": [400, 20]}})
    assert (told.status_code, told.json()["never"]) == (200, True)
