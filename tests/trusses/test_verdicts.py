"""One verdict wherever it is asked for: sheet, report, API. Kinds that are never automatic are facts of the set."""

from __future__ import annotations

import copy
import html
import re

import pytest

from tests.beams import beam, line
from tests.trusses.standing import girder, loaded, stand
from trusses import verdicts
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.revisions import add_mark
from trusses.sheets.report import report


@pytest.fixture
def g1(job, designer):
    return girder(job, designer)


@pytest.fixture
def k5(job, designer, king_post, g1):
    return stand(job, designer, king_post, "K5", g1)


def says(answer) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split()))


def light(feet: int, mark: str = "P", **more):
    return beam(feet * 12, "2x12 DF-L Select Structural", loads={"line": [line(0.1)]}, **more) | {"mark": mark}


def sheet_of(client, truss) -> str:
    return says(client.get(f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/{truss.current.number}/"))


def why_not(api, truss) -> list[str]:
    told = api.get(f"/api/v1/revisions/{truss.current.sha256}/figures/").json()["verdict"]
    assert told["may_be_called_passing"] is (not told["why_not"])
    return [reason["code"] for reason in told["why_not"]]


def test_sixty_two_feet_pass_nowhere(job, designer, client_of, api_of):
    truss = add_mark(job, light(62), 1, designer)
    assert truss.current.analysis["passes"]
    assert "Lumber passes" not in sheet_of(client_of(designer), truss)
    assert "Lumber numbers only" in sheet_of(client_of(designer), truss)
    assert why_not(api_of(designer), truss) == ["long-span"]
    assert why_not(api_of(designer), add_mark(job, light(58, "P2"), 1, designer)) == []


def test_what_others_stand_on_is_known_by_its_links(designer, client_of, api_of, k5, g1):
    """Before their loads are in its drawing, and after; its title says nothing of it."""
    loaded(g1, designer)
    assert verdicts.known(g1).carries == ("K5",)
    assert why_not(api_of(designer), g1) == ["carries-trusses"]
    k5.stands_on.all().delete()
    assert "carries-trusses" not in why_not(api_of(designer), g1)


def test_a_title_that_names_a_street_is_none(job, designer, client_of, api_of):
    truss = add_mark(job, light(12) | {"title": "Porch on Girder Street, repaired"}, 1, designer)
    assert "Lumber passes" in sheet_of(client_of(designer), truss)
    assert why_not(api_of(designer), truss) == []


@pytest.mark.parametrize(("feet", "more"), [(12, {"carries_trusses": True}), (62, {})])
def test_a_report_of_what_is_never_called_passing_says_so_instead_of_passes(feet, more):
    """Without a set around it the document alone tells."""
    text = report(analyse(read(light(feet, **more))))
    answers = text.split("Loads as the document")[0]
    assert "numbers only" in answers
    assert "passes" not in answers
    assert "is never called passing here" in " ".join(answers.split())
    assert "passes; worst ratio" in report(analyse(read(light(12))))


def test_a_designer_says_of_which_kind_a_mark_is(job, designer, client_of, api_of):
    truss = add_mark(job, light(12), 1, designer)
    page = f"/jobs/{job.pk}/trusses/{truss.pk}/kinds/"
    client = client_of(designer)
    assert "where its span is 60 ft or more; every other kind is what a designer says here" in says(client.get(page))
    assert "Said of this mark: nothing" in says(client.get(page))
    assert client.post(page, {"kinds": ["gable-end", "repair"]}).status_code == 302
    truss.refresh_from_db()
    assert truss.kinds == ["gable-end", "repair"]
    assert "Gable-end truss, Repair" in says(client.get(page))
    assert "It is a repair: such a truss is never called passing here" in sheet_of(client, truss)
    assert why_not(api_of(designer), truss) == ["gable-end", "repair"]
    assert client.post(page, {"kinds": ["pretty"]}).status_code == 422
    assert client.post(page, {}).status_code == 302
    truss.refresh_from_db()
    assert truss.kinds == []


def test_programs_say_it_under_the_same_rules(job, truss, designer, builder, outsider, api_of):
    where = f"/api/v1/trusses/{truss.pk}/kinds/"
    assert api_of(builder).get(where).json() == {"kinds": []}
    assert api_of(builder).post(where, {"kinds": ["drag"]}, format="json").status_code == 403
    assert api_of(outsider).post(where, {"kinds": ["drag"]}, format="json").status_code == 404
    assert api_of(designer).post(where, {"kinds": ["pretty"]}, format="json").status_code == 400
    assert api_of(designer).post(where, {"kinds": ["drag", "drag"]}, format="json").json() == {"kinds": ["drag"]}
    truss.refresh_from_db()
    assert truss.kinds == ["drag"]


def test_a_carrier_may_be_named_in_its_document_alone():
    document = light(12, carries_trusses=True)
    assert read(copy.deepcopy(document)).carries_trusses
    assert not read(light(12)).carries_trusses
