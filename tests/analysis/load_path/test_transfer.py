"""What carried trusses put on their carrier, as point loads of its document: by hand, arrangement by arrangement."""

from __future__ import annotations

import copy

import pytest

from tests.carried import at, beam, marked, reactions, row
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.load_path.landing import Landing
from trusses.analysis.load_path.taken_up import NOTHING_TAKEN, TakenUp
from trusses.analysis.load_path.transfer import PART, Carried, carry, lent, sideways, stand_ins, without
from trusses.analysis.loads.arrangements import missing
from trusses.analysis.shapes.shapes import build

THIRDS = (Landing("B", "B1", 120, 120), Landing("B", "B1", 240, 240))


def on(document, *landings):
    return Carried(read(document), analyse(read(document)).document(), landings or THIRDS)


def points(document, case="dead"):
    return [
        (load.get("pattern"), load["at_in"], load["down_lb"])
        for load in document["loads"]["point"]
        if load["case"] == case
    ]


def test_two_equal_trusses_on_the_third_points():
    """A truss with 900 lb at 48 in. of its 144: 300 lb at B. Two of them, at the thirds of a girder of 360: 300 lb at
    each of its ends, and a moment of 300 × 120 between them."""
    girder, _ = carry(beam("G1", 360), [on(beam("R5", 144, at(900, 48)))])
    assert [load["note"] for load in girder["loads"]["point"]] == ["from R5 at 10'-0\"", "from R5 at 20'-0\""]
    assert points(girder) == [(None, 120, 300), (None, 240, 300)]
    assert reactions(girder) == {"A": 300, "B": 300}
    case = analyse(read(girder)).document()["cases"]["dead"]
    assert case["members"]["B1"]["peak_moment_inlb"] == pytest.approx(36_000, rel=1e-9)


def test_an_unequal_place_moves_the_girders_reactions():
    """300 lb at 90 of 360: 225 and 75."""
    girder, _ = carry(beam("G1", 360), [on(beam("R5", 144, at(900, 48)), Landing("B", "B1", 90, 90))])
    assert reactions(girder) == {"A": 225, "B": 75}


def test_writing_anew_replaces_what_came_from_the_mark_and_nothing_else():
    own = [at(50, 30, note="a beam"), at(70, 40, note="from the roof at noon"), at(9, 10, note="from R5 at 6'-0\"")]
    girder = beam("G1", 360, *own)
    before = copy.deepcopy(girder)
    first, taken = carry(girder, [on(beam("R5", 144, at(900, 48)))])
    again, anew = carry(first, [on(beam("R5", 144, at(1800, 48)))], taken)
    assert girder == before
    assert again["loads"]["point"][:3] == own
    assert points(again)[3:] == [(None, 120, 600), (None, 240, 600)]
    assert carry(again, [on(beam("R5", 144, at(1800, 48)))], anew) == (again, anew)
    assert without(again, ["R5"], anew)[0]["loads"]["point"] == own
    assert (taken.marks, anew.marks) == (["R5"], ["R5"])
    # without its record a document has nothing that could be taken away
    assert without(again, ["R5"], NOTHING_TAKEN)[0] == again


def test_of_two_loads_alike_one_is_the_marks_and_one_typed_by_hand():
    girder, taken = carry(beam("G1", 360, at(300, 120)), [on(beam("R5", 144, at(900, 48)))])
    assert points(girder) == [(None, 120, 300), (None, 120, 300), (None, 240, 300)]
    assert points(without(girder, ["R5"], taken)[0]) == [(None, 120, 300)]


