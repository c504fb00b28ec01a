"""What the API takes and gives for the set. Fields are named one by one; an unknown field in a body is refused."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.reverse import reverse

from trusses.models import Job, MarkEvent, NewMark, Revision, Role, Stage, Truss
from trusses.production import furthest_behind
from trusses.revisions import MOST_COPIES, Refused


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


class JobSerializer(serializers.ModelSerializer):
    role = serializers.ChoiceField(choices=Role.choices, read_only=True)

    class Meta:
        model = Job
        fields = ("id", "name", "role")


class RevisionSerializer(serializers.ModelSerializer):
    document = DocumentField()

    class Meta:
        model = Revision
        fields = ("number", "sha256", "document")


class TrussSerializer(serializers.ModelSerializer):
    """A mark. The context's `counts` say how many of its copies are in each stage."""

    quantity = serializers.SerializerMethodField()
    stage = serializers.SerializerMethodField()
    copies = serializers.SerializerMethodField()
    revision = RevisionSerializer(source="current")

    class Meta:
        model = Truss
        fields = ("id", "mark", "quantity", "stage", "copies", "can_change_until", "withdrawn_at", "revision")

    def _counts(self, truss: Truss) -> dict[str, int]:
        return self.context["counts"].get(truss.pk, {})

    def get_quantity(self, truss: Truss) -> int:
        return sum(self._counts(truss).values())

    @extend_schema_field(serializers.ChoiceField(choices=Stage.choices))
    def get_stage(self, truss: Truss) -> str:
        return furthest_behind(self._counts(truss))

    @extend_schema_field(serializers.DictField(child=serializers.IntegerField()))
    def get_copies(self, truss: Truss) -> dict[str, int]:
        return self._counts(truss)


class NewMarkSerializer(StrictSerializer):
    document = DocumentField()
    quantity = serializers.IntegerField(min_value=1, max_value=MOST_COPIES)
    can_change_until = serializers.DateField(required=False, allow_null=True)


class WaitingMarkSerializer(serializers.ModelSerializer):
    """A document that waits for the worker, since its analysis takes long. In the end `truss` is the mark's number, or
    `trouble` says why there is none."""

    mark = serializers.CharField(source="document.mark")
    waits = serializers.BooleanField()
    fraction = serializers.FloatField(source="computation.fraction")
    doing = serializers.CharField(source="computation.doing")

    class Meta:
        model = NewMark
        fields = ("id", "mark", "waits", "fraction", "doing", "trouble", "truss")
        read_only_fields = fields


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


class MarkEventSerializer(serializers.ModelSerializer):
    """What happened to a mark and its copies beside requests: a code with its values, by whom and when."""

    by = serializers.CharField(source="by.username", default=None, allow_null=True)
    values = serializers.JSONField(
        help_text="moved: from, to, copies, revision, found; corrected: before, after, reason; withdrawn: revision,"
        " reason; counted: before, after."
    )

    class Meta:
        model = MarkEvent
        fields = ("at", "by", "code", "values")


class CorrectionSerializer(StrictSerializer):
    """A first design as it should have been. `revision` is the number that is corrected; `accepts` names failed checks
    of serviceability that the reason accepts."""

    document = DocumentField()
    reason = serializers.CharField(max_length=2000)
    revision = serializers.IntegerField(min_value=0)
    accepts = serializers.ListField(child=serializers.CharField(max_length=100), required=False, max_length=20)


class WithdrawalSerializer(StrictSerializer):
    reason = serializers.CharField(max_length=2000)
    revision = serializers.IntegerField(min_value=0)


class MoveCopiesSerializer(StrictSerializer):
    """Copies of one mark, by their numbers, that go on to the next stage."""

    copies = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=9999),
        min_length=1,
        max_length=MOST_COPIES,
        error_messages={"min_length": "Name at least one copy."},
    )
    to = serializers.ChoiceField(choices=[stage for stage in Stage.choices if stage[0] != Stage.DESIGNING])
    found = serializers.CharField(required=False, allow_blank=True, max_length=500)
    revision = serializers.IntegerField(
        required=False,
        min_value=0,
        help_text="The revision that is released or cut to; refused where another is current. Copies that were released"
        " to an earlier revision are released anew only where it is named.",
    )
