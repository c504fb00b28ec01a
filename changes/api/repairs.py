"""The sealed repair of damage for programs: attached to one ask, under the same rules as the pages'."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request as Call
from rest_framework.response import Response

from changes import workflow
from changes.api.base import Calls, body_of, problems
from changes.models import Ask, Request
from changes.permissions import require
from trusses.permissions import one_or_404
from trusses.sealing import seals
from trusses.sealing.api import SealSerializer
from trusses.sealing.models import SealedDrawing
from trusses.serializers import StrictSerializer


class NewRepairSerializer(StrictSerializer):
    """`drawing` is the PDF. One that stands already is replaced by naming it, with a `reason`. A file that is on record
    for another mark is taken only with `also_shows`: somebody looked into it, and it shows this repair as well."""

    ask = serializers.IntegerField()
    drawing = serializers.FileField(error_messages={"required": "Choose the PDF of the sealed drawing."})
    sealed_by = serializers.CharField(max_length=400)
    licence = serializers.CharField(max_length=400)
    state = serializers.CharField(max_length=20)
    sealed_on = serializers.DateField()
    replaces = serializers.IntegerField(required=False)
    reason = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    also_shows = serializers.BooleanField(required=False)


class Repairs(Calls):
    """The sealed repair of one damage of a request."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        request={"multipart/form-data": NewRepairSerializer},
        responses={201: SealSerializer, **problems(400, 403, 404)},
    )
    def post(self, request: Call, pk: int) -> Response:
        """A designer attaches it. What it lacks is recorded by `seals/{id}/review/`, `acceptance/`, `carried-out/`."""
        change = one_or_404(Request.objects.select_related("job"), request.user, pk=pk)
        require(request.user, "repair", change)
        said = dict(body_of(NewRepairSerializer, request))
        rows = Ask.objects.select_related("revision__truss__job", "truss__job")
        ask = one_or_404(rows, request.user, pk=said.pop("ask"), request=change)
        sent = said.pop("drawing")
        if "replaces" in said:
            said["replaces"] = one_or_404(SealedDrawing, request.user, pk=said["replaces"], truss=ask.truss)
        drawing = workflow.attach_repair(request.user, change, ask, sent, sent.size, **said)
        return Response(SealSerializer(seals.with_records(drawing)).data, status=status.HTTP_201_CREATED)
