"""Arrangements: written where they lack, never twice, with every pattern that stood there keeping its meaning."""

import copy
import json
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import frames
from tests.random_trusses import random_truss
from tests.refused import refused
from trusses.analysis.format.document import DocumentError, read
from trusses.analysis.frame import solve as frame
from trusses.analysis.loads import combinations as loads
from trusses.analysis.loads.arrangements import REQUIRED, ArrangementError, arrange, missing
from trusses.analysis.loads.windows import clipped, open_panels, total_lb
from trusses.analysis.shapes.shapes import build

EXAMPLES = Path(__file__).parents[1] / "examples"
ALWAYS = (-math.inf, math.inf)


def patterns(document, case):
    """Each pattern's loads with the pattern-less ones, as the format defines them."""
    held = [
        (sort, load)
        for sort, loads_of_sort in document["loads"].items()
        for load in loads_of_sort
        if load["case"] == case and "acts" not in load
    ]
    names = dict.fromkeys(load.get("pattern") for _, load in held)
    names.pop(None, None)
    return {name: [h for h in held if h[1].get("pattern") in (None, name)] for name in names or [None]}


def totals(document, case, *windows):
    truss = read(document)
    return {name: [total_lb(truss, held, w) for w in windows] for name, held in patterns(document, case).items()}


@pytest.fixture
def floor():
    return build("floor", span="20'", spacing=16, chase_width=24, chase_center=90, arranged=False)


@pytest.fixture
def roof():
    return build("w", span="36'", snow=30, wind_up=22, arranged=False)


def test_a_floor_gets_all_each_half_and_each_side_of_its_chase(floor):
    before = copy.deepcopy(floor)
    assert missing(read(floor)) == ("live/left", "live/right", "live/left of chase", "live/right of chase")
    arranged = arrange(floor)
    assert floor == before
    windows = {
        load["pattern"]: (load.get("from_x_in"), load.get("to_x_in"))
        for load in arranged["loads"]["area"]
        if load["case"] == "live"
    }
    assert windows == {
        "all": (None, None),
        "left": (None, 120),
        "right": (120, None),
        "left of chase": (None, 77.25),
        "right of chase": (102.75, None),
    }
    assert {load["psf"] for load in arranged["loads"]["area"] if load["case"] == "live"} == {40}
    assert [load for load in arranged["loads"]["area"] if load["case"] == "dead"] == floor["loads"]["area"][:2]
    assert missing(read(arranged)) == ()
    assert arrange(arranged) == arranged


def test_the_side_of_a_chase_is_what_its_chords_need():
    """A load on all of a floor has no shear at midspan; on one half it has the most, and the chords bend for it."""
    document = build("floor", span="20'", spacing=16, chase_width=24)
    truss = read(document)
    cases = loads.cases(truss)
    response = frame.solve(truss, cases)
    ((left, right),) = open_panels(truss)
    panel = [i for i, m in enumerate(truss.members) if m.is_chord and {j.x for j in truss.ends(m)} == {left, right}]
    worst = {
        case.pattern: np.abs(response.peak_moment[row, panel]).max()
        for row, case in enumerate(cases)
        if case.case == "live"
    }
    assert worst["left"] > 3 * worst["all"]
    assert worst["right"] == pytest.approx(worst["left"], rel=1e-6)
    shear = {
        case.pattern: abs(response.end_shear[row, panel, 0].sum())
        for row, case in enumerate(cases)
        if case.case == "live"
    }
    assert shear["left of chase"] == pytest.approx(shear["right of chase"], abs=shear["all"])


