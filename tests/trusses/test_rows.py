"""Rows of restraint in a job's plan: whom an option touches, and where the sheet says that a row runs."""

from __future__ import annotations

import copy

import pytest
from django.urls import reverse

from trusses.analysis.alike import mirrored
from trusses.designs import turned_design
from trusses.models import Copy, Placement
from trusses.plan import rows
from trusses.revisions import add_mark


def placed(truss, y=0.0, level="Roof", x=0.0):
    """All copies of a mark in a row from `y` on, 24 in. apart."""
    stand = Placement.objects.create(
        truss=truss, level=level, origin_x_in=x, origin_y_in=y, direction="x", spacing_in=24, count=truss.copies.count()
    )
    truss.copies.update(placement=stand)
    return stand


@pytest.fixture
def king_post(king_post):
    """Wind under its bottom chord presses the post."""
    king_post["loads"]["point"] = [{"case": "wind", "joint": "D", "down_lb": -1500, "pattern": "up"}]
    return king_post


@pytest.fixture
def held(job, designer, king_post):
    """Mark K1 with a row on its post, four copies side by side of which the last three are cut."""
    king_post["lateral_restraint"]["webs"] = {"W1": 1}
    truss = add_mark(job, king_post, 4, designer)
    placed(truss)
    truss.copies.filter(number__gt=1).update(stage="cut", built_to=truss.current)
    return truss


@pytest.fixture
def without_row(king_post):
    other = copy.deepcopy(king_post)
    other["lateral_restraint"] = {"top_chord_in": 24, "bottom_chord_in": 48}
    return other


class TestTouched:
    def test_cut_copies_keep_their_row_and_lose_a_neighbour(self, held, without_row):
        found = rows.touched(held, without_row, None)
        assert found.trusses == ["K1-2", "K1-3", "K1-4"]
        (cut,) = found.cut
        assert cut.says.startswith("The row on W1 of K1-2 to K1-4 doesn't run on into K1-1 any more: ")
        assert "In K1-1, W1 has no row any more." in cut.says
        assert "how is the truss designer's to say" in cut.says

    def test_the_force_is_that_of_the_stored_analysis(self, held, without_row):
        """2 % of the largest compression of the web, which is what the document's envelope has."""
        (cut,) = rows.touched(held, without_row, None).cut
        most = held.current.analysis["envelope"]["members"]["W1"]["compression_lb"]
        assert most > 0
        assert cut.compression_lb == pytest.approx(most)
        assert cut.row_lb == pytest.approx(0.02 * most)
        assert f"{most:,.0f} lb, and a row there holds 2% of that, {0.02 * most:,.0f} lb" in cut.says

    def test_the_last_one_left_has_nothing_to_run_to(self, held, without_row):
        held.copies.filter(number__in=(2, 3)).update(stage="released", built_to=None)
        (cut,) = rows.touched(held, without_row, None).cut
        assert cut.says.startswith("The row on W1 of K1-4 has nothing to run to: reinforce that web singly, or keep")

    def test_copies_that_all_follow_touch_nobody(self, held, without_row):
        held.copies.update(stage="designing", built_to=None)
        assert not rows.touched(held, without_row, None)

    def test_an_adjoining_row_of_another_mark_is_touched(self, held, without_row, job, designer, king_post):
        held.copies.update(stage="designing", built_to=None)
        other = add_mark(job, {**king_post, "mark": "K2"}, 2, designer)
        placed(other, y=4 * 24)
        assert rows.touched(held, without_row, None).trusses == ["K2-1", "K2-2"]
        other.placements.update(level="Porch")
        assert not rows.touched(held, without_row, None)
        other.placements.update(level="Roof", origin_x_in=240)
        assert not rows.touched(held, without_row, None)

    def test_a_new_row_that_no_neighbour_has_is_told_with_its_force(self, job, designer, king_post, without_row):
        truss = add_mark(job, without_row, 2, designer)
        placed(truss)
        truss.copies.filter(number=2).update(stage="cut", built_to=truss.current)
        king_post["lateral_restraint"]["webs"] = {"W1": 1}
        found = rows.touched(truss, king_post, truss.current.analysis)
        assert found.trusses == []
        (one,) = found.lonely
        assert one.says.startswith(
            "The row on W1 of K1-1 has no like web beside it to run to: reinforce the web singly."
        )
        assert one.row_lb == pytest.approx(0.02 * truss.current.analysis["envelope"]["members"]["W1"]["compression_lb"])

    def test_trusses_without_rows_ask_nothing_of_the_database(
        self, job, designer, without_row, django_assert_num_queries
    ):
        truss = add_mark(job, without_row, 1, designer)
        with django_assert_num_queries(0):
            assert not rows.touched(truss, without_row, None)

    def test_places_without_a_copy_stand_there_too(self, held, without_row):
        held.placements.update(count=6)
        Copy.objects.filter(truss=held).update(stage="designing", built_to=None)
        held.copies.filter(number=4).update(stage="cut", built_to=held.current)
        assert rows.touched(held, without_row, None).trusses == ["K1-4"]


