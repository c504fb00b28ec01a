"""An option that is designed for something else than today's truss: told beside the decision, with a reason."""

from __future__ import annotations

import copy
import html

import pytest

from changes import workflow
from tests.changes.asking import FITS, approve, compute, nothing_is_decided


@pytest.fixture
def easier(answered, designer):
    """A request, and a drawn option without snow and wind: it passes, since nearly nothing is asked of it."""
    change = answered(FITS)
    ask = change.asks.get()
    document = copy.deepcopy(ask.truss.current.document) | {"openings": [FITS]}
    document["loads"]["area"] = [load for load in document["loads"]["area"] if load["case"] == "dead"]
    option = workflow.draw_option(designer, change, ask=ask.pk, document=document)
    compute(change)
    option.refresh_from_db()
    return change, ask, option


def test_approving_it_without_a_reason_is_refused(easier, designer):
    change, ask, option = easier
    says = (
        r"K1: option \d+ is designed for less .*Snow \(balanced\) on the top chord.*none, today 20 psf\. \(and 4 more\)"
    )
    with pytest.raises(workflow.Refused, match=says) as refused:
        approve(designer, change, {ask.pk: option.pk})
    assert refused.value.field == "reason"
    assert nothing_is_decided(change)


def test_a_load_that_grows_needs_none(answered, designer, truss):
    change = answered(FITS)
    ask = change.asks.get()
    document = copy.deepcopy(truss.current.document) | {"openings": [FITS]}
    document["loads"]["area"][0]["psf"] = 12
    option = workflow.draw_option(designer, change, ask=ask.pk, document=document)
    compute(change)
    approve(designer, change, {ask.pk: option.pk})
    truss.refresh_from_db()
    assert truss.current.number == 1


def test_the_page_tells_each_beside_the_decision(easier, designer, builder, client_of):
    change, _, option = easier
    address = f"/requests/{change.pk}/?option={option.pk}"
    page = html.unescape(client_of(designer).get(address).content.decode())
    told = page[page.index('id="decision"') :]
    assert "K1: not designed for the same as today, and for less" in told
    assert "Wind (up) on the top chord, square to it: none, today −20 psf." in told
    assert "Issuing it needs a reason" in told
    assert "none, today −20 psf." in html.unescape(client_of(builder).get(address).content.decode())


def test_programs_are_told_and_refused_alike(easier, designer, api_of):
    change, ask, option = easier
    program = api_of(designer)
    told = program.get(f"/api/v1/options/{option.pk}/figures/").json()["departures"]
    assert [one["code"] for one in told] == ["area-load"] * 5
    assert all(one["falls"] for one in told)
    body = {"verdict": "approve", "options": {str(ask.pk): option.pk}}
    where = f"/api/v1/requests/{change.pk}/decision/"
    assert "is designed for less" in program.post(where, body, format="json").json()["reason"][0]
    body["reason"] = "The porch roof goes inside: no snow, no wind."
    assert program.post(where, body, format="json").json()["state"] == "approved"
