"""The plan as a designer draws it: places and their copies, walls, north; and what is refused."""

from __future__ import annotations

import pytest

from tests.refused import refused
from trusses.bearings import links
from trusses.models import MarkEvent, Placement, Stage, WallLine
from trusses.plan import placing
from trusses.plan.copies import standing, stood
from trusses.refusals import NotAllowed, Refused

ROW = {"level": "Roof", "x_in": 24.0, "y_in": 0.0, "direction": "y", "spacing_in": 24.0, "count": 3, "note": "west"}


class TestPlaces:
    def test_copies_follow_their_places(self, truss, designer):
        row = placing.place(designer, truss, None, ROW)
        assert [copy.placement_id for copy in truss.copies.all()] == [row.pk] * 3
        placing.place(designer, truss, row, ROW | {"count": 5})
        assert [copy.number for copy in truss.copies.filter(placement=row)] == [1, 2, 3, 4, 5]
        told = truss.events.filter(code=MarkEvent.Code.PLACED).values_list(
            "values__before__count", "values__after__count"
        )
        assert list(told) == [(None, 3), (3, 5)]

    def test_one_goes_with_its_copies_and_the_last_one_stays(self, truss, designer):
        row = placing.place(designer, truss, None, ROW)
        other = placing.place(designer, truss, None, ROW | {"x_in": 200.0, "count": 2})
        assert truss.copies.count() == 5
        placing.take_away(designer, other)
        assert truss.copies.count() == 3
        with refused(Refused, "last-place", mark="K1"):
            placing.take_away(designer, row)

    def test_what_is_released_keeps_its_place(self, truss, designer):
        row = placing.place(designer, truss, None, ROW)
        truss.copies.update(stage=Stage.RELEASED, released_to=truss.current)
        with refused(Refused, "places-begun", begun=3, places=2):
            placing.place(designer, truss, row, ROW | {"count": 2})
        assert Placement.objects.get(pk=row.pk).count == 3

    @pytest.mark.parametrize(
        ("said", "code"),
        [({"spacing_in": 0.0}, "apart"), ({"level": " "}, "level-name"), ({"level": "x" * 61}, "level-name")],
    )
    def test_what_is_no_place(self, truss, designer, said, code):
        with refused(Refused, code):
            placing.place(designer, truss, None, ROW | said)
        assert not truss.placements.exists()

    def test_too_many(self, truss, designer):
        placing.place(designer, truss, None, ROW)
        with refused(Refused, "places-too-many", places=501):
            placing.place(designer, truss, None, ROW | {"count": 498})

    def test_a_designer_s_alone(self, truss, builder, designer):
        row = placing.place(designer, truss, None, ROW)
        for act in (
            lambda: placing.place(builder, truss, row, ROW),
            lambda: placing.take_away(builder, row),
            lambda: placing.wall(builder, truss.job, None, "a", "Roof", [[0, 0], [9, 9]]),
            lambda: placing.turn_north(builder, truss.job, 5),
        ):
            with pytest.raises(NotAllowed):
                act()


class TestWalls:
    def test_drawn_moved_and_taken_down(self, job, designer):
        line = placing.wall(designer, job, None, "north wall", "Roof", [[0, 0], [120, 0]])
        placing.wall(designer, job, line, "north wall", "Roof", [[0, 9], [120, 9], [120, 40]])
        assert WallLine.objects.get().points == [[0, 9], [120, 9], [120, 40]]
        placing.take_down(designer, line)
        assert not WallLine.objects.exists()

    def test_refused(self, job, truss, designer):
        line = placing.wall(designer, job, None, "north wall", "Roof", [[0, 0], [120, 0]])
        with refused(Refused, "wall-taken", label="north wall"):
            placing.wall(designer, job, None, "north wall", "Roof", [[0, 0], [120, 0]])
        with refused(Refused, "wall-points"):
            placing.wall(designer, job, None, "b", "Roof", [[0, 0]])
        with refused(Refused, "wall-point-twice", n=3):
            placing.wall(designer, job, None, "b", "Roof", [[0, 0], [5, 5], [5, 5]])
        for label in ("", " \u200b", "b\u202eb", "b\nb", "b" * 61):
            with refused(Refused, "wall-name", longest=60):
                placing.wall(designer, job, None, label, "Roof", [[0, 0], [5, 5]])
        truss.stands_on.create(joint="A", wall=line)
        with refused(Refused, "wall-in-use", bearings=["K1 at A"]):
            placing.take_down(designer, line)

    def test_two_names_that_look_alike_are_one_wall(self, job, truss, designer):
        placing.wall(designer, job, None, "north\u200b wall ", "Roof", [[0, 0], [120, 0]])
        with refused(Refused, "wall-taken", label="north wall"):
            placing.wall(designer, job, None, "nor\u00adth wall", "Roof", [[0, 0], [5, 5]])
        link = links.set_link(designer, truss, "A", wall="\u200bnorth wall")
        assert (link.wall.label, link.wall.points) == ("north wall", [[0, 0], [120, 0]])
        assert links.set_link(designer, truss, "A", wall="\u200b") is None, "nothing is seen, so nothing is said"

    @pytest.mark.parametrize("degrees", [-1, 361])
    def test_north(self, job, designer, degrees):
        placing.turn_north(designer, job, 30)
        with refused(Refused, "north"):
            placing.turn_north(designer, job, degrees)
        placing.turn_north(designer, job, None)
        job.refresh_from_db()
        assert job.north_deg is None


class TestStanding:
    def test_each_copy_where_it_stands_in_the_order_of_setting(self, truss, designer, make_mark):
        carrier, carried = make_mark("G1"), make_mark("A1")
        for mark, far in ((truss, 600.0), (carrier, 24.0), (carried, 24.0)):
            placing.place(designer, mark, None, ROW | {"count": 2, "direction": "x", "x_in": far})
        carried.stands_on.create(joint="A", carrier=carrier)
        here = standing(truss.job)["Roof"]
        assert [(one.name, one.order) for one in here] == [
            ("G1-1", 1),
            ("G1-2", 2),
            ("K1-1", 3),
            ("K1-2", 4),
            ("A1-1", 5),
            ("A1-2", 6),
        ]
        assert [(one.x, one.y) for one in here[:2]] == [(24, 0), (24, 24)]

    def test_as_runs_cross_it(self, truss, designer):
        placing.place(designer, truss, None, ROW)
        copies = stood(standing(truss.job)["Roof"])
        assert [(one.name, one.along, one.start_in, one.across_in) for one in copies] == [
            ("K1-1", "y", 0, 24),
            ("K1-2", "y", 0, 48),
            ("K1-3", "y", 0, 72),
        ]
        assert copies[0].design is copies[1].design
        row = truss.placements.get()
        placing.place(designer, truss, row, ROW | {"turned": True})
        assert "turned end for end" in truss.events.last().told
        (turned, *_) = stood(standing(truss.job)["Roof"])
        assert (turned.x_at(0), turned.x_at(60)) == (240, 180)
        assert copies[0].x_at(60) == 60


@pytest.fixture
def make_mark(job, designer, king_post):
    from trusses.revisions import add_mark

    return lambda mark: add_mark(job, {**king_post, "mark": mark}, 1, designer)
