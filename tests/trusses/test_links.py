"""What bearings stand on: set by a designer, refused in words where it doesn't meet, told on pages and by the API."""

from __future__ import annotations

import html
import re

import pytest
from django.core.exceptions import PermissionDenied

from tests.refused import refused
from tests.trusses.standing import girder, girder_document, loaded, place, stand
from trusses.bearings import links, standing
from trusses.models import BearingLink, Stage, WallLine
from trusses.refusals import Refused
from trusses.revisions import add_mark
from trusses.sheets import fixing


@pytest.fixture
def g1(job, designer):
    return girder(job, designer)


@pytest.fixture
def k5(job, designer, king_post, g1):
    return stand(job, designer, king_post, "K5", g1)


def says(answer) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split()))


def test_a_wall_line_is_made_once_and_keeps_its_plate(truss, designer, job):
    links.set_link(designer, truss, "A", wall=" north wall ", plate="2x4 SPF No.1/No.2")
    links.set_link(designer, truss, "C", wall="north wall")
    line = WallLine.objects.get(job=job)
    assert (line.label, line.plate, line.bearings.count()) == ("north wall", "2x4 SPF No.1/No.2", 2)
    assert [foot.says for foot in standing.feet(truss)] == ["north wall", "north wall"]


def test_saying_it_anew_replaces_it_and_saying_nothing_takes_it_away(truss, designer, g1):
    place(truss, 60, 0, "y", 60, 3)
    links.set_link(designer, truss, "C", wall="north wall")
    links.set_link(designer, truss, "C", carrier=g1)
    assert [(link.wall, link.carrier) for link in truss.stands_on.all()] == [(None, g1)]
    assert links.set_link(designer, truss, "C") is None
    assert [foot.says for foot in standing.feet(truss)] == ["not said", "not said"]


def test_a_bearing_on_a_girder_says_where(k5):
    assert [foot.says for foot in standing.feet(k5)] == ["not said", "on G1, at 10'-0\" and 20'-0\" from its left end"]


def test_what_a_girder_carries_and_whether_its_drawing_has_it(k5, g1, designer):
    (load,) = (told := standing.carried(g1)).loads
    most = k5.current.analysis["envelope"]["reactions_lb"]["C"]["down_lb"]
    assert (load.truss, load.joints, load.lands_in, load.down_lb) == (k5, ("C",), (120, 240), most)
    assert told.behind == ("K5",)
    loaded(g1, designer)
    assert standing.carried(g1).behind == ()
    assert not standing.carried(k5)


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"joint": "Q", "wall": "north"}, "joint", "K1 has no bearing at joint Q"),
        ({"wall": "north", "plate": "2x4 Oak"}, "plate", 'Top plate: lumber "2x4 Oak" is not in the table'),
        ({"wall": "n" * 61}, "wall", "one line of up to 60 characters"),
        ({"wall": "north", "carrier": "G1"}, "wall", "on a wall line or on a mark, not on both"),
        ({"carrier": "K1"}, "carrier", "K1 can't stand on itself"),
        ({"carrier": "G1"}, "carrier", "K1 has no place in plan"),
        ({"carrier": "G1", "hung": [{"member": "B1", "at_in": 9}]}, "places", "K1 has 3 copies, and 1 place on G1"),
    ],
)
def test_what_can_not_be_is_refused_and_changes_nothing(truss, designer, g1, given, field, words):
    links.set_link(designer, truss, "C", wall="south wall")
    wish = {"joint": "C", **given}
    if "carrier" in wish:
        wish["carrier"] = {"G1": g1, "K1": truss}[wish["carrier"]]
    with pytest.raises(Refused, match=words) as refused:
        links.set_link(designer, truss, **wish)
    assert refused.value.field == field
    assert [(link.joint, link.wall.label) for link in BearingLink.objects.all()] == [("C", "south wall")]


def test_a_circle_is_refused_when_it_would_close(job, designer, g1):
    g2 = add_mark(job, girder_document("G2"), 1, designer)
    places = [{"member": "B1", "at_in": 100}]
    links.set_link(designer, g1, "B", carrier=g2, hung=places)
    with pytest.raises(Refused, match="G2 would stand on G1, which stands on G2: each would carry the other"):
        links.set_link(designer, g2, "B", carrier=g1, hung=places)
    assert [str(link) for link in BearingLink.objects.all()] == ["G1, B on G2"]


@pytest.mark.parametrize("person", ["builder", "site lead", "outsider"])
def test_a_designer_alone_says_it(truss, cast, person):
    with pytest.raises(PermissionDenied):
        links.set_link(cast[person], truss, "A", wall="north wall")
    assert not WallLine.objects.exists()


def test_a_mark_of_another_job_carries_nothing_here(truss, designer, other_job, api_of):
    with refused(Refused, "of-another-job"):
        links.set_link(designer, truss, "A", carrier=other_job)
    answer = api_of(designer).post(
        f"/api/v1/trusses/{truss.pk}/bearings/", {"joint": "A", "carrier": other_job.pk}, format="json"
    )
    assert answer.status_code == 404


