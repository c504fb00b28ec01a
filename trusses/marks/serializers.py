"""What the API takes and gives for the set. Fields are named one by one; an unknown field in a body is refused."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from trusses.models import MarkEvent, Revision, Stage, Submission, Truss
from trusses.production import furthest_behind
from trusses.revisions import MOST_COPIES
from trusses.serializers import DocumentField, StrictSerializer


class RevisionSerializer(serializers.ModelSerializer):
    document = DocumentField()

    class Meta:
        model = Revision
        fields = ("number", "sha256", "document")


class ComesFromSerializer(serializers.Serializer):
    """The mark and the revision that a variant's copies had before."""

    truss = serializers.IntegerField()
    mark = serializers.CharField()
    number = serializers.IntegerField()


class TrussSerializer(serializers.ModelSerializer):
    """A mark. The context's `counts` say how many of its copies are in each stage, `numbers` which these are."""

    quantity = serializers.SerializerMethodField()
    stage = serializers.SerializerMethodField()
    copies = serializers.SerializerMethodField()
    numbers = serializers.SerializerMethodField()
    comes_from = serializers.SerializerMethodField()
    revision = RevisionSerializer(source="current")

    class Meta:
        model = Truss
        fields = (
            "id",
            "mark",
            "comes_from",
            "quantity",
            "stage",
            "copies",
            "numbers",
            "can_change_until",
            "withdrawn_at",
            "revision",
        )

    @extend_schema_field(serializers.ListField(child=serializers.IntegerField()))
    def get_numbers(self, truss: Truss) -> list[int]:
        return self.context["numbers"].get(truss.pk, [])

    @extend_schema_field(ComesFromSerializer(allow_null=True))
    def get_comes_from(self, truss: Truss) -> dict[str, Any] | None:
        if not getattr(truss, "came_from", None):
            return None
        told: Any = truss  # the list seeks it
        return {"truss": told.came_from, "mark": told.came_from_mark, "number": told.came_from_number}

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


class SubmissionSerializer(serializers.ModelSerializer):
    """What was sent to the set and is computed by the worker. In the end it has become the `revision` of that number of
    the mark `truss`, or `trouble` says why not."""

    mark = serializers.CharField(source="__str__")
    waits = serializers.BooleanField()
    fraction = serializers.FloatField(source="computation.fraction")
    doing = serializers.CharField(source="computation.doing_says")
    trouble = serializers.CharField(source="trouble_says")
    revision = serializers.IntegerField(source="revision.number", default=None, allow_null=True)

    class Meta:
        model = Submission
        fields = ("id", "kind", "mark", "waits", "fraction", "doing", "trouble", "truss", "revision")
        read_only_fields = fields


class MarkEventSerializer(serializers.ModelSerializer):
    """What happened to a mark and its copies beside requests: a code with its values, by whom and when."""

    by = serializers.CharField(source="by.username", default=None, allow_null=True)
    values = serializers.JSONField(
        help_text="moved: from, to, copies, revision, found; corrected: before, after, reason; withdrawn: revision,"
        " reason; counted: before, after; copies left: copies, to, turned; copies came: copies, from, revision, turned;"
        " copies turned: copies, turned, about_in."
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


class CopiesField(serializers.ListField):
    """Copies of one mark, by their numbers."""

    child = serializers.IntegerField(min_value=1, max_value=9999)

    def __init__(self, **options: Any) -> None:
        super().__init__(
            min_length=1,
            max_length=MOST_COPIES,
            error_messages={"min_length": "Name at least one copy."},
            **options,
        )


ASKED = "Before copies are set on a wall that moves: which designer was asked, and what was said."


class MoveCopiesSerializer(StrictSerializer):
    """Copies of one mark, by their numbers, that go on to the next stage."""

    copies = CopiesField()
    to = serializers.ChoiceField(choices=[stage for stage in Stage.choices if stage[0] != Stage.DESIGNING])
    found = serializers.CharField(required=False, allow_blank=True, max_length=500)
    asked = serializers.CharField(required=False, allow_blank=True, max_length=500, help_text=ASKED)
    revision = serializers.IntegerField(
        required=False,
        min_value=0,
        help_text="The revision that is released or cut to; refused where another is current. Copies that were released"
        " to an earlier revision are released anew only where it is named.",
    )
