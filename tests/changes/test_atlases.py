"""Atlases: made on the first visit, gone on with while nobody waits, told while a thumb drags as no verdict."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from celery import current_app
from django.utils import timezone

from changes import computations as doorbell
from changes import workflow
from changes.models import Atlas, Computation
from changes.worker import atlases, queue, tasks
from tests.changes.asking import CUTS_CHORD, FITS, HITS_WEB, compute, first_options
from tests.changes.reading import text
from trusses.analysis.redesign.atlas import Atlas as Found
from trusses.analysis.redesign.atlas import Way
from trusses.analysis.redesign.building import Building
from trusses.models import JobBuilding, JobRates, Truss


@pytest.fixture(autouse=True)
def rung(monkeypatch) -> list[tuple[str, int]]:
    heard: list[tuple[str, int]] = []
    monkeypatch.setattr(current_app, "send_task", lambda name, args, **_: heard.append((name, *args)))
    return heard


@pytest.fixture
def atlas(truss) -> Atlas:
    doorbell.want_atlas(truss)
    return Atlas.objects.get()


@pytest.fixture
def surveyed(monkeypatch):
    """The survey finds K1 without its post, in two searches."""
    chords = np.array([[[0, 0], [240, 0]], [[0, 0], [120, 60]], [[120, 60], [240, 0]]], dtype=float)
    found = Way(1, 1, "out", True, 0, chords, np.full(3, 5.5), np.zeros(3, dtype=bool), np.zeros((0, 2)))

    def survey(truss, begun, said, progress, most, building):
        for turn in range(len(begun.asked), 2):
            progress(0.5, {"code": "sorted", "values": {}})
            yield Found((found,), tuple((i, True) for i in range(turn + 1)), turn == 1)

    monkeypatch.setattr(atlases, "survey", survey)
    return found


def fit(program, truss, opening):
    return program.post("/api/v1/fit/", {"truss": truss.pk, "opening": opening}, format="json").json()


def test_the_first_visit_asks_for_one_and_no_other_does(
    client_of, builder, job, truss, rung, django_capture_on_commit_callbacks
):
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            assert client_of(builder).get(f"/jobs/{job.pk}/trusses/{truss.pk}/ask/").status_code == 200
    assert rung == [("changes.survey", Atlas.objects.get().pk)]
    assert Atlas.objects.get().sha256 == truss.current.sha256


def test_none_is_made_where_none_is_wanted(truss, settings):
    settings.ATLAS_SEARCHES = 0
    doorbell.want_atlas(truss)
    assert not Atlas.objects.exists()
    assert atlases.ring_for_atlas() == 0


def test_of_what_is_never_called_passing_nothing_is_promised(program, truss, atlas, surveyed):
    tasks.survey(atlas.pk)
    truss.kinds = ["drag"]
    truss.save()
    assert fit(program, truss, HITS_WEB)["likely"] == ""
    Atlas.objects.all().delete()
    doorbell.want_atlas(truss)
    assert not Atlas.objects.exists()


def test_once_it_is_done_the_answer_says_what_is_likely_and_no_more(program, truss, atlas, surveyed, rung):
    assert fit(program, truss, HITS_WEB)["likely"] == ""
    tasks.survey(atlas.pk)
    atlas.refresh_from_db()
    assert (atlas.done, atlas.searches, atlas.attempts, atlas.claimed_at) == (True, 2, 0, None)
    assert rung == []  # nothing left to go on with
    told = fit(program, truss, HITS_WEB)
    assert told["likely"] == "Likely with 1 web taken out and stronger lumber or more restraint; to be computed."
    assert (told["fits"], told["touches"]) == (False, ["W1"])
    assert [fit(program, truss, one)["likely"] for one in (FITS, CUTS_CHORD)] == ["", ""]
    larger = {**HITS_WEB, "diameter_in": 40}
    assert fit(program, truss, larger)["likely"] == ""


def test_the_page_tells_it_too(client_of, builder, job, truss, atlas, surveyed):
    tasks.survey(atlas.pk)
    typed = {"shape": "circle", "diameter": "8", "clearance": "1", "along": "9'-6\"", "up": "17"}
    page = client_of(builder).post(f"/jobs/{job.pk}/trusses/{truss.pk}/ask/", typed, headers={"HX-Request": "true"})
    assert "Likely with 1 web taken out" in text(page)
    assert "Touches" in text(page)


def test_it_goes_on_a_few_seconds_at_a_time(atlas, surveyed, rung, monkeypatch):
    monkeypatch.setattr(atlases, "SLICE_S", -1.0)
    tasks.survey(atlas.pk)
    atlas.refresh_from_db()
    assert (atlas.searches, atlas.done, rung) == (1, False, [("changes.survey", atlas.pk)])
    tasks.survey(atlas.pk)
    atlas.refresh_from_db()
    assert (atlas.searches, atlas.done) == (2, True)
    tasks.survey(atlas.pk)
    assert len(rung) == 1


def test_requests_go_first(atlas, surveyed, ask_for, rung, monkeypatch):
    change = ask_for()
    assert atlases.claim(atlas.pk) is None
    Atlas.objects.update(next_ring_at=timezone.now())
    Computation.objects.update(next_ring_at=timezone.now() + timedelta(hours=1))
    assert queue.sweep() == 0
    compute(change)
    assert queue.sweep() == 1
    assert rung[-1] == ("changes.survey", atlas.pk)

    # one that comes while a search goes on: it is left, nothing is lost, and nobody rings for it meanwhile
    mine = atlases.claim(atlas.pk)
    monkeypatch.setattr(atlases, "_LOOKS_EVERY_S", 0.0)
    Computation.objects.update(state="running")
    found = atlases.go_on(mine)
    assert found == Found()
    atlases.give_back(mine, found)
    atlas.refresh_from_db()
    assert (atlas.claimed_at, atlas.attempts, atlas.done, len(rung)) == (None, 0, False, 1)


def test_of_two_workers_one_has_it_and_what_breaks_is_tried_three_times(atlas, surveyed, settings):
    first = atlases.claim(atlas.pk)
    assert first is not None
    assert atlases.claim(atlas.pk) is None
    for _ in range(2):
        Atlas.objects.update(claimed_at=timezone.now() - timedelta(seconds=settings.COMPUTE_LEASE_S + 1))
        assert atlases.claim(atlas.pk) is not None
    atlases.give_back(first, Found(done=True))  # its lease ran out: without effect
    atlas.refresh_from_db()
    assert (atlas.done, atlas.attempts) == (False, 3)
    Atlas.objects.update(claimed_at=None)
    assert atlases.claim(atlas.pk) is None
    assert atlases.ring_for_atlas() == 0


def test_what_is_said_of_the_surroundings_makes_another(program, truss, atlas, surveyed, job):
    tasks.survey(atlas.pk)
    assert fit(program, truss, HITS_WEB)["likely"]
    job.sheathing_km = 2300
    job.save()
    assert fit(program, truss, HITS_WEB)["likely"] == ""
    doorbell.want_atlas(truss)
    assert Atlas.objects.count() == 2


def test_what_the_job_builds_with_makes_another(program, job, truss, atlas, surveyed):
    """The way has no panel points and so keeps any distance to them: here the key alone tells."""
    tasks.survey(atlas.pk)
    assert fit(program, truss, HITS_WEB)["likely"]
    said = JobBuilding.objects.create(job=job, from_joints_in=12.0, stock=["2x4 DF-L No.1"])
    assert fit(program, truss, HITS_WEB)["likely"] == ""
    JobRates.objects.create(job=job, piece=1)
    said.delete()
    assert fit(program, truss, HITS_WEB)["likely"]  # rates rule nothing out


def test_the_survey_and_the_promise_are_told_the_job_s_limits(program, job, truss, monkeypatch):
    JobBuilding.objects.create(job=job, from_joints_in=12.0, stock=["2x4 DF-L No.1"])
    doorbell.want_atlas(truss)
    told = []

    def survey(truss, begun, said, progress, most, building):
        told.append(building)
        yield Found((), ((0, False),), True)

    monkeypatch.setattr(atlases, "survey", survey)
    monkeypatch.setattr(Found, "promise", lambda atlas, room, opening, building: told.append(building))
    tasks.survey(Atlas.objects.get().pk)
    assert fit(program, truss, HITS_WEB)["likely"] == ""
    assert told == [Building(from_joints_in=12.0, lumber=frozenset({"2x4 DF-L No.1"}))] * 2


def test_what_is_said_while_it_is_half_done_fills_another(truss, atlas, surveyed, job, rung, monkeypatch):
    monkeypatch.setattr(atlases, "SLICE_S", -1.0)
    tasks.survey(atlas.pk)
    job.sheathing_km = 2300
    job.save()
    tasks.survey(atlas.pk)
    atlas.refresh_from_db()
    assert (atlas.searches, atlas.done, atlas.found["done"], atlas.claimed_at) == (1, True, False, None)
    # said as before, it is gone on with where it was left
    job.sheathing_km = None
    job.save()
    doorbell.want_atlas(Truss.objects.get(pk=truss.pk))
    tasks.survey(atlas.pk)
    atlas.refresh_from_db()
    assert (atlas.searches, atlas.done, atlas.found["done"]) == (2, True, True)


def test_a_decision_asks_for_the_new_revision_s(answered, designer, truss):
    change = answered(FITS)
    workflow.decide(designer, change, verdict="approve", options=first_options(change), reason="")
    truss.refresh_from_db()
    assert [one.sha256 for one in Atlas.objects.all()] == [truss.current.sha256]
