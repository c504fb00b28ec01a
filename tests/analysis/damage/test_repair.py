"""What a repair has to carry, against sums by hand."""

import math

import pytest

from tests.beams import gable
from tests.option_cases import floor_truss, w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.damage.repair import demand, nailing
from trusses.analysis.format.document import read


def test_the_force_over_its_load_duration_by_hand():
    """A post that hangs 900 lb dead and 1,000 lb snow at its foot: 900 / 0.9 = 1,000 under D, 1,900 / 1.15 = 1,652
    under D + S, which governs. Two scabs with nails of 117.6 lb (10d) and 140.9 lb (16d) at G 0.50: 1,652 / 2 / 117.6 =
    7.02, so 8 a face, and 1,652 / 2 / 140.9 = 5.86, so 6."""
    lumber = "2x4 DF-L No.2"
    document = gable(
        loads={
            "point": [
                {"case": "dead", "joint": "B", "down_lb": 900},
                {"case": "snow", "joint": "B", "down_lb": 1000},
            ]
        }
    )
    for member in document["members"]:
        member["lumber"] = lumber
    # hinged where the post hangs, the bottom chord takes none of it by bending
    document["hinges"].append("B")
    needs = demand(analyse(read(document)), "W", 16)
    assert needs.tension_lb == pytest.approx(1900)
    assert (needs.tension_by, needs.compression_by) == ("D + S", None)
    assert needs.holding_lb == pytest.approx(1900 / 1.15)
    assert (needs.holding_by, needs.load_duration) == ("D + S", 1.15)
    assert [(each.lateral.nail.name, each.a_face) for each in needs.nailing] == [("10d common", 8), ("16d common", 6)]
    assert needs.moment_inlb == pytest.approx(0, abs=1e-6)


def test_dead_load_alone_may_govern_the_nails():
    """1,000 lb dead and 200 lb wind: 1,000 / 0.9 = 1,111 over (1,000 + 0.6 · 200) / 1.6 = 700."""
    document = gable(
        loads={
            "point": [
                {"case": "dead", "joint": "B", "down_lb": 1000},
                {"case": "wind", "joint": "B", "down_lb": 200},
            ]
        }
    )
    document["hinges"].append("B")
    needs = demand(analyse(read(document)), "W", 16)
    assert (needs.holding_by, needs.holding_lb) == ("D", pytest.approx(1000 / 0.9))
    assert needs.tension_by == "D + 0.6W"


def test_a_chord_s_moment_and_shear_are_those_at_the_damage():
    """14 plf of dead load over a bottom chord panel of 96 in. hinged at both ends: at the middle wL²/8 = 1,344 in-lb
    and no shear, at the quarter 3/4 of that and wL/4 = 28 lb."""
    document = gable(loads={"line": [{"case": "dead", "member": "B1", "plf": 14}]})
    document["hinges"].append("B")
    analysis = analyse(read(document))
    middle, quarter = (demand(analysis, "B1", at) for at in (48, 24))
    assert (middle.moment_inlb, middle.shear_lb) == (pytest.approx(1344), pytest.approx(0, abs=1e-6))
    assert (quarter.moment_inlb, quarter.shear_lb) == (pytest.approx(1008), pytest.approx(28))


def test_the_largest_forces_are_those_of_the_analysis_document():
    analysis = analyse(w_truss())
    for member, row in analysis.document()["envelope"]["members"].items():
        needs = demand(analysis, member, 1.0)
        assert needs.tension_lb == pytest.approx(row["tension_lb"], abs=0.6)
        assert needs.compression_lb == pytest.approx(row["compression_lb"], abs=0.6)
        assert needs.holding_lb * 1.6 >= max(needs.tension_lb, needs.compression_lb) - 1e-6


@pytest.mark.parametrize(("force", "nails"), [(0, 1), (2 * 100.66 * 3, 3), (2 * 100.66 * 3 + 1, 4)])
def test_whole_nails_a_face(force, nails):
    """10d in SPF, G 0.42: Fe 3,350 psi, 0.148²/2.2 · √(2 · 3,350 · 90,000/6) = 99.81 lb."""
    z = 0.148**2 / 2.2 * math.sqrt(2 * 3350 * 90_000 / 6)
    assert z == pytest.approx(99.81, abs=0.01)
    assert nailing(read(gable()), "W", force * z / 100.66)[0].a_face == nails


def test_what_cannot_be_nailed_so_has_no_count():
    assert nailing(read(gable(plies=2, ply_fastening="nailed")), "W", 500) == ()
    flat = floor_truss()
    assert nailing(flat, flat.members[0].id, 500) == ()
