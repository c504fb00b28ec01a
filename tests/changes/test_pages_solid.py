"""A request in the set in three dimensions: which copies it marks, what they are before and after, and who sees it."""

from __future__ import annotations

import io
import re

import pytest
import trimesh

from changes import workflow
from tests.changes.asking import CUTS_CHORD, HITS_WEB, LOAD, answer_of, approve, compute, first_options
from trusses.models import MarkEvent
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


def named(page):
    """The colors that a page's key names."""
    return re.findall(r'<li class="of-(\w+)">', page.content.decode())


def test_whatever_has_a_color_of_its_own_is_named_in_the_key(ask, client_of, builder, designer, row, job):
    client = client_of(builder)
    placing.wall(designer, job, None, "south wall", "Roof", [[0, 0], [120, 0]])
    assert named(client.get(f"/jobs/{job.pk}/3d/")) == ["wood", "wall"]
    change = ask("load", {**LOAD, "weight_lb": 90, "at_in": 60}, copies=[1])
    assert named(client.get(f"/jobs/{job.pk}/3d/")) == ["wood", "wall", "weight"]
    answer_of(change)
    page = client.get(f"/requests/{change.pk}/3d/")
    told = told_of(client.get(f"/requests/{change.pk}/set.glb")).values()
    assert {one["shown"] or "wood" for one in told if one["kind"] == "truss"} == {"wood", "before", "after"}
    assert named(page) == ["wood", "touched", "before", "wall", "weight"]
    assert "the same truss today" in page.content.decode()


def test_without_an_option_its_copies_are_marked(client_of, builder, truss, placed, answered):
    change = answered({**CUTS_CHORD, "diameter_in": 56})  # and nowhere else either
    assert not change.options.exists()
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


def test_options_for_some_copies_are_told_apart(client_of, builder, job, truss, placed, needed_by):
    asks = [
        {"truss": truss.pk, "kind": "opening", "opening": opening, "copies": copies}
        for opening, copies in ((HITS_WEB, [1]), ({**HITS_WEB, "diameter_in": 5}, [2, 3]))
    ]
    change = compute(workflow.file(builder, job, reason="Two ducts", needed_by=needed_by, asks=asks))
    said = client_of(builder).get(f"/requests/{change.pk}/3d/").content.decode()
    assert "for K1, copy 1;" in said
    assert "for K1, copies 2 and 3." in said


def test_others_find_nothing(client_of, outsider, truss, placed, answered):
    change = answered(CUTS_CHORD)
    for address in ("3d/", "set.glb", "set.svg"):
        assert client_of(outsider).get(f"/requests/{change.pk}/{address}").status_code == 404


def test_a_run_is_in_the_set_at_its_height_while_it_is_open(client_of, builder, job, truss, placed, needed_by):
    """An 8 in. duct whose middle is 22.75 in. above the plates, from x = 0 to 200 at y = 106."""
    run = {
        "level": "Roof",
        "points_in": [[0, 106], [200, 106]],
        "height_in": 22.75,
        "section": {"shape": "circle", "diameter_in": 8},
        "note": "8 in. duct",
    }
    change = workflow.file(
        builder, job, reason="A duct", needed_by=needed_by, asks=[{"kind": "run", "run": run}], key=None
    )
    client = client_of(builder)
    for address in (f"/jobs/{job.pk}/set.glb", f"/requests/{change.pk}/set.glb"):
        (duct,) = [one for one in told_of(client.get(address)).values() if one["kind"] == "run"]
        assert "run" in named(client.get(address.replace("set.glb", "3d/")))
        assert duct["href"] == f"/requests/{change.pk}/"
        # glTF: metres, y up, z against the plan's y
        assert duct["path"] == [pytest.approx([x * 0.0254, 22.75 * 0.0254, -106 * 0.0254]) for x in (0, 200)]
    workflow.withdraw(builder, change)
    assert all(one["kind"] != "run" for one in told_of(client.get(f"/jobs/{job.pk}/set.glb")).values())


def test_a_run_ends_before_a_cut_copy_that_it_is_asked_without(client_of, builder, job, truss, placed, needed_by):
    """K1 has a post at y = 126; copy 1 stands at x = 24 and is cut, copy 2 stands at 48."""
    truss.copies.filter(number=1).update(stage="cut", built_to=truss.current)
    section = {"shape": "circle", "diameter_in": 8}
    run = {"level": "Roof", "points_in": [[0, 126], [200, 126]], "height_in": 22.75, "section": section}
    asks = [{"kind": "run", "run": run, "without": ["K1-1"]}]
    change = workflow.file(builder, job, reason="A duct", needed_by=needed_by, asks=asks)
    for address in (f"/jobs/{job.pk}/set.glb", f"/requests/{change.pk}/set.glb"):
        (duct,) = [one for one in told_of(client_of(builder).get(address)).values() if one["kind"] == "run"]
        assert [x / 0.0254 for x, _, _ in duct["path"]] == pytest.approx([36, 200])


