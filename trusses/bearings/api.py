"""What the bearings of a mark stand on, for programs: the same as the page, under the same permissions."""

from __future__ import annotations

from typing import Any

from django.urls import path
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.bearings import links, standing
from trusses.marks.serializers import SubmissionSerializer
from trusses.marks.submissions import send_loads
from trusses.models import Truss
from trusses.permissions import one_or_404, truss_or_404
from trusses.plan.feet import feet
from trusses.refusals import Refused
from trusses.serializers import StrictSerializer, refusal


class PlaceSerializer(StrictSerializer):
    """A place along a bottom-chord member of the carrier, from its first joint."""

    member = serializers.CharField(max_length=40)
    at_in = serializers.FloatField(min_value=0, max_value=12_000)


class WallLineSerializer(serializers.Serializer):
    label = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    plate = serializers.CharField(help_text="A key of the lumber table; empty where it isn't given.")


class CarrierSerializer(serializers.Serializer):
    """`lands_in`: how far from the carrier's left bearing each copy lands, inches; empty where it doesn't meet."""

    id = serializers.IntegerField(source="link.carrier_id")
    mark = serializers.CharField(source="link.carrier.mark")
    places = serializers.ListField(child=PlaceSerializer(), source="link.hung", help_text="Empty: by the plan.")
    lands_in = serializers.ListField(child=serializers.FloatField())


class PartSerializer(serializers.Serializer):
    """What a bearing of some copies stands on; `turned`: they stand turned end for end."""

    copies = serializers.ListField(child=serializers.IntegerField())
    turned = serializers.BooleanField()
    wall = WallLineSerializer(source="link.wall", allow_null=True, default=None)
    says = serializers.CharField()


class FootSerializer(serializers.Serializer):
    """A bearing: a wall line, a carrier, or neither where nothing is said. `parts`: where it isn't the same under all
    copies, because some stand turned end for end, what is under which; `wall` is then of those that aren't."""

    joint = serializers.CharField()
    wall = serializers.SerializerMethodField()
    carrier = serializers.SerializerMethodField()
    parts = PartSerializer(many=True, help_text="Empty: the same under all copies.")
    says = serializers.CharField()
    trouble = serializers.CharField(help_text="Why it doesn't meet its carrier; empty where it does.")

    @extend_schema_field(WallLineSerializer(allow_null=True))
    def get_wall(self, foot: standing.Foot) -> dict[str, Any] | None:
        return dict(WallLineSerializer(foot.link.wall).data) if foot.link and foot.link.wall else None

    @extend_schema_field(CarrierSerializer(allow_null=True))
    def get_carrier(self, foot: standing.Foot) -> dict[str, Any] | None:
        return dict(CarrierSerializer(foot).data) if foot.link and foot.link.carrier_id else None


class LoadSerializer(serializers.Serializer):
    truss = serializers.IntegerField(source="truss.pk")
    mark = serializers.CharField(source="truss.mark")
    joints = serializers.ListField(child=serializers.CharField())
    lands_in = serializers.ListField(child=serializers.FloatField())
    down_lb = serializers.FloatField(help_text="At one place, at most over all combinations.")
    trouble = serializers.CharField()


class BearingsSerializer(serializers.Serializer):
    """What a mark stands on and what it carries. `behind`: marks whose loads its drawing doesn't have as they are."""

    bearings = FootSerializer(many=True)
    carries = LoadSerializer(many=True, source="carried.loads")
    behind = serializers.ListField(child=serializers.CharField(), source="carried.behind")


class NewFootSerializer(StrictSerializer):
    """A wall line by its label, or a carrier by its number; with neither, nothing is said of the bearing any more. A
    `plate` that is empty is one that isn't known; without `plate`, what was said of it stays."""

    joint = serializers.CharField(max_length=40)
    wall = serializers.CharField(required=False, allow_blank=True, max_length=60)
    plate = serializers.CharField(required=False, allow_blank=True, max_length=40)
    carrier = serializers.IntegerField(required=False, allow_null=True)
    places = PlaceSerializer(many=True, required=False)


class Bearings(APIView):
    @extend_schema(responses=BearingsSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What each bearing of a mark stands on, and what stands on it."""
        return _told(truss_or_404(request.user, pk))

    @extend_schema(request=NewFootSerializer, responses=BearingsSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Says what one bearing stands on; by a designer."""
        truss = truss_or_404(request.user, pk)
        body = NewFootSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        which = said.get("carrier")
        carrier = None if which is None else one_or_404(Truss, request.user, pk=which, job=truss.job_id)
        try:
            links.set_link(
                request.user,
                truss,
                said["joint"],
                wall=said.get("wall", ""),
                plate=said.get("plate"),
                carrier=carrier,
                hung=[dict(place) for place in said.get("places", ())],
            )
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return _told(truss)


class Loads(APIView):
    @extend_schema(request=None, responses={202: SubmissionSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """Writes what stands on a mark into its next revision, and so on up; by a designer, before the release. The
        worker computes it: 202, and `submissions/{id}/` tells what becomes of it."""
        truss = truss_or_404(request.user, pk)
        try:
            sent = send_loads(request.user, truss)
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return Response(SubmissionSerializer(sent).data, status=status.HTTP_202_ACCEPTED)


def _told(truss: Truss) -> Response:
    return Response(BearingsSerializer({"bearings": feet(truss), "carried": standing.carried(truss)}).data)


urlpatterns = [
    path("trusses/<int:pk>/bearings/", Bearings.as_view(), name="truss-bearings"),
    path("trusses/<int:pk>/loads/", Loads.as_view(), name="truss-loads"),
]
