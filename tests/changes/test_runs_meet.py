"""A run that comes into another between two trusses, where none of them says so."""

from __future__ import annotations

import re

import pytest

from changes import workflow
from changes.asks.live_run import run_answer
from tests.changes.asking import PATH
from tests.changes.reading import text
from trusses.analysis.words.phrases import coded, tell
from trusses.analysis.words.runs import MEETING

AROUND = {"points_in": [[0, 60], [60, 60], [60, 140]], "note": "return duct"}
"""Through K1's first two copies, then along the bay before its third."""
TYPED = {"level": "Roof", "points": "0, 8'-4\"\n16'-8\", 8'-4\"", "shape": "circle", "diameter": "8"}
TYPED |= {"clearance": "1", "datum": "bearing"}


def test_it_is_told_while_it_is_drawn_and_by_the_api(file_run, client_of, builder, job, program):
    first = file_run(**AROUND)
    told = program.post("/api/v1/run/", {"job": job.pk, "run": PATH}, format="json").json()
    (met,) = told["meets"]
    assert (met["request"], met["name"], met["beside"], met["joins"]) == (
        first.pk,
        "return duct",
        ["K1-2", "K1-3"],
        False,
    )
    assert (met["path_in"], met["at_in"], met["by_in"]) == (
        pytest.approx(60),
        pytest.approx([60, 100]),
        pytest.approx(10),
    )
    assert all(one["verdict"] == "fits" for one in told["crossings"])
    page = client_of(builder).post(f"/jobs/{job.pk}/run/", TYPED | {"up": '22 3/4"'}, headers={"HX-Request": "true"})
    says = " ".join(text(page).split())
    assert "Fits through all 5 trusses as they are, but it comes into another run" in says
    there = 'between K1-2 and K1-3, 5\'-0" along it: 10" too near'
    assert f"It comes into another run, return duct (request {first.pk}), {there}" in says
    assert 'class="note good"' not in page.content.decode()
    (line,) = re.findall(r'<a id="run-line" class="note run-line no-print (\w+)"', page.content.decode())
    assert line == "look"
    assert says.count("but it comes into another run") == 2


def test_above_it_there_is_nothing_to_say(file_run, client_of, builder, job):
    file_run(**AROUND)
    page = client_of(builder).post(f"/jobs/{job.pk}/run/", TYPED | {"up": '32 3/4"'}, headers={"HX-Request": "true"})
    assert "another run" not in text(page)
    assert run_answer(job, PATH | {"height_in": 32.75})["meets"] == []


def test_both_requests_say_it_until_one_of_them_ends(file_run, client_of, builder, designer):
    first, second = file_run(**AROUND), file_run()
    for here, other in ((first, second), (second, first)):
        says = " ".join(text(client_of(designer).get(f"/requests/{here.pk}/")).split())
        assert "Where runs meet It comes into another run," in says
        assert f"(request {other.pk}), between K1-2 and K1-3" in says
    workflow.withdraw(builder, first)
    assert "another run" not in text(client_of(designer).get(f"/requests/{second.pk}/"))


def test_two_of_one_request_are_held_against_each_other_too(file_run, job, builder, needed_by, client_of):
    asks = [{"kind": "run", "run": PATH | more} for more in (AROUND, {})]
    change = workflow.file(builder, job, reason="Two", needed_by=needed_by, asks=asks)
    says = " ".join(text(client_of(builder).get(f"/requests/{change.pk}/")).split())
    assert says.count("It comes into another run,") == 2


@pytest.mark.parametrize(
    ("beside", "says"),
    [
        (["A-1", "A-2"], "between A-1 and A-2"),
        (["A-1", "A-1"], "in A-1"),
        ([None, "A-1"], "beside A-1"),
        ([None, None], "where no truss stands"),
    ],
)
def test_the_sentence_says_where(beside, says):
    told = coded("run-joins-run", called="trunk", request=3, beside=beside, path_in=30, within_in=[20, 40], by_in=1)
    assert f"trunk (request 3), {says}, 2'-6\" along it." in tell(MEETING, [told])


def test_what_lies_side_by_side_is_told_from_where_to_where():
    told = coded("run-meets-itself", beside=["A-1", "A-2"], path_in=100, within_in=[12, 312], by_in=1)
    assert tell(MEETING, [told]).startswith('It comes into itself, from 1\'-0" to 26\'-0" along it: 1" too near')
