"""A person reads the names that the drawing has, a program the ids: K1's bottom chord is one board of two panels, so
that its members B1 and B2 are the panels B1.1 and B1.2 of the piece B1."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from changes import workflow
from changes.pages.section import Section
from tests.changes.asking import CUTS_CHORD, HITS_WEB, compute, without_web
from tests.changes.reading import text
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.check import Finding
from trusses.analysis.format.document import read_stored
from trusses.analysis.verdict import verdict
from trusses.analysis.words import findings
from trusses.analysis.words import verdict as words
from trusses.revisions import Refused, refuse_failures


def test_an_answer_while_dragging_tells_the_ids_and_what_the_drawing_calls_them(program, truss):
    found = program.post("/api/v1/fit/", {"truss": truss.pk, "opening": CUTS_CHORD}, format="json").json()
    assert found["touches"] == ["B1"]
    assert found["called"] == ["B1.1"]
    assert found["says"] == "It would cut chord B1.1. A chord is never cut."


def test_the_table_of_a_request_and_the_checks_behind_it_have_the_names_of_the_drawing(client_of, designer, answered):
    change = answered(HITS_WEB)
    option = change.options.filter(stale=False).first()
    page = client_of(designer).get(f"/requests/{change.pk}/").content.decode()
    for panel, called in (("B1", "B1.1"), ("B2", "B1.2"), ("T1", "T1")):
        address = f"/requests/{change.pk}/options/{option.pk}/members/?member={panel}"
        assert f'<tr data-member="{panel}"' in page
        assert f'href="{address}" data-checks aria-expanded="false">{called}</a>' in page
        assert f"What governs {called} of K1" in text(client_of(designer).get(address))
    editor = client_of(designer).get(f"/requests/{change.pk}/options/{option.pk}/edit/").content.decode()
    assert 'aria-label="Lumber of B1.2"' in editor


def test_a_panel_that_is_gone_says_so_where_the_option_gives_its_name_to_another():
    def truss(*panels):
        members = [{"id": f"B{n}", "role": "bottom_chord", "joints": ends, "lumber": "2x4"} for n, *ends in panels]
        return {
            "joints": {name: [10.0 * k, 0.0] for k, name in enumerate("ACDE")},
            "members": members,
            "bearings": [{"joint": "A"}, {"joint": "E"}],
        }

    before, after = truss((1, "A", "C"), (2, "C", "D"), (3, "D", "E")), truss((1, "A", "C"), (3, "C", "E"))
    section = SimpleNamespace(revision=SimpleNamespace(document=before), chosen=SimpleNamespace(document=after))
    assert Section.called.func(section) == {"B1": "B1.1", "B2": "B1.2, before", "B3": "B1.2"}


def test_what_fails_is_told_by_the_same_names(answered, designer):
    change = answered(HITS_WEB)
    ask = change.asks.get()
    document = without_web(ask.revision.document, bottom="2x6 DF-L No.1")
    workflow.draw_option(designer, change, ask=ask, document={**document, "openings": [ask.opening]}, title="Bare")
    compute(change)
    drawn = change.options.get(drawn_by=designer)
    worst = max((c for c in drawn.analysis["checks"] if c["of"] == "member"), key=lambda check: check["ratio"])
    called = {"B1": "B1.1", "B2": "B1.2"}[worst["id"]]
    # both halves are bent alike
    assert drawn.says.startswith(("Bending of member B1.1 is 1.22 times", "Bending of member B1.2 is 1.22 times"))
    failing = {**drawn.analysis, "checks": [worst]}
    with pytest.raises(Refused, match=rf" of member {called} fails "):
        refuse_failures(drawn.document, failing, ())
    (reason,) = verdict(read_stored(drawn.document), {**failing, "openings": []}).why_not
    assert reason.values["id"] == worst["id"]
    assert f" of member {called} stands at " in words.reason(reason)


def test_findings_tell_places_by_id_and_people_by_name():
    values = {"role": "bottom_chord", "joint": "D", "members": ["B1", "B2", "W1"]}
    says = findings.finding(Finding("rigid-joint", "joint D", values), {"B1": "B1.1", "B2": "B1.2"})
    assert says.startswith("B1.1, B1.2 and W1 of the bottom chord are taken as one rigid piece at D")
    worst = {"of": "member", "id": "B2", "rule": "bending", "ratio": 1.2, "combination": "D + L"}
    missed = {"joint": "D", "states": [{"state": "missed", "off_in": 0.25, "worst": worst}]}
    says = findings.finding(Finding("missed-bearing", "bearing D", missed), {"B2": "B1.2"})
    assert "Without it, B1.2 exceeds first" in says


def test_an_analysis_has_names_in_its_sentences_and_ids_beside_them(truss):
    lifted = {**truss.current.document, "uplift_dead_share": 0.6}
    wind = {"case": "wind", "pattern": "up", "chord": "top_chord", "psf": -60, "along": "normal"}
    lifted["loads"] = {**lifted["loads"], "area": [*lifted["loads"]["area"], wind]}
    told = analyse(read_stored(lifted)).document()["findings"]
    (reversal,) = [one for one in told if one["code"] == "force-reversal"]
    assert "B1.1, B1.2" in reversal["says"]
    assert "B1, B2" in reversal["where"]
