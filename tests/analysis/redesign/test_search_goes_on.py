"""Where the least change doesn't do: two openings, a single step that no strip has, and what comes closest."""

from tests.option_cases import assert_honest, floor_truss
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening
from trusses.analysis.redesign.search import Limits, search
from trusses.analysis.shapes import shapes


def duct(name, x, width=12.0, height=8.0):
    return Opening(name, "rectangle", (x, 8.625), width_in=width, height_in=height, clearance_in=0.5)


def test_two_far_openings_are_cleared_without_another_ply():
    """Each alone is cleared by six webs and lumber in one ply; what changes least for the first alone is an open panel
    that carries no second one."""
    given = {"floor_live": 40, "top_dead": 10, "bottom_dead": 5}
    chords = {"top_lumber": "2x4 DF-L No.1", "bottom_lumber": "2x4 DF-L No.1"}
    truss = read(shapes.build("floor", span=288, depth=18, spacing=16, **given, **chords))
    both = [duct("O1", 70.0), duct("O2", 222.0)]
    found = search(truss, both, limits=Limits(seconds=300))
    assert_honest(found, truss, both)
    assert any(one.passes and not one.change.plies for one in found)


def test_a_web_alone_goes_to_a_panel_point_of_its_own():
    """The queen post's left web, its head or foot moved along the chord: no way through a strip of webs has it, since
    one of the webs runs from top chord to top chord."""
    loads = {"top_dead": 10, "bottom_dead": 10, "snow": 20}
    chords = {"top_lumber": "2x4 DF-L No.1", "bottom_lumber": "2x4 DF-L No.1"}
    truss = read(shapes.build("queen-post", span=200, pitch=5, spacing=24, stock=360, **loads, **chords))
    opening = Opening("O1", "circle", (68.25, 18.5), diameter_in=8, clearance_in=1)
    first = search(truss, [opening], limits=Limits(seconds=300))[0]
    assert first.passes
    assert first.change.touched == ("W1",)


def test_where_nothing_passes_the_closest_are_gone_on_with():
    """What changes least comes first, and few turns are left: better lumber on both chords of the framed panel passes,
    which a search that only follows small changes never comes to."""
    truss = floor_truss("2x4 SP No.2")
    opening = Opening("O1", "rectangle", (90, 7.625), width_in=30, height_in=9, clearance_in=0.5)
    short = search(truss, [opening], limits=Limits(seconds=300, follow=1, further=0))
    assert not any(one.passes for one in short)
    found = search(truss, [opening], limits=Limits(seconds=300, follow=1, further=120))
    assert_honest(found, truss, [opening])
    assert any(one.passes for one in found)
