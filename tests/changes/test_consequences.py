"""What a request's page says of the walls below and of the price. The rates are invented."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from changes import story
from tests.changes.asking import HITS_WEB
from trusses.models import JobRates, PlateTable


@pytest.fixture
def change(answered):
    return answered(HITS_WEB)


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).replace("&#x27;", "'").split())


def page(client_of, person, change) -> str:
    answer = client_of(person).get(f"/requests/{change.pk}/")
    assert answer.status_code == 200
    return words(answer)


def test_every_case_stands_before_and_after(change, client_of, designer):
    (section,) = story.sections(change)
    option = section.chosen
    cases = {row.what for row in section.supports_by_case}
    assert cases == set(section.revision.analysis["cases"]) | set(option.analysis["cases"])
    assert [(row.joint, row.what) for row in section.supports_at_most] == [
        (joint, what) for joint in ("A", "C") for what in ("down, at most", "uplift, at most")
    ]
    most = option.analysis["envelope"]["reactions_lb"]["A"]["down_lb"]
    assert "joint A Down, at most" in (told := page(client_of, designer, change))
    assert f"{most:,.0f} lb" in told


def test_without_rates_no_price_is_shown(change, client_of, designer, builder):
    told = page(client_of, designer, change)
    assert "This job has no rates, so no price is shown." in told
    assert "By this job's rates" not in told
    assert "By this job's rates" not in page(client_of, builder, change)


def test_with_rates_designer_and_builder_see_the_price(change, client_of, designer, builder, job):
    JobRates.objects.create(job=job, piece=Decimal("1.25"), joint=Decimal("2.00"), note="invented")
    (section,) = story.sections(change)
    before, after = section.price.total
    assert before == Decimal("1.25") * 4 + Decimal("2.00") * 4
    told = page(client_of, designer, change)
    assert f"By this job's rates, one truss ${before} ${after}" in told
    assert f"By this job's rates ${before} today, ${after} then, for each truss." in page(client_of, builder, change)


def test_plates_stay_not_checked_with_a_table(change, client_of, designer, job):
    assert "not checked no table of plate values in this job" in page(client_of, designer, change)
    rows = [{"plate": "invented", "width_in": 3, "length_in": 4, "holding_0_psi": 200, "holding_90_psi": 100}]
    PlateTable.objects.create(job=job, report="Invented report", rows=rows)
    assert "not checked not chosen here; the areas that teeth need stand on the sheet" in page(
        client_of, designer, change
    )
