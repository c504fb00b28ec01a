"""The map of clear openings on a page and through the API: what is told, where a size goes, and who may look."""

from __future__ import annotations

import re

import pytest
import shapely
from django.core.cache import caches

from tests.trusses.drawn import Drawn
from tests.trusses.reading import text
from tests.trusses.test_drawing_labels import on_wood
from trusses.analysis.clearance.clear_map import clear_map
from trusses.analysis.clearance.openings import fit, moved, space
from trusses.analysis.format.model import Opening
from trusses.clear import maps
from trusses.clear.maps import drawn, rooms
from trusses.demo_set import marks
from trusses.designs import design_of
from trusses.drawing import elevation
from trusses.revisions import add_mark

DEMO = {mark.mark: mark.document for mark in marks()}
DUCT = Opening("", "circle", (0.0, 0.0), diameter_in=8.0, clearance_in=1.0)


def address(truss):
    return f"/jobs/{truss.job_id}/trusses/{truss.pk}/clear/"


class TestThePage:
    def test_it_tells_each_pocket_and_its_members(self, client_of, builder, truss):
        page = client_of(builder).get(address(truss))
        assert page.status_code == 200
        found = clear_map(design_of(truss.current.document))
        assert page.content.decode().count('href="?pocket=') == len(found)
        assert [one.clear.number for one in page.context["pockets"]] == [one.number for one in found]
        assert page.context["places"] == []

    def test_pockets_of_the_same_widths_share_a_row(self, client_of, builder, truss):
        page = client_of(builder).get(address(truss))
        rows, pockets = page.context["by_width"], page.context["pockets"]
        assert len(rows) == len({tuple(one.widths) for one in pockets}) < len(pockets)
        assert [widths for _, widths in rows if list(widths) == pockets[0].widths]

    def test_pockets_that_hold_the_same_stand_in_one_line(self, client_of, builder, designer, job):
        floor = add_mark(job, DEMO["F1"], 1, designer)
        page = client_of(builder).get(address(floor), {"shape": "circle", "diameter": '8"', "clearance": "1"})
        told, pockets = page.context["alike"], page.context["pockets"]
        assert len(told) <= len(pockets) / 2
        for group in told:
            assert len({(one.round.size, *(each.size for each in one.by_shape)) for one in group.of}) == 1
        assert sorted(n for group in told for n in group.numbers) == [one.clear.number for one in pockets]
        most = max(told, key=lambda group: len(group.numbers))
        assert f"{most.called} ({len(most.numbers)} alike)" in text(page)
        for one in most.of:
            assert f"{one.clear.number} {', '.join(one.between)}" in text(page), "the column names what it lies between"
        places = page.context["by_place"]
        assert len(places) < len(page.context["places"]) == sum(len(one.numbers) for one in places)

    def test_a_size_is_answered_by_the_pockets_that_hold_it(self, client_of, builder, truss):
        page = client_of(builder).get(address(truss), {"shape": "circle", "diameter": '8"', "clearance": "1"})
        assert page.status_code == 200
        design = design_of(truss.current.document)
        found = clear_map(design)
        expected = [one.number for one in found if one.circle.diameter_in >= 10]
        assert [room.clear.number for room, _ in page.context["places"]] == expected
        for _, place in page.context["places"]:
            assert fit(design, place.opening).fits
            assert place.opening.size == (8.0, 8.0)
        assert len(expected) > 0

    def test_a_size_that_goes_nowhere_says_so_and_offers_to_ask(self, client_of, builder, truss):
        page = client_of(builder).get(address(truss), {"shape": "rectangle", "width": "200", "height": "60"})
        assert page.context["places"] == []
        assert "It goes nowhere through this truss as it is" in text(page)
        assert f"/jobs/{truss.job_id}/trusses/{truss.pk}/ask/" in page.content.decode()

    @pytest.mark.parametrize(
        "typed",
        [
            {"shape": "circle", "diameter": "soon"},
            {"shape": "circle"},
            {"shape": "rectangle", "width": "12"},
            {"shape": "heart", "diameter": "8"},
            {"shape": "circle", "diameter": "0"},
            {"shape": "circle", "diameter": "8", "clearance": "-1"},
        ],
    )
    def test_what_cannot_be_read_is_said_and_kept(self, client_of, builder, truss, typed):
        page = client_of(builder).get(address(truss), typed)
        assert page.status_code == 422
        assert page.context["form"].errors
        assert all(value in page.content.decode() for name, value in typed.items() if name != "shape")

    def test_a_pocket_by_its_number(self, client_of, builder, truss):
        client = client_of(builder)
        page = client.get(address(truss), {"pocket": "2"})
        assert page.context["told"].clear.number == 2
        for odd in ("0", "99", "x", "²", ""):
            assert client.get(address(truss), {"pocket": odd}).context["told"] is None

    def test_others_find_nothing(self, client_of, outsider, truss):
        assert client_of(outsider).get(address(truss)).status_code == 404

    def test_the_mark_and_its_sheet_lead_here(self, client_of, builder, truss):
        client = client_of(builder)
        for page in (
            f"/jobs/{truss.job_id}/trusses/{truss.pk}/",
            f"/jobs/{truss.job_id}/trusses/{truss.pk}/revisions/0/",
        ):
            assert address(truss) in client.get(page).content.decode()

    def test_it_is_computed_once_for_a_document(self, client_of, builder, truss, monkeypatch):
        caches["drawings"].clear()
        computed = []
        monkeypatch.setattr(maps, "clear_map", lambda design: computed.append(design.mark) or clear_map(design))
        client = client_of(builder)
        for _ in range(3):
            client.get(address(truss))
        assert computed == [truss.mark]


