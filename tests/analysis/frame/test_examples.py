"""Every case of every example document against an independent general-purpose frame solver (see examples/).

Each quantity is held to 1e-6 of the largest value of its own kind in the case, as the examples ask.
"""

import json
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from trusses.analysis.analysis import analyse, analyse_many
from trusses.analysis.format.document import read, sha256
from trusses.analysis.frame import solve as frame
from trusses.analysis.loads.combinations import cases

EXAMPLES = Path(__file__).parents[1] / "examples"
HASHES = json.loads((EXAMPLES / "sha256.json").read_text())
NAMES = sorted(HASHES, key=lambda name: int(name[1:]))
WITHIN = 1e-6
INTERVALS = 400


def content(name):
    return (EXAMPLES / f"{name}.truss.json").read_bytes()


@cache
def computed(name):
    return analyse(read(content(name))).document()


@cache
def reference(name):
    return json.loads((EXAMPLES / f"{name}.reference.json").read_text())["cases"]


ALL = [(name, case) for name in NAMES for case in reference(name)]


def kinds(case):
    """The case's numbers by kind: displacements in inches; pounds and inch-pounds of each kind of force."""
    yield "displacements_in", case["displacements_in"]
    yield "reactions_lb", case["reactions_lb"]
    for kind in ("axial_lb", "shear_lb", "moment_inlb"):
        yield kind, {member: forces[kind] for member, forces in case["members"].items()}


def furthest(ours, theirs):
    """Kind -> largest difference as a share of the reference's largest value of that kind."""
    out = {}
    for (kind, got), (_, wanted) in zip(kinds(ours), kinds(theirs), strict=True):
        assert got.keys() == wanted.keys(), kind
        values = np.array(list(wanted.values()))
        apart = np.abs(np.array([got[key] for key in wanted]) - values).max()
        largest = np.abs(values).max()
        assert largest > 0 or apart < 1e-9, kind
        out[kind] = float(apart / largest) if largest > 0 else 0.0
    return out


def peaks(case):
    return np.array([forces["peak_moment_inlb"] for forces in case["members"].values()])


def sampled_peaks(analysis, i):
    """The largest sagging and hogging moments of case i at 401 places of each member and where loads change, (m,)."""
    response = analysis.results.by_case
    stations = np.linspace(0, 1, INTERVALS + 1) * response.length[:, None]
    stations = np.concatenate([stations, response.segment_start], axis=1)
    moments = np.concatenate([response.forces(stations)[2], response.end_moment], axis=2)
    return moments[i].max(axis=1), -moments[i].min(axis=1)


@pytest.mark.parametrize("name", NAMES)
def test_the_identity_of_each_document(name):
    assert read(content(name)).document == json.loads(content(name))
    assert sha256(json.loads(content(name))) == HASHES[name]
    assert computed(name)["truss_sha256"] == HASHES[name]


@pytest.mark.parametrize("name", NAMES)
def test_the_cases_are_those_of_the_reference(name):
    assert computed(name)["cases"].keys() == reference(name).keys()


@pytest.mark.parametrize(("name", "case"), ALL, ids=[f"{name}-{case}" for name, case in ALL])
def test_a_case_equals_its_reference(name, case):
    apart = furthest(computed(name)["cases"][case], reference(name)[case])
    assert max(apart.values()) < WITHIN, apart


@pytest.mark.parametrize("name", NAMES)
def test_peak_moments_lie_between_the_reference_s_stations_and_the_exact_peak(name):
    """The reference looks for its peaks at 401 stations of a member and can miss the top of a parabola by up to
    w (L / 800)² / 2, several millionths; so its value must lie between ours at those stations and our exact one."""
    analysis = analyse(read(content(name)))
    for i, case in enumerate(analysis.cases):
        ours, theirs = peaks(computed(name)["cases"][case.name]), peaks(reference(name)[case.name])
        slack = WITHIN * np.abs(theirs).max() + 1e-9
        sag, hog = sampled_peaks(analysis, i)
        sampled = np.maximum(sag, hog)
        assert (np.abs(theirs) > sampled - slack).all()
        assert (np.abs(theirs) < np.abs(ours) + slack).all()
        load = np.abs(analysis.results.by_case.transverse_load[i]).max(axis=1)
        missed = load * (analysis.results.by_case.length / (2 * INTERVALS)) ** 2 / 2
        assert (np.abs(ours) <= sampled + missed + slack).all()
        # of two peaks of opposite signs and the same size either may be named
        tied = np.abs(sag - hog) < slack
        assert (tied | (ours * theirs > 0) | (np.abs(theirs) < slack)).all()