def test_a_chain_holds_all_that_a_change_can_reach(job, designer, king_post, g1, k5):
    k6 = stand(job, designer, king_post, "K6", g1, (60, 30))
    above = girder(job, designer, "G2", y=600)
    links.set_link(designer, g1, "B", carrier=above, hung=[{"member": "B1", "at_in": 100}])
    reached = links.chain_of([k5])
    assert set(reached.marks) == {"K5", "K6", "G1", "G2"}
    assert {(link.carried, link.carrier) for link in reached.links} == {("K5", "G1"), ("K6", "G1"), ("G1", "G2")}
    assert set(links.chain_of([g1]).marks) == {"G1", "G2"}
    assert links.chain_of([above]).basis == ""
    before = reached.basis
    assert links.chain_of([k5]).basis == before
    k6.placements.update(origin_x_in=61)
    assert links.chain_of([k5]).basis != before


def test_the_pages_say_it(client_of, designer, k5, g1, job):
    links.set_link(designer, k5, "A", wall="south wall", plate="2x4 SPF No.1/No.2")
    client = client_of(designer)
    told = says(client.get(f"/jobs/{job.pk}/trusses/{k5.pk}/"))
    assert "Bearing A: south wall Bearing C: on G1, at 10'-0\" and 20'-0\" from its left end" in told
    sheet = says(client.get(f"/jobs/{job.pk}/trusses/{k5.pk}/revisions/0/"))
    assert "Bearing A: south wall" in sheet
    assert "Bearing C: on G1, at 10'-0\" and 20'-0\" from its left end" in sheet
    girders = says(client.get(f"/jobs/{job.pk}/trusses/{g1.pk}/revisions/0/"))
    assert "What it carries" in girders
    # of one truss alone there is nothing that it stands apart from
    assert re.search(r"Span [^.]{,20} between bearing joints\. ", girders)
    assert not re.search(r"Span [^.]{,20} between bearing joints\. ", sheet)
    assert "K5 C 10'-0\" and 20'-0\"" in girders
    assert "A girder with hangers is never called passing here" in girders
    assert "The loads of K5 in this drawing are not what stands on it today" in girders
    page = says(client.get(f"/jobs/{job.pk}/trusses/{k5.pk}/bearings/"))
    assert re.search(r"Top plate 2x4 SPF No.1/No.2. Said \w+ \d+, \d{4} by designer.", page)


def test_the_form_sets_it_and_keeps_what_was_typed(client_of, designer, truss, g1, job):
    client, address = client_of(designer), f"/jobs/{job.pk}/trusses/{truss.pk}/bearings/"
    typed = {"joint": "C", "carrier": g1.pk, "places": "B1 10' 0\"\nB1 20 feet\nB1 wide"}
    answer = client.post(address, typed)
    assert answer.status_code == 422
    assert b'id="troubles" role="alert" tabindex="-1" autofocus' in answer.content
    assert "B1 wide: write a member and a length" in says(answer)
    assert "B1 20 feet" in answer.content.decode()
    answer = client.post(address, {**typed, "places": "B1 10' 0\"\nB1 20 feet"})
    assert answer.status_code == 422
    assert "K1 has 3 copies, and 2 places on G1 are named" in says(answer)
    unclear = client.post(address, {**typed, "places": "B1 10' 0\"\nB1 20 feet\nB1 60"})
    assert "B1: 60 could be 60' or 60\": write it one of these ways." in says(unclear)
    answer = client.post(address, {**typed, "places": "B1 10' 0\"\nB1 20 feet\nB1 60 in."}, follow=True)
    assert answer.status_code == 200
    assert "Bearing C: on G1, at 5'-0\", 10'-0\" and 20'-0\" from its left end" in says(answer)
    assert [place["at_in"] for place in truss.stands_on.get().hung] == [120, 240, 60]
    assert "Bearing C of K1 is set." in says(answer)
    cleared = client.post(address, {"joint": "C"}, follow=True)
    assert "It is no longer said what bearing C of K1 stands on." in says(cleared)


def test_the_form_clears_a_plate_that_it_showed_and_no_other(client_of, designer, truss, job):
    client, address = client_of(designer), f"/jobs/{job.pk}/trusses/{truss.pk}/bearings/"
    client.post(address, {"joint": "A", "wall": "south wall", "plate": "2x4 SPF No.1/No.2", "initial-plate": ""})
    line = WallLine.objects.get()
    assert line.plate == "2x4 SPF No.1/No.2"
    shown = client.get(address).content.decode()
    assert re.search(r'<input type="hidden" name="initial-plate" value="2x4 SPF No.1/No.2"', shown)
    # the other bearing's empty field was shown empty: the line keeps its plate
    client.post(address, {"joint": "C", "wall": "south wall", "plate": "", "initial-plate": ""})
    line.refresh_from_db()
    assert (line.plate, line.bearings.count()) == ("2x4 SPF No.1/No.2", 2)
    client.post(address, {"joint": "A", "wall": "south wall", "plate": "", "initial-plate": line.plate})
    line.refresh_from_db()
    assert (line.plate, line.bearings.count()) == ("", 2)