def test_a_roof_gets_unbalanced_snow_about_its_ridge_and_both_winds(roof):
    assert missing(read(roof)) == ("snow/left", "snow/right", "wind/down")
    arranged = arrange(roof)
    ridge = totals(arranged, "snow", (-math.inf, 216), (216, math.inf))
    half = 30 * 24 / 144 * 216
    assert ridge == {
        "balanced": pytest.approx([half, half]),
        "left": pytest.approx([half, 0]),
        "right": pytest.approx([0, half]),
    }
    assert totals(arranged, "wind", ALWAYS) == {
        "up": [pytest.approx(-22 * 24 / 144 * 432)],
        "down": [pytest.approx(22 * 24 / 144 * 432)],
    }
    assert {load.get("pattern") for load in arranged["loads"]["area"] if load["case"] == "roof_live"} == {
        "all",
        "left",
        "right",
    }
    alone = [load for load in arranged["loads"]["area"] if load.get("acts") == "alone"]
    assert alone == [load for load in roof["loads"]["area"] if load.get("acts") == "alone"]
    assert missing(read(arranged)) == ()
    assert arrange(arranged) == arranged


def test_a_wind_without_a_pattern_is_named_for_its_way(roof):
    for load in roof["loads"]["area"]:
        load.pop("pattern", None)
    assert set(patterns(arrange(roof), "wind")) == {"up", "down"}
    for load in roof["loads"]["area"]:
        if load["case"] == "wind":
            load["psf"] = 9
    assert missing(read(roof))[-1] == "wind/up"
    assert totals(arrange(roof), "wind", ALWAYS)["up"] == [pytest.approx(-9 * 24 / 144 * 432)]


def test_a_drifted_snow_counts_whatever_it_is_called(roof):
    """ASCE 7 §7.6.1's form: 0.3 of the balanced snow on the windward side, all of it and a surcharge on the other."""
    ours = [load for load in roof["loads"]["area"] if load["case"] != "snow"]
    snow = {"case": "snow", "chord": "top_chord", "along": "plan"}
    drifted = [
        snow | {"psf": 30, "pattern": "even"},
        snow | {"psf": 9, "pattern": "wind from the left", "to_x_in": 216},
        snow | {"psf": 30, "pattern": "wind from the left", "from_x_in": 216},
        snow | {"psf": 18.2, "pattern": "wind from the left", "from_x_in": 216, "to_x_in": 281},
    ]
    roof["loads"]["area"] = ours + drifted
    assert missing(read(roof)) == ("snow/left", "wind/down")
    arranged = arrange(roof)
    kept = [load for load in arranged["loads"]["area"] if load.get("pattern") == "wind from the left"]
    assert [load["psf"] for load in kept] == [9, 30, 18.2]
    assert set(patterns(arranged, "snow")) == {"even", "wind from the left", "left"}
    roof["loads"]["area"] = ours + drifted[:1]
    assert missing(read(roof))[:2] == ("snow/left", "snow/right")


def test_a_pattern_that_stood_there_keeps_its_meaning(floor):
    """Loads without a pattern are in every pattern, so naming them needs a copy for each that stands there."""
    floor["loads"]["point"] = [{"case": "live", "joint": "t3", "down_lb": 300, "pattern": "piano", "note": "invented"}]
    before = totals(floor, "live", ALWAYS, (-math.inf, 60), (60, 120), (120, math.inf))
    arranged = arrange(floor)
    after = totals(arranged, "live", ALWAYS, (-math.inf, 60), (60, 120), (120, math.inf))
    assert after["piano"] == pytest.approx(before["piano"])
    assert set(after) == {"piano", "left", "right", "left of chase", "right of chase"}
    assert after["left"][3] == pytest.approx(0)
    assert missing(read(arranged)) == ()


