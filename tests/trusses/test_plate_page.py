"""A job's table of plate values. Every value is invented."""

from __future__ import annotations

import re

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from trusses.job.plate_page import current_table
from trusses.models import PlateTable

CSV = "plate,width_in,length_in,holding_0_psi,holding_90_psi,tension_lb_per_in\ninvented,3,4,200,100,800\n"
REPORT = "Invented report No. 0"


def post(client, job, csv: bytes | str = CSV, report: str = REPORT):
    body = csv.encode() if isinstance(csv, str) else csv
    return client.post(f"/jobs/{job.pk}/plates/", {"report": report, "file": SimpleUploadedFile("t.csv", body)})


def words(answer) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).replace("&quot;", '"').split())


def test_a_designer_uploads_and_everyone_reads(client_of, job, designer, site_lead):
    assert post(client_of(designer), job)["Location"] == f"/jobs/{job.pk}/plates/"
    table = current_table(job)
    assert (table.report, table.uploaded_by) == (REPORT, designer)
    told = words(client_of(site_lead).get(f"/jobs/{job.pk}/plates/"))
    assert "200 psi at 0°, 100 psi at 90°" in told
    assert "Use this table" not in told
    assert "not checked" in told


def test_nobody_else_uploads(client_of, job, builder, site_lead, outsider):
    assert [post(client_of(person), job).status_code for person in (builder, site_lead)] == [403, 403]
    assert post(client_of(outsider), job).status_code == 404
    assert client_of(outsider).get(f"/jobs/{job.pk}/plates/").status_code == 404
    assert "/sign-in/" in post(client_of(None), job)["Location"]
    assert not PlateTable.objects.exists()


@pytest.mark.parametrize(
    ("csv", "report", "says"),
    [
        (CSV.replace("200", "none"), REPORT, 'Row 2: holding_0_psi is "none"; it must be a number over 0'),
        (b"\xff\xfe\x00", REPORT, "no text in UTF-8"),
        ("", REPORT, "The table is empty"),
        (CSV, "", "Name the evaluation report"),
        ("x" * 200_001, REPORT, "a table can have 200,000"),
        ("plate\x00,width_in\n", REPORT, "The first row has a column"),
    ],
)
def test_a_table_that_is_wrong_is_refused_by_name(client_of, job, designer, csv, report, says):
    answer = post(client_of(designer), job, csv, report)
    assert answer.status_code == 422
    assert says in words(answer)
    assert not PlateTable.objects.exists()


def test_the_newest_table_counts_and_none_changes(client_of, job, designer):
    client = client_of(designer)
    post(client, job)
    post(client, job, report="Invented report No. 1")
    assert current_table(job).report == "Invented report No. 1"
    assert PlateTable.objects.count() == 2
    with pytest.raises(ValidationError, match="never changes"):
        current_table(job).save()


def test_hostile_words_stay_words(client_of, job, designer):
    post(client_of(designer), job, CSV.replace("invented", "<script>x</script>"), "<b>report</b>")
    page = client_of(designer).get(f"/jobs/{job.pk}/plates/").content.decode()
    assert "<script>x" not in page
    assert "<b>report" not in page
    assert "&lt;script&gt;x" in page
