"""What the API gives of the sheets of a job."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.reverse import reverse

from trusses.models import Truss
from trusses.sealing.seals import seal_state


class SealStateSerializer(serializers.Serializer):
    """Whether a sealed drawing of the revision stands, and what the job asks for that isn't recorded of it yet."""

    state = serializers.CharField(help_text="not sealed; sealed drawing on record; or sealed drawing not complete")
    id = serializers.IntegerField(allow_null=True)
    sha256 = serializers.CharField(allow_null=True, help_text="Of the PDF.")
    lacks = serializers.ListField(child=serializers.CharField())


class SheetSerializer(serializers.ModelSerializer):
    """The current revision of a mark."""

    mark = serializers.CharField()
    number = serializers.IntegerField(source="current.number")
    sha256 = serializers.CharField(source="current.sha256")
    issued_at = serializers.DateTimeField(source="current.issued_at")
    elevation = serializers.SerializerMethodField()
    seal = serializers.SerializerMethodField()

    class Meta:
        model = Truss
        fields = ("mark", "number", "sha256", "issued_at", "elevation", "seal")

    @extend_schema_field(OpenApiTypes.URI)
    def get_elevation(self, truss: Truss) -> str:
        return reverse("revision-elevation", (truss.current.sha256,), request=self.context["request"])

    @extend_schema_field(SealStateSerializer)
    def get_seal(self, truss: Truss) -> dict[str, Any]:
        seal = self.context["seals"].get(truss.current_id)
        return {
            "state": seal_state(seal).says,
            "id": seal.drawing.pk if seal else None,
            "sha256": seal.drawing.sha256 if seal else None,
            "lacks": list(seal.missing) if seal else [],
        }