def test_halves_of_every_sort_of_load_make_up_the_whole():
    document = build("floor", span="20'", arranged=False)
    document["loads"]["line"] = [
        {"case": "live", "member": "T5", "plf": 60},
        {"case": "live", "member": "T4", "plf": 40, "from_in": 5, "to_in": 25},
        {"case": "live", "member": "B5", "plf": 20, "from_in": 2},
    ]
    document["loads"]["point"] = [
        {"case": "live", "member": "T2", "at_in": 5, "down_lb": 150, "right_lb": 10},
        {"case": "live", "joint": "b4", "down_lb": 90},
    ]
    for member in document["members"][::2]:
        member["joints"].reverse()
    middle = document["joints"]["b4"][0]
    assert middle == 120
    sums = totals(arrange(document), "live", ALWAYS, (-math.inf, 120), (120, math.inf))
    # 40 psf at 24 in. on 20 ft; the three lines on 30, 20 and 28 in.; the points
    assert sums["all"][0] == pytest.approx(40 * 24 / 144 * 240 + (60 * 30 + 40 * 20 + 20 * 28) / 12 + 150 + 90)
    assert sums["left"][0] == pytest.approx(sums["all"][1])
    assert sums["right"][0] == pytest.approx(sums["all"][2])
    # what stands on the very middle belongs to both halves: the worse of two readings
    assert sums["left"][0] + sums["right"][0] == pytest.approx(sums["all"][0] + 90)


def test_a_half_with_less_than_the_whole_load_is_not_that_half(floor):
    live = {"case": "live", "chord": "top_chord", "along": "plan"}
    floor["loads"]["area"] = [
        live | {"psf": 40, "pattern": "all"},
        live | {"psf": 25, "pattern": "half", "to_x_in": 120},
        live | {"psf": 40, "pattern": "the other half", "from_x_in": 120},
    ]
    assert missing(read(floor)) == ("live/left", "live/left of chase", "live/right of chase")


def test_several_spans_and_an_overhang_are_loaded_one_by_one():
    beam = {
        "format": "chordchange.truss",
        "version": 1,
        "mark": "C1",
        "use": "floor",
        "spacing_in": 16,
        "joints": {"a": [0, 0], "b": [120, 0], "c": [260, 0], "d": [300, 0]},
        "members": [
            {"id": "T1", "role": "top_chord", "joints": ["a", "b"], "lumber": "2x8 SP No.2"},
            {"id": "T2", "role": "top_chord", "joints": ["b", "c"], "lumber": "2x8 SP No.2"},
            {"id": "T3", "role": "top_chord", "joints": ["c", "d"], "lumber": "2x8 SP No.2"},
        ],
        "bearings": [
            {"joint": "a", "restrains": "xy", "width_in": 3.5},
            {"joint": "b", "restrains": "y", "width_in": 3.5},
            {"joint": "c", "restrains": "y", "width_in": 3.5},
        ],
        "loads": {"area": [{"case": "live", "chord": "top_chord", "psf": 40, "along": "plan"}]},
    }
    assert missing(read(beam)) == ("live/left", "live/right", "live/span 1", "live/span 2", "live/right overhang")
    arranged = arrange(beam)
    sums = totals(arranged, "live", (0, 120), (120, 260), (260, 300))
    spans = [40 * 16 / 144 * length for length in (120, 140, 40)]
    assert sums["span 1"] == pytest.approx([spans[0], 0, 0])
    assert sums["span 2"] == pytest.approx([0, spans[1], 0])
    assert sums["right overhang"] == pytest.approx([0, 0, spans[2]])
    assert missing(read(arranged)) == ()
    assert arrange(arranged) == arranged


def test_a_load_on_one_half_alone_calls_for_nothing():
    document = build("floor", span="20'", floor_live=0, arranged=False)
    document["loads"]["line"] = [{"case": "live", "member": "T2", "plf": 60}]
    assert missing(read(document)) == ()
    assert arrange(document) == document


def test_without_loads_nothing_is_written():
    document = build("w", span="20'", arranged=False)
    del document["loads"]
    assert missing(read(document)) == ()
    assert arrange(document) == document


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.truss.json")), ids=lambda path: path.name.split(".")[0])
def test_every_example_can_be_arranged(path):
    document = json.loads(path.read_text())
    arranged = arrange(document)
    assert missing(read(arranged)) == ()
    assert arrange(arranged) == arranged
    kept = {case.name for case in loads.cases(read(document)) if case.pattern}
    assert kept <= {case.name for case in loads.cases(read(arranged))}


