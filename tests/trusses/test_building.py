"""What a job builds with: who says it, how it is read, and that the search keeps to it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from changes.asks.answers import Case
from changes.asks.opening import answer
from changes.asks.wishes import Wish
from tests.changes.asking import HITS_WEB
from trusses.analysis.redesign.building import USUAL, Building, Rates
from trusses.job.building import of_job
from trusses.models import JobBuilding, JobRates

SAID = {"tolerance_in": '3/8"', "from_joints_in": "6", "longest_piece_in": "16-0", "stock": ["2x4 DF-L No.1"]}


@pytest.fixture
def page(job):
    return reverse("trusses:building", args=(job.pk,))


class TestSaying:
    def test_the_usual_holds_until_a_designer_says_otherwise(self, job, client_of, designer, page):
        assert of_job(job) == USUAL
        assert client_of(designer).post(page, SAID).status_code == 302
        assert of_job(job) == Building(0.375, 6.0, 192.0, frozenset({"2x4 DF-L No.1"}))
        shown = client_of(designer).get(page).content.decode()
        assert 'value="2x4 DF-L No.1" checked' in shown
        assert "DF-L, 1 ticked" in shown

    @pytest.mark.parametrize(
        ("wrong", "says"),
        [
            ({"tolerance_in": "3"}, "Between 0&quot; and 2&quot;."),
            ({"longest_piece_in": "61-0"}, "Between 8&#x27;-0&quot; and 60&#x27;-0&quot;."),
            ({"from_joints_in": "wide"}, "wide"),
            ({"stock": ["2x4 Balsa"]}, "“2x4 Balsa” is not in the table of lumber."),
        ],
    )
    def test_what_is_wrong_is_named_and_loses_nothing(self, job, client_of, designer, page, wrong, says):
        answer = client_of(designer).post(page, {**SAID, **wrong})
        assert answer.status_code == 422
        body = answer.content.decode()
        assert says in body
        if "stock" not in wrong:
            assert 'value="2x4 DF-L No.1" checked' in body
        assert not JobBuilding.objects.exists()

    @pytest.mark.parametrize(("who", "status"), [("builder", 403), ("site lead", 403), ("outsider", 404)])
    def test_nobody_else_says_it(self, cast, client_of, page, who, status):
        assert client_of(cast[who]).post(page, SAID).status_code == status
        assert not JobBuilding.objects.exists()

    def test_everyone_in_the_job_reads_it(self, client_of, builder, page):
        shown = client_of(builder).get(page).content.decode()
        assert "any size and grade of the table" in shown
        assert 'name="stock"' not in shown

    def test_programs_read_and_say_it_under_the_same_rules(self, job, api_of, designer, builder):
        where = f"/api/v1/jobs/{job.pk}/building/"
        usual = {"tolerance_in": 0.25, "from_joints_in": 4.0, "longest_piece_in": 240.0, "stock": []}
        assert api_of(builder).get(where).json() == usual
        assert api_of(builder).post(where, usual, format="json").status_code == 403
        other = {**usual, "tolerance_in": 0.5, "stock": ["2x6 SPF No.1/No.2"]}
        assert api_of(designer).post(where, other, format="json").json() == other
        assert api_of(builder).get(where).json() == other
        assert api_of(designer).post(where, {**usual, "tolerance_in": 9}, format="json").status_code == 400
        assert api_of(designer).post(where, {**usual, "stock": ["2x6"]}, format="json").status_code == 400


def test_the_job_s_rates_go_along(job):
    assert of_job(job).rates is None
    JobRates.objects.create(job=job, piece=Decimal("1.25"), joint=Decimal("2.00"))
    assert of_job(job).rates == Rates(0.0, 1.25, 2.0)


def test_an_answer_keeps_to_the_job_and_names_it(job, truss):
    """K1 is of 2x6 and 2x4 DF-L: what is new may be of these alone, and every option says so."""
    today = {member["lumber"] for member in truss.current.document["members"]}
    JobBuilding.objects.create(job=job, tolerance_in=0.5, stock=sorted(today))
    wish = Wish("opening", truss, (1,), HITS_WEB)
    case = Case(job, [wish], lambda *_: None, 20, truss, truss.current.document, truss.current.analysis)
    options = [one for one in answer(case).options if one.passes and not one.elsewhere]
    assert options
    for option in options:
        assert {member["lumber"] for member in option.document["members"]} <= today
        (limits,) = (one["values"] for one in option.told if one["code"] == "building")
        assert (limits["tolerance_in"], limits["stock"]) == (0.5, len(today))
