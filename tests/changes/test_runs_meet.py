"""A run that comes into another between two trusses, where none of them says so."""

from __future__ import annotations

import re
from typing import Any

import pytest

from changes import workflow
from changes.asks.live_run import run_answer
from changes.asks.reading import read_asks
from tests.changes.asking import PATH
from tests.changes.conftest import ROW
from tests.changes.reading import text
from tests.refused import refused
from trusses.analysis.words.phrases import coded, tell
from trusses.analysis.words.runs import MEETING
from trusses.models import Job, Stage
from trusses.plan import placing
from trusses.revisions import add_mark

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
    assert '8" round: fits through all 5 trusses as they are, but it comes into another run' in says
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
    ("said", "meet", "unsaid"),
    [
        ({"Roof": 10.0, "Floor": 0.0}, True, False),
        ({"Roof": 10.0}, True, False),  # heights count from the other's bearing then
        ({}, False, True),
        ({"Floor": 10.0}, False, False),  # the roof is the lowest then, and they are 20 in. apart
        ({"Roof": 40.0, "Floor": 0.0}, False, False),
    ],
)
def test_a_run_of_another_level_is_told_where_somebody_said_how_high_both_bear(
    client_of, builder, designer, program, file_run, job, king_post, said, meet, unsaid
):
    """At one height where the roof bears 10 in. above the floor: 22 3/4 and 32 3/4 in. above their own bearings. Where
    nobody said how high both bear, it is told that they aren't held against each other."""
    floor = add_mark(job, {**king_post, "mark": "F1", "use": "floor"}, 3, designer)
    placing.place(designer, floor, None, ROW | {"level": "Floor"})
    Job.objects.filter(pk=job.pk).update(bearing_heights=said)
    first = file_run()
    roof = first.pk
    across = PATH | {"level": "Floor", "points_in": [[0, 90], [60, 90], [60, 140]], "height_in": 32.75}
    for run, where in ((across, "Roof"), (PATH, "Floor")):
        if where == "Floor":
            first = file_run(**across)
        answer = program.post("/api/v1/run/", {"job": job.pk, "run": run}, format="json").json()
        left = {"request": first.pk, "name": "8 in. duct", "level": where}
        assert (left in answer["not_compared"]) is unsaid
        far = program.post("/api/v1/run/", {"job": job.pk, "run": run | FAR}, format="json").json()
        assert left not in far["not_compared"]
        told = [one for one in answer["meets"] if one["request"] == first.pk]
        assert [(one["level"], one["by_in"]) for one in told] == ([(where, pytest.approx(10))] if meet else [])
    typed = TYPED | {"level": "Floor", "points": "0, 90\n60, 90\n60, 140", "up": '32 3/4"'}
    says = text(client_of(builder).post(f"/jobs/{job.pk}/run/", typed, headers={"HX-Request": "true"}))
    assert (", of Roof), " in " ".join(says.split())) is (meet or unsaid)
    unknown = f"Not compared with another run, 8 in. duct (request {roof}, of Roof), which it crosses or lies beside"
    assert (unknown in " ".join(says.split())) is unsaid


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


FAR: dict[str, Any] = {"points_in": [[0, 180], [200, 180]]}


BACK: dict[str, Any] = {"points_in": [[0, 100], [132, 100], [0, 100]]}
"""Through all five copies, and back the same way."""
BESIDE_ITSELF: dict[str, Any] = {"points_in": [[0, 100], [132, 100], [132, 109.5], [0, 109.5]]}
"""And back half an inch nearer than its clear space on both sides."""
IN_THE_BAY: dict[str, Any] = {"points_in": [[0, 100], [60, 100], [60, 200], [60, 108]]}
"""Back along a bay, through no truss twice."""
PAST_A_TRUSS: dict[str, Any] = {"points_in": [[0, 100], [126, 100], [114, 100]]}
"""Back through K2's last copy, hardly farther than its own width."""
AT_THE_END: dict[str, Any] = {
    "points_in": [[0, 100], [132, 100], [132, 180], [60, 180], [60, 104]],
    "height_in": 22.75,
}
"""Its end comes to its beginning, as a branch does: neither is in the other's way."""