def level_chord(spans, overhang=0):
    """A level chord of 10 ft spans over a bearing at both ends of each, 40 plf of live load on all of it."""
    joints = {f"R{i}": [120 * i, 0] for i in range(spans + 1)}
    members = [(f"S{i}", "bottom_chord", f"R{i - 1}", f"R{i}") for i in range(1, spans + 1)]
    if overhang:
        joints["T"], members = [-overhang, 0], [("O", "bottom_chord", "T", "R0"), *members]
    live = {"case": "live", "chord": "bottom_chord", "psf": 20, "along": "plan"}
    bearings = {f"R{i}": "y" if i else "xy" for i in range(spans + 1)}
    return frames.document(joints, members, bearings, use="floor", loads={"area": [live]})


def most_of_each_case(document):
    """The largest sagging and hogging moment that any case of the live load makes in a chord, in shares of wL²."""
    truss = read(arrange(document))
    response = frame.solve(truss, loads.cases(truss))
    moments = np.concatenate([response.peak_moment[..., None], response.end_moment], axis=2) / (40 / 12 * 120**2)
    return moments.max(), -moments.min()


@pytest.mark.parametrize(
    ("spans", "sagging", "hogging"),
    [
        (3, 0.1013, 0.1167),
        (4, 0.0996, 0.1205),
    ],
)
def test_over_more_than_three_bearings_pairs_and_every_other_span_are_loaded(spans, sagging, hogging):
    """AISC Manual Table 3-23, continuous beams of equal spans, from memory: of three spans two in a row loaded,
    -0.1167 wL², and the outer two, 0.1013 wL²; of four spans the third unloaded, -0.1205 wL², and the first and third
    loaded, 0.0996 wL². The three-moment equation gives the same: 7/60, 0.45²/2 = 0.10125, 27/224."""
    most = most_of_each_case(level_chord(spans))
    assert most == (pytest.approx(sagging, abs=6e-5), pytest.approx(hogging, abs=6e-5))
    if spans == 3:
        assert most == (pytest.approx(0.45**2 / 2), pytest.approx(7 / 60))
    else:
        assert most[1] == pytest.approx(27 / 224)


def test_which_spans_are_loaded_and_what_an_overhang_counts_for():
    assert missing(read(level_chord(2)))[2:] == ("live/span 1", "live/span 2")
    assert missing(read(level_chord(3)))[5:] == (
        "live/span 1 and span 3",
        "live/span 1 and span 2",
        "live/span 2 and span 3",
    )
    arranged = arrange(level_chord(3, overhang=40))
    assert missing(read(arranged)) == ()
    windows = [(-math.inf, 0), (0, 120), (120, 240), (240, math.inf)]
    got = {name: [round(lb) for lb in lbs] for name, lbs in totals(arranged, "live", *windows).items()}
    tail, span = round(40 * 40 / 12), 400
    assert got["left overhang and span 2"] == [tail, 0, span, 0]
    assert got["span 1 and span 3"] == [0, span, 0, span]
    assert got["left overhang and span 1 and span 3"] == [tail, span, 0, span]
    assert got["span 1 and span 2"] == [0, span, span, 0]
    assert got["left overhang and span 2 and span 3"] == [tail, 0, span, span]


def odd(seed):
    """A random truss whose live and snow loads are areas, lines and points, up and down, in odd patterns."""
    document = random_truss(seed)
    rng = np.random.default_rng(seed)
    for sort in document["loads"].values():
        for load in sort:
            load["case"] = str(rng.choice(["live", "snow", "wind", "dead"]))
            load.pop("acts", None)
            if load["case"] == "dead":
                load.pop("pattern", None)
    return document


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 100_000), st.sampled_from([random_truss, odd]))
def test_after_arranging_nothing_is_missing_or_it_says_why(seed, make):
    document, refusal = make(seed), None
    try:
        arranged = arrange(document)
    except ArrangementError as error:
        refusal = error
    if refusal:
        assert (refusal.code, refusal.place) == ("arrangement-impossible", "loads")
        assert refusal.values["case"] in REQUIRED
        assert refusal.values["lacking"]
        return
    assert missing(read(arranged)) == ()
    assert arrange(arranged) == arranged
    for case in ("live", "snow", "wind", "dead"):
        before, after = patterns(document, case), patterns(arranged, case)
        for name in before.keys() - {None}:
            assert _bare(after[name]) == _bare(before[name])