class TestTheDrawing:
    @pytest.mark.parametrize("size", ["sheet", "phone"])
    @pytest.mark.parametrize("name", DEMO)
    def test_each_pocket_has_its_number_and_none_lies_on_wood(self, name, size):
        found = clear_map(design_of(DEMO[name]))
        for chosen in (None, rooms(found, DUCT)):
            svg = elevation(DEMO[name], detail=size, clear=drawn(found, chosen))
            assert on_wood(svg) == []
            numbers = Drawn(svg).texts("clear-numbers")
            every = [str(one.number) for one in found]
            # on a phone the studs of a gable stand nearer to each other than numbers can
            assert sorted(numbers, key=int) == every or (size == "phone" and len(numbers) > 0.85 * len(every))

    def test_the_dotted_areas_are_those_of_the_free_centres(self):
        document = DEMO["R1"]
        found = clear_map(design_of(document))
        picture = Drawn(elevation(document, clear=drawn(found, rooms(found, DUCT))))
        areas = [shapely.Polygon(picture.inches(part.get("d"))) for part in picture.of_class("free")]
        areas = [area for area in areas if area.area > 100]
        assert sum(area.area for area in areas) == pytest.approx(
            sum(room.free.area for room in rooms(found, DUCT)), rel=0.01
        )
        room = space(design_of(document))
        for area in areas:
            middle = area.representative_point()
            assert fit(room, moved(DUCT, (middle.x, middle.y))).fits


class TestTheApi:
    def test_the_map_and_the_centres_of_a_size(self, client_of, builder, truss):
        client = client_of(builder)
        told = client.get(f"/api/v1/trusses/{truss.pk}/clear/").json()
        assert list(told) == ["mark", "truss_sha256", "pockets", "centres"]
        assert (told["mark"], told["truss_sha256"], told["centres"]) == (truss.mark, truss.current.sha256, None)
        design = design_of(truss.current.document)
        for pocket in told["pockets"]:
            circle = pocket["circle"]
            one = Opening("C", "circle", tuple(circle["centre_in"]), diameter_in=circle["diameter_in"])
            assert fit(design, one).spare_in == pytest.approx(0, abs=1e-6)
        asked = client.get(f"/api/v1/trusses/{truss.pk}/clear/?width_in=14&height_in=8&clearance_in=0.5").json()
        room = space(design)
        one = Opening("R", "rectangle", (0.0, 0.0), width_in=14, height_in=8, clearance_in=0.5)
        assert asked["centres"]
        for held in asked["centres"]:
            for outer, *_ in held["areas"]:
                at = shapely.Polygon(outer).representative_point()
                assert fit(room, moved(one, (at.x, at.y))).fits

    @pytest.mark.parametrize(
        "query",
        ["diameter_in=0", "diameter_in=x", "width_in=4", "diameter_in=4&width_in=4&height_in=4", "clearance_in=1",
         "diameter_in=4&clearance_in=-1", "diameter_in=nan", "size=4", "diameter_in=1e99"],
    )  # fmt: skip
    def test_odd_sizes_are_refused(self, client_of, builder, truss, query):
        answer = client_of(builder).get(f"/api/v1/trusses/{truss.pk}/clear/?{query}")
        assert answer.status_code == 400
        assert answer.json()

    def test_others_find_nothing(self, client_of, outsider, truss):
        assert client_of(outsider).get(f"/api/v1/trusses/{truss.pk}/clear/").status_code == 404

    def test_it_stands_in_the_schema(self, client_of, builder):
        schema = client_of(builder).get("/api/v1/schema/", HTTP_ACCEPT="application/vnd.oai.openapi").content.decode()
        assert "/api/v1/trusses/{id}/clear/" in schema
        assert re.search(r"name: diameter_in", schema)