def test_a_weight_hangs_under_the_copies_that_bear_it(ask, client_of, builder):
    """90 lb 10 ft from the left bearing, under the lowest wood there; these lie along x, 24 in. apart."""
    change = ask("load", {**LOAD, "weight_lb": 90, "shared": "stiff"}, copies=[1, 2, 3])
    client = client_of(builder)
    answer = client.get(f"/requests/{change.pk}/set.glb")
    found = trimesh.load(io.BytesIO(answer.content), file_type="glb")
    blocks = [name for name in found.geometry if name.startswith("90 lb air handler, hung here as it is asked")]
    assert len(blocks) == 3
    boxes = [found.geometry[name].bounds / 0.0254 for name in blocks]
    middles = sorted(tuple(box.mean(axis=0).round(3)) for box in boxes)
    assert [(x, z) for x, _, z in middles] == [(120.0, -48.0), (120.0, -24.0), (120.0, 0.0)]
    assert {round(float(box[1][1]), 3) for box in boxes} == {0.0}  # its top is the bottom chord's underside
    told = [one for one in told_of(answer).values() if one["kind"] == "weight"]
    assert [one["level"] for one in told] == ["Roof"] * 3
    assert LEGEND in client.get(f"/requests/{change.pk}/3d/").content.decode()
    assert client.get(f"/requests/{change.pk}/set.svg").status_code == 200


def blocks(client, job):
    """{label: from low to high, inches in glTF's axes} of the blocks of a job's own set."""
    found = trimesh.load(io.BytesIO(client.get(f"/jobs/{job.pk}/set.glb").content), file_type="glb")
    shown = {name: mesh.bounds / 0.0254 for name, mesh in found.geometry.items()}
    return {name: box for name, box in shown.items() if "how large it is" in name or "to shim" in name}


def middles(found):
    return sorted((round(float(x), 2), round(float(z), 2)) for x, _, z in (box.mean(axis=0) for box in found.values()))


LEGEND = "block: where a weight hangs or stands, or what is to shim"


def test_the_job_s_own_set_has_the_weights_of_its_requests(ask, row, job, client_of, builder, designer):
    client = client_of(builder)
    assert LEGEND not in client.get(f"/jobs/{job.pk}/3d/").content.decode()
    change = ask("load", {**LOAD, "weight_lb": 90, "at_in": 60, "shared": "stiff"}, copies=[1, 2, 3])
    found = blocks(client, job)
    assert {name.partition(";")[0] for name in found} >= {
        f"90 lb air handler, hung here as request {change.pk} asks",
    }
    assert middles(found) == [(60, -48), (60, -24), (60, 0)]
    assert LEGEND in client.get(f"/jobs/{job.pk}/3d/").content.decode()
    assert client.get(f"/jobs/{job.pk}/set.svg").status_code == 200
    one = answer_of(change)
    approve(designer, change, {one.pk: one.options.filter(passes=True).first().pk}, reason="It is light")
    found = blocks(client, job)
    assert middles(found) == [(60, -48), (60, -24), (60, 0)]
    assert all(f"hung here by the decision on request {change.pk};" in name for name in found)


def test_a_weight_stays_where_it_hangs_on_a_copy_that_was_turned_since(ask, row, job, client_of, builder, designer):
    """5 ft from the left bearing of a drawing is 15 ft from that of its mirror image turned: one place."""
    change = ask("load", {**LOAD, "weight_lb": 90, "at_in": 60}, copies=[1])
    before = middles(blocks(client_of(builder), job))
    row.placements.update(turned=True)
    assert middles(blocks(client_of(builder), job)) == [(180, 0)]
    values = {"copies": [1], "turned": [1], "to": "K1-b"}
    MarkEvent.objects.create(truss=row, by=designer, code=MarkEvent.Code.LEFT, values=values)
    assert middles(blocks(client_of(builder), job)) == before == [(60, 0)]
    # asked anew, it is 5 ft from the left bearing of today's drawing
    workflow.decide(designer, compute(change), verdict="send back", reason="It stands turned now")
    anew = [{"kind": "load", "truss": row, "load": {**LOAD, "weight_lb": 90, "at_in": 60}, "copies": [1]}]
    workflow.answer(builder, change, says="By the new drawing", asks=anew)
    assert middles(blocks(client_of(builder), job)) == [(180, 0)]


def test_what_is_withdrawn_hangs_nowhere(ask, row, job, client_of, builder):
    change = ask("load", {**LOAD, "weight_lb": 90}, copies=[1])
    assert blocks(client_of(builder), job)
    workflow.withdraw(builder, change)
    assert not blocks(client_of(builder), job)


def test_what_is_missing_over_a_wall_that_was_measured_lower_is_there_as_high_as_it_is(ask, client_of, builder):
    change = ask("bearing", {"change": "measured", "walls": [{"joint": "C", "x_in": 240, "y_in": -0.75}]}, copies=[2])
    answer_of(change)
    client = client_of(builder)
    found = trimesh.load(io.BytesIO(client.get(f"/requests/{change.pk}/set.glb").content), file_type="glb")
    (name,) = [name for name in found.geometry if name.startswith('3/4" to shim at C')]
    low, high = found.geometry[name].bounds / 0.0254
    assert (low[1], high[1]) == pytest.approx((-0.75, 0), abs=1e-3)
    assert ((low + high) / 2)[0] == pytest.approx(240, abs=1e-3)
    assert LEGEND in client.get(f"/requests/{change.pk}/3d/").content.decode()
    ((name, box),) = blocks(client, change.job).items()
    assert name.startswith(f'3/4" to shim at C, as request {change.pk} asks: its wall was measured that much lower')
    assert (box[0][1], box[1][1]) == pytest.approx((-0.75, 0), abs=1e-3)
    assert LEGEND in client.get(f"/jobs/{change.job_id}/3d/").content.decode()
