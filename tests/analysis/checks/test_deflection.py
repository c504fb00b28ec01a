"""Deflection checks against handbook beams (values.md §4.3) and the limits of values.md §5.5."""

import numpy as np
import pytest

from tests.beams import beam, check, line
from tests.random_trusses import random_truss
from trusses.analysis.checks import nds
from trusses.analysis.checks.combined import noise, sinking, value_of
from trusses.analysis.format.document import read
from trusses.analysis.frame.results import of_solution
from trusses.analysis.frame.solve import stacks

E, INERTIA = 1.6e6, 1.5 * 5.5**3 / 12  # 2x6 DF-L No.2
SPAN = 96.0


def sag(plf, length=SPAN):
    return 5 * plf / 12 * length**4 / (384 * E * INERTIA)


def of(document):
    return {rule: found for (_, rule), found in check(document).items() if found.of == "truss"}


def joist(*loads, **more):
    return beam(SPAN, "2x6 DF-L No.2", loads={"line": list(loads)}, **more)


def with_end(beyond, side, *loads):
    """A joist that runs on beyond its left or right bearing to a joint C, with the bearings at 50 and 146 in."""
    document = joist(*loads)
    document["joints"] = {"A": [50, 0], "B": [50 + SPAN, 0]}
    at, last = (50 - beyond, "A") if side == "left" else (50 + SPAN + beyond, "B")
    document["joints"]["C"] = [at, 0]
    document["members"].append({"id": "N", "role": "top_chord", "joints": [last, "C"], "lumber": "2x6 DF-L No.2"})
    return document


@pytest.mark.parametrize(
    ("use", "ceiling", "live", "total", "source"),
    [
        ("roof", "none", 180, 120, "IBC Table 1604.3"),
        ("roof", "gypsum", 240, 180, "IBC Table 1604.3"),
        ("roof", "plaster", 360, 240, "IBC Table 1604.3"),
        ("floor", "gypsum", 360, 240, "IBC Table 1604.3, IRC Table R301.7"),
    ],
)
def test_limits_go_by_use_and_ceiling(use, ceiling, live, total, source):
    """IBC Table 1604.3, the rows of roof members and of floor members. IRC R301.7 limits what live load does and has no
    limit of the total, so the total of a floor isn't held to it."""
    found = of(joist(line(20, "dead"), line(40, "snow"), use=use, ceiling=ceiling))
    assert found["live deflection"].capacity == pytest.approx(SPAN / live)
    assert found["total deflection"].capacity == pytest.approx(SPAN / total)
    assert found["live deflection"].source == source
    assert found["total deflection"].source == "IBC Table 1604.3"


def test_wet_lumber_creeps_twice_and_is_less_stiff():
    """NDS 3.5.2: Kcr 2.0 in wet service; E' = 0.9 E (Table 4A). Twice sag(20) of dead and sag(40) of snow, over 0.9.
    Note d of IBC Table 1604.3 would compare 1.0 D + L."""
    total = of(joist(line(20, "dead"), line(40, "snow"), service={"moisture": "wet"}))["total deflection"]
    assert total.demand == pytest.approx((sag(40) + 2 * sag(20)) / 0.9)
    assert total.terms["Kcr"] == 2
    assert "1.0 D + L" in total.terms["compared"]


def test_live_is_without_dead_and_total_has_the_creep_of_the_dead_part():
    found = of(joist(line(20, "dead"), line(40, "snow")))
    live, total = found["live deflection"], found["total deflection"]
    assert live.demand == pytest.approx(sag(40))
    assert total.demand == pytest.approx(sag(40) + 1.5 * sag(20))
    assert total.terms["deflection with Kcr 2.0"] == pytest.approx(sag(40) + 2 * sag(20))
    assert total.terms["Kcr"] == 1.5
    # note d of the table would compare 0.5 D + L; what is compared says that it is stricter
    assert "0.5 D + L" in total.terms["compared"]
    assert "stricter" in total.terms["compared"]
    assert total.demand > sag(40) + 0.5 * sag(20)
    assert total.ratio == pytest.approx(total.demand / (SPAN / 180))
    assert (live.combination, total.combination) == ("D + S", "D + S")
    assert (live.of, live.id, live.at_in) == ("truss", "P", None)
    assert (live.terms["x"], live.terms["member"], live.terms["direction"]) == (48, "M", "down")
    assert "lower bound" in live.terms["means"]


def test_dead_load_alone_has_a_total_deflection_and_no_live_one():
    found = of(joist(line(20, "dead")))
    assert found.keys() == {"total deflection"}
    assert found["total deflection"].demand == pytest.approx(1.5 * sag(20))


def test_creep_is_not_counted_on_against_uplift():
    """0.6W of 200 plf lifts 120 plf; 0.6D of 20 plf holds 12 plf down, without creep."""
    found = of(joist(line(20, "dead"), line(-200, "wind")))
    assert found["live deflection"].demand == pytest.approx(sag(120))
    assert found["total deflection"].combination == "0.6D + 0.6W"
    assert found["total deflection"].demand == pytest.approx(sag(120 - 12))
    assert found["total deflection"].terms["direction"] == "up"


