"""Whatever stands in a body, the answer is a sentence: never a 500, and nothing half is stored."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from changes.models import Ask, Computation, Request
from tests.changes.asking import FITS, HITS_WEB

SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=10**18, max_value=10**40),
    st.floats(),
    st.text(max_size=30),
    st.sampled_from(["\x00", "\ud800", "<script>", "1e999", "-0", "2026-11-31", "O1", "K1", "opening", "approve"]),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.one_of(st.text(max_size=8), st.just("id")), inner, max_size=4)
    ),
    max_leaves=8,
)


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path, *[place for key, held in steps for place in places(held, (*path, key))]]


def put(body: Any, path: tuple[Any, ...], value: Any) -> Any:
    if not path:
        return value
    changed = copy.deepcopy(body)
    held = changed
    for step in path[:-1]:
        held = held[step]
    held[path[-1]] = value
    return changed


def deep(levels: int) -> str:
    return '{"a":' * levels + "1" + "}" * levels


@pytest.fixture
def calls(answered, ask_for, truss, job, builder, designer, needed_by, api_of):
    """(program, path, a body that is right) of each call that takes one."""
    change, waiting = answered(HITS_WEB), answered(FITS)
    ask, option = change.asks.get(), change.options.first()
    asks = [{"truss": truss.pk, "kind": "opening", "opening": {**FITS, "centre_in": [98, 20]}}]
    file = {"job": job.pk, "reason": "Duct", "needed_by": needed_by.isoformat(), "asks": asks}
    decide = {"verdict": "approve", "options": {str(ask.pk): option.pk}, "reason": "Good.", "accepts": []}
    by, of = api_of(builder), api_of(designer)
    return [
        (by, "requests/", file),
        (by, "fit/", {"truss": truss.pk, "opening": HITS_WEB}),
        (of, f"requests/{change.pk}/decision/", decide),
        (of, f"requests/{change.pk}/options/", {"ask": ask.pk, "document": option.document, "title": "x"}),
        (by, f"requests/{change.pk}/answer/", {"says": "x", "asks": asks}),
        (of, f"holds/{waiting.holds.get().pk}/answer/", {"acknowledge": True, "says": "x"}),
    ]


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_one_wrong_value_anywhere(data, calls):
    program, path, body = data.draw(st.sampled_from(calls))
    wrong = put(body, data.draw(st.sampled_from(places(body))), data.draw(VALUES))
    with transaction.atomic():
        counts = [model.objects.count() for model in (Request, Ask, Computation)]
        answer = program.generic("POST", f"/api/v1/{path}", json.dumps(wrong), content_type="application/json")
        assert answer.status_code in (200, 201, 400, 403, 404, 409), answer.content
        if answer.status_code >= 400:
            assert counts == [model.objects.count() for model in (Request, Ask, Computation)]
            said = answer.json()
            assert said
            assert all(says for says in (said.values() if isinstance(said, dict) else said))
        transaction.set_rollback(True)


@pytest.mark.parametrize("levels", [10, 100, 400, 900, 5000])
def test_nesting(levels, calls, builder):
    for program, path, body in calls:
        for place in places(body)[1:6]:
            text = json.dumps(put(body, place, "HERE")).replace('"HERE"', deep(levels))
            answer = program.generic("POST", f"/api/v1/{path}", text, content_type="application/json")
            assert answer.status_code in (400, 404, 409), (path, place, answer.content)