DUCT = {"id": "O1", "shape": "circle", "centre_in": [125.25, 30], "diameter_in": 6, "clearance_in": 0}
"""Half an inch from the right edge of W1, where its row is."""
LEFT_ONLY = (
    "The row on W1 through K1-1 to K1-4 runs on the left edge in all of them: on the right one opening O1 of K1-1 is in"
    " the way."
)


class TestTurned:
    @pytest.fixture
    def off_centre(self, job, designer, king_post):
        """Two marks of two copies each side by side, all turned end for end, of the same design with a row on a post
        that isn't in the middle."""
        king_post["joints"] |= {"D": [100, 0], "B": [120, 60]}
        king_post["lateral_restraint"]["webs"] = {"W1": 1}
        first, other = (add_mark(job, {**king_post, "mark": mark}, 2, designer) for mark in ("K5", "K6"))
        for truss, y in ((first, 0.0), (other, 48.0)):
            Placement.objects.filter(pk=placed(truss, y=y).pk).update(turned=True)
        return first

    def test_the_same_document_touches_nobody(self, off_centre):
        """Turned, the row's place stays where it is: 20 in. from where it would be unturned."""
        assert not rows.touched(off_centre, off_centre.current.document, None)

    def test_nor_does_one_whose_loads_have_no_mirror_image(self, off_centre, king_post):
        """Wind presses square on an upright chord; the rows are of the wood alone."""
        upright = copy.deepcopy(off_centre.current.document)
        upright["joints"]["E"] = [0, 20]
        low = {"role": "top_chord", "lumber": king_post["members"][0]["lumber"]}
        upright["members"] = [
            {**one, "joints": ["E", "B"]} if one["joints"] == ["A", "B"] else one for one in upright["members"]
        ]
        upright["members"].append({"id": "T9", "joints": ["A", "E"], **low})
        assert mirrored(upright) is None
        assert turned_design(upright).joint("D").x == 140
        assert not rows.touched(off_centre, upright, None)

    def test_a_duct_takes_the_edge_that_the_drawing_has_it_on(self, off_centre):
        """The post's middle is at 110 in. and 30 in. up; a pipe of 6 in. lies right of it."""
        document = copy.deepcopy(off_centre.current.document)
        document["openings"] = [{"id": "O1", "shape": "circle", "centre_in": [116.5, 30], "diameter_in": 6}]
        found = rows.touched(off_centre, document, None)
        assert (found.cut, found.lonely) == ((), ())
        assert found.edges == (
            "The row on W1 through K5-1 to K5-2 and K6-1 to K6-2 runs on the left edge in all of them:"
            " on the right one opening O1 of K5-1 to K5-2 are in the way.",
        )


class TestEdges:
    def test_what_takes_an_edge_in_one_truss_is_told_of_all_that_the_row_runs_through(self, held, king_post):
        found = rows.touched(held, {**king_post, "openings": [DUCT]}, None)
        assert (found.cut, found.lonely, found.edges) == ((), (), (LEFT_ONLY,))
        assert not rows.touched(held, king_post, None)

    def test_a_sheet_says_what_another_mark_has_in_the_way(self, held, job, designer, king_post):
        other = add_mark(job, {**king_post, "mark": "K2", "openings": [DUCT]}, 1, designer)
        placed(other, y=4 * 24)
        for truss in (held, other):
            said = (
                "W1 through K1-1 to K1-4 and K2-1 runs on the left edge in all of them: on the right one opening O1 of"
            )
            assert f"The row on {said} K2-1 is in the way." in rows.notes(truss, truss.current)


class TestTheSheet:
    def test_it_says_through_which_trusses_a_row_runs(self, held, client_of, designer):
        assert rows.notes(held, held.current) == ["W1: the row runs through K1-1 to K1-4, 4 trusses."]
        sheet = client_of(designer).get(reverse("trusses:sheet", args=(held.job_id, held.pk, 0))).content.decode()
        assert "W1: the row runs through K1-1 to K1-4, 4 trusses." in sheet

    def test_it_says_where_a_row_holds_nothing(self, held):
        held.copies.filter(number__gt=1).update(placement=None)
        held.placements.update(count=1)
        (line,) = rows.notes(held, held.current)
        assert line.startswith("W1 of K1-1: no truss beside it has a like web, so that a row there holds nothing")

    def test_a_truss_without_rows_has_no_note(self, truss):
        placed(truss)
        assert rows.notes(truss, truss.current) == []
