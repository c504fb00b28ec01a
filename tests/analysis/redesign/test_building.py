"""A job's own lumber and rates in the search."""

from __future__ import annotations

from tests.option_cases import DUCT, assert_honest, w_truss
from trusses.analysis.compare import board_feet, pieces
from trusses.analysis.format.document import read
from trusses.analysis.redesign.building import Building, Rates
from trusses.analysis.redesign.search import search
from trusses.analysis.redesign.stock import from_stock
from trusses.analysis.requirements.joints import plated_joints

SMALL = "2x4 SPF No.1/No.2"


def lumber_of(document) -> set[str]:
    return {member["lumber"] for member in document["members"]}


def test_nothing_new_is_offered_outside_the_list() -> None:
    truss = w_truss()
    today = lumber_of(truss.document)
    (used,) = (one for one in search(truss, [DUCT])[:1])
    better = lumber_of(used.document) - today
    assert better
    stock = frozenset({"2x6 SPF 2250f-1.9E"} if "2x6 SPF 2250f-1.9E" not in better else set())
    found = search(truss, [DUCT], building=Building(lumber=stock))
    assert_honest(found, truss, [DUCT])
    for one in found:
        assert lumber_of(one.document) <= today | stock


def test_a_new_web_is_of_the_stock_even_where_today_s_isn_t() -> None:
    stock = frozenset({"2x4 SPF 2400f-2.0E"})
    found = search(w_truss(), [DUCT], building=Building(lumber=stock))
    for one in found:
        was = {member["id"]: member["lumber"] for member in w_truss().document["members"]}
        for member in one.document["members"]:
            assert member["role"] != "web" or member["lumber"] in {was.get(member["id"]), *stock}
    assert any(set(one.change.touched) for one in found)


def test_what_serves_in_stock_is_no_weaker() -> None:
    assert from_stock(SMALL, False, frozenset({"2x4 SPF 2100f-1.8E", "2x4 SPF 2400f-2.0E"})) == "2x4 SPF 2100f-1.8E"
    assert from_stock(SMALL, False, frozenset({"2x4 SPF Stud", "2x6 SPF 2400f-2.0E", "2x4 DF-L No.1"})) is None
    assert from_stock(SMALL, False, frozenset()) is None


def test_with_rates_what_costs_less_comes_first_among_changes_of_one_size() -> None:
    """One rate alone, for each thing that is paid for; 1.25 a piece and 2 a joint of hand-counted differences."""
    truss = w_truss()
    for rates in (Rates(board_foot=0.9), Rates(piece=1.25), Rates(1.0, 1.25, 2.0)):
        found = [one for one in search(truss, [DUCT], building=Building(rates=rates)) if one.passes]
        costs = []
        for one in found:
            after = read(one.document)
            feet = board_feet(one.document) - board_feet(truss.document)
            more = pieces(one.document) - pieces(truss.document)
            joints = plated_joints(after) - plated_joints(truss)
            costs.append(rates.board_foot * feet + rates.piece * more + rates.joint * joints)
        keys = [(*one.change.size[:2], round(cost, 2)) for one, cost in zip(found, costs, strict=True)]
        assert keys == sorted(keys)
    assert Rates(1.0, 1.25, 2.0).of(10, 2, 3) == 10 + 2.5 + 6
