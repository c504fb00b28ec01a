"""What a request's page says of the walls below and of the price. The rates are invented."""

from __future__ import annotations

import copy
import html
import re
from decimal import Decimal

import pytest

from changes.pages import sections
from tests.changes.asking import FITS, HITS_WEB
from trusses.models import JobRates, PlateTable


@pytest.fixture
def change(answered):
    return answered(HITS_WEB)


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def page(client_of, person, change) -> str:
    answer = client_of(person).get(f"/requests/{change.pk}/")
    assert answer.status_code == 200
    return words(answer)


def test_every_case_stands_before_and_after(change, client_of, designer):
    (section,) = sections.sections(change)
    option = section.chosen
    cases = {row.what for row in section.supports_by_case}
    assert cases == set(section.revision.analysis["cases"]) | set(option.analysis["cases"])
    assert [(row.joint, row.what) for row in section.supports_at_most] == [
        (joint, what) for joint in ("A", "C") for what in ("down, at most", "uplift, at most")
    ]
    most = option.analysis["envelope"]["reactions_lb"]["A"]["down_lb"]
    assert "bearing A Down, at most" in (told := page(client_of, designer, change))
    assert f"{most:,.0f} lb" in told


def test_without_rates_no_price_is_shown(change, client_of, designer, builder):
    told = page(client_of, designer, change)
    assert "This job has no rates, so no price is shown." in told
    assert "By this job's rates" not in told
    assert "By this job's rates" not in page(client_of, builder, change)


def test_with_rates_designer_and_builder_see_the_price(change, client_of, designer, builder, job):
    JobRates.objects.create(job=job, piece=Decimal("1.25"), joint=Decimal("2.00"), note="invented")
    (section,) = sections.sections(change)
    before, after = section.price.total
    assert before == Decimal("1.25") * 4 + Decimal("2.00") * 4
    told = page(client_of, designer, change)
    assert f"By this job's rates, one truss ${before} ${after}" in told
    assert f"By this job's rates ${before} today, ${after} then, for each truss." in page(client_of, builder, change)


def test_plates_stay_not_checked_with_a_table(change, client_of, designer, job):
    assert "not checked No plate is chosen or checked here; this job has no table of plate values." in page(
        client_of, designer, change
    )
    rows = [{"plate": "invented", "width_in": 3, "length_in": 4, "holding_0_psi": 200, "holding_90_psi": 100}]
    PlateTable.objects.create(job=job, report="Invented report", rows=rows)
    assert "not checked No plate is chosen or checked here; the areas of teeth follow this job's table" in page(
        client_of, designer, change
    )


@pytest.mark.parametrize("who", ["builder", "designer"])
def test_whoever_sizes_what_is_below_sees_a_change_marked(who, change, client_of, cast, monkeypatch):
    told = page(client_of, cast[who], change)
    assert "By load case, without any factor: for whoever sizes the header, post or footing" in told
    # a moved foot opens room for storage, which today's truss doesn't carry
    assert "bearing A Attic storage — 260 lb new" in told
    assert ("The walls below would carry something else" in told) == (who == "builder")
    option = sections.sections(change)[0].chosen
    analysis = copy.deepcopy(option.analysis)
    before = analysis["cases"]["dead"]["reactions_lb"]["A"][1]
    analysis["cases"]["dead"]["reactions_lb"]["A"][1] = before + 250
    next(check for check in analysis["checks"] if check["of"] == "bearing")["ratio"] = 1.5
    change.options.filter(pk=option.pk).update(analysis=analysis)
    told = page(client_of, cast[who], change)
    assert f"bearing A Dead {before:,.0f} lb {before + 250:,.0f} lb +250 lb" in told
    assert re.search(r'bearing A Width needed of the 5 1/2" given [\d/ ]+" 8 1/4" too narrow', told)
    next(check for check in analysis["checks"] if check["of"] == "bearing")["ratio"] = 0.75
    change.options.filter(pk=option.pk).update(analysis=analysis)
    assert re.search(
        r'bearing A Width needed of the 5 1/2" given [\d/ ]+" 4 1/8" changed', page(client_of, cast[who], change)
    )
    monkeypatch.setattr(sections.Section, "new_feet", {"A"})
    assert re.search(
        r'bearing A, new Width needed of the 5 1/2" given [\d/ ]+" 4 1/8" new', page(client_of, cast[who], change)
    )


def test_walls_that_carry_the_same_are_said_to(answered, client_of, builder):
    told = page(client_of, builder, answered(FITS))
    assert "What the walls below carry: as before" in told
    assert "The walls below would carry something else" not in told