def test_the_comparison_would_see_a_wrong_sign_and_a_small_error():
    case = reference("E1")["dead"]
    for kind in ("axial_lb", "shear_lb", "moment_inlb"):
        wrong = json.loads(json.dumps(case))
        wrong["members"]["T1"][kind][1] *= -1
        assert furthest(wrong, case)[kind] > 0.01
    wrong = json.loads(json.dumps(case))
    wrong["displacements_in"]["g"][1] *= 1 + 3e-6
    assert furthest(wrong, case)["displacements_in"] > WITHIN


def test_many_at_once_are_the_same_as_one_by_one():
    trusses = [read(content(name)) for name in (*NAMES, *NAMES[:4])]
    for truss, analysis in zip(trusses, analyse_many(trusses), strict=True):
        alone = computed(truss.mark)
        together = analysis.document()
        assert together["truss_sha256"] == alone["truss_sha256"]
        for case in alone["cases"]:
            assert max(furthest(together["cases"][case], alone["cases"][case]).values()) < 1e-8
        assert together["worst_ratio"] == pytest.approx(alone["worst_ratio"], rel=1e-8)
        assert [c["rule"] for c in together["checks"]] == [c["rule"] for c in alone["checks"]]


@pytest.mark.parametrize("name", NAMES)
def test_combinations_are_sums_of_their_cases(name):
    document = computed(name)
    for combination in document["combinations"].values():
        for member, forces in combination["members"].items():
            for end in (0, 1):
                terms = [
                    f * document["cases"][c]["members"][member]["axial_lb"][end]
                    for c, f in combination["factors"].items()
                ]
                scale = sum(map(abs, terms)) or 1
                assert forces["axial_lb"][end] == pytest.approx(sum(terms), abs=1e-8 * scale + 1e-7)


@pytest.mark.parametrize("name", NAMES)
def test_the_envelope_holds_every_combination_and_names_one_that_reaches_it(name):
    document = computed(name)
    for member, most in document["envelope"]["members"].items():
        pulls = {c: max(of["members"][member]["axial_lb"]) for c, of in document["combinations"].items()}
        pushes = {c: -min(of["members"][member]["axial_lb"]) for c, of in document["combinations"].items()}
        assert most["tension_lb"] >= max(0, *pulls.values()) - 1e-6
        assert most["compression_lb"] >= max(0, *pushes.values()) - 1e-6
        assert (most["tension_by"] is None) == (most["tension_lb"] == 0)
        assert (most["compression_by"] is None) == (most["compression_lb"] == 0)
    for joint, most in document["envelope"]["reactions_lb"].items():
        up = {c: of["reactions_lb"][joint][1] for c, of in document["combinations"].items()}
        assert most["down_lb"] == pytest.approx(max(0, *up.values()), abs=1e-6)
        assert most["uplift_lb"] == pytest.approx(max(0, *(-force for force in up.values())), abs=1e-6)
        if most["down_by"]:
            assert up[most["down_by"]] == pytest.approx(most["down_lb"], rel=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_the_document_is_plain_json_without_negative_zeros(name):
    text = json.dumps(computed(name), allow_nan=False)
    assert "-0.0," not in text
    assert "-0.0]" not in text
    assert json.loads(text) == computed(name)
    assert computed(name)["passes"] == all(check["passes"] for check in computed(name)["checks"])
    assert computed(name)["worst_ratio"] == max(check["ratio"] for check in computed(name)["checks"])


@pytest.mark.parametrize("name", NAMES)
def test_the_careful_solution_of_an_ill_conditioned_frame_is_the_same_on_a_sound_one(name, monkeypatch):
    """Both ways of writing the stiffness, by members into a band and whole by compatibility, must be one stiffness."""
    truss = read(content(name))
    usual = frame.solve(truss, cases(truss))
    monkeypatch.setattr(frame, "_WELL_CONDITIONED", 0.0)
    careful = frame.solve(truss, cases(truss))
    for what in ("displacements", "reactions", "axial", "shear", "moment"):
        ours, theirs = getattr(careful, what), getattr(usual, what)
        assert np.abs(ours - theirs).max() <= WITHIN * np.abs(theirs).max(), what


@pytest.mark.parametrize("name", NAMES)
def test_no_example_needs_the_slow_way(name, monkeypatch):
    """The orthogonal way is for ill-conditioned trusses; a fault in the band would otherwise hide behind it."""
    slow = []
    monkeypatch.setattr(frame, "free_motion", slow.append)
    truss = read(content(name))
    frame.solve(truss, cases(truss))
    assert not slow
