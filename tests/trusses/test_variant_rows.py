"""Rows of copies in plan, parted and joined; and a variant's names and analysis."""

from __future__ import annotations

from trusses.analysis.format.document import read_stored, sha256
from trusses.analysis.load_path import landing
from trusses.analysis.load_path.landing import Stand
from trusses.models import Placement, Truss
from trusses.plan import plan
from trusses.plan.copies import standing, stood
from trusses.revisions import read_and_analyse
from trusses.variants.homes import analysis_of, free_mark, renamed
from trusses.variants.rows import Row, joined, parted, turned_over


def row(*numbers, x=0.0, y=0.0, along="x", spacing=24.0, turned=False):
    return Row("Roof", x, y, along, spacing, turned, "", numbers)


def test_a_row_is_parted_where_copies_leave_it_and_nothing_moves():
    """Nine copies 24 in. apart: 2 and 3 go, 1 stays at 0 and 4 to 9 from 72 in. on."""
    stay, go = parted([row(*range(1, 10))], {2, 3})
    assert stay == [row(1), row(*range(4, 10), y=72)]
    assert go == [row(2, 3, y=24)]


def test_joined_again_it_is_the_row_that_it_was():
    whole = row(*range(1, 10), along="y", x=12)
    stay, go = parted([whole], {1, 4, 9})
    assert [one.x for one in go] == [12, 84, 204]
    assert joined([*go, *stay]) == [whole]


def test_rows_that_are_not_one_stay_apart():
    """Another spacing, a gap, turned end for end, a number that falls: each is a row of its own."""
    first = row(1, 2)
    for other in (row(3, y=48, spacing=16), row(3, y=49), row(3, y=48, turned=True), row(3, x=1, y=48)):
        assert len(joined([first, other])) == 2
    assert len(joined([row(3, 4), row(1, y=48)])) == 2
    assert joined([first, row(3, y=48)]) == [row(1, 2, 3)]


def test_a_place_without_a_copy_stays_with_its_row():
    stay, go = parted([row(1, 2, None)], {2})
    assert (stay, go) == ([row(1), row(None, y=48)], [row(2, y=24)])


def test_turned_over_twice_is_as_it_was():
    assert turned_over(turned_over([row(1)])) == [row(1)]
    assert turned_over([row(1)])[0].stand.turned


def test_names_go_on_after_the_first_mark(job):
    first = Truss(job=job, mark="R1")
    assert free_mark(first, set()) == "R1-b"
    assert free_mark(first, {"R1-b", "R1-c"}) == "R1-d"
    assert free_mark(Truss(job=job, mark="R1-c", variant_of=first), {"R1-b", "R1-c"}) == "R1-d"
    letters = {f"R1-{chr(97 + n)}" for n in range(26)}
    assert free_mark(first, letters) == "R1-aa"


def test_a_long_mark_is_cut_for_its_variants(job):
    """A mark has at most 20 characters."""
    long = Truss(job=job, mark="PORCH-TRUSS-NORTH-01")
    assert (len(long.mark), free_mark(long, set())) == (20, "PORCH-TRUSS-NORTH--b")


def test_the_analysis_of_a_variant_is_the_options_under_its_name(king_post):
    """What an analysis of the renamed document would say: nothing but the mark and the document's SHA-256 differs."""
    _, analysis = read_and_analyse(king_post)
    document = renamed(king_post, "K1-b")
    assert analysis_of(analysis, document) == read_and_analyse(document)[1]
    assert analysis_of(analysis, document)["truss_sha256"] == sha256(document)


def test_a_copy_turned_end_for_end_is_met_from_its_other_end(truss, king_post):
    """K1 is 240 in. between bearings: 60 in. along the plan's line is 180 in. from the left end of a turned copy."""
    place = Placement.objects.create(truss=truss, origin_x_in=10, origin_y_in=0, spacing_in=24, count=3, turned=True)
    truss.copies.update(placement=place)
    one = stood(standing(truss.job)["Roof"])[0]
    assert (one.turned, one.x_at(70)) == (True, 180)
    assert landing_point(truss, turned=True) == (10 + 240, 0)
    assert landing_point(truss, turned=False) == (10, 0)


def landing_point(truss: Truss, turned: bool) -> tuple[float, float]:
    """Where the bearing A of the first copy stands in plan."""
    stand = Stand("Roof", 10, 0, "x", 24, 3, turned)
    return landing._point(read_stored(truss.current.document), "A", stand, next(stand.starts()))


def test_the_places_of_a_plan_start_at_the_marked_end():
    line = plan.Row("K1", 10, 0, "x", 240, 24, 1, turned=True).lines()
    assert line == [(250, 0, 10, 0)]
