"""What all calls share: bodies that refuse what they don't know, and refusals under their field."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from trusses.refusals import Refused


def refusal(trouble: Refused) -> serializers.ValidationError:
    """The 400 that carries a refusal's sentence, under its field where it has one."""
    return serializers.ValidationError({trouble.field: [str(trouble)]} if trouble.field else {"detail": str(trouble)})


class StrictSerializer(serializers.Serializer):
    """A body of the API: what it doesn't know it refuses, rather than drop it silently."""

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, dict):
            raise serializers.ValidationError({"detail": "The body must be a JSON object with named fields."})
        if unknown := [key for key in data if key not in self.fields]:
            known = ", ".join(self.fields)
            raise serializers.ValidationError(
                {str(unknown[0])[:60]: [f"There is no such field here; there are {known}."]}
            )
        return super().to_internal_value(data)


@extend_schema_field(OpenApiTypes.OBJECT)
class DocumentField(serializers.JSONField):
    """A truss document; what is in it is judged by `trusses.analysis.document`."""
