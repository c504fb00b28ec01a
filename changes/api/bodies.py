"""What the API takes for a change. Fields are named one by one; an unknown field in a body is refused."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from changes.asks.kinds import BUILDERS, HERE
from changes.models import Decision, State
from trusses.forms import number_of
from trusses.serializers import StrictSerializer


@extend_schema_field(OpenApiTypes.OBJECT)
class AsSentField(serializers.Field):
    """An opening or a truss document, untouched: `trusses.analysis.document` refuses with the place, a NaN too."""

    def to_internal_value(self, data: Any) -> Any:
        return data

    def to_representation(self, value: Any) -> Any:
        return value


class NewAskSerializer(StrictSerializer):
    """One ask; which of these fields it has is its kind's to say, and the workflow refuses with the place."""

    truss = serializers.IntegerField(required=False)
    kind = serializers.ChoiceField(choices=[(kind, kind) for kind in BUILDERS])
    copies = AsSentField(required=False)

    def get_fields(self) -> dict[str, serializers.Field]:
        own = {key: AsSentField(required=False) for kind in HERE.values() for key in kind.KEYS}
        return own | super().get_fields()


class NewRequestSerializer(StrictSerializer):
    job = serializers.IntegerField()
    reason = serializers.CharField(max_length=2000)
    needed_by = serializers.DateField()
    asks = NewAskSerializer(many=True)


class AnswerSerializer(StrictSerializer):
    says = serializers.CharField(max_length=2000)
    asks = NewAskSerializer(many=True, required=False)


class NewOptionSerializer(StrictSerializer):
    ask = serializers.IntegerField()
    document = AsSentField()
    title = serializers.CharField(required=False, allow_blank=True, max_length=300)


def _by_id(value: dict[str, Any], of: str) -> dict[int, Any]:
    for key in value:
        if number_of(key) is None:
            raise serializers.ValidationError(f"“{key[:40]}” is not the id of {of}.")
    return {int(key): each for key, each in value.items()}


class NewDecisionSerializer(StrictSerializer):
    verdict = serializers.ChoiceField(choices=Decision.Choice.choices)
    options = serializers.DictField(
        child=serializers.IntegerField(), required=False, help_text="{ask id: option id}, for approving."
    )
    reason = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    accepts = serializers.ListField(
        child=serializers.CharField(max_length=100),
        required=False,
        max_length=20,
        help_text="Failed checks of serviceability that the reason accepts.",
    )
    ends_by = serializers.ChoiceField(
        choices=Decision.EndsBy.choices, required=False, help_text="What ends damage, for approving."
    )
    leaves = serializers.ListField(
        child=serializers.IntegerField(),
        required=False,
        max_length=200,
        help_text="Ids of asks for which nothing is issued; the reason says why.",
    )
    state = serializers.ChoiceField(
        choices=State.choices, required=False, help_text="The state that this decides on: 409 where it is another now."
    )
    after = serializers.IntegerField(
        required=False,
        min_value=0,
        help_text="The request's `last_decision` as it was seen: 409 where another was made since.",
    )
    lines = serializers.DictField(
        child=AsSentField(),
        required=False,
        help_text="{run id: run}: other lines of its runs that the builder is asked about, for sending back.",
    )

    def validate_options(self, value: dict[str, int]) -> dict[int, int]:
        return _by_id(value, "an ask")

    def validate_lines(self, value: dict[str, Any]) -> dict[int, Any]:
        return _by_id(value, "a run")


class HoldAnswerSerializer(StrictSerializer):
    acknowledge = serializers.BooleanField()
    says = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    after_all = serializers.BooleanField(required=False)


class NewRevisionSerializer(StrictSerializer):
    """A designer's own revision of a mark; without a document it starts from today's truss, to be edited."""

    reason = serializers.CharField(max_length=2000)
    needed_by = serializers.DateField(required=False)
    document = AsSentField(required=False)
    title = serializers.CharField(required=False, allow_blank=True, max_length=300)


class FitSerializer(StrictSerializer):
    truss = serializers.IntegerField()
    opening = AsSentField()


class RunSerializer(StrictSerializer):
    """`run`: its `datum` is bearing, ceiling, floor (this level's own) or storey: the floor of the storey below, with
    how far the bearing is above it (`bearing_above_floor_in`), which else is as the job's heights say or assume."""

    job = serializers.IntegerField()
    run = AsSentField()
    lines = serializers.BooleanField(default=False, help_text="Also lines at which fewer trusses need a change.")
    together = serializers.BooleanField(
        default=False, help_text="It is to be asked with one opening for all copies of a mark."
    )
