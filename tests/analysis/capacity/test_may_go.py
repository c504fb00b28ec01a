"""What hangs on a truss may be taken away any day: nothing counts on it, and what it strains has it. By statics by hand
on a beam with an overhang, and by trusses that wind lifts."""

import copy

import pytest

from tests.beams import beam, line
from tests.option_cases import w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.capacity.most import MOST_LB, most_lb
from trusses.analysis.capacity.placing import Placement
from trusses.analysis.capacity.strengthened import Weight, bearing_all, taken
from trusses.analysis.format.document import read
from trusses.analysis.loads.combinations import combinations
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.requirements.supports import supports

MIDDLE = Placement("bottom_chord", "point", 216.0)


def in_a_storm(by=2.0, **more):
    """The truss with `by` times its wind, which lifts it off its bearings."""
    truss = w_truss()
    area = [
        {**load, "psf": load["psf"] * (by if load["case"] == "wind" else 1)} for load in truss.document["loads"]["area"]
    ]
    return read({**truss.document, "loads": {**truss.document["loads"], "area": area}, **more})


def ties(truss):
    """Uplift of each bearing, lb."""
    return [one["uplift_lb"] for one in analyse(truss).document()["envelope"]["reactions_lb"].values()]


def overhanging(*points, case="dead"):
    """A beam of 144 in. between A and B that goes on for 96 in.: with 600 lb of `case` at its end B takes 600 · 240
    / 144 = 1000 lb, and A is lifted by 400 lb."""
    return read(
        {
            "format": "chordchange.truss",
            "version": 1,
            "mark": "C1",
            "use": "floor",
            "spacing_in": 24,
            "joints": {"A": [0, 0], "B": [144, 0], "E": [240, 0]},
            "members": [
                {"id": "B1", "role": "bottom_chord", "joints": ["A", "B"], "lumber": "2x12 DF-L No.1"},
                {"id": "B2", "role": "bottom_chord", "joints": ["B", "E"], "lumber": "2x12 DF-L No.1"},
            ],
            "bearings": [
                {"joint": "A", "restrains": "xy", "width_in": 3.5},
                {"joint": "B", "restrains": "y", "width_in": 3.5},
            ],
            "loads": {"point": [{"case": case, "joint": "E", "down_lb": 600}, *points]},
        }
    )


def hung(x_in, pounds, note="air handler"):
    return Weight(pounds, Placement("bottom_chord", "point", x_in), note=note)


class TestByHand:
    @pytest.mark.parametrize(
        ("case", "name"), [("dead", "D/without air handler"), ("snow", "D/without air handler + S")]
    )
    def test_what_dead_load_or_snow_lifts_isnt_held_down_by_what_hangs(self, case, name):
        """400 lb in the middle would press A down by 200 lb and leave 200 lb of uplift; all 400 lb are to be held."""
        truss = bearing_all(overhanging(case=case), [hung(72, 400)])
        analysis = analyse(truss)
        a, b = supports(analysis.results, analysis.document()["checks"])
        assert (a.uplift.lb, a.uplift.by) == (pytest.approx(400), name)
        assert a.by_case["dead/air handler"] == pytest.approx(200)
        # and B carries the heavier of both
        assert b.down.lb == pytest.approx(1000 + 200)

    def test_what_hangs_on_the_overhang_lifts_the_far_bearing(self):
        """300 lb at the end lift A by 300 · 96 / 144 = 200 lb more: that is with it."""
        truss = bearing_all(overhanging(), [hung(240, 300)])
        assert ties(truss) == pytest.approx([600, 0])

    def test_of_two_things_the_one_that_holds_goes_and_the_one_that_lifts_stays(self):
        truss = bearing_all(overhanging(), [hung(72, 400), hung(240, 300, "tub")])
        assert ties(truss) == pytest.approx([600, 0])
        found = analyse(truss).document()
        assert found["combinations"]["D/without air handler"]["reactions_lb"]["A"][1] == pytest.approx(-600)
        assert found["combinations"]["D"]["reactions_lb"]["A"][1] == pytest.approx(-400)

    def test_more_things_go_one_by_one_and_all_at_once(self):
        names = "abcde"
        truss = bearing_all(overhanging(), [hung(72 + i, 100, name) for i, name in enumerate(names)])
        found = [one.name for one in combinations(truss, analyse(truss).cases)]
        one, others = ([f"D/without {' and '.join(those)}" for those in ways] for ways in (
            [[name] for name in names], [[each for each in names if each != name] for name in reversed(names)],
        ))  # fmt: skip
        assert found == ["D", *one, *others, "D/without a and b and c and d and e"]

    def test_live_load_is_there_or_not_by_itself(self):
        truss = bearing_all(overhanging(), [Weight(400, Placement("bottom_chord", "point", 72), case="live")])
        assert [load.may_go for load in truss.loads] == [None, None]
        assert ties(truss) == pytest.approx([400, 0])


