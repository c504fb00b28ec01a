"""What an analysis may take for granted of a job's sheathing, for programs."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.models import Job
from trusses.permissions import job_or_404, require
from trusses.serializers import StrictSerializer

VERB = "say how the roof is sheathed"


class SheathingSerializer(StrictSerializer):
    """KM of CT, NDS 4.4.2: 2300 where the lumber had 19 % moisture or less when the panels of 3/8 in. or more were
    nailed to the top chords, 1200 where it was wetter, null where nothing is counted on."""

    sheathing_km = serializers.ChoiceField(choices=Job.Sheathing.choices, allow_null=True)


class Sheathing(APIView):
    @extend_schema(responses=SheathingSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What the analyses of a job count on."""
        return Response(SheathingSerializer(job_or_404(request.user, pk)).data)

    @extend_schema(request=SheathingSerializer, responses=SheathingSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Says it; by a designer. It counts from the next computation on."""
        job = job_or_404(request.user, pk)
        require(request.user, VERB, job)
        body = SheathingSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        job.sheathing_km = body.validated_data["sheathing_km"]
        job.save(update_fields=["sheathing_km"])
        return Response(SheathingSerializer(job).data)
