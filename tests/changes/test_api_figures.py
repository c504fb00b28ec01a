"""What the API tells of walls, plates, restraint and price: what the sheet and the request's page show, as numbers."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Any

import pytest

from tests.analysis.findings.test_weights import WEIGHT, cantilever
from tests.changes.asking import API, HITS_WEB
from trusses.analysis.format.document import read
from trusses.models import JobRates, PlateTable
from trusses.revisions import add_mark
from trusses.sheets import sheet_facts

UNITS = ("_lb", "_in", "_in2", "_deg", "_hz", "_feet", "_psf", "_plf")
COUNTS = {
    "plies",
    "before_plies",
    "after_plies",
    "before_rows",
    "after_rows",
    "rows_needed",
    "rows_stated",
    "pieces",
    "plated_joints",
    "span_over",
    "limit_over",
}
FACTORS = {"before_share", "after_share", "load_duration", "uplift_load_duration", "ratio"}
MONEY = {"rate", "amount", "total", "more", "quantity"}
"""In the price's own `currency`, and `quantity` in the line's own `unit`."""


def numbers(held: Any, key: str = "") -> list[tuple[str, float]]:
    """(key, number) of every number in a body; one in a list or by name belongs to the key above it."""
    if isinstance(held, dict):
        inner = [(key if key.endswith("_lb") else name, value) for name, value in held.items()]
        return [pair for name, value in inner for pair in numbers(value, name)]
    if isinstance(held, list):
        return [pair for value in held for pair in numbers(value, key)]
    return [(key, held)] if isinstance(held, int | float) and not isinstance(held, bool) else []


@pytest.fixture
def option(answered):
    return answered(HITS_WEB).options.filter(stale=False).first()


def of_revision(program, revision):
    answer = program.get(f"{API}/revisions/{revision.sha256}/figures/")
    assert answer.status_code == 200
    return answer.json()


def of_option(program, option):
    answer = program.get(f"{API}/options/{option.pk}/figures/")
    assert answer.status_code == 200
    return answer.json()


def test_what_lifts_it_is_a_combination_and_that_the_weights_are_gone_then_stands_beside_it(program, job, designer):
    """100 lb of snow on the cantilever lift A by 50 lb; with the weight on it 10 are left."""
    mark = add_mark(job, cantilever({**WEIGHT, "down_lb": 80}), 1, designer)
    first = of_revision(program, mark.current)["supports"][0]
    assert (first["joint"], first["uplift_capacity_lb"]) == ("A", pytest.approx(50))
    assert first["uplift_by"] in mark.current.analysis["combinations"]
    assert first["uplift_says"] == f"{first['uplift_by']}, without the weights on it"


def test_a_revision_tells_what_its_sheet_computes(program, truss):
    told = of_revision(program, truss.current)
    facts = sheet_facts.facts(read(truss.current.document), truss.current.analysis, None)
    assert told["truss_sha256"] == truss.current.sha256
    for one, support in zip(told["supports"], facts.supports, strict=True):
        assert one["by_case_lb"] == dict(support.by_case)
        assert one["required_width_in"] == support.required_width_in
        assert (one["width_governed_by"], one["plate"]) == (support.governs, support.plate)
        assert (one["uplift_capacity_lb"], one["uplift_by"]) == (support.uplift.lb, support.uplift.by)
        assert one["uplift_says"] == one["uplift_by"] is not None
        assert one["uplift_capacity_lb"] > 0
    assert [row["row_lb"] for row in told["webs"]] == [row.row_lb for row in facts.webs]
    assert [(one["joint"], one["long_in"]) for one in told["slides"]] == [("C", facts.slides[0].long_in)]
    assert told["camber"] == {"sag_in": facts.camber.sag_in, "joint": facts.camber.joint}
    assert told["frequency"] is None
    assert len(told["joints"]) == sum(len(needs) for _, needs, _ in facts.joint_needs)
    assert told["joints"][0]["steel_lb"] == facts.joint_needs[0][1][0].governing.steel_lb
    assert (told["pieces"], told["plated_joints"], told["plies"]) == (4, 4, 1)
    # two top chords and the bottom chord of 1 bd ft in a foot, 5 ft of web of 2/3
    assert told["board_feet"] == pytest.approx(2 * math.hypot(10, 5) + 20 + 5 * 2 / 3)


def test_a_floor_tells_its_frequency(program, job, designer, king_post):
    floor = add_mark(job, {**king_post, "mark": "F1", "use": "floor"}, 1, designer)
    told = of_revision(program, floor.current)["frequency"]
    assert told["frequency_hz"] > 3
    assert "no people" in told["says"]


def test_a_table_of_plate_values_tells_areas(program, truss, job):
    assert {one["teeth_area_in2"] for one in of_revision(program, truss.current)["joints"]} == {None}
    row = {"plate": "P", "width_in": 4, "length_in": 6, "holding_0_psi": 100, "holding_90_psi": 80}
    PlateTable.objects.create(job=job, report="an invented report", rows=[row])
    assert all(one["teeth_area_in2"] >= 0 for one in of_revision(program, truss.current)["joints"])


def test_an_option_tells_both_sides_and_what_changed_below(program, option):
    told = of_option(program, option)
    assert told["before"]["truss_sha256"] == option.revision.sha256
    assert told["after"]["truss_sha256"] == option.sha256
    cases = [row for row in told["supports"] if row["joint"] == "A"]
    before = option.revision.analysis["cases"]["dead"]["reactions_lb"]["A"][1]
    after = option.analysis["cases"]["dead"]["reactions_lb"]["A"][1]
    dead = next(row for row in cases if row["what"] == "dead")
    assert dead["force_lb"] == [before, after]
    assert dead["change_lb"] == pytest.approx(after - before)


def test_quantities_and_price_stand_before_and_after(program, option, job):
    bare = of_option(program, option)["price"]
    assert [(line["unit"], line["rate"]) for line in bare["lines"]] == [
        ("bd ft", None),
        ("pieces", None),
        ("joints", None),
    ]
    assert bare["total"] is None
    JobRates.objects.create(job=job, piece=Decimal("1.25"), joint=Decimal("2.00"), note="invented")
    priced = of_option(program, option)["price"]
    pieces = next(line for line in priced["lines"] if line["unit"] == "pieces")
    assert pieces["amount"] == [1.25 * pieces["quantity"][0], 1.25 * pieces["quantity"][1]]
    assert priced["total"][0] == 1.25 * 4 + 2 * 4
    assert priced["more"] == pytest.approx(priced["total"][1] - priced["total"][0])
    assert priced["currency"] == "$"


def test_each_number_has_its_unit_in_its_key(program, option, job):
    JobRates.objects.create(job=job, piece=1, joint=2)
    found = numbers(of_option(program, option))
    assert len(found) > 100
    known = COUNTS | FACTORS | MONEY
    assert {key for key, _ in found if not key.endswith(UNITS) and key not in known} == set()


def test_another_jobs_figures_are_not_found(api_of, outsider, option, truss):
    program = api_of(outsider)
    assert program.get(f"{API}/options/{option.pk}/figures/").status_code == 404
    assert program.get(f"{API}/revisions/{truss.current.sha256}/figures/").status_code == 404


def test_the_schema_names_them():
    from drf_spectacular.drainage import GENERATOR_STATS
    from drf_spectacular.generators import SchemaGenerator
    from drf_spectacular.validation import validate_schema

    GENERATOR_STATS.reset()
    schema = SchemaGenerator().get_schema(request=None, public=True)
    assert not GENERATOR_STATS, "two parts share a name, or one can't be told"
    validate_schema(schema)
    parts = schema["components"]["schemas"]
    assert {"/api/v1/options/{id}/figures/", "/api/v1/revisions/{sha256}/figures/"} <= set(schema["paths"])
    assert {"uplift_capacity_lb", "by_case_lb"} <= set(parts["Support"]["properties"])
    assert {"before", "after", "departures", "supports", "price", "rows", "beside"} < set(
        parts["OptionFigures"]["properties"]
    )
