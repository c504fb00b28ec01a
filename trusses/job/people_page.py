"""The people of a job and how to reach them; each says so of oneself."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from trusses.models import Membership
from trusses.permissions import job_or_404


class ReachForm(forms.ModelForm):
    class Meta:
        model = Membership
        fields = ("phone",)
        labels = {"phone": "Your phone"}
        widgets = {"phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"})}


@login_required
def people(request: HttpRequest, job: int) -> HttpResponse:
    building = job_or_404(request.user, job)
    rows = list(building.memberships.filter(user__is_active=True).select_related("user").order_by("role", "user"))
    own = next(row for row in rows if row.user_id == request.user.pk)
    form = ReachForm(request.POST if request.method == "POST" else None, instance=own)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The others of this job see it now.")
        return redirect("trusses:people", job=building.pk)
    page = {"job": building, "rows": rows, "form": form, "troubles": [form] if form.errors else []}
    if form.errors:
        own.refresh_from_db()  # what was typed wrong is nobody's number
    return render(request, "trusses/people.html", page, status=422 if form.errors else 200)