def test_a_program_clears_a_plate_by_saying_that_it_is_empty(api_of, designer, truss):
    script, address = api_of(designer), f"/api/v1/trusses/{truss.pk}/bearings/"
    for said, kept in (
        ({"plate": "2x4 SPF No.1/No.2"}, "2x4 SPF No.1/No.2"),
        ({}, "2x4 SPF No.1/No.2"),
        ({"plate": ""}, ""),
    ):
        assert script.post(address, {"joint": "A", "wall": "south wall", **said}, format="json").status_code == 200
        assert WallLine.objects.get().plate == kept


def test_a_builder_reads_it_and_gets_no_form(client_of, builder, truss, job):
    answer = client_of(builder).get(f"/jobs/{job.pk}/trusses/{truss.pk}/bearings/")
    assert "Bearing A: not said" in says(answer)
    assert "csrfmiddlewaretoken" not in answer.content.decode().split("<main")[1].split("</main>")[0]


def test_the_api_sets_and_tells_it(api_of, designer, k5, g1):
    script, address = api_of(designer), f"/api/v1/trusses/{k5.pk}/bearings/"
    answer = script.post(address, {"joint": "A", "wall": "south wall", "plate": "2x4 SPF No.1/No.2"}, format="json")
    assert answer.status_code == 200
    first, second = answer.json()["bearings"]
    assert first == {
        "joint": "A",
        "wall": {"label": "south wall", "plate": "2x4 SPF No.1/No.2"},
        "carrier": None,
        "parts": [],
        "says": "south wall",
        "trouble": "",
    }
    assert second["carrier"] == {"id": g1.pk, "mark": "G1", "places": [], "lands_in": [120.0, 240.0]}
    told = script.get(f"/api/v1/trusses/{g1.pk}/bearings/").json()
    assert [(load["mark"], load["lands_in"]) for load in told["carries"]] == [("K5", [120.0, 240.0])]
    assert told["behind"] == ["K5"]
    refused = script.post(address, {"joint": "C", "carrier": k5.pk}, format="json")
    assert (refused.status_code, refused.json()) == (400, {"carrier": ["K5 can't stand on itself."]})


def test_a_placement_that_moves_away_is_said_not_hidden(client_of, designer, k5, g1, job):
    k5.placements.update(origin_y_in=-60)
    told = says(client_of(designer).get(f"/jobs/{job.pk}/trusses/{k5.pk}/"))
    assert "Bearing C of K5, copy 1, is 5'-0\" beside G1 in plan, not on it." in told
    assert "does not meet" in says(client_of(designer).get(f"/jobs/{job.pk}/trusses/{g1.pk}/"))


def test_a_girders_lumber_is_numbers_only_and_its_loads_are_told_once(client_of, designer, k5, g1, job):
    loaded(g1, designer)
    told = says(client_of(designer).get(f"/jobs/{job.pk}/trusses/{g1.pk}/revisions/1/"))
    assert "Lumber numbers only No check is over its limit" in told
    assert "It carries K5: a girder with hangers is never called passing here" in told
    lb = next(load["down_lb"] for load in g1.current.document["loads"]["point"])
    assert f"Dead: {lb:g} lb down from K5 hung at each of 2 places, 10'-0\", 20'-0\" from the left end" in told
    assert re.search(r"Wind, up: [0-9.]+ lb up from K5 hung at each of 2 places", told)


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ((24,), "2'-0\""),
        ((24, 60, 110), "2'-0\", 5'-0\" and 9'-2\""),
        ((24, 48, 72, 96), "2'-0\" and then every 2'-0\" to 8'-0\""),
        ((24, 48, 72, 97), "2'-0\", 4'-0\", 6'-0\" and 8'-1\""),
    ],
)
def test_places_along_a_carrier_in_words(places, words):
    assert standing.along(places) == words


def test_a_hanger_that_was_ticked_is_not_one_of_another_girder(k5, g1, job, designer, site_lead):
    k5.copies.update(stage=Stage.SET)

    def hanger():
        return next(one for one in fixing.listed(k5) if one.item.what.startswith("Hanger at bearing C"))

    assert fixing.tick(site_lead, k5, hanger().item.key, done=True)
    assert (hanger().done, hanger().item.anchored[:2]) == (True, "G1")
    stands_on = k5.stands_on.get()
    links.set_link(designer, k5, "C", carrier=girder(job, designer, "G2"))
    assert k5.stands_on.get().carrier_id != stands_on.carrier_id
    assert (hanger().done, hanger().last) == (False, None)
