"""The plan's page: who sees it, what a designer draws there, and that nothing typed is lost."""

from __future__ import annotations

import re

import pytest

from tests.trusses.reading import text
from trusses.models import Placement, WallLine
from trusses.plan import placing, shown
from trusses.revisions import add_mark, issue_revision, read_and_analyse
from trusses.sealing import recording, seals
from trusses.sealing.models import SealedDrawing

ROW = {"level": "Roof", "x_in": 24.0, "y_in": 0.0, "direction": "y", "spacing_in": 24.0, "count": 3, "note": "west"}
TYPED = {"level": "Roof", "x_in": "2'", "y_in": '6"', "direction": "y", "spacing_in": "24", "count": "4", "note": ""}


@pytest.fixture
def placed(truss, designer):
    placing.wall(designer, truss.job, None, "south wall", "Roof", [[0, 0], [120, 0]])
    return placing.place(designer, truss, None, ROW)


def form(**typed):
    return {**typed, "on": "Roof"}


class TestSeen:
    def test_by_the_job_s_people_and_nobody_else(self, cast, client_of, truss, placed):
        address = f"/jobs/{truss.job_id}/plan/"
        for person, user in cast.items():
            answer = client_of(user).get(address)
            assert answer.status_code == {"outsider": 404, "nobody": 302}.get(person, 200)
            if answer.status_code == 200:
                assert "K1 3 trusses, set as numbers 1–3" in text(answer)
                assert ("Draw the plan" in text(answer)) == (person == "designer")
                assert answer.content.count(b'class="copy"') == 3

    def test_a_level_that_isn_t_there_is_missing(self, client_of, designer, truss, placed):
        assert client_of(designer).get(f"/jobs/{truss.job_id}/plan/?level=Cellar").status_code == 404

    def test_without_anything_placed(self, client_of, builder, truss):
        assert "No truss has a place on this level yet." in text(client_of(builder).get(f"/jobs/{truss.job_id}/plan/"))

    def test_each_copy_says_whether_what_it_is_built_to_is_sealed(self, client_of, builder, designer, truss, placed):
        truss.copies.filter(number=1).update(stage="cut", built_to=truss.current, released_to=truss.current)
        seal = SealedDrawing.objects.create(
            truss=truss,
            revision=truss.current,
            sealed_on=truss.job.today(),
            pages=1,
            size_bytes=1,
            covers=["plates", "restraint"],
            attached_by=designer,
        )
        seals.say_what_is_asked(designer, truss.job, review=True, acceptance=True, without="warns")
        client, address = client_of(builder), f"/jobs/{truss.job_id}/plan/"
        page = client.get(address)
        assert "set as numbers 1–3 sealed drawing not complete 2–3 designing 1 cut" in text(page)
        assert page.content.decode().count('class="end unsealed"') == 3
        for kind in ("reviewed", "accepted"):
            recording.record(designer, seal, kind, name="An invented name", on=truss.job.today())
        page = client.get(address)
        assert "set as numbers 1–3 sealed drawing on record 2–3 designing 1 cut" in text(page)
        assert page.content.decode().count(" unsealed") == 0
        truss.refresh_from_db()
        document = {**truss.current.document, "title": "Better"}
        issue_revision(truss, truss.current, *read_and_analyse(document), designer)
        page = client.get(address)
        assert "set as numbers 1–3 1 sealed drawing on record 2–3 not sealed 2–3 designing 1 cut to revision 0" in text(
            page
        )
        html = page.content.decode()
        assert (html.count('class="end unsealed"'), html.count('class="end behind"')) == (2, 1)
        assert "K1-1, cut to revision 0, an earlier one, sealed drawing on record, number 1 to be set" in html
        (row,) = client.get(f"/api/v1/jobs/{truss.job_id}/sheets/").json()["results"]
        assert row["seal"] == {"state": "not sealed", "id": None, "sha256": None, "lacks": []}

    def test_queries_do_not_grow_with_copies(
        self, client_of, builder, designer, truss, placed, django_assert_max_num_queries
    ):
        client, address = client_of(builder), f"/jobs/{truss.job_id}/plan/"
        client.get(address)
        placing.place(designer, truss, placed, ROW | {"count": 40})
        with django_assert_max_num_queries(15):
            client.get(address)


