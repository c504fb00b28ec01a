"""Of which kinds a mark is that nothing automatic answers for, for programs."""

from __future__ import annotations

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.analysis.verdict import KINDS
from trusses.permissions import require, truss_or_404
from trusses.serializers import StrictSerializer

VERB = "say of which kind a mark is"


class KindsSerializer(StrictSerializer):
    """A mark of any of these kinds is never called passing: its numbers are shown, its sealed drawing is waited for."""

    kinds = serializers.ListField(child=serializers.ChoiceField(choices=KINDS), max_length=len(KINDS))


class Kinds(APIView):
    @extend_schema(responses=KindsSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What is said of a mark."""
        return Response(KindsSerializer(truss_or_404(request.user, pk)).data)

    @extend_schema(request=KindsSerializer, responses=KindsSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Says it; by a designer. The verdict on the mark counts it at once."""
        truss = truss_or_404(request.user, pk)
        require(request.user, VERB, truss.job)
        body = KindsSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        truss.kinds = list(dict.fromkeys(body.validated_data["kinds"]))
        truss.save(update_fields=["kinds"])
        return Response(KindsSerializer(truss).data)
