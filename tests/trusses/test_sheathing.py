"""Sheathing and wall plates as a job says them: who may, what the analyses are told, what a sheet lists."""

from __future__ import annotations

import math

import pytest
from django.urls import reverse

from trusses.analysis.checks.surroundings import Surroundings
from trusses.bearings import links
from trusses.job import surroundings
from trusses.revisions import add_mark

PLATE = "2x6 DF-L No.2"


@pytest.fixture
def page(job):
    return reverse("trusses:sheathing", args=(job.pk,))


class TestSaying:
    def test_nothing_is_counted_on_until_a_designer_says_it(self, job, truss, client_of, designer, page):
        assert surroundings.of_mark(truss) == Surroundings()
        assert "surroundings" not in truss.current.analysis
        answer = client_of(designer).post(page, {"sheathing_km": "1200"})
        assert answer.status_code == 302
        job.refresh_from_db()
        assert job.sheathing_km == 1200
        assert surroundings.of_job(job) == Surroundings(km=1200)

    def test_it_can_be_taken_back(self, job, client_of, designer, page):
        client_of(designer).post(page, {"sheathing_km": "2300"})
        client_of(designer).post(page, {"sheathing_km": ""})
        job.refresh_from_db()
        assert job.sheathing_km is None

    def test_another_constant_is_refused_and_nothing_changes(self, job, client_of, designer, page):
        answer = client_of(designer).post(page, {"sheathing_km": "2400"})
        assert answer.status_code == 422
        assert "Choose one of the three." in answer.content.decode()
        job.refresh_from_db()
        assert job.sheathing_km is None

    @pytest.mark.parametrize(("who", "status"), [("builder", 403), ("site lead", 403), ("outsider", 404)])
    def test_nobody_else_says_it(self, cast, client_of, page, who, status, job):
        assert client_of(cast[who]).post(page, {"sheathing_km": "2300"}).status_code == status
        job.refresh_from_db()
        assert job.sheathing_km is None

    def test_everyone_in_the_job_reads_it(self, client_of, builder, page):
        answer = client_of(builder).get(page).content.decode()
        assert "not counted on" in answer
        assert 'name="sheathing_km"' not in answer

    def test_programs_read_and_say_it_under_the_same_rules(self, job, api_of, designer, builder):
        where = f"/api/v1/jobs/{job.pk}/sheathing/"
        assert api_of(builder).get(where).json() == {"sheathing_km": None}
        assert api_of(builder).post(where, {"sheathing_km": 2300}, format="json").status_code == 403
        assert api_of(designer).post(where, {"sheathing_km": 7}, format="json").status_code == 400
        assert api_of(designer).post(where, {"sheathing_km": 2300}, format="json").json() == {"sheathing_km": 2300}
        assert api_of(builder).get(where).json() == {"sheathing_km": 2300}


class TestWhatAnAnalysisIsTold:
    def test_a_new_mark_is_analysed_with_the_sheathing_of_its_job(self, job, designer, king_post):
        job.sheathing_km = 2300
        job.save()
        mark = add_mark(job, {**king_post, "mark": "K9"}, 1, designer)
        assert mark.current.analysis["surroundings"] == {"KM": 2300}

    def test_the_plates_of_the_walls_below_are_told_by_joint(self, truss, designer):
        joint = truss.current.document["bearings"][0]["joint"]
        links.set_link(designer, truss, joint, wall="north wall", plate=PLATE)
        assert surroundings.of_mark(truss) == Surroundings(wall_plates={joint: PLATE})

    def test_a_wall_without_a_plate_tells_nothing(self, truss, designer):
        joint = truss.current.document["bearings"][0]["joint"]
        links.set_link(designer, truss, joint, wall="north wall")
        assert surroundings.of_mark(truss) == Surroundings()

    def test_what_is_compared_with_is_told_the_same(self, truss, designer):
        """The stored analysis counts while nothing is said; then a new one, and the revision keeps its own."""
        stored = truss.current.analysis
        assert surroundings.before(truss.current, Surroundings()) is stored
        joint = truss.current.document["bearings"][0]["joint"]
        anew = surroundings.before(truss.current, Surroundings(wall_plates={joint: PLATE}))
        assert anew["surroundings"] == {"wall_plates": {joint: PLATE}}
        assert [c["rule"] for c in anew["checks"]].count("bearing of the wall plate") == 1
        assert "surroundings" not in truss.current.analysis


def test_a_plate_that_is_said_after_the_analysis_counts_in_the_width_that_is_needed(truss, designer, client_of, api_of):
    """R / (b Fc-perp) of the stored reaction: the plate's 425 psi asks for 625/425 of what the chord does."""
    sheet = reverse("trusses:sheet", args=(truss.job_id, truss.pk, 0))
    figures = f"/api/v1/revisions/{truss.current.sha256}/figures/"
    own = api_of(designer).get(figures).json()["supports"][0]
    assert (own["plate"], own["width_governed_by"]) == (None, "chord")
    pressed = next(c for c in truss.current.analysis["checks"] if c["rule"] == "bearing")
    links.set_link(designer, truss, own["joint"], wall="north wall", plate="2x6 SPF No.1/No.2")
    told = api_of(designer).get(figures).json()["supports"][0]
    assert (told["plate"], told["width_governed_by"]) == ("2x6 SPF No.1/No.2", "wall plate")
    assert told["required_width_in"] == math.ceil(own["width_in"] * pressed["demand"] / 425 * 16) / 16
    assert told["required_width_in"] > own["required_width_in"]
    assert "by the wall plate" in client_of(designer).get(sheet).content.decode()


def test_the_sheet_lists_what_was_taken_for_granted_and_what_the_plate_asks_for(job, designer, king_post, client_of):
    job.sheathing_km = 2300
    job.save()
    king_post["members"][0]["lumber"] = "2x4 DF-L No.1"
    mark = add_mark(job, king_post, 1, designer)
    sheet = client_of(designer).get(reverse("trusses:sheet", args=(job.pk, mark.pk, 0))).content.decode()
    assert "KM 2300, NDS 4.4.2" in sheet
    assert "its lumber isn’t said at" in sheet
