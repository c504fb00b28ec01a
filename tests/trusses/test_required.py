"""The twelve items that the residential code asks of a truss design drawing, and where a sheet has them."""

from __future__ import annotations

import copy
import re
from typing import Any

import pytest

from tests.analysis.findings.test_weights import WEIGHT, cantilever
from tests.conftest import KING_POST
from trusses.analysis.format.document import read
from trusses.models import PlateTable, Revision
from trusses.revisions import read_and_analyse
from trusses.sheets import required, sheet_facts

INVENTED = [{"plate": "invented", "width_in": 3, "length_in": 4, "holding_0_psi": 200, "holding_90_psi": 100}]
REPORT = "Invented report No. 0"


def items(document: dict[str, Any], table: PlateTable | None = None) -> dict[int, required.Item]:
    document, analysis = read_and_analyse(document)
    revision = Revision(number=0, document=document, analysis=analysis)
    design = read(document)
    found = required.required(revision, design, sheet_facts.facts(design, revision.analysis, table))
    return {item.number: item for item in found}


def changed(**more: Any) -> dict[str, Any]:
    return copy.deepcopy(KING_POST) | more


def test_there_are_twelve_each_with_content_or_what_is_missing():
    found = items(KING_POST)
    assert list(found) == list(range(1, 13))
    for item in found.values():
        assert item.content
        assert item.state == ("here" if not item.lacks else "partly" if item.says else "missing")
        assert ("missing: " in item.content) == bool(item.lacks)


def test_what_a_sheet_never_has_is_named():
    """Earthquake, plate adjustments, plates, connections, diagonal bracing, the wall plate's own width."""
    found = items(KING_POST)
    assert {number for number, item in found.items() if item.lacks} == {3, 4, 5, 7, 9, 12}
    assert "missing: earthquake loads" in found[4].content
    assert "missing: adjustments to the values of plates" in found[5].content
    assert "missing: type, size, gage and place of the plates" in found[7].content


def test_a_king_post_by_its_document():
    found = items(KING_POST)
    assert found[1].content == (
        "Top chord 6 in 12. 5'-0\" high between the outermost joints. Span 20'-0\" between bearing joints,"
        " 2'-0\" on center."
    )
    assert "All 4 are listed" in found[2].content
    assert found[4].says[0] == (
        "Top chord live load, snow included: snow 20 psf per level foot (balanced, left, right)."
    )
    assert "Wind: wind −20 psf square to the chord (up); wind 10 psf square to the chord (down)." in found[4].says
    assert "No concentrated load." in found[4].says
    assert found[5].says[0] == "Load duration CD 0.9 to 1.6."
    assert "2x6 DF-L No.1, 2x4 SPF No.1/No.2" in found[8].content
    assert "No chord is spliced" in found[9].content
    assert [says.split()[0] for says in found[10].says] == ["Live", "Total"]
    assert "2'-0\" on center" in found[12].content


def test_a_truss_that_stands_alone_has_no_spacing():
    document, analysis = read_and_analyse(copy.deepcopy(KING_POST))
    revision, design = Revision(number=0, document=document, analysis=analysis), read(document)
    first, *_ = required.required(revision, design, sheet_facts.facts(design, analysis, None), alone=True)
    assert first.says[-1] == (
        "Span 20'-0\" between bearing joints; one truss, its area loads taken over a width of 2'-0\"."
    )


def test_reactions_are_told_with_their_direction():
    """Snow and dead load down; the stored envelope has the same pounds."""
    _, analysis = read_and_analyse(copy.deepcopy(KING_POST))
    most = analysis["envelope"]["reactions_lb"]["A"]
    assert f"A: {most['down_lb']:,.0f} lb down, {most['uplift_lb']:,.0f} lb up" in items(KING_POST)[6].content


def test_loads_that_are_not_there_are_missing():
    loads = {"area": [{"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"}]}
    found = items(changed(loads=loads))
    for what in ("wind", "bottom chord live load", "bottom chord dead load", "top chord live load, snow included"):
        assert f"missing: {what}: the document states none." in found[4].content
    assert "missing: top chord dead load" not in found[4].content
    assert "missing: live deflection" in found[10].content


def test_concentrated_loads_are_told_with_their_place():
    loads = {**KING_POST["loads"], "point": [{"case": "dead", "joint": "D", "down_lb": 150, "note": "fan"}]}
    told = items(changed(loads=loads))[4].says
    assert "Dead: 150 lb down on the bottom chord, 10'-0\" from the left bearing (fan)." in told
    assert "No concentrated load." not in told


def test_restraint_that_nobody_names_is_missing():
    document = changed()
    del document["lateral_restraint"]
    item = items(document)[12]
    assert item.state == "missing"
    assert "the truss document names none" in item.content


def test_a_row_that_a_web_lacks_is_missing():
    document = changed()
    document["joints"]["D"] = [120, -70]
    document["loads"]["point"] = [{"case": "snow", "joint": "D", "down_lb": -900}]
    assert "missing: rows of restraint on W1" in items(document)[12].content