class TestWind:
    @pytest.mark.parametrize("at_in", [72.0, 216.0, 400.0])
    @pytest.mark.parametrize("share", [None, 1.0, 0.7])
    def test_a_tie_is_that_of_the_truss_without_it(self, at_in, share):
        truss = in_a_storm(**({} if share is None else {"uplift_dead_share": share}))
        before = ties(truss)
        assert max(before) > 100
        loaded = bearing_all(truss, [Weight(220.0, Placement("bottom_chord", "point", at_in))])
        assert ties(loaded) == pytest.approx(before, abs=0.01)
        assert loaded.uplift_dead_share == share

    def test_that_no_share_is_stated_is_still_said_with_a_weight_on_it(self):
        loaded = bearing_all(in_a_storm(), [Weight(220.0, MIDDLE)])
        assert "uplift-dead-share" in [one.code for one in analyse(loaded).findings]

    def test_each_check_is_the_worse_of_with_and_without_it(self):
        """The same truss, its pounds of dead load on the truss for good: with, and without them."""
        truss = in_a_storm()
        loaded = bearing_all(truss, [Weight(300.0, MIDDLE)])
        for_good = copy.deepcopy(loaded.document)
        del for_good["loads"]["point"][0]["may_go"]
        sides = [_ratios(read(for_good)), _ratios(truss)]
        both = _ratios(loaded)
        assert both.keys() == sides[0].keys() | sides[1].keys()
        # under 0.6D the thing is there or not, and each of the two has that combination one way only
        for key, ratio in both.items():
            assert ratio == pytest.approx(max(side.get(key, 0.0) for side in sides), abs=1e-6), key
        worse = [key for key in both if sides[1].get(key, 0.0) > sides[0].get(key, 0.0) + 1e-3]
        assert worse, "no check of this truss is worse without the weight: the test shows nothing"

    def test_a_redesign_is_checked_without_it_too(self):
        """Without it a redesign is no truss that was ever checked, so its own checks have to hold both ways."""
        over = taken(in_a_storm(), [Weight(4_000.0, MIDDLE)])
        assert over.ways
        for way in over.ways:
            empty = copy.deepcopy(way.document)
            empty["loads"]["point"] = [load for load in empty["loads"].get("point", ()) if "may_go" not in load]
            assert len(empty["loads"]["point"]) < len(way.document["loads"]["point"])
            if way.passes:
                assert analyse(read(empty)).passes
            assert ties(read(way.document)) == pytest.approx(ties(read(empty)), abs=0.01)


class TestTheMost:
    def test_it_is_what_passes_as_it_is_hung_by_bisection(self):
        truss = in_a_storm()
        (most,) = most_lb(truss, [MIDDLE])
        low, high = 0.0, MOST_LB
        while high - low > 0.5:
            middle = (low + high) / 2
            passes = analyse(bearing_all(truss, [Weight(middle, MIDDLE)])).passes
            low, high = (middle, high) if passes else (low, middle)
        assert 0 < most < MOST_LB
        assert most == pytest.approx(low, abs=1.5)

    def test_where_only_the_weight_would_hold_it_down_it_takes_none(self):
        """Wind bends a beam of 60 in. upward by 1800 lb in the middle, too much by 2 %; 100 lb there, were they counted
        on, would take 0.6 · 100 lb of the 0.6 · 1800 lb off it."""
        wind = {"case": "wind", "member": "M", "at_in": 30, "down_lb": -1800}
        loads = {"line": [line(5, "dead")], "point": [wind]}
        truss = read(beam(60, "2x6 SPF No.1/No.2", role="bottom_chord", ceiling="none", loads=loads))
        where = Placement("bottom_chord", "point", 30)
        for_good = bearing_all(truss, [Weight(100.0, where)]).document
        assert not analyse(read(for_good)).passes
        del for_good["loads"]["point"][1]["may_go"]
        assert analyse(read(for_good)).passes
        assert most_lb(truss, [where]) == pytest.approx([0])
        # a little less of that wind, and what the beam takes is what it takes without any wind
        wind["down_lb"] = -1750
        calmer = read(beam(60, "2x6 SPF No.1/No.2", role="bottom_chord", ceiling="none", loads=loads))
        calm = read(beam(60, "2x6 SPF No.1/No.2", role="bottom_chord", ceiling="none", loads={"line": loads["line"]}))
        assert most_lb(calmer, [where]) == pytest.approx(most_lb(calm, [where]), abs=1)


def _ratios(truss):
    return {(one.of, one.id, one.rule): one.ratio for one in analyse(truss).checks}


def test_two_of_one_name_are_told_apart_and_a_redesign_keeps_the_names():
    truss = bearing_all(
        overhanging(), [hung(72, 400), hung(100, 300), hung(120, 20, "pan + drain/overflow, 1/2 full of")]
    )
    names = [load.may_go for load in truss.point_loads if load.may_go]
    assert names == ["air handler", "air handler 2", "pan drain overflow 1 2 f"]
    draft = Draft(truss.document)
    draft.split("bottom_chord", 60.0)
    assert [load.may_go for load in read(draft.document()).point_loads if load.may_go] == names
