"""All ways that pass, with what they cost and how long they take, for who asked; a column of prices for who decides."""

from __future__ import annotations

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from changes.pages.sections import sections
from tests.changes.asking import HITS_WEB
from trusses.models import JobRates


def words(answer) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


@pytest.fixture
def change(answered):
    return answered(HITS_WEB)


def looked(client_of, person, change):
    return words(client_of(person).get(reverse("changes:request", args=[change.pk])))


def test_the_builder_sees_every_way_that_passes(change, client_of, builder):
    passing = [option for option in change.options.all() if option.passes]
    assert len(passing) > 1
    told = looked(client_of, builder, change)
    assert "Ways that work" in told
    for option in passing:
        assert option.title.replace("\u00a0", " ") in told.replace("\u00a0", " ")
    assert "the designer can say" in told
    assert "more for each truss" not in told


def test_prices_and_days_are_the_job_s_own(change, client_of, builder, designer, job):
    JobRates.objects.create(job=job, board_foot=Decimal("2.00"), seal_days=5)
    told = looked(client_of, builder, change)
    assert "about 5 working days" in told
    (section,) = sections(type(change).objects.select_related("job__rates").get(pk=change.pk))
    for way in section.works:
        today, then = way.option.comparison["board_feet"]
        # board feet are priced to the tenth that is shown
        assert way.price.more == 2 * (Decimal(f"{then:.1f}") - Decimal(f"{today:.1f}"))
    dearest = max(section.works, key=lambda way: way.price.more)
    assert f"${dearest.price.more:,.2f} more for each truss" in told
    table = looked(client_of, designer, change)
    assert "Price, more per truss" in table
    assert f"${dearest.price.more:,.2f} more" in table


def test_without_rates_the_table_has_no_empty_column(change, client_of, designer):
    assert "Price, more per truss" not in looked(client_of, designer, change)
