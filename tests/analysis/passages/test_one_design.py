"""One design for copies that carry different things: held under the loads of each."""

import copy
from itertools import permutations
from types import SimpleNamespace

import pytest

from tests.option_cases import floor_truss, w_truss
from trusses.analysis.analysis import analyse
from trusses.analysis.checks.surroundings import NOTHING_SAID
from trusses.analysis.format.document import read
from trusses.analysis.made_stronger import Start, made_stronger
from trusses.analysis.passages.one_design import CopyUnder, OnCopy, OneDesign, one_design, under
from trusses.analysis.passages.row import Passage, Row, for_width
from trusses.analysis.passages.ways import ways
from trusses.analysis.redesign.draft import Draft

TRUSS = w_truss()


def hung(document, *weights):
    """The document with dead loads (x along the bottom chord, pounds)."""
    out = copy.deepcopy(document)
    for x, pounds in weights:
        member, point = Draft(out).chord_under("bottom_chord", x)
        first = out["joints"][next(m["joints"][0] for m in out["members"] if m["id"] == member)]
        load = {"case": "dead", "member": member, "at_in": abs(point[0] - first[0]), "down_lb": pounds}
        out["loads"].setdefault("point", []).append(load)
    return out


def strong(truss):
    return next((one for one in made_stronger(TRUSS, [Start(Draft(truss.document))]) if one.passes), None)


def carrying(number, *weights, stronger=True):
    analysis = analyse(read(hung(TRUSS.document, *weights)))
    return CopyUnder(number, 24.0, analysis, strong(analysis.truss) if stronger else None)


def test_the_design_of_who_carries_most_is_looked_at_on_the_others():
    """Copy 1 bears far more on the left than copy 2 on the right; what holds the left chord up leaves the right one as
    it is, so that the design for copy 1 is over a limit on copy 2."""
    left, right = carrying(1, (70, 400)), carrying(2, (362, 300))
    assert left.passes
    assert right.passes
    assert left.analysis.worst_ratio > right.analysis.worst_ratio > 1
    only_left = analyse(under(left.document, right.analysis.truss.document))
    assert not only_left.passes
    none = one_design([left, right], lambda truss: None, NOTHING_SAID)
    assert not none.passes
    assert len(none.failing) == 1
    one = one_design([left, right], strong, NOTHING_SAID)
    assert one.passes
    assert one.stronger
    for on in one.copies:
        assert on.analysis.worst_ratio == pytest.approx(analyse(on.analysis.truss).worst_ratio)


def test_a_design_of_less_load_serves_where_the_heaviest_one_doesn_t():
    """Copy 2 bears a little less at the left and something at the right too: its design holds for both."""
    left, both = carrying(1, (70, 400)), carrying(2, (70, 390), (362, 300))
    assert left.analysis.worst_ratio > both.analysis.worst_ratio
    one = one_design([left, both], lambda truss: None, NOTHING_SAID)
    assert one.passes
    assert Draft(one.copies[0].analysis.truss.document).wood() == Draft(both.document).wood()


def test_loads_keep_their_places_where_the_design_has_more_panel_points():
    """A load on a member that the design split: the reactions are those of the copy's own truss."""
    own = hung(for_width(TRUSS.document, 30.0, 36.0), (70, 900), (300, 150))
    draft = Draft(TRUSS.document)
    for x in (70, 362):
        draft.split("bottom_chord", x)
    design = draft.document()
    truss = under(design, own)
    assert truss.spacing_in == 36
    assert len(truss.members) > len(TRUSS.members)
    was, now = analyse(read(own)).results.by_case, analyse(truss).results.by_case
    assert now.reactions == pytest.approx(was.reactions, abs=1e-6)


def on(number, ratio, **failing):
    """`live` and `total` are deflections."""
    rules = {"live": "live deflection", "total": "total deflection"}
    checks = [SimpleNamespace(rule=rules.get(rule, rule), ratio=over, passes=False) for rule, over in failing.items()]
    return OnCopy(number, SimpleNamespace(checks=checks, worst_ratio=ratio))


def test_strength_is_shown_before_deflection_and_nothing_hides_behind_it():
    """A designer may accept a deflection that is shown: not while another copy is over a limit of strength."""
    bent, sagging = on(1, 1.1, bending=1.1, total=1.05), on(2, 1.3, total=1.3)
    assert OneDesign((bent, sagging), True).governing.number == 1
    assert OneDesign((bent, sagging), True).hides
    assert OneDesign((on(1, 1.1, bending=1.1), on(2, 1.3, shear=1.3)), True).hides
    assert OneDesign((on(1, 1.1, live=1.1), on(2, 1.3, total=1.3)), True).hides
    assert not OneDesign((on(1, 0.9), on(2, 1.3, total=1.3)), True).hides


def test_no_copy_sags_more_under_a_load_than_is_shown_of_it():
    """Copy 1 governs by its total deflection and is hardly over its live deflection: who accepts that accepts nothing
    of copy 2, which is further over it."""
    shown, more, less = on(1, 1.3, total=1.3, live=1.01), on(2, 1.28, live=1.28), on(3, 1.2, total=1.2, live=1.01)
    for copies in ((shown, more), (more, shown), (shown, less, more)):
        assert OneDesign(copies, True).governing is shown
        assert OneDesign(copies, True).hides
    assert not OneDesign((shown, less), True).hides


@pytest.mark.parametrize("truss", [w_truss(), floor_truss()])
def test_every_way_that_passes_holds_on_each_copy(truss):
    """The wood that is offered, read anew under each copy's loads, without the way's own words."""
    row = Row(tuple(range(1, 10)), tuple(truss.spacing_in * i for i in range(9)))
    width = 1.3 * truss.spacing_in
    for way in ways(truss, row, Passage(4 * truss.spacing_in, 120.0, width, 30.0), 3 * truss.spacing_in):
        if not way.copies or not way.passes:
            continue
        shown = way.one.governing
        for each, on in zip(way.copies, way.one.copies, strict=True):
            again = analyse(under(shown.analysis.truss.document, each.analysis.truss.document))
            assert again.passes
            assert again.worst_ratio == pytest.approx(on.analysis.worst_ratio)
            assert again.worst_ratio <= shown.analysis.worst_ratio + 1e-9


def test_of_copies_alike_in_their_ratio_the_one_that_presses_most_is_shown():
    """A slenderness governs on each copy alike, whatever it carries: by their order the one that carries least was
    shown, and what is below was told its reactions."""
    copies = []
    for number, width in enumerate((14.0, 20.0, 16.0)):
        document = analyse(read(for_width(TRUSS.document, width, width))).document
        copies.append(OnCopy(number, SimpleNamespace(checks=[], worst_ratio=0.96, document=document)))
    assert copies[1].presses > copies[2].presses > copies[0].presses
    for order in permutations(copies):
        assert OneDesign(order, True).governing.number == 1
    worse = OnCopy(3, SimpleNamespace(checks=[], worst_ratio=0.97, document=copies[0].analysis.document))
    assert OneDesign((*copies, worse), True).governing is worse
