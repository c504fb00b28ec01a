"""What the API gives of a sheet's derived figures. Each key ends in its number's unit; `…_by` names a combination."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from trusses.analysis.requirements.supports import Support
from trusses.analysis.verdict import FAILS, MISSING, NOT_CHECKED, PASSES, Reason
from trusses.analysis.words import verdict as words
from trusses.sheets.sheet_facts import Facts, PlateNeed


def pounds_field(source: str) -> serializers.FloatField:
    return serializers.FloatField(source=source)


def by(source: str) -> serializers.CharField:
    return serializers.CharField(source=source, allow_null=True)


class SupportSerializer(serializers.Serializer):
    """A bearing: what presses on it, what a connection there must hold at least, and each case, unfactored."""

    joint = serializers.CharField()
    width_in = serializers.FloatField()
    required_width_in = serializers.FloatField(allow_null=True, help_text="NDS 3.10.2; null where nothing presses.")
    width_governed_by = serializers.CharField(source="governs")
    plate = serializers.CharField(allow_null=True, help_text="The lumber of the wall plate below; null: not told.")
    wide_enough = serializers.BooleanField()
    down_lb = pounds_field("down.lb")
    down_by = by("down.by")
    uplift_capacity_lb = serializers.FloatField(source="uplift.lb", help_text="What a connection must hold at least.")
    uplift_by = by("uplift.by")
    uplift_says = serializers.CharField(
        source="uplift.told",
        allow_null=True,
        help_text="The same in words: also that it is with the weights on the truss gone, where that lifts it more.",
    )
    uplift_load_duration = serializers.FloatField(source="uplift.load_duration", allow_null=True)
    sideways_lb = pounds_field("sideways.lb")
    sideways_by = by("sideways.by")
    by_case_lb = serializers.SerializerMethodField(help_text="Down positive.")

    @extend_schema_field(serializers.DictField(child=serializers.FloatField()))
    def get_by_case_lb(self, one: Support) -> dict[str, float]:
        return dict(one.by_case)


class WebRowsSerializer(serializers.Serializer):
    """A compression web; `row_lb` is 2 % of its compression, common practice."""

    web = serializers.CharField()
    compression_lb = serializers.FloatField()
    compression_by = serializers.CharField(source="by")
    rows_needed = serializers.IntegerField(source="needed", allow_null=True, help_text="Null: no number of rows does.")
    rows_stated = serializers.IntegerField(source="stated")
    row_lb = serializers.FloatField()


class SlideSerializer(serializers.Serializer):
    """How far a bearing that isn't held sideways moves: at first, in the long run, with lumber that was wet."""

    joint = serializers.CharField()
    short_in = serializers.FloatField()
    long_in = serializers.FloatField()
    green_in = serializers.FloatField()
    by = serializers.CharField()


class DeflectionSerializer(serializers.Serializer):
    rule = serializers.CharField()
    deflection_in = serializers.FloatField(source="inches")
    limit_in = serializers.FloatField()
    span_over = serializers.IntegerField(allow_null=True)
    limit_over = serializers.IntegerField(allow_null=True)
    overhang = serializers.BooleanField()
    passes = serializers.BooleanField()
    by = serializers.CharField()


class CamberSerializer(serializers.Serializer):
    """What dead load alone bends the chords down, most at that joint; a camber would be at least that."""

    sag_in = serializers.FloatField()
    joint = serializers.CharField()


class FrequencySerializer(serializers.Serializer):
    """An estimate of a floor's first frequency, at most; no verdict hangs on it."""

    frequency_hz = serializers.FloatField(source="hz", allow_null=True)
    says = serializers.CharField()


class MemberForceSerializer(serializers.Serializer):
    id = serializers.CharField()
    tension_lb = serializers.FloatField()
    tension_by = serializers.CharField(allow_null=True)
    compression_lb = serializers.FloatField()
    compression_by = serializers.CharField(allow_null=True)