def test_a_load_is_found_again_where_panel_points_moved_under_it():
    """B1 of 360 in. cut at 100 in.: what stood at 120 of it stands at 20 of the new piece, in the same place."""
    girder, taken = carry(beam("G1", 360), [on(beam("R5", 144, at(900, 48)))])
    girder["joints"]["C"] = [100, 0]
    girder["members"] = [
        girder["members"][0] | {"joints": ["A", "C"]},
        girder["members"][0] | {"id": "B2", "joints": ["C", "B"]},
    ]
    for load in girder["loads"]["point"]:
        load |= {"member": "B2", "at_in": load["at_in"] - 100, "note": "moved, and its note typed over"}
    assert taken.still_in(girder) == taken
    assert without(girder, ["R5"], taken)[0]["loads"]["point"] == []


def test_a_load_that_somebody_changed_is_the_marks_no_longer():
    girder, taken = carry(beam("G1", 360), [on(beam("R5", 144, at(900, 48)))])
    girder["loads"]["point"][0]["down_lb"] = 310
    assert [one.along_in for one in taken.still_in(girder).loads] == [240]


def test_a_record_is_read_as_it_was_written():
    girder = beam("G1", 360, *snow((10, 20), "balanced", "drift"))
    _, taken = carry(girder, [on(beam("R5", 144, *snow((100, 160), "balanced", "left")))])
    assert TakenUp.read(taken.written()) == taken
    assert TakenUp.read({}) == NOTHING_TAKEN


def test_uplift_hangs_with_a_minus():
    truss = beam("R5", 144, at(90, 72), at(-600, 72, "wind", pattern="up"), at(200, 72, "wind", pattern="down"))
    girder, _ = carry(beam("G1", 360), [on(truss)])
    assert points(girder, "wind") == [("up", 120, -300), ("down", 120, 100), ("up", 240, -300), ("down", 240, 100)]


def test_what_acts_alone_keeps_acting_alone():
    girder, _ = carry(beam("G1", 360), [on(beam("R5", 144, at(90, 72), at(60, 72, "attic_storage", acts="alone")))])
    alone = [load for load in girder["loads"]["point"] if load["case"] == "attic_storage"]
    assert [(load["acts"], load["down_lb"]) for load in alone] == [("alone", 30), ("alone", 30)]
    assert "D + L/alone" in analyse(read(girder)).document()["combinations"]


def snow(truss_lb, *patterns):
    return [at(lb, 72, "snow", pattern=name) for lb, name in zip(truss_lb, patterns, strict=True)]


def test_same_names_meet():
    girder = beam("G1", 360, *snow((10, 20), "balanced", "left"))
    carried, taken = carry(
        girder, [on(beam("R5", 144, *snow((100, 60), "balanced", "left")), Landing("B", "B1", 120, 120))]
    )
    assert points(carried, "snow")[2:] == [("balanced", 120, 50), ("left", 120, 30)]
    assert stand_ins(taken, "G1") == []


def test_in_an_arrangement_that_the_carried_truss_lacks_its_heaviest_stands_in():
    girder = beam("G1", 360, *snow((10, 20), "balanced", "drift"))
    truss = beam("R5", 144, *snow((100, 160), "balanced", "left"))
    carried, taken = carry(girder, [on(truss, Landing("B", "B1", 120, 120))])
    assert points(carried, "snow")[2:] == [
        ("left", 72, 20),
        ("balanced", 120, 50),
        ("drift", 120, 80),
        ("left", 120, 80),
    ]
    assert carried["loads"]["point"][-2]["note"] == "from R5 at 10'-0\", its left standing in"
    (found,) = stand_ins(taken, "G1")
    assert (found.code, found.where) == ("stands-in", "G1")
    assert found.values == {"mark": "R5", "case": "snow", "pattern": "drift", "used": ["left"]}


def test_in_an_arrangement_that_the_carrier_lacks_its_own_heaviest_stands_in():
    girder = beam("G1", 360, *snow((10, 20), "balanced", "drift"))
    carried, taken = carry(girder, [on(beam("R5", 144, *snow((100,), "left")), Landing("B", "B1", 120, 120))])
    assert ("left", 72, 20) in points(carried, "snow")
    (found,) = lent(girder, NOTHING_TAKEN, carried, taken)
    assert found.values == {"mark": "G1", "case": "snow", "pattern": "left", "used": []}
    again = carry(carried, [on(beam("R5", 144, *snow((100,), "left")), Landing("B", "B1", 120, 120))], taken)
    assert again == (carried, taken)