@pytest.mark.parametrize(("first", "second", "loaded"), [(96, 48, "N"), (48, 96, "M")])
def test_each_span_between_neighboring_bearings_has_its_own_limit(first, second, loaded):
    """Two simple spans of 96 and 48 in., only the short one loaded."""
    document = beam(first, "2x6 DF-L No.2", loads={"line": [line(40, "snow", member=loaded)]})
    document["joints"]["C"] = [first + second, 0]
    document["members"].append({"id": "N", "role": "top_chord", "joints": ["B", "C"], "lumber": "2x6 DF-L No.2"})
    document["bearings"].append({"joint": "C", "restrains": "y", "width_in": 3.5})
    document["hinges"] = ["B"]
    found = of(document)["live deflection"]
    assert found.capacity == pytest.approx(48 / 240)
    assert found.demand == pytest.approx(sag(40, 48))
    assert found.terms["x"] == pytest.approx(24 if loaded == "M" else first + 24)


@pytest.mark.parametrize("side", ["left", "right"])
def test_what_stands_out_over_a_wide_bearing_is_in_the_span_beside_it(side):
    """12 in. over a wall of 30, beside a span of 48: its tip moves P a² (L + a)/3EI, more than the span lifts."""
    document = with_end(12, side)
    document["joints"] |= {"A": [98, 0]} if side == "left" else {"B": [98, 0]}
    document["joints"]["C"] = [86 if side == "left" else 110, 0]
    document["bearings"][0 if side == "left" else 1]["width_in"] = 30
    document["loads"] = {"point": [{"case": "snow", "joint": "C", "down_lb": 200}]}
    found = of(document)["live deflection"]
    assert found.demand == pytest.approx(200 * 12**2 * (48 + 12) / (3 * E * INERTIA))
    assert found.capacity == pytest.approx(48 / 240)
    assert "overhang" not in found.terms


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_overhang_is_measured_at_twice_its_length(side):
    """A free end of 36 in. beside a span of 96: P at the tip moves it P a²(L + a)/3EI (handbook, derived)."""
    document = with_end(36, side)
    document["loads"] = {"point": [{"case": "snow", "joint": "C", "down_lb": 200}]}
    found = of(document)["live deflection"]
    assert found.demand == pytest.approx(200 * 36**2 * (SPAN + 36) / (3 * E * INERTIA))
    assert found.capacity == pytest.approx(2 * 36 / 240)
    assert found.terms["x"] == pytest.approx(document["joints"]["C"][0])
    assert "overhang" in found.terms


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("beyond", [1.5, 1.75])
def test_a_chord_end_over_the_bearing_is_no_overhang(beyond, side):
    """A wall of 3.5 in. reaches 1.75 in. beyond the joint; a chord cut flush with it hangs over nothing."""
    document = with_end(beyond, side, line(40, "snow"))
    document["bearings"][1 if side == "left" else 0]["width_in"] = 1.5
    found = of(document)["live deflection"]
    assert found.capacity == pytest.approx(SPAN / 240)
    assert found.demand == pytest.approx(sag(40), rel=1e-3)


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_chord_end_beyond_the_bearing_s_face_is_an_overhang(side):
    """2.5 in. beyond the joint, tilted up by the span's load: wL³/24EI of 2.5 in. against twice that over 240."""
    found = of(with_end(2.5, side, line(40, "snow")))["live deflection"]
    assert found.capacity == pytest.approx(5 / 240)
    assert found.demand == pytest.approx(40 / 12 * SPAN**3 / (24 * E * INERTIA) * 2.5)
    assert found.terms["direction"] == "up"


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_overhang_that_governs_does_not_hide_the_span(side):
    """P at the tip lifts the span by P a L²/(9√3 EI) at most, less of its limit than the tip does (handbook)."""
    document = with_end(36, side)
    document["loads"] = {"point": [{"case": "snow", "joint": "C", "down_lb": 200}]}
    found = of(document)["live deflection"].terms
    assert found["between bearings"] == pytest.approx(200 * 36 * SPAN**2 / (9 * 3**0.5 * E * INERTIA), rel=1e-9)
    assert found["between bearings, allowed"] == pytest.approx(SPAN / 240)
    assert found["between bearings, under"] == "D + S"
    assert "between bearings" not in of(joist(line(20, "snow")))["live deflection"].terms


def test_a_chord_is_looked_at_between_its_joints():
    """A point load in the middle of a panel: PL³/48EI, where no joint moves."""
    document = joist()
    document["loads"] = {"point": [{"case": "snow", "member": "M", "at_in": 48, "down_lb": 300}]}
    assert of(document)["live deflection"].demand == pytest.approx(300 * SPAN**3 / (48 * E * INERTIA))