def test_plies_that_are_not_said_to_be_fastened_are_missing():
    assert "missing: how the 2 plies are fastened" in items(changed(plies=2))[9].content
    assert "not checked: nailed" in items(changed(plies=2, ply_fastening="nailed"))[9].content
    none = items(changed(plies=2, ply_fastening="none"))[9].content
    assert "missing: " in none
    assert "how the 2 plies are fastened to each other (“none” tells no nailing" in none


def test_a_splice_is_told():
    document = changed(hinges=["A", "B", "C", "D"])
    found = items(document)[9]
    assert "spliced at D" in found.content
    assert "missing: the splices themselves" in found.content


def test_a_bearing_that_is_too_short_is_told():
    document = changed()
    for bearing in document["bearings"]:
        bearing["width_in"] = 0.5
    assert "missing: more bearing at A" in items(document)[3].content


def test_a_table_of_plates_makes_nothing_of_plates_pass():
    item = items(KING_POST, PlateTable(report=REPORT, rows=INVENTED))[7]
    assert item.state == "partly"
    assert "none are chosen here, and none are checked" in item.content


@pytest.fixture
def page(client_of, site_lead, truss):
    def get() -> str:
        url = f"/jobs/{truss.job.pk}/trusses/{truss.pk}/revisions/0/"
        return client_of(site_lead).get(url).content.decode()

    return get


def words(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("&#x27;", "'").replace("&quot;", '"').split())


class TestOnTheSheet:
    def test_every_item_leads_to_a_section_that_is_there(self, page):
        html = page()
        led = set(re.findall(r'href="#([a-z-]+)">Go there', html))
        assert {item.section for item in items(KING_POST).values() if item.says} == led
        for section in led:
            assert html.count(f'id="{section}"') == 1

    def test_without_a_table_the_demand_stands_and_plates_are_not_checked(self, page, truss):
        told = words(page())
        assert "no table of plate values" in told
        assert "Teeth on each face" not in told
        facts = sheet_facts.facts(read(truss.current.document), truss.current.analysis, None)
        most = max(facts.demand.governing(), key=lambda one: one.holding_lb)
        assert f"{most.holding_lb:,.0f} lb" in told

    def test_with_a_table_the_areas_stand_and_plates_are_still_not_checked(self, page, truss):
        PlateTable.objects.create(job=truss.job, report=REPORT, rows=INVENTED)
        html = page()
        told = words(html)
        assert "Teeth on each face" in told
        assert REPORT in told
        assert "No. Do not build from this" in told
        assert re.search(r'class="what">Plates</span><span class="state"><span class="tag look">not checked', html)

    def test_a_splice_tells_the_steel_that_must_cross_it_where_the_table_has_a_value(self):
        document, analysis = read_and_analyse(changed(hinges=["A", "B", "C", "D"]))
        revision = Revision(number=0, document=document, analysis=analysis)
        large = {**INVENTED[0], "width_in": 30, "length_in": 40}
        for rows, divisor in (([large | {"tension_lb_per_in": 800}], 1600), ([large], None)):
            facts = sheet_facts.facts(read(document), revision.analysis, PlateTable(report=REPORT, rows=rows))
            ((splice, steel),) = facts.splice_steel
            assert splice.tension_lb > 100
            assert steel == (None if divisor is None else pytest.approx(splice.tension_lb / divisor))

    def test_supports_tell_the_case_the_width_and_the_connection(self, page, truss):
        told = words(page())
        analysis = truss.current.analysis
        dead = analysis["cases"]["dead"]["reactions_lb"]["A"][1]
        assert f"Dead {dead:,.0f} lb" in told
        uplift = analysis["envelope"]["reactions_lb"]["A"]
        assert f"At A: a connection with an allowable uplift capacity of at least {uplift['uplift_lb']:,.0f} lb" in told
        assert uplift["uplift_by"] in told

    def test_a_camber_is_a_lower_bound(self, page):
        assert "A camber would be at least that" in words(page())


@pytest.mark.parametrize(
    ("service", "says"),
    [
        ({}, "Dry service up to 100 °F is taken: no other adjustment."),
        ({"moisture": "wet"}, "Of service: wet service CM, in the terms of each check."),
        ({"temperature_f": 120, "incised": True}, "Of service: a temperature of 120 °F Ct, incising Ci"),
    ],
)
def test_the_conditions_of_use_are_those_of_the_document(service, says):
    document = changed(service=service) if service else KING_POST
    assert says in items(document)[5].content


def test_the_largest_uplift_is_that_without_a_weight_that_may_be_gone():
    """100 lb of snow on the cantilever lift A by 50 lb, of which a weight of 120 lb leaves none."""
    told = items(cantilever({**WEIGHT, "down_lb": 120}))
    assert told[6].says[0] == "A: 60 lb down, 50 lb up."
