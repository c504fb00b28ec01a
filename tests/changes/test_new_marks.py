"""A truss that was sent: the worker analyses it, however little that is, and the page tells how far it is."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from changes.models import Computation
from changes.worker import queue, tasks
from trusses import revisions
from trusses.analysis import analysis
from trusses.analysis.format.document import read
from trusses.analysis.work import MOST_WHILE_ONE_WAITS, work
from trusses.models import Submission, Truss

PANELS = 40


def floor(bearings: int, mark: str = "F9") -> dict:
    """A flat truss of 40 panels of 2 ft over so many bearings."""
    joints = {f"{row}{i}": [24 * i, height] for row, height in (("B", 0), ("T", 20)) for i in range(PANELS + 1)}
    wood = {"lumber": "2x4 SPF No.1/No.2", "flat": True}
    members = [
        {"id": name, "role": role, "joints": list(ends), **wood}
        for i in range(PANELS)
        for name, role, ends in (
            (f"b{i}", "bottom_chord", (f"B{i}", f"B{i + 1}")),
            (f"t{i}", "top_chord", (f"T{i}", f"T{i + 1}")),
            (f"w{i}", "web", (f"B{i}", f"T{i + 1}")),
        )
    ]
    members += [{"id": f"v{i}", "role": "web", "joints": [f"B{i}", f"T{i}"], **wood} for i in range(PANELS + 1)]
    held = sorted({round(i * PANELS / (bearings - 1)) for i in range(bearings)})
    return {
        "format": "chordchange.truss",
        "version": 1,
        "mark": mark,
        "use": "floor",
        "spacing_in": 24,
        "joints": joints,
        "members": members,
        "bearings": [{"joint": f"B{i}", "restrains": "y" if i else "xy", "width_in": 3.5} for i in held],
        "loads": {
            "area": [
                {"case": "dead", "chord": "top_chord", "psf": 10, "along": "slope"},
                {"case": "live", "chord": "top_chord", "psf": 40, "along": "plan"},
            ]
        },
        "lateral_restraint": {"top_chord_in": 16, "bottom_chord_in": 48},
    }


@pytest.fixture
def no_frames(monkeypatch):
    """Whoever analyses a truss from here on fails the test."""

    def solved(*_, **__):
        raise AssertionError("a frame was solved while somebody waited")

    monkeypatch.setattr(revisions, "analyse", solved)


def upload(client, job, document: dict, **more):
    body = {"file": SimpleUploadedFile("f.json", json.dumps(document).encode()), "quantity": 2, **more}
    return client.post(reverse("trusses:upload-truss", args=[job.pk]), body)


def test_how_much_there_is_to_do_grows_with_what_is_looked_at(king_post):
    """Five members are far under the limit, forty panels on two bearings under it, on twenty-one over it."""
    small, two, many = (work(read(document)) for document in (king_post, floor(2), floor(21)))
    assert small < MOST_WHILE_ONE_WAITS / 10
    assert two < MOST_WHILE_ONE_WAITS / 5 < MOST_WHILE_ONE_WAITS < many
    more = floor(2)
    for n in range(200):
        window = {"from_x_in": 4 * n, "to_x_in": 4 * n + 24}
        more["loads"]["area"].append(
            {"case": "live", "chord": "top_chord", "psf": 40, "along": "plan", "pattern": f"p{n}", **window}
        )
    assert work(read(more)) > MOST_WHILE_ONE_WAITS


class TestOneThatIsSent:
    def test_is_analysed_by_the_worker_and_told_on_the_page(self, client_of, designer, job, monkeypatch):
        client = client_of(designer)
        with monkeypatch.context() as waiting:
            waiting.setattr(revisions, "analyse", None)  # nobody may
            sent = upload(client, job, floor(21))
        new = Submission.objects.get()
        assert (new.kind, new.said) == ("new mark", {"quantity": 2, "can_change_until": None})
        page = sent.headers["Location"]
        assert page == reverse("changes:submission", args=[new.pk])
        assert not Truss.objects.exists()
        told = client.get(page).content.decode()
        assert "In line for the computation" in told
        assert f'hx-get="{page}progress/"' in told
        assert f'<noscript><span><a href="{page}">Load the page again</a>' in told
        assert client.get(f"{page}progress/").status_code == 200

        tasks.compute(Computation.objects.get(submission=new).pk)
        truss = Truss.objects.get()
        assert (truss.mark, truss.copies.count(), truss.current.number) == ("F9", 2, 0)
        assert truss.current.analysis["truss_sha256"] == truss.current.sha256
        done = client.get(f"{page}progress/")
        assert (done.status_code, done.headers["HX-Refresh"]) == (286, "true")
        assert client.get(page).headers["Location"] == reverse("trusses:mark", args=[job.pk, truss.pk])

    def test_is_made_once_by_whoever_holds_the_token(self, client_of, designer, job, settings):
        upload(client_of(designer), job, floor(21))
        row = Computation.objects.get()
        first = queue.claim(row.pk)
        assert queue.claim(row.pk) is None
        settings.COMPUTE_LEASE_S = -1
        second = queue.claim(row.pk)
        writes = []
        assert queue.finish(first, lambda: writes.append("first") or "") is False
        assert queue.finish(second, lambda: writes.append("second") or "") is True
        assert writes == ["second"]

    def test_whose_mark_was_taken_meanwhile_says_so(self, client_of, designer, job, king_post):
        client = client_of(designer)
        page = upload(client, job, floor(21, "K1")).headers["Location"]
        revisions.add_mark(job, king_post, 1, designer)
        tasks.compute(Computation.objects.get().pk)
        assert Computation.objects.get().state == "done"
        told = client.get(page).content.decode()
        assert "It is not in the set." in told
        assert "This job has a mark K1 already." in told

    def test_that_breaks_says_so_after_the_last_attempt(self, client_of, designer, job, settings, monkeypatch):
        client = client_of(designer)
        page = upload(client, job, floor(21)).headers["Location"]

        def broken(*_):
            raise ZeroDivisionError

        monkeypatch.setattr(revisions, "analyse", broken)
        for _ in range(settings.COMPUTE_ATTEMPTS):
            tasks.compute(Computation.objects.get().pk)
        assert Computation.objects.get().state == "failed"
        assert "It could not be computed: the computation broke" in client.get(page).content.decode()
        trouble = Submission.objects.get().trouble
        assert (trouble["code"], trouble["values"]["why"]["code"]) == ("not-computed", "broke")

    def test_whose_mark_is_taken_is_refused_at_once(self, client_of, designer, job, truss, no_frames):
        answer = upload(client_of(designer), job, floor(21, "K1"))
        assert answer.status_code == 422
        assert "This job has a mark K1 already." in answer.content.decode()
        assert not Submission.objects.exists()

    def test_is_seen_by_designers_of_its_job_alone(self, client_of, cast, designer, job):
        page = upload(client_of(designer), job, floor(21)).headers["Location"]
        seen = {who: client_of(person).get(page).status_code for who, person in cast.items()}
        assert seen == {"builder": 403, "designer": 200, "site lead": 403, "outsider": 404, "nobody": 302}

    def test_waits_for_a_program_too(self, api_of, designer, job, no_frames):
        program = api_of(designer)
        body = {"document": floor(21), "quantity": 3}
        sent = program.post(f"/api/v1/jobs/{job.pk}/trusses/", body, format="json")
        assert sent.status_code == 202
        told = program.get(f"/api/v1/submissions/{sent.json()['id']}/").json()
        assert told == sent.json()
        assert (told["mark"], told["waits"], told["truss"], told["trouble"]) == ("F9", True, None, "")


def test_an_ordinary_one_is_in_the_set_at_once_for_a_program_alone(
    client_of, api_of, designer, job, king_post, no_frames
):
    """A person's page never solves; the API's call is fixed to answer with the mark, where that is little to do."""
    upload(client_of(designer), job, king_post)
    assert (Computation.objects.count(), Truss.objects.count()) == (1, 0)
    with pytest.raises(AssertionError, match="a frame was solved"):
        api_of(designer).post(f"/api/v1/jobs/{job.pk}/trusses/", {"document": king_post, "quantity": 1}, format="json")


def test_what_the_worker_makes_is_what_a_call_would_have_made(client_of, designer, job, king_post):
    """The way alone differs: the same document through the worker has the same analysis."""
    at_once = revisions.add_mark(job, {**king_post, "mark": "K2"}, 1, designer)
    upload(client_of(designer), job, {**king_post, "mark": "K3"})
    tasks.compute(Computation.objects.get().pk)
    later = Truss.objects.get(mark="K3").current
    assert later.analysis["checks"] == [
        {**check, "id": "K3"} if check["of"] == "truss" else check for check in at_once.current.analysis["checks"]
    ]
    assert later.analysis["engine"] == analysis.ENGINE


def test_one_that_could_move_says_so(client_of, designer, job, king_post):
    """What only the solver can tell comes back as a code."""
    loose = {**king_post, "hinges": ["A", "B", "C", "D"], "members": king_post["members"][:-1]}
    page = upload(client_of(designer), job, loose).headers["Location"]
    tasks.compute(Computation.objects.get().pk)
    assert Submission.objects.get().trouble["code"] == "because"
    assert "can move freely" in client_of(designer).get(page).content.decode()
