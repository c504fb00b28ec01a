"""What the API gives of the sheets of a job."""

from __future__ import annotations

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.reverse import reverse

from trusses.models import Truss


class SheetSerializer(serializers.ModelSerializer):
    """The current revision of a mark."""

    mark = serializers.CharField()
    number = serializers.IntegerField(source="current.number")
    sha256 = serializers.CharField(source="current.sha256")
    issued_at = serializers.DateTimeField(source="current.issued_at")
    elevation = serializers.SerializerMethodField()

    class Meta:
        model = Truss
        fields = ("mark", "number", "sha256", "issued_at", "elevation")

    @extend_schema_field(OpenApiTypes.URI)
    def get_elevation(self, truss: Truss) -> str:
        return reverse("revision-elevation", (truss.current.sha256,), request=self.context["request"])