def _bare(held):
    """Loads whatever they are called and wherever they stand."""
    return sorted(json.dumps([sort, {**load, "pattern": None}], sort_keys=True) for sort, load in held)


def test_few_trusses_with_loads_up_and_down_can_not_be_arranged():
    impossible = []
    for seed in range(300):
        try:
            arrange(random_truss(seed))
        except ArrangementError:
            impossible.append(seed)
    assert len(impossible) <= 1


@pytest.mark.parametrize("seed", [359, 708])
def test_what_is_written_in_is_measured_again(seed):
    """A part without the uplift beside it is more than any pattern had there: the others are then too little."""
    assert missing(read(arrange(random_truss(seed)))) == ()


def test_a_load_right_over_a_middle_bearing_belongs_to_neither_span():
    """120 lb at the joint on the bearing: the span beside it is free of live load all the same."""
    document = build("floor", span="20'", spacing=16, arranged=False)
    below = {joint for m in document["members"] if m["role"] == "bottom_chord" for joint in m["joints"]}
    middle = min(below, key=lambda name: abs(document["joints"][name][0] - 120))
    document["bearings"].append({"joint": middle, "restrains": "y", "width_in": 3.5})
    document["loads"].setdefault("point", []).append({"case": "live", "joint": middle, "down_lb": 120})
    assert missing(read(arrange(document))) == ()


def test_a_line_that_ends_with_its_member_still_does_when_it_is_cut():
    """Rounded to four places, its end would lie beyond the member."""
    document = build("w", span="20'", pitch=5, snow=20, arranged=False)
    truss = read(document)
    web = next(member for member in truss.members if member.role == "web")
    length = truss.length(web)
    line = {"case": "live", "member": web.id, "plf": 10, "to_in": length}
    a, b = truss.ends(web)
    middle = (a.x + b.x) / 2
    for window in ((-math.inf, middle), (middle, math.inf), ALWAYS):
        part = clipped(truss, "line", line, window)
        assert part is not None
        assert part.get("to_in", length) <= length
        assert total_lb(truss, [("line", part)], ALWAYS) == pytest.approx(
            total_lb(truss, [("line", line)], window), rel=1e-4
        )


def test_a_wrong_document_is_refused(floor):
    floor["joints"]["t0"] = [0, math.nan]
    with refused(DocumentError, "number-nan", "joints.t0[1]"):
        arrange(floor)


def test_open_panels_of_ordinary_trusses():
    assert open_panels(read(build("w", span="36'"))) == ()
    assert open_panels(read(build("floor", span="20'"))) == ()
    assert open_panels(read(build("queen-post", span="18'"))) == ((72, 144),)
    two = build("floor", span="24'", chase_width=24, chase_center=72)
    # a splice joint in the straight line of a chord makes no panel of a triangle
    assert len(open_panels(read(two))) == 1


def test_windows_that_miss_a_load_leave_nothing():
    truss = read(build("floor", span="20'"))
    live = {"case": "live", "chord": "top_chord", "psf": 40, "along": "plan", "from_x_in": 0, "to_x_in": 50}
    assert clipped(truss, "area", live, (50, 90)) is None
    assert clipped(truss, "area", live, (40, 90)) == live | {"from_x_in": 40}
    line = {"case": "live", "member": "T2", "plf": 10}
    assert clipped(truss, "line", line, (200, 210)) is None
    assert clipped(truss, "point", {"case": "live", "joint": "t0", "down_lb": 5}, (1, 9)) is None