class TestDrawn:
    def test_a_place(self, client_of, designer, truss, placed):
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/places/"
        answer = client.post(f"{address}{placed.pk}/", form(**TYPED, shown=shown.row(placed)))
        assert answer.status_code == 302
        row = Placement.objects.get()
        assert (row.origin_x_in, row.origin_y_in, row.count) == (24, 6, 4)
        client.post(address, form(**TYPED | {"x_in": "20'"}) | {"truss": truss.pk})
        assert truss.copies.count() == 8
        placed.refresh_from_db()
        client.post(f"{address}{placed.pk}/", {"away": "1", "on": "Roof", "shown": shown.row(placed)})
        assert Placement.objects.get().origin_x_in == 240

    def test_a_wall_and_north(self, client_of, designer, truss, placed):
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/"
        client.post(f"{address}walls/", form(label="ridge beam", level="Roof", points="0, 5'\n20', 5'"))
        assert WallLine.objects.get(label="ridge beam").points == [[0, 60], [240, 60]]
        wall = WallLine.objects.get(label="south wall")
        client.post(
            f"{address}walls/{wall.pk}/",
            form(label="south wall", level="Roof", points="0,0\n9',-6\"", shown=shown.wall(wall)),
        )
        wall.refresh_from_db()
        assert wall.points == [[0, 0], [108, -6]]
        client.post(f"{address}walls/{wall.pk}/", {"away": "1", "on": "Roof", "shown": shown.wall(wall)})
        assert not WallLine.objects.filter(pk=wall.pk).exists()
        client.post(f"{address}north/", {"north_deg": "45", "on": "Roof"})
        truss.job.refresh_from_db()
        assert truss.job.north_deg == 45

    @pytest.mark.parametrize(
        ("where", "typed", "says"),
        [
            ("places/", form(**TYPED | {"count": "600"}), "Say how many stand in this row: a whole number, 1 to 500."),
            ("places/", form(**TYPED | {"spacing_in": "0"}), "4 copies need a spacing"),
            ("places/", form(**TYPED | {"x_in": "2,5"}), "2,5"),
            ("walls/", form(label="b", level="Roof", points="0,0"), "A wall is a line of 2 to 40 points."),
            ("walls/", form(label="b", level="Roof", points="0 0\n1 1"), "write two lengths with a comma"),
            ("north/", {"north_deg": "400", "on": "Roof"}, "North is 0 to 360 degrees"),
            ("north/", {"north_deg": "up", "on": "Roof"}, "A number of degrees"),
        ],
    )
    def test_what_is_refused_comes_back_with_its_reason(self, client_of, designer, truss, placed, where, typed, says):
        answer = client_of(designer).post(f"/jobs/{truss.job_id}/plan/{where}", typed | {"truss": truss.pk})
        assert answer.status_code == 422
        assert says in text(answer)
        assert b'id="troubles" role="alert" tabindex="-1" autofocus' in answer.content
        for value in typed.values():
            assert value.split("\n")[0] in answer.content.decode().replace("&#x27;", "'").replace("&quot;", '"')

    def test_a_refused_place_is_still_of_the_mark_that_was_chosen(self, client_of, designer, job, truss, king_post):
        other = add_mark(job, {**king_post, "mark": "A1"}, 1, designer)
        page = client_of(designer).post(
            f"/jobs/{job.pk}/plan/places/", form(**TYPED | {"x_in": "?", "truss": truss.pk})
        )
        assert f'<option value="{truss.pk}" selected>K1' in page.content.decode()
        assert f'<option value="{other.pk}">A1' in page.content.decode()

    def test_a_mark_s_page_leads_to_a_place_for_its_copies_that_have_none(self, client_of, designer, builder, truss):
        address = f"/jobs/{truss.job_id}/trusses/{truss.pk}/"
        assert "Say where they stand" not in text(client_of(builder).get(address))
        assert "Nowhere yet. Say where they stand" in text(client_of(designer).get(address))
        way = f"/jobs/{truss.job_id}/plan/?edit=place-new&mark={truss.pk}"
        page = client_of(designer).get(way).content.decode()
        assert f'<option value="{truss.pk}" selected>K1' in page
        assert re.search(r'name="count" value="3"', page)

    def test_a_new_place_begins_on_the_level_of_its_kind(self, client_of, designer, truss, placed, king_post, job):
        """A floor truss isn't put on the roof unasked; where others of its kind stand, there it begins."""
        floor, other = [add_mark(job, king_post | {"mark": mark, "use": "floor"}, 2, designer) for mark in ("F1", "F2")]
        ask = f"/jobs/{job.pk}/plan/?edit=place-new&mark="

        def level(mark):
            page = client_of(designer).get(f"{ask}{mark.pk}").content.decode()
            found = re.search(r'name="level"(?: value="([^"]*)")?', page)
            assert found
            return found[1]

        assert level(truss) == "Roof"
        assert not level(floor)
        placing.place(designer, other, None, ROW | {"level": "Floor", "count": 2})
        assert level(floor) == "Floor"
        page = client_of(designer).get(f"{ask}{floor.pk}").content.decode()
        assert "Plan of Floor" in page

    def test_by_a_designer_of_this_job_alone(self, cast, client_of, truss, placed, other_job):
        for person in ("builder", "site lead"):
            answer = client_of(cast[person]).post(f"/jobs/{truss.job_id}/plan/places/{placed.pk}/", {"away": "1"})
            assert answer.status_code == 403
        address = f"/jobs/{truss.job_id}/plan/places/"
        assert client_of(cast["designer"]).post(address, form(**TYPED) | {"truss": other_job.pk}).status_code == 404
        assert client_of(cast["outsider"]).post(f"{address}{placed.pk}/", {"away": "1"}).status_code == 404


