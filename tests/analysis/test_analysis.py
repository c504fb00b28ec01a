"""The orchestrator at its edges: what is hardly a truss, many at once, and what an analysis document may hold."""

import copy
import json
import math
from pathlib import Path

import numpy as np
import pytest

from tests.refused import refused
from trusses.analysis.analysis import ENGINE, analyse, analyse_many
from trusses.analysis.analysis_document import _figures, figure
from trusses.analysis.format.document import read, sha256
from trusses.analysis.frame.solve import Mechanism
from trusses.analysis.loads.combinations import LoadError

EXAMPLES = Path(__file__).parent / "examples"
SPF = "2x6 SPF No.1/No.2"


def example(name):
    return json.loads((EXAMPLES / f"{name}.truss.json").read_text())


def beam(length=120.0, ends=((0.0, 0.0), (1.0, 0.0)), holds=("xy", "y"), **more):
    """A lone chord between two bearings."""
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "B1",
        "spacing_in": 16,
        "joints": {name: [x * length, y * length] for name, (x, y) in zip("AB", ends, strict=True)},
        "members": [{"id": "C1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": SPF}],
        "bearings": [
            {"joint": joint, "restrains": restrains, "width_in": 3.5}
            for joint, restrains in zip("AB", holds, strict=True)
        ],
    } | more


def line(case, plf, **more):
    return {"case": case, "member": "C1", "plf": plf} | more


def test_a_beam_by_hand():
    analysis = analyse(read(beam(loads={"line": [line("dead", 12), line("live", 48)]})))
    document = analysis.document()
    # w L² / 8 with 5 lb/in over 120 in.
    both = document["combinations"]["D + L"]
    assert both["members"]["C1"]["peak_moment_inlb"] == pytest.approx(5 * 120**2 / 8)
    assert both["reactions_lb"] == {"A": [0, 300], "B": [0, 300]}
    assert both["load_duration"] == 1
    assert document["envelope"]["reactions_lb"]["A"] == {
        "down_lb": 300,
        "down_by": "D + L",
        "uplift_lb": 0,
        "uplift_by": None,
    }
    assert document["engine"] == ENGINE
    assert document["truss_sha256"] == sha256(analysis.truss.document)


def test_axial_extremes_inside_a_member_are_in_the_envelope():
    # a post that is pushed down in its middle: 100 lb of compression below, 100 lb more that hang above its top bearing
    post = beam(ends=((0, 0), (0, 1)), holds=("xy", "xy"))
    post["loads"] = {"point": [{"case": "dead", "member": "C1", "at_in": 30, "down_lb": 400}]}
    post["members"][0]["joints"] = ["A", "B"]
    most = analyse(read(post)).document()["envelope"]["members"]["C1"]
    assert most["compression_lb"] == pytest.approx(300)
    assert most["tension_lb"] == pytest.approx(100)


def test_tension_between_two_ends_in_compression_is_in_the_envelope():
    post = beam(ends=((0, 0), (0, 1)), holds=("xy", "xy"))
    pull = [(30, 400), (90, -400)]
    post["loads"] = {"point": [{"case": "dead", "member": "C1", "at_in": at, "down_lb": lb} for at, lb in pull]}
    document = analyse(read(post)).document()
    # N, N + 400 and N again over 30, 60 and 30 in. must not lengthen the post: N = -200
    assert document["cases"]["dead"]["members"]["C1"]["axial_lb"] == pytest.approx([-200, -200])
    most = document["envelope"]["members"]["C1"]
    assert (most["tension_lb"], most["compression_lb"]) == pytest.approx((200, 200))


@pytest.mark.parametrize("loads", [{}, {"line": []}, {"line": [line("dead", 0)]}])
def test_a_truss_without_a_load_has_results_of_zero(loads):
    document = analyse(read(beam(loads=loads))).document()
    assert list(document["combinations"]) == ["D"]
    assert document["combinations"]["D"]["reactions_lb"] == {"A": [0, 0], "B": [0, 0]}
    assert document["envelope"]["members"]["C1"]["compression_by"] is None
    assert document["passes"] is True
    json.dumps(document, allow_nan=False)


