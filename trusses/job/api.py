"""A job's calls of the API."""

from __future__ import annotations

from django.db.models import QuerySet
from django.urls import path
from rest_framework import generics

from trusses.job.building_api import BuildingView
from trusses.job.serializers import JobSerializer
from trusses.job.sheathing_api import Sheathing
from trusses.models import Job
from trusses.permissions import jobs_of


class Jobs(generics.ListAPIView):
    """The caller's jobs."""

    serializer_class = JobSerializer

    def get_queryset(self) -> QuerySet[Job]:
        return jobs_of(self.request.user)


urlpatterns = [
    path("jobs/", Jobs.as_view(), name="jobs"),
    path("jobs/<int:pk>/building/", BuildingView.as_view(), name="job-building"),
    path("jobs/<int:pk>/sheathing/", Sheathing.as_view(), name="job-sheathing"),
]