@pytest.mark.parametrize(("at", "pounds", "way"), [(24, 300, "down"), (80, 300, "down"), (24, -300, "up")])
def test_a_load_off_the_middle_sinks_the_most_beside_it(at, pounds, way):
    """P at a from the farther end, b from the nearer: P b (L² - b²)^1.5 / (9√3 L E I) at √((L² - b²)/3) from the
    farther end (handbook)."""
    document = joist()
    document["loads"] = {"point": [{"case": "snow", "member": "M", "at_in": at, "down_lb": pounds}]}
    found = of(document)["live deflection"]
    b = min(at, SPAN - at)
    farthest = ((SPAN**2 - b**2) / 3) ** 0.5
    assert found.demand == pytest.approx(
        300 * b * (SPAN**2 - b**2) ** 1.5 / (9 * 3**0.5 * SPAN * E * INERTIA), rel=1e-9
    )
    assert found.terms["x"] == pytest.approx(farthest if at > SPAN / 2 else SPAN - farthest, abs=1e-5)
    assert found.terms["direction"] == way


@pytest.mark.parametrize("seed", [1, 2, 3, 7, 8])
def test_stacks_sink_as_each_truss_s_own_integrals_say(seed):
    """Loads on parts of members, both ways of naming a member's ends, long axial forces; inches."""
    trusses = [read(random_truss(seed)) for _ in range(2)]
    taller = random_truss(seed)
    for place in taller["joints"].values():
        place[1] *= 1.1
    trusses.append(read(taller))
    ((_, solution),) = stacks(trusses)
    members = np.arange(len(trusses[0].members))
    along = solution.along(members)
    starts, lengths, _ = along
    down = sinking(solution, members, along)
    # some of them sink as they do among all, whatever stands on the others
    some = sinking(solution, members[1::2], solution.along(members[1::2]))
    assert value_of(some, 0.0)[:, 0] == pytest.approx(value_of(down[:, :, :, 1::2], 0.0)[:, 0], rel=1e-9, abs=1e-12)
    for t in range(len(trusses)):
        response = of_solution(trusses[t], solution, t)
        for share in (0.0, 0.3, 1.0):
            for k in range(len(starts)):
                x = share * lengths[k, :, t]
                # at the start of an empty segment another one begins
                up = response.deflection((starts[k, :, t] + x)[:, None] * (1 - 1e-12))[:, :, 0, 1]
                ours = value_of(down[:, :, k, :, t], x)
                assert ours == pytest.approx(-up, abs=1e-9 * np.abs(up).max())


def test_what_is_left_of_large_forces_that_cancel_is_no_force():
    """1e-8 of the largest, pushed or pulled, of each truss by itself, and at least a millionth of a pound."""
    groups = [np.array([[[[[2.0, 300.0, 0.0]]]]]), np.array([[[[[-500.0, 40.0, 0.0]]]], [[[[1.0, -400.0, 9.0]]]]])]
    assert noise(groups) == pytest.approx(np.array([[5e-6, 3e-6, 1e-6], [1e-6, 4e-6, 1e-6]]))


def test_a_column_spans_nothing():
    document = beam(SPAN, "2x6 DF-L No.2", loads={"point": [{"case": "snow", "joint": "B", "down_lb": 500}]})
    document["joints"]["B"] = [0, SPAN]
    document["bearings"][1]["restrains"] = "x"
    assert of(document) == {}


@pytest.mark.parametrize("free", ["left", "right"])
def test_a_truss_on_one_bearing_is_an_overhang(free):
    """A level chord with a strut below it to a bearing that holds sideways: the tip is 72 in. from the bearing."""
    tip, wall = (0, 72) if free == "left" else (72, 0)
    document = beam(72, "2x6 DF-L No.2")
    document["joints"] = {"A": [wall, 0], "B": [tip, 0], "C": [wall, -60], "D": [wall, -59]}
    lumber = "2x6 DF-L No.2"
    document["members"] += [
        {"id": "W", "role": "web", "joints": ["C", "B"], "lumber": lumber},
        {"id": "V", "role": "bottom_chord", "joints": ["C", "D"], "lumber": lumber},
        {"id": "U", "role": "web", "joints": ["D", "A"], "lumber": lumber},
    ]
    document["bearings"] = [
        {"joint": "A", "restrains": "xy", "width_in": 3.5},
        {"joint": "C", "restrains": "x", "width_in": 3.5},
        {"joint": "D", "restrains": "x", "width_in": 3.5},
    ]
    document["loads"] = {"point": [{"case": "snow", "joint": "B", "down_lb": 300}]}
    found = of(document)["live deflection"]
    assert found.capacity == pytest.approx(2 * 72 / 240)
    assert 0 < found.demand < 0.5
    assert found.terms["x"] == tip
    assert "overhang" in found.terms


def test_creep_factors_are_those_of_the_specification():
    """NDS 3.5.2 (values.md §1.10)."""
    assert (nds.KCR_DRY, nds.KCR_GREEN) == (1.5, 2.0)