def test_nothing_lifts_in_place_of_a_load_that_presses():
    """In the carrier's `up`, a truss that knows only a pressing wind adds nothing: it would hold the carrier down."""
    girder = beam("G1", 360, at(-500, 72, "wind", pattern="up"))
    truss = beam("R5", 144, at(300, 72, "wind", pattern="down"))
    carried, _ = carry(girder, [on(truss, Landing("B", "B1", 120, 120))])
    assert points(carried, "wind") == [("up", 72, -500), ("down", 120, 150)]


def test_a_load_without_arrangements_is_in_all_of_the_carriers():
    girder = beam("G1", 360, *snow((10, 20), "balanced", "left"))
    carried, _ = carry(girder, [on(beam("R5", 144, at(100, 72, "snow")), Landing("B", "B1", 120, 120))])
    assert points(carried, "snow")[2:] == [(None, 120, 50)]
    rows = analyse(read(carried)).document()["cases"]
    assert {name for name in rows if name.startswith("snow")} == {"snow/balanced", "snow/left"}
    assert rows["snow/left"]["reactions_lb"]["A"][1] == pytest.approx(50 * 240 / 360 + 20 * 288 / 360)


def test_live_load_on_one_part_of_a_floor_girder_is_looked_at_too():
    """Every carried floor truss brings its full load to both halves of the girder: the arrangements left and right of
    the girder have to be made, and are made anew, not piled up, the next time."""
    usual = {"top_dead": 12, "bottom_dead": 5, "floor_live": 40, "spacing": 16, "depth": 16, "bottom_restraint": 48}
    truss = build("floor", mark="F5", span=144, **usual)
    girder = build("floor", mark="G1", span=240, plies=2, ply_fastening="nailed, invented for a test", **usual)
    far = truss["bearings"][1]["joint"]
    members = [m for m in read(girder).members if m.role == "bottom_chord"]
    landings = [Landing(far, m.id, 6.0, read(girder).joint(m.joints[0]).x + 6) for m in members]
    carried, taken = carry(girder, [on(truss, *landings)])
    assert missing(read(girder)) == ()
    assert missing(read(carried)) == ()
    names = {load["pattern"] for load in carried["loads"]["point"] if load["case"] == "live"}
    assert names == {"all", "left", "right", f"left{PART}", f"right{PART}"}
    half = [load for load in carried["loads"]["point"] if load.get("pattern") == f"left{PART}"]
    assert 0 < len(half) < len(landings)
    assert set(taken.parts) == {("live", f"left{PART}"), ("live", f"right{PART}")}
    assert carry(carried, [on(truss, *landings)], taken) == (carried, taken)
    assert without(carried, ["F5"], taken)[0]["loads"] == {**girder["loads"], "point": []}


def test_an_arrangement_of_that_name_that_was_typed_by_hand_stays():
    girder = beam("G1", 360, at(10, 72, "live", pattern=f"left{PART}"))
    carried, _ = carry(girder, [on(beam("R5", 144, at(900, 48)))])
    assert (f"left{PART}", 72, 10) in points(carried, "live")


def test_a_push_along_the_span_is_said_since_the_carrier_does_not_take_it():
    truss = beam("R5", 144, at(90, 72), {**at(0, 72, "wind", pattern="up"), "right_lb": 40})
    (found,) = sideways(on(truss, Landing("A", "B1", 120, 120)))
    assert (found.code, found.values["case"]) == ("pushes-sideways", "wind/up")
    assert found.values["force_lb"] == pytest.approx(40)
    assert sideways(on(truss)) == []


def test_marked_is_what_it_says():
    assert marked(beam("R5", 144, at(900, 48)), 2, row(0, 0, "y")).copies == 2
