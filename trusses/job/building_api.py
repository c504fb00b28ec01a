"""What a job builds with, for programs."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.analysis.lumber import LUMBER
from trusses.job.building import say
from trusses.job.building_page import VERB
from trusses.models import BUILDING_BOUNDS_IN, JobBuilding
from trusses.permissions import job_or_404, require
from trusses.serializers import StrictSerializer


def _inches(name: str) -> serializers.FloatField:
    low, high = BUILDING_BOUNDS_IN[name]
    return serializers.FloatField(min_value=low, max_value=high)


class BuildingSerializer(StrictSerializer):
    """Limits that every redesign keeps, inches. `stock` are the keys of lumber that the job can have; none: all."""

    tolerance_in = _inches("tolerance_in")
    from_joints_in = _inches("from_joints_in")
    longest_piece_in = _inches("longest_piece_in")
    stock = serializers.ListField(child=serializers.ChoiceField(choices=sorted(LUMBER)), max_length=len(LUMBER))


class BuildingView(APIView):
    @extend_schema(operation_id="jobs_building_retrieve", responses=BuildingSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What the redesigns of a job keep to."""
        job = job_or_404(request.user, pk)
        return Response(BuildingSerializer(JobBuilding.objects.filter(job=job).first() or JobBuilding()).data)

    @extend_schema(operation_id="jobs_building_create", request=BuildingSerializer, responses=BuildingSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Says it, all of it; by a designer. It counts from the next computation on."""
        job = job_or_404(request.user, pk)
        require(request.user, VERB, job)
        body = BuildingSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said: dict[str, Any] = body.validated_data
        return Response(BuildingSerializer(say(job, said)).data)
