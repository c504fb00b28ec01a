"""The page of the set in three dimensions: who sees it, what it serves, and heights as a designer says them."""

from __future__ import annotations

import io

import pytest
import trimesh

from tests.trusses.reading import text
from trusses.analysis.format.document import sha256
from trusses.analysis.runs.run import read_run
from trusses.models import Job
from trusses.plan import placing
from trusses.plan.copies import sides
from trusses.solid.standing import Change, scene

ROW = {"level": "Roof", "x_in": 24.0, "y_in": 6.0, "direction": "y", "spacing_in": 24.0, "count": 3, "note": "west"}


@pytest.fixture
def placed(truss, designer):
    placing.wall(designer, truss.job, None, "south wall", "Roof", [[0, 0], [120, 0]])
    placing.wall(designer, truss.job, None, "porch beam", "Roof", [[0, 260], [120, 260]])
    return placing.place(designer, truss, None, ROW)


class TestThePage:
    def test_by_the_job_s_people_and_nobody_else(self, cast, client_of, truss, placed):
        for address in ("3d/", "set.glb", "set.svg"):
            for person, user in cast.items():
                answer = client_of(user).get(f"/jobs/{truss.job_id}/{address}")
                assert answer.status_code == {"outsider": 404, "nobody": 302}.get(person, 200)

    def test_without_javascript_there_is_a_picture(self, client_of, builder, truss, placed):
        page = client_of(builder).get(f"/jobs/{truss.job_id}/3d/").content.decode()
        assert f'<img src="/jobs/{truss.job_id}/set.svg"' in page
        assert len(page) < 100_000
        picture = client_of(builder).get(f"/jobs/{truss.job_id}/set.svg")
        assert picture["Content-Type"].startswith("image/svg+xml")
        assert picture.content.count(b"<use ") == 3

    def test_the_file_holds_every_copy(self, client_of, builder, truss, placed):
        answer = client_of(builder).get(f"/jobs/{truss.job_id}/set.glb")
        assert answer["Content-Type"] == "model/gltf-binary"
        found = trimesh.load(io.BytesIO(answer.content), file_type="glb")
        assert {"K1/1", "K1/2", "K1/3", "south wall", "porch beam"} <= set(found.graph.nodes)
        parts = client_of(builder).get(f"/jobs/{truss.job_id}/set.glb?parts=members")
        assert "K1/2/W1" in trimesh.load(io.BytesIO(parts.content), file_type="glb").graph.nodes

    def test_without_anything_placed(self, client_of, builder, truss):
        client = client_of(builder)
        assert "Nothing is placed in plan yet." in text(client.get(f"/jobs/{truss.job_id}/3d/"))
        assert client.get(f"/jobs/{truss.job_id}/set.glb").status_code == 200
        assert client.get(f"/jobs/{truss.job_id}/set.svg").status_code == 200

    def test_queries_do_not_grow_with_copies(
        self, client_of, builder, designer, truss, placed, django_assert_max_num_queries
    ):
        client = client_of(builder)
        client.get(f"/jobs/{truss.job_id}/set.glb")
        placing.place(designer, truss, None, {**ROW, "x_in": 400.0, "count": 40})
        with django_assert_max_num_queries(14):
            client.get(f"/jobs/{truss.job_id}/set.glb")


class TestSides:
    def test_a_plan_that_does_not_say_how_north_lies_has_no_compass(self, client_of, builder, truss, placed):
        page = text(client_of(builder).get(f"/jobs/{truss.job_id}/3d/"))
        assert "From the plan’s bottom" in page
        assert "south" not in page.replace("south wall", "")

    @pytest.mark.parametrize(
        ("north", "bottom", "left"), [(0, "south", "west"), (90, "east", "south"), (45, "south-east", "south-west")]
    )
    def test_north_is_turned_clockwise_from_the_plan_s_top(self, north, bottom, left):
        """At 90° north lies to the right of the plan: whoever stands below it stands in the east."""
        assert sides(north)["bottom"] == bottom
        assert sides(north)["left"] == left


class TestHeights:
    def test_a_designer_says_them_and_the_set_stands_there(self, client_of, designer, truss, placed):
        client = client_of(designer)
        answer = client.post(f"/jobs/{truss.job_id}/3d/", {"level0": "9' 1 1/8\""})
        assert answer.status_code == 302
        job = Job.objects.get()
        assert job.bearing_heights == {"Roof": 109.125}
        assert {one.z for one in scene(job).placed} == {109.125}
        client.post(f"/jobs/{truss.job_id}/3d/", {"level0": ""})
        assert Job.objects.get().bearing_heights == {}

    def test_what_cannot_be_read_stays(self, client_of, designer, truss, placed):
        answer = client_of(designer).post(f"/jobs/{truss.job_id}/3d/", {"level0": "as high as the wall"})
        assert answer.status_code == 422
        assert "as high as the wall" in answer.content.decode()

    def test_others_may_not(self, client_of, builder, truss, placed):
        assert client_of(builder).post(f"/jobs/{truss.job_id}/3d/", {"level0": "100"}).status_code == 403


class TestTheScene:
    def test_copies_stand_where_the_plan_has_them(self, truss, placed):
        found = scene(truss.job)
        assert [(one.name, one.x, one.y, one.along) for one in found.placed] == [
            ("K1/1", 24.0, 6.0, "y"),
            ("K1/2", 48.0, 6.0, "y"),
            ("K1/3", 72.0, 6.0, "y"),
        ]

    def test_a_turned_row_begins_with_its_right_bearing(self, designer, truss):
        """On a line from 6 in. to 246 in. the left bearing is at the far end."""
        placing.place(designer, truss, None, {**ROW, "turned": True})
        one = scene(truss.job).placed[0]
        assert (one.x, one.y, one.turned) == (24.0, 246.0, True)
        assert one.at(240, 0, 0)[:2] == (24.0, 6.0)

    def test_a_wall_reaches_down_and_a_beam_does_not(self, truss, placed):
        walls = {one.label: one for one in scene(truss.job).walls}
        assert (walls["south wall"].bottom, walls["south wall"].top) == (-96.0, 0.0)
        assert (walls["porch beam"].bottom, walls["porch beam"].top) == (-11.25, 0.0)

    def test_what_a_request_touches_stands_twice(self, truss, placed):
        copies = list(truss.copies.order_by("number"))
        before, after = truss.current.document, {**truss.current.document, "title": "changed"}
        changes = {copies[1].pk: Change(before, after), copies[2].pk: Change(before)}
        found = scene(truss.job, changes)
        assert [(one.name, one.shown, one.body == sha256(after)) for one in found.placed] == [
            ("K1/1", "", False),
            ("K1/2 before", "before", False),
            ("K1/2 after", "after", True),
            ("K1/3", "touched", False),
        ]

    def test_a_run_is_shown_at_its_height(self, truss, placed):
        """A drain of 4 in. that drops a quarter inch a foot over 120 in.: 2 1/2 in., above the walls' plates."""
        run = read_run(
            {
                "level": "Roof",
                "points_in": [[0, 100], [120, 100]],
                "height_in": 12,
                "slope_in_per_ft": 0.25,
                "section": {"shape": "circle", "diameter_in": 4},
            }
        )
        (shown,) = scene(truss.job, runs=[("drain", run, "/r/")]).runs
        assert shown.points == [(0, 100, 12), (120, 100, 9.5)]
        assert (shown.width, shown.height, shown.round, shown.href) == (4, 4, True, "/r/")
