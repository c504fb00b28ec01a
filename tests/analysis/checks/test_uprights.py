"""Webs that stand on a chord press across its grain (NDS 3.10)."""

import copy

import pytest

from tests.beams import beam, check
from trusses.analysis.analysis import analyse
from trusses.analysis.checks import nds
from trusses.analysis.checks.uprights import ON_CHORD
from trusses.analysis.format.document import read
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.strengthen import raise_lumber
from trusses.analysis.shapes.shapes import build

DFL, SPF, SP = "2x4 DF-L No.2", "2x4 SPF No.1/No.2", "2x4 SP 2400f-2.0E"


def post(pounds=500, *, case="snow", bottom=DFL, top=DFL, web=DFL, lean=0, rise=0, **more):
    """A web W, 60 in. high, on a level bottom chord at a bearing, under a top chord C-D that hangs on D: with no lean
    it carries the load at C alone. `rise` of the top chord over 24 in."""
    document = beam(24, bottom, role="bottom_chord", **more)
    document["joints"] |= {"C": [24 + lean, 60], "D": [48 + lean, 60 + rise]}
    document["members"] += [
        {"id": "W", "role": "web", "joints": ["B", "C"], "lumber": web},
        {"id": "T", "role": "top_chord", "joints": ["C", "D"], "lumber": top},
    ]
    document["bearings"].append({"joint": "D", "restrains": "xy", "width_in": 3.5})
    document["loads"] = {"point": [{"case": case, "joint": "C", "down_lb": pounds}]}
    return document


def test_a_post_presses_its_section_across_the_grain():
    """500 lb on 1.5 × 3.5 in.: 95.2 psi against Fc⊥ 625 psi of DF-L; no CD (NDS 3.10.2)."""
    found = check(post())["W", ON_CHORD]
    assert found.demand == pytest.approx(500 / 5.25)
    assert found.capacity == pytest.approx(625)
    assert found.ratio == pytest.approx(500 / 5.25 / 625)
    assert (found.source, found.combination, found.passes) == ("NDS 3.10.2", "D + S", True)
    assert found.terms["area"] == 5.25


@pytest.mark.parametrize(("pounds", "passes"), [(2231, True), (2232, False)])
def test_the_weaker_chord_governs_and_fails_over_its_value(pounds, passes):
    """SPF below, Fc⊥ 425 psi: 425 × 5.25 = 2,231.25 lb; the DF-L above takes 3,281."""
    found = check(post(pounds, bottom=SPF))["W", ON_CHORD]
    assert found.passes is passes
    assert (found.terms["chord"], found.terms["joint"], found.at_in) == ("M", "B", 0)
    assert found.terms["lumber"] == SPF


@pytest.mark.parametrize("case", ["dead", "snow", "wind"])
def test_across_the_grain_no_load_duration_counts(case):
    found = check(post(case=case))["W", ON_CHORD]
    assert found.capacity == pytest.approx(625)


def test_at_an_angle_to_the_grain():
    """A level web under a chord at 1 in 2, θ to its grain: sin²θ = 0.8. DF-L No.2: Fc* = 1350·1.15·1.15 = 1,785.4 psi,
    Fθ' = 1785.4·625/(1785.4·0.8 + 625·0.2) = 718.4 psi (eq. 3.10-1); the Southern Pine below has 805 psi."""
    found = check(post(bottom=SP, rise=12))["W", ON_CHORD]
    assert found.capacity == pytest.approx(718.4, abs=0.1)
    assert (found.source, found.terms["chord"], found.terms["joint"]) == ("NDS 3.10.3", "T", "C")
    assert found.at_in == 60


def test_the_formula_ends_at_both_values():
    """Eq. 3.10-1: Fc* along the grain, Fc⊥ across it. SPF at sin²θ = 0.8: 1520.9·425/(1216.7 + 85) = 496.6 psi."""
    for squared, expected in ((0.0, 1520.9), (0.8, 496.6), (1.0, 425.0)):
        clause = nds.bearing_at_angle(1000.0, 5.25, 1520.9, 425.0, squared**0.5)
        assert clause.capacity == pytest.approx(expected, abs=0.05)
        assert clause.ratio == pytest.approx(1000 / 5.25 / expected, rel=1e-4)


@pytest.mark.parametrize(("lean", "stands"), [(0, True), (59, True), (61, False)])
def test_a_web_that_leans_over_45_degrees_is_left_to_its_plates(lean, stands):
    assert (("W", ON_CHORD) in check(post(lean=lean))) is stands


def test_at_45_degrees_it_stands_wherever_the_truss_stands():
    """A post that leans by as much as it is high: rounding doesn't decide whether it is checked."""
    for right in (0.0, -77.3, 31.1, 0.1, 1000.7):
        document = post(lean=60, rise=8)
        document["joints"] = {name: [x + right, y + right / 3] for name, (x, y) in document["joints"].items()}
        assert ("W", ON_CHORD) in check(document)


def test_a_web_in_tension_presses_on_nothing():
    assert ("W", ON_CHORD) not in check(post(pounds=-500))


def test_several_plies_press_on_as_many():
    found = check(post(plies=2, ply_fastening="nailed"))["W", ON_CHORD]
    assert found.ratio == pytest.approx(500 / 10.5 / 625)


def test_a_flat_web_is_no_broader_than_the_chord_it_stands_on():
    """A web on its wide face, 3.5 in. broad and 1.5 in. deep, on a chord on edge: 1.5 × 1.5 in."""
    document = post()
    document["members"][1]["flat"] = True
    assert check(document)["W", ON_CHORD].terms["area"] == 2.25


def test_posts_of_a_chase_are_checked_with_the_force_that_the_analysis_has():
    """Floor trusses are flat: a post is 3.5 in. broad and 1.5 in. deep on a chord as broad, 5.25 in²."""
    document = build("floor", span="20'", depth=16, chase_width=24)
    analysis = analyse(read(document))
    written = analysis.document()["combinations"]
    at = document["joints"]
    upright = [
        m["id"]
        for m in document["members"]
        if m["role"] == "web" and at[m["joints"][0]][0] == at[m["joints"][1]][0] and 12 < at[m["joints"][0]][0] < 228
    ]
    pressed = {name: -min(min(r["members"][name]["axial_lb"]) for r in written.values()) for name in upright}
    found = {check.id: check for check in analysis.checks if check.rule == ON_CHORD}
    assert len([name for name, force in pressed.items() if force > 1]) >= 2
    for name, force in pressed.items():
        if force > 1:
            assert found[name].demand == pytest.approx(force / 5.25)


def test_the_worst_ratio_of_a_stack_knows_of_it():
    document = post(2500, bottom=SPF)
    assert analyse(read(copy.deepcopy(document))).worst_ratio >= 2500 / 5.25 / 425


def test_the_search_answers_with_better_lumber_for_the_chord():
    document = post(2500, bottom=SPF)
    draft = Draft(document)
    failing = [check for check in analyse(read(copy.deepcopy(document))).checks if check.rule == ON_CHORD]
    assert raise_lumber(draft, failing)
    lumber = {name: member["lumber"] for name, member in draft.members.items()}
    assert lumber["W"] == DFL
    assert lumber["M"] == "2x4 SPF 2100f-1.8E"