@pytest.mark.parametrize("plf", [1e-300, 5e-324, 1e-12, 1e9, -1e9])
def test_loads_of_any_size_give_a_document(plf):
    document = analyse(read(beam(loads={"line": [line("dead", plf)]}))).document()
    json.dumps(document, allow_nan=False)
    expected = plf / 12 * 60 if abs(plf) > 1e-100 else 0
    assert document["cases"]["dead"]["reactions_lb"]["A"][1] == pytest.approx(expected, rel=1e-9)


def test_a_column_is_a_legal_document():
    column = beam(ends=((0, 0), (0, 1)), holds=("xy", "x"))
    column["loads"] = {
        "area": [{"case": "wind", "chord": "bottom_chord", "psf": 20, "along": "normal"}],
        "point": [{"case": "dead", "joint": "B", "down_lb": 500}],
    }
    document = analyse(read(column)).document()
    assert document["cases"]["dead"]["members"]["C1"]["axial_lb"] == [-500, -500]
    # 20 psf × 16 in. pushes right; the right-hand face of a vertical member is its lower one
    assert document["cases"]["wind"]["members"]["C1"]["peak_moment_inlb"] == pytest.approx(20 * 16 / 144 * 120**2 / 8)
    assert document["cases"]["wind"]["reactions_lb"]["B"][0] == pytest.approx(-20 * 16 / 144 * 60)
    json.dumps(document, allow_nan=False)


def test_many_keep_their_order_and_a_mechanism_takes_none_with_it():
    sound = example("E1")
    sliding = example("E1")
    for bearing in sliding["bearings"]:
        bearing["restrains"] = "y"
    folding = example("E1")
    folding["hinges"] = list(folding["joints"])
    folding["members"] = [member for member in folding["members"] if member["id"] != "W2"]
    wider = copy.deepcopy(sound)
    wider["joints"]["g"][0] += 12
    bigger = copy.deepcopy(sound)
    bigger["members"][0]["lumber"] = SPF
    documents = [sound, sliding, example("E15"), wider, folding, bigger, sound]
    outcomes = analyse_many([read(document) for document in documents])
    assert [isinstance(outcome, Mechanism) for outcome in outcomes] == [False, True, False, False, True, False, False]
    for document, outcome in zip(documents, outcomes, strict=True):
        if isinstance(outcome, Mechanism):
            with pytest.raises(Mechanism, match="the truss can move freely: joint"):
                analyse(read(document))
        else:
            assert outcome.truss.document == read(document).document
            alone = analyse(read(document))
            assert outcome.worst_ratio == pytest.approx(alone.worst_ratio, rel=1e-9)
            assert np.allclose(outcome.results.end_axial, alone.results.end_axial, rtol=1e-8, atol=1e-6)


def test_none_at_all():
    assert analyse_many([]) == []


def test_the_same_shape_under_other_cases_is_not_mixed_up():
    snowy, windy = (beam(loads={"line": [line("dead", 5), line(case, 30)]}) for case in ("snow", "wind"))
    first, second = analyse_many([read(snowy), read(windy)])
    assert [case.name for case in first.cases] == ["dead", "snow"]
    assert [case.name for case in second.cases] == ["dead", "wind"]


def test_more_patterns_than_anyone_means_are_refused_in_words():
    many = [line(case, 1, pattern=f"p{i}") for i in range(60) for case in ("live", "snow", "wind")]
    with refused(LoadError, "too-many-combinations", "loads"):
        analyse(read(beam(loads={"line": many})))


def test_figures_keep_ten_digits_and_drop_noise():
    values = np.array([[1234.56789012345, -1e-12, -0.0], [math.pi * 1e-5, 2e-17, -1e15 / 3]])
    rounded = _figures(values)
    assert rounded[0].tolist() == [1234.567890, 0.0, 0.0]
    assert rounded[1].tolist() == [0.0, 0.0, -333333333300000.0]
    assert not np.signbit(rounded[:, 1]).any()
    assert figure(-0.0) == 0
    assert math.copysign(1, figure(-0.0)) == 1
    for bad in (math.nan, math.inf):
        with pytest.raises(ValueError, match="can't"):
            figure(bad)
        with pytest.raises(ValueError, match="finite"):
            _figures(np.array([[bad]]))
