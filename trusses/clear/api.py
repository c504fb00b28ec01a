"""The map of clear openings, for programs."""

from __future__ import annotations

from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.analysis.clearance.clear_map import written
from trusses.analysis.format.model import Opening
from trusses.clear.maps import pockets_of, rooms
from trusses.clear.serializers import ClearMapSerializer, SizeSerializer
from trusses.designs import design_of
from trusses.permissions import truss_or_404


class Clear(APIView):
    @extend_schema(parameters=[SizeSerializer], responses=ClearMapSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What each pocket of a mark's current revision holds, and all places of one size. Inches; openings that the
        truss was drawn for already are told, not taken as wood."""
        revision = truss_or_404(request.user, pk).current
        asked = SizeSerializer(data=request.query_params.dict())
        asked.is_valid(raise_exception=True)
        found = tuple(one.clear for one in pockets_of(revision))
        told = written(design_of(revision.document), found)
        size = _opening(asked.validated_data)
        told["centres"] = size and [{"pocket": one.clear.number, "areas": one.areas} for one in rooms(found, size)]
        return Response(ClearMapSerializer(told).data)


def _opening(asked: dict[str, float]) -> Opening | None:
    if not asked:
        return None
    return Opening(
        "",
        "circle" if "diameter_in" in asked else "rectangle",
        (0.0, 0.0),
        width_in=asked.get("width_in"),
        height_in=asked.get("height_in"),
        diameter_in=asked.get("diameter_in"),
        clearance_in=asked.get("clearance_in", 0.0),
    )


urlpatterns = [path("trusses/<int:pk>/clear/", Clear.as_view(), name="truss-clear")]