@pytest.mark.parametrize(
    ("line", "where", "by"),
    [
        (BACK, 'from 0" to 10\'-7" along it', '10"'),
        (BESIDE_ITSELF, "along it", '1/2"'),
        (IN_THE_BAY, "along it", '10"'),
        (PAST_A_TRUSS, "along it", '7"'),
    ],
)
def test_a_run_that_comes_into_itself_is_told_and_refused_alike(
    client_of, builder, job, program, file_run, line, where, by
):
    told = program.post("/api/v1/run/", {"job": job.pk, "run": PATH | line}, format="json").json()
    says = told["meets_itself"]
    assert says.startswith("It comes into itself, ")
    assert (where in says, f": {by} too near there" in says) == (True, True), says
    typed = TYPED | {"points": "\n".join(f"{x}, {y}" for x, y in line["points_in"]), "up": '22 3/4"'}
    page = client_of(builder).post(f"/jobs/{job.pk}/run/", typed, headers={"HX-Request": "true"})
    words = " ".join(text(page).split())
    assert says in words
    assert "but it comes into itself" in words
    assert "It can't be sent as it runs: move it." in words
    with pytest.raises(workflow.Refused) as trouble:
        file_run(**line)
    assert (trouble.value.code, trouble.value.place) == ("run-meets-itself", "asks[0].run")
    assert trouble.value.says[1:] == says[1:]


def test_what_joins_itself_at_its_end_is_sent(job, program, file_run):
    told = program.post("/api/v1/run/", {"job": job.pk, "run": PATH | AT_THE_END}, format="json").json()
    assert told["meets_itself"] == ""
    assert file_run(**AT_THE_END).pk


def test_openings_that_are_shared_are_held_against_each_other_as_they_are_asked(
    job, placed, program, builder, needed_by
):
    """There and back askew, far enough apart in each copy; one design for all of a mark is as wide as both differ by,
    which is only asked where somebody wants it."""
    askew = PATH | {"points_in": [[0, 60], [132, 84], [132, 96], [0, 72]]}
    body = {"job": job.pk, "run": askew}
    assert program.post("/api/v1/run/", body, format="json").json()["meets_itself"] == ""
    told = program.post("/api/v1/run/", body | {"together": True}, format="json").json()["meets_itself"]
    assert told.startswith("Two of its openings come ")
    asks = [{"kind": "run", "run": askew, "together": True}]
    with refused(workflow.Refused, "run-shares-itself", "asks[0].run"):
        workflow.file(builder, job, reason="Both ways", needed_by=needed_by, asks=asks)
    asks[0]["together"] = False
    change = workflow.file(builder, job, reason="Both ways", needed_by=needed_by, asks=asks)
    assert sum(len(one.copies) for one in change.asks.all()) == 10


def test_a_better_line_that_would_be_refused_as_it_is_asked_is_not_offered(job, placed, program):
    """Askew there and back, high: lower or aside it fits, and each pair of openings of a copy is apart. One design for
    all of a mark is as wide as its copies differ by, and there its two come into each other."""
    askew = {"points_in": [[0, 147.3125], [132, 176.375], [132, 190], [0, 160.9375]], "height_in": 37.9375}
    askew |= {"slope_in_per_ft": 0.25, "section": {"shape": "circle", "diameter_in": 3, "clearance_in": 1}}
    truss, _ = placed
    truss.copies.filter(number=2).update(stage=Stage.CUT, built_to=truss.current)

    def readable(line, together):
        try:
            return bool(read_asks(job, [{"kind": "run", "run": line["run"], "together": together}]))
        except workflow.Refused:
            return False

    body = {"job": job.pk, "run": PATH | askew, "lines": True}
    apart = program.post("/api/v1/run/", body, format="json").json()["lines"]
    assert all(readable(one, False) for one in apart)
    assert not all(readable(one, True) for one in apart)
    shared = program.post("/api/v1/run/", body | {"together": True}, format="json").json()["lines"]
    assert all(readable(one, True) for one in shared)


def test_what_lies_side_by_side_is_told_from_where_to_where():
    told = coded("run-meets-itself", beside=["A-1", "A-2"], path_in=100, within_in=[12, 312], by_in=1)
    assert tell(MEETING, [told]).startswith('It comes into itself, from 1\'-0" to 26\'-0" along it: 1" too near')