class JointPieceSerializer(serializers.Serializer):
    """What one piece of wood asks of its joint's plates, in each ply. `teeth_lb`: the force over its load duration."""

    joint = serializers.CharField(source="governing.piece.joint")
    members = serializers.ListField(child=serializers.CharField(), source="governing.piece.members")
    runs_through = serializers.BooleanField(source="governing.piece.runs_through")
    teeth_lb = pounds_field("governing.holding_lb")
    teeth_by = by("governing.holding_by")
    teeth_angle_deg = serializers.FloatField(source="governing.angle_deg", help_text="Between force and grain.")
    force_lb = pounds_field("governing.force_lb")
    load_duration = serializers.FloatField(source="governing.load_duration")
    sense = serializers.CharField(source="governing.sense")
    steel_lb = pounds_field("governing.steel_lb")
    steel_by = by("governing.steel_by")
    steel_angle_deg = serializers.FloatField(source="governing.steel_angle_deg")
    teeth_area_in2 = serializers.FloatField(
        source="area_in2", allow_null=True, help_text="On each face, by the job's table of plate values; else null."
    )


class SpliceSerializer(serializers.Serializer):
    """A chord cut between two pieces in a line, in each ply."""

    joint = serializers.CharField()
    members = serializers.ListField(child=serializers.CharField())
    tension_lb = serializers.FloatField()
    tension_by = serializers.CharField(allow_null=True)
    compression_lb = serializers.FloatField()
    compression_by = serializers.CharField(allow_null=True)
    steel_across_in = serializers.SerializerMethodField(help_text="Of each plate, by the job's table; else null.")

    def get_steel_across_in(self, splice: Any) -> float | None:
        return dict(self.context["facts"].splice_steel).get(splice)


class FactsSerializer(serializers.Serializer):
    """All that a sheet derives from the stored analysis of one truss document. No plate is chosen or checked."""

    truss_sha256 = serializers.CharField(source="analysis.truss_sha256")
    plies = serializers.IntegerField(source="results.truss.plies")
    supports = SupportSerializer(many=True, help_text="For all plies together.")
    webs = WebRowsSerializer(many=True)
    forces = MemberForceSerializer(many=True, help_text="For all plies together.")
    deflection = DeflectionSerializer(source="deflections", many=True)
    slides = SlideSerializer(many=True)
    camber = CamberSerializer(allow_null=True)
    frequency = FrequencySerializer(allow_null=True, help_text="Null for a roof.")
    joints = serializers.SerializerMethodField()
    splices = serializers.SerializerMethodField()
    board_feet = serializers.FloatField(help_text="Nominal, of all plies, between joints.")
    pieces = serializers.IntegerField(help_text="Of lumber, in all plies.")
    plated_joints = serializers.IntegerField(help_text="To press, in all plies.")
    not_checked = serializers.SerializerMethodField()

    @extend_schema_field(JointPieceSerializer(many=True))
    def get_joints(self, facts: Facts) -> list[dict[str, Any]]:
        needs: list[PlateNeed] = [need for _, of_joint, _ in facts.joint_needs for need in of_joint]
        return [dict(JointPieceSerializer(need).data) for need in needs]

    @extend_schema_field(SpliceSerializer(many=True))
    def get_splices(self, facts: Facts) -> list[dict[str, Any]]:
        return [dict(SpliceSerializer(splice, context={"facts": facts}).data) for splice in facts.splices]

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_not_checked(self, facts: Facts) -> list[str]:
        return [*facts.analysis["not_checked"], *facts.unchecked_joints, *facts.unchecked_plates]


class ReasonSerializer(serializers.Serializer):
    """Why an answer is what it is: a code, the values of its sentence, the sentence."""

    code = serializers.CharField()
    values = serializers.JSONField()
    says = serializers.SerializerMethodField()

    def get_says(self, reason: Reason) -> str:
        return words.reason(reason)


class VerdictAnswerSerializer(serializers.Serializer):
    about = serializers.ChoiceField(choices=tuple(words.ABOUT))
    state = serializers.ChoiceField(choices=(PASSES, FAILS, NOT_CHECKED, MISSING))
    reasons = ReasonSerializer(many=True)


class VerdictSerializer(serializers.Serializer):
    """Four answers, none of which stands alone, and why the truss may not be called passing, where it may not."""

    answers = VerdictAnswerSerializer(many=True)
    may_be_called_passing = serializers.BooleanField(help_text="Of its lumber and openings. It is no seal.")
    why_not = ReasonSerializer(many=True)


class RevisionFiguresSerializer(FactsSerializer):
    """The facts of a revision, and the verdict on it as the set is today (the context's `verdict`)."""

    verdict = serializers.SerializerMethodField()

    @extend_schema_field(VerdictSerializer)
    def get_verdict(self, facts: Facts) -> dict[str, Any]:
        return dict(VerdictSerializer(self.context["verdict"]).data)
