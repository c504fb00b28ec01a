"""A request in the set in three dimensions: which copies it marks, what they are before and after, and who sees it."""

from __future__ import annotations

import io

import pytest
import trimesh

from tests.changes.asking import CUTS_CHORD, HITS_WEB, first_options
from trusses.plan import placing

ROW = {"level": "Roof", "x_in": 24.0, "y_in": 6.0, "direction": "y", "spacing_in": 24.0, "count": 3, "note": ""}


@pytest.fixture
def placed(truss, designer):
    return placing.place(designer, truss, None, ROW)


def told_of(answer):
    assert answer.status_code == 200
    found = trimesh.load(io.BytesIO(answer.content), file_type="glb")
    edges = found.graph.transforms.edge_data.items()
    return {ends[1]: edge["metadata"] for ends, edge in edges if "metadata" in edge}


def test_what_an_option_changes_stands_before_and_after(client_of, builder, truss, placed, answered):
    change = answered(HITS_WEB)
    client = client_of(builder)
    told = told_of(client.get(f"/requests/{change.pk}/set.glb"))
    shown = {name.partition("_")[0]: one["shown"] for name, one in told.items() if one["kind"] == "truss"}
    assert {"K1/1 before", "K1/1 after", "K1/3 before", "K1/3 after"} <= shown.keys()
    assert set(shown.values()) == {"before", "after"}
    option = change.options.get(pk=next(iter(first_options(change).values())))
    assert {one["sha256"] for one in told.values() if one.get("shown") == "after"} == {option.sha256}
    page = client.get(f"/requests/{change.pk}/3d/")
    assert page.context["changes"]
    assert page.context["options"] == [option]
    assert f"/requests/{change.pk}/set.glb?option={option.pk}" in page.content.decode()
    assert f"/requests/{change.pk}/3d/" in client.get(f"/requests/{change.pk}/").content.decode()


def test_without_an_option_its_copies_are_marked(client_of, builder, truss, placed, answered):
    change = answered(CUTS_CHORD)
    told = told_of(client_of(builder).get(f"/requests/{change.pk}/set.glb"))
    assert {one["shown"] for one in told.values() if one["kind"] == "truss"} == {"touched"}
    page = client_of(builder).get(f"/requests/{change.pk}/3d/")
    assert not page.context["changes"]
    assert client_of(builder).get(f"/requests/{change.pk}/set.svg").content.count(b"<use ") == 3


def test_an_option_by_its_number_and_odd_ones_are_left_out(client_of, builder, truss, placed, answered):
    change = answered(HITS_WEB)
    last = change.options.filter(stale=False).order_by("rank").last()
    client = client_of(builder)
    page = client.get(f"/requests/{change.pk}/3d/?option={last.pk}&option=x&option=999999999999999999999")
    assert page.context["options"] == [last]


def test_others_find_nothing(client_of, outsider, truss, placed, answered):
    change = answered(CUTS_CHORD)
    for address in ("3d/", "set.glb", "set.svg"):
        assert client_of(outsider).get(f"/requests/{change.pk}/{address}").status_code == 404
