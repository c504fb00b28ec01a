"""A job's table of plate values: what it says, and the designer's form for a new one."""

from __future__ import annotations

from typing import cast

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.analysis.requirements import plates
from trusses.forms import AloneForm
from trusses.models import Job, PlateTable
from trusses.permissions import job_or_404, may, require

VERB = "upload a table of plates"


class PlateTableForm(AloneForm):
    """A CSV file of plate values and the report that they were taken from."""

    report = forms.CharField(
        max_length=200,
        label="Evaluation report",
        help_text="Its name and number, as it will stand on every sheet beside these values.",
        error_messages={"required": "Name the evaluation report that the values were taken from."},
    )
    file = forms.FileField(
        label="Table of plates",
        help_text="A CSV file with the columns below, one plate a row.",
        allow_empty_file=True,
        error_messages={"required": "Choose the CSV file of the table."},
    )

    def clean_file(self) -> list[dict]:
        """The rows of the file, as they are stored."""
        file = self.cleaned_data["file"]
        if file.size > plates.MOST_BYTES:
            raise forms.ValidationError(f"The file has {file.size:,} bytes; a table can have {plates.MOST_BYTES:,}.")
        try:
            return [plate.row() for plate in plates.read_table(file.read().decode())]
        except UnicodeDecodeError:
            raise forms.ValidationError("The file is no text in UTF-8; save it as CSV in UTF-8.") from None
        except plates.PlateTableError as trouble:
            raise forms.ValidationError(str(trouble)) from trouble


def current_table(job: Job) -> PlateTable | None:
    """The job's newest table, which counts."""
    return PlateTable.objects.filter(job=job).select_related("uploaded_by").order_by("-pk").first()


@login_required
def plate_table(request: HttpRequest, job: int) -> HttpResponse:
    """The table that counts, for everyone in the job; a designer uploads the next one here."""
    building = job_or_404(request.user, job)
    if request.method == "POST":
        require(request.user, VERB, building)
    form = PlateTableForm(request.POST or None, request.FILES or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        PlateTable.objects.create(
            job=building, report=data["report"], rows=data["file"], uploaded_by=cast(User, request.user)
        )
        messages.success(request, f"{len(data['file'])} plates of {data['report']} are this job's table now.")
        return redirect("trusses:plates", job=building.pk)
    table = current_table(building)
    page = {
        "job": building,
        "table": table,
        "plates": plates.plates_of(table.rows) if table else (),
        "columns": plates.COLUMNS.items(),
        "form": form if may(request.user, VERB, building) else None,
    }
    return render(request, "trusses/plates.html", page, status=422 if form.errors else 200)