class TestStale:
    """A form that was opened before somebody else, or a decision, put the row or the wall elsewhere."""

    def send(self, client, job, page, address, **typed):
        """What stands in the form of a page, sent with something typed in it."""
        fields = dict(re.findall(r'<input type="hidden" name="(shown|truss)" value="([^"]*)"', page))
        return client.post(address, fields | typed)

    @pytest.mark.parametrize("since", [{"x_in": 32.0}, {"turned": True}, {"level": "Attic"}, {"note": "east"}])
    def test_a_place(self, client_of, designer, truss, placed, since):
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/places/{placed.pk}/"
        page = client.get(f"/jobs/{truss.job_id}/plan/?level=Roof&edit=place-{placed.pk}").content.decode()
        placing.place(designer, truss, placed, ROW | since)
        typed = form(**TYPED | {"note": "over the hall"})
        # what is refused for something else tells nothing of it, and stays stale
        wrong = self.send(client, truss.job, page, address, **typed | {"count": "none"})
        assert "is another one since" not in text(wrong)
        answer = self.send(client, truss.job, wrong.content.decode(), address, **typed)
        assert answer.status_code == 422
        told = text(answer)
        assert "This place of K1 is another one since the form was opened" in told
        first = "2'-8\"" if "x_in" in since else "2'-0\""
        assert f"It has 3 trusses on {since.get('level', 'Roof')} now, the first {first} right" in told
        assert f"with the note “{since.get('note', 'west')}”" in told
        assert "Nothing was changed" in told
        assert 'value="over the hall"' in answer.content.decode()
        now = Placement.objects.get()
        assert [getattr(now, {"x_in": "origin_x_in"}.get(name, name)) for name in since] == list(since.values())
        # whoever was told sends it again
        again = self.send(client, truss.job, answer.content.decode(), address, **typed)
        assert again.status_code == 302
        assert Placement.objects.get().origin_x_in == 24

    def test_a_place_that_goes(self, client_of, designer, truss, placed):
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/places/{placed.pk}/"
        page = client.get(f"/jobs/{truss.job_id}/plan/?level=Roof&edit=place-{placed.pk}").content.decode()
        other = placing.place(designer, truss, None, ROW | {"x_in": 200.0})
        placing.place(designer, truss, placed, ROW | {"x_in": 32.0})
        self.send(client, truss.job, page, address, away="1", on="Roof")
        assert truss.placements.count() == 2
        placing.take_away(designer, placed)
        typed = form(**TYPED | {"note": "over the hall"})
        answer = self.send(client, truss.job, page, address, **typed)
        assert answer.status_code == 422
        assert "This place of K1 is on the plan no more" in text(answer)
        assert 'value="over the hall"' in answer.content.decode()
        assert list(truss.placements.all()) == [other]

    def test_a_wall(self, client_of, designer, truss, placed):
        wall = WallLine.objects.get()
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/walls/{wall.pk}/"
        page = client.get(f"/jobs/{truss.job_id}/plan/?level=Roof&edit=wall-{wall.pk}").content.decode()
        placing.wall(designer, truss.job, wall, "south wall", "Roof", [[0, 8], [120, 8]])
        typed = form(label="front wall", level="Roof", points="0,0\n10',0")
        for more in ({}, {"away": "1"}):
            self.send(client, truss.job, page, address, **typed | more)
            assert [(one.label, one.points) for one in WallLine.objects.all()] == [("south wall", [[0, 8], [120, 8]])]
        answer = self.send(client, truss.job, page, address, **typed)
        assert answer.status_code == 422
        assert "The wall south wall is drawn otherwise since the form was opened, on Roof" in text(answer)
        assert 'its line is now 0", 8"; 10\'-0", 8"' in text(answer)
        assert 'value="front wall"' in answer.content.decode()
        assert self.send(client, truss.job, answer.content.decode(), address, **typed).status_code == 302
        assert WallLine.objects.get().points == [[0, 0], [120, 0]]

    def test_a_form_that_shows_nothing_of_the_row_changes_none(self, client_of, designer, truss, placed):
        client, address = client_of(designer), f"/jobs/{truss.job_id}/plan/places/{placed.pk}/"
        assert client.post(address, form(**TYPED)).status_code == 422
        assert Placement.objects.get().count == 3
