"""What a job builds with holds for every ask that is answered by making trusses stronger, not for openings alone."""

from dataclasses import replace

import numpy as np
import pytest

from tests.option_cases import w_truss
from trusses.analysis.bearings.changed import move
from trusses.analysis.capacity.most import most_lb
from trusses.analysis.capacity.placing import Placement
from trusses.analysis.capacity.strengthened import Weight, bearing_all, taken
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening
from trusses.analysis.lumber import LUMBER
from trusses.analysis.made_stronger import Start, made_stronger, upright
from trusses.analysis.passages.row import Passage, Row
from trusses.analysis.passages.ways import ways
from trusses.analysis.piece_names import sawn_pieces
from trusses.analysis.redesign.building import USUAL, Building, apart
from trusses.analysis.redesign.draft import Draft
from trusses.analysis.redesign.search import written

PANEL = Placement("bottom_chord", "point", 216.0)
ROW = Row(tuple(range(1, 8)), tuple(24.0 * i for i in range(7)))


def lumber_of(document):
    return {member["lumber"] for member in document["members"]}


def points(draft):
    return np.array([draft.at(joint) for joint in draft.joints if draft.webs_at(joint)])


def load(building):
    truss = w_truss()
    weight = Weight(2.5 * most_lb(truss, [PANEL])[0], PANEL)
    return truss, [(way.document, way.told) for way in taken(truss, [weight], building=building).ways]


def bearing(building):
    truss = w_truss("2x6 SPF 2100f-1.8E")
    far = max(truss.bearings, key=lambda each: truss.joint(each.joint).x).joint
    return truss, [(way.document, way.told) for way in move(truss, far, 396.0, building=building).ways]


def passage(building):
    truss = w_truss()
    found = ways(truss, ROW, Passage(72.0, 216.0, 22.0, 30.0), 96.0, building=building)
    docs = [(each.document, each.candidate.told) for way in found for each in way.copies if each.candidate]
    return truss, docs + [(on.analysis.truss.document, None) for way in found if way.one for on in way.one.copies]


@pytest.mark.parametrize("kind", [load, bearing, passage])
def test_nothing_new_is_offered_outside_the_job_s_list(kind):
    truss, free = kind(USUAL)
    today = lumber_of(truss.document)
    outside = set().union(*(lumber_of(document) for document, _ in free)) - today
    assert outside
    stock = frozenset(LUMBER) - outside
    _, kept = kind(Building(lumber=stock))
    assert kept
    for document, told in kept:
        assert lumber_of(document) <= today | stock
        limits = [each["values"] for each in told or () if each["code"] == "building"]
        if told is not None and lumber_of(document) - today:
            assert [each["stock"] for each in limits] == [len(stock)]


def test_a_new_web_is_of_the_stock_even_where_today_s_isn_t():
    truss, found = load(Building(lumber=frozenset({"2x4 SPF 2400f-2.0E"})))
    was = {member["id"]: member["lumber"] for member in truss.document["members"]}
    webs = [m for document, _ in found for m in document["members"] if m["role"] == "web" and m["id"] not in was]
    assert {web["lumber"] for web in webs} == {"2x4 SPF 2400f-2.0E"}


def test_a_header_is_of_the_stock_and_where_there_is_none_it_is_no_way():
    truss, hatch = w_truss(), Passage(72.0, 216.0, 22.0, 30.0)
    own = {key for key in LUMBER if key.startswith("2x") and key.endswith("SPF 2100f-1.8E")}
    for stock in (own - {"2x4 SPF 2100f-1.8E"}, {"2x4 SPF No.1/No.2"}):
        found = ways(truss, ROW, hatch, 36.0, building=Building(lumber=frozenset(stock)))
        framed = next(way for way in found if way.kind == "headers")
        used = {header.analysis.truss.members[0].lumber for header in framed.headers}
        assert all(header.stocked is bool(stock & own) for header in framed.headers)
        assert used <= stock or not framed.passes


def longest_in(document):
    return max(piece.length_in for piece in sawn_pieces(document))


def test_no_web_comes_too_near_to_an_opening():
    truss, duct = w_truss(), Opening("O1", "circle", (206.0, 10.0), diameter_in=14)
    with_duct = read({**truss.document, "openings": [written(duct)]})
    today = Draft(with_duct.document)
    starts = [Start(each, (note,)) for each, note in upright(today, today, "bottom_chord", 206.0)]
    assert starts
    assert all(apart([duct], points(start.draft)).min() < 4 for start in starts)
    assert made_stronger(with_duct, starts) == []
    found = taken(with_duct, [Weight(2.5 * most_lb(truss, [PANEL])[0], PANEL)]).ways
    assert any(points(Draft(way.document)).shape != points(today).shape for way in found)  # it has webs more
    for way in found:
        assert apart([duct], points(Draft(way.document))).min() >= USUAL.from_joints_in - 1e-6


def test_no_piece_grows_over_the_stock_s_length():
    """Its bottom chord is of three pieces of 144 in.: without the splice at b1 two of them are one of 288."""
    truss = w_truss()
    heavier = bearing_all(truss, [Weight(2.5 * most_lb(truss, [PANEL])[0], PANEL)])
    whole = Draft(heavier.document)
    whole.hinges = whole.hinges - {"b1"}
    assert longest_in(truss.document) == pytest.approx(144)
    assert made_stronger(truss, [Start(whole)]) == []
    stocked = made_stronger(truss, [Start(whole)], building=replace(USUAL, longest_piece_in=288.0))
    assert [longest_in(way.document) for way in stocked if way.passes and way.change.touched]
    assert max(longest_in(way.document) for way in stocked) == pytest.approx(288)
    spliced = made_stronger(truss, [Start(whole), Start(Draft(heavier.document))])
    assert any(way.passes and way.change.touched for way in spliced)
    assert all(longest_in(way.document) <= 240 for way in spliced)


def test_an_opening_that_stands_too_near_today_may_stay():
    """Approved as the truss was, 2 in. from a panel point: other asks are answered all the same."""
    truss = w_truss()
    foot = min((j for j in truss.joints if j.y == 0), key=lambda joint: abs(joint.x - 144))
    near = Opening("O1", "rectangle", (foot.x, 60.0), width_in=4, height_in=4)
    weight = 1.5 * most_lb(truss, [PANEL])[0]
    for own in ((), (near,)):
        held = read({**truss.document, "openings": [written(each) for each in own]})
        shop = replace(USUAL, from_joints_in=80.0 if own else 4.0)
        found = taken(held, [Weight(weight, PANEL)], building=shop).ways
        assert any(way.passes for way in found)
