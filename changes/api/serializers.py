"""What the API gives of a change that is filed. Fields are named one by one."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from changes.api.bodies import AsSentField
from changes.api.live import NearestSerializer
from changes.asks import new_walls, on_walls
from changes.carriers import moved_below
from changes.models import (
    Ask,
    Computation,
    Consequence,
    Decision,
    Event,
    Hold,
    Kind,
    Option,
    Request,
    Run,
    State,
    Verdict,
)
from trusses.serializers import DocumentField


class FiledSerializer(serializers.ModelSerializer):
    class Meta:
        model = Request
        fields = ("id", "state")


class RequestSerializer(serializers.ModelSerializer):
    """One line of the queue. `overtaken`: marks that got a new revision since it was computed."""

    filed_by = serializers.CharField(source="filed_by.username")
    marks = serializers.SerializerMethodField()
    overtaken = serializers.SerializerMethodField()

    class Meta:
        model = Request
        fields = ("id", "job", "state", "reason", "needed_by", "filed_by", "filed_at", "marks", "overtaken")

    @staticmethod
    def _live(change: Request) -> list[Ask]:
        return [ask for ask in change.asks.all() if not ask.replaced]

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_marks(self, change: Request) -> list[str]:
        return sorted({ask.truss.mark for ask in self._live(change) if ask.truss})

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_overtaken(self, change: Request) -> list[str]:
        return overtaken(change, self._live(change))


class FailingSerializer(serializers.Serializer):
    of = serializers.CharField()
    id = serializers.CharField()
    rule = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of that name
    combination = serializers.CharField()
    ratio = serializers.FloatField()
    buckles = serializers.BooleanField(default=False)


class ConsequenceSerializer(serializers.ModelSerializer):
    """What an option does to a mark that carries its truss. `passes` is false where a check fails and otherwise null: a
    girder with hangers is never called passing, its sealed drawing is waited for."""

    truss = serializers.IntegerField(source="carrier_id")
    mark = serializers.CharField(source="carrier.mark")
    carries = serializers.ListField(child=serializers.CharField(), source="because")
    revision = serializers.IntegerField(source="revision.number", help_text="The number that it departs from.")
    passes = serializers.BooleanField(allow_null=True)
    worst_ratio = serializers.ListField(
        child=serializers.FloatField(), min_length=2, max_length=2, allow_null=True, help_text="[before, after]"
    )
    says = serializers.CharField()
    fails = FailingSerializer(many=True)
    findings = serializers.ListField(child=serializers.CharField(), source="findings_say")
    trouble = serializers.CharField(source="trouble_says")
    document = DocumentField(allow_null=True)
    comparison = serializers.JSONField(allow_null=True)

    class Meta:
        model = Consequence
        fields = (
            "truss",
            "mark",
            "carries",
            "revision",
            "passes",
            "worst_ratio",
            "says",
            "fails",
            "findings",
            "trouble",
            "sha256",
            "document",
            "comparison",
        )


class ElsewhereSerializer(serializers.Serializer):
    opening = serializers.CharField(help_text="Its id.")
    asked_in = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    centre_in = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)


class OptionSerializer(serializers.ModelSerializer):
    """`passes`, `worst_ratio` and `comparison` are null while a drawn option waits for its computation. `below`: tie
    where it is lifted at a bearing where today's truss isn't, so that it needs a tie; more where what it stands on or
    is tied to has to carry or hold more than today; else empty."""

    below = serializers.ChoiceField(choices=["", "more", "tie"])
    title = serializers.CharField()
    says = serializers.CharField()
    document = DocumentField()
    comparison = serializers.JSONField(allow_null=True)
    revision = serializers.IntegerField(source="revision.number", help_text="The number that it departs from.")
    drawn_by = serializers.CharField(source="drawn_by.username", default=None, allow_null=True)
    elsewhere = ElsewhereSerializer(many=True, help_text="The openings that it has elsewhere than asked.")
    consequences = ConsequenceSerializer(many=True, help_text="The marks that carry its truss, in the chain's order.")

    class Meta:
        model = Option
        fields = (
            "id",
            "title",
            "passes",
            "worst_ratio",
            "below",
            "says",
            "revision",
            "drawn_by",
            "sha256",
            "document",
            "comparison",
            "elsewhere",
            "consequences",
        )


class PendingSerializer(serializers.Serializer):
    """An opening that another open request asks of the same truss. `overlaps` is empty where it meets none of what is
    asked here; `clear` whether it would be clear in the first option, null where there is none."""

    request = serializers.IntegerField(source="asked.request")
    state = serializers.ChoiceField(choices=State.choices, source="asked.state")
    opening = AsSentField(source="asked.opening")
    overlaps = serializers.CharField(source="overlap")
    clear = serializers.BooleanField(allow_null=True)


class WaitingHoldSerializer(serializers.ModelSerializer):
    copies = serializers.SerializerMethodField()

    class Meta:
        model = Hold
        fields = ("id", "request", "standing", "copies")

    @extend_schema_field(serializers.ListField(child=serializers.IntegerField()))
    def get_copies(self, hold: Hold) -> list[int]:
        return [copy.number for copy in hold.copies.all()]


class WaitingRequestSerializer(serializers.ModelSerializer):
    class Meta:
        model = Request
        fields = ("id", "state", "reason", "needed_by")


class WaitingSerializer(serializers.Serializer):
    """A mark with what is open on it: requests that ask for it or touch it, holds asked for or acknowledged."""

    truss = serializers.IntegerField(source="truss.pk")
    mark = serializers.CharField(source="truss.mark")
    requests = WaitingRequestSerializer(many=True, source="open.requests")
    holds = WaitingHoldSerializer(many=True, source="open.holds")


class AskSerializer(serializers.ModelSerializer):
    """`verdict`: with fits, more and tie today's truss passes as it is; with more it puts more on what it stands on or
    is tied to, with tie it is lifted where it wasn't, so that it needs a tie. With unsure no wood has to change, but
    the set doesn't call it passing: `says` tells why. What a redesign asks of what is below it stands in its option's
    `below`. `nearest`, and the most that today's truss takes among the `figures` of a weight, look at its own wood
    alone: not at what carries it, at ties or at plates."""

    mark = serializers.CharField(source="truss.mark", default=None, allow_null=True)
    copies = serializers.ListField(child=serializers.IntegerField())
    opening = AsSentField(allow_null=True)
    wish = AsSentField(allow_null=True)
    figures = AsSentField(source="shown_figures")
    verdict = serializers.SerializerMethodField()
    says = serializers.CharField()
    others_on_walls = serializers.SerializerMethodField(
        help_text="Of a bearing that leaves a named wall: the wall and who else bears on it, for whom nobody asked. Of"
        " one that is added: where it comes, and what passes over it without a bearing there."
    )
    nearest = NearestSerializer(allow_null=True)
    options = serializers.SerializerMethodField()

    class Meta:
        model = Ask
        fields = (
            "id",
            "truss",
            "mark",
            "copies",
            "kind",
            "opening",
            "wish",
            "run",
            "verdict",
            "says",
            "others_on_walls",
            "nearest",
            "figures",
            "options",
        )

    @extend_schema_field(serializers.ChoiceField(choices=Verdict.choices, allow_null=True))
    def get_verdict(self, ask: Ask) -> str | None:
        return ask.verdict or None

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_others_on_walls(self, ask: Ask) -> list[str]:
        if ask.kind != Kind.BEARING:
            return []
        job = ask.request.job
        moved = [f"{one.wall}: {one.each}" for one in on_walls.of_asks(job, [ask]) if one.others]
        return [*moved, *(f"{one.wall}: {one.each}" for one in new_walls.of_asks(job, [ask]))]

    @extend_schema_field(OptionSerializer(many=True))
    def get_options(self, ask: Ask) -> list[dict[str, Any]]:
        answering = [option for option in self.context["options"] if ask in option.asks.all()]
        return [dict(OptionSerializer(option).data) for option in answering]


class RunRecordSerializer(serializers.ModelSerializer):
    """`as_cut`: copies that were cut when the run was asked for, by mark and revision that they were built to: `how` is
    fits (it goes through as built, nothing was asked of them), in the way or damaged (it was asked without them)."""

    wish = AsSentField()
    as_cut = AsSentField()

    class Meta:
        model = Run
        fields = ("id", "name", "wish", "as_cut")


class EventSerializer(serializers.ModelSerializer):
    """`by` is null when the worker did it."""

    by = serializers.CharField(source="by.username", default=None, allow_null=True)
    says = serializers.CharField(source="told")

    class Meta:
        model = Event
        fields = ("at", "by", "verb", "from_state", "to_state", "says")


class IssueSerializer(serializers.Serializer):
    truss = serializers.IntegerField(source="revision.truss_id")
    mark = serializers.CharField(source="revision.truss.mark")
    number = serializers.IntegerField(source="revision.number")
    sha256 = serializers.CharField(source="revision.sha256")
    option = serializers.IntegerField(source="option_id", allow_null=True)
    because = serializers.ListField(
        child=serializers.CharField(), help_text="The marks on it whose loads changed, where it carries any."
    )


class DecisionSerializer(serializers.ModelSerializer):
    by = serializers.CharField(source="by.username")
    revisions = IssueSerializer(source="issues", many=True)
    lines = AsSentField(help_text="{run id: run}: other lines of its runs that the builder is asked about.")

    class Meta:
        model = Decision
        fields = ("verdict", "reason", "accepts", "ends_by", "leaves", "lines", "shows", "by", "at", "revisions")


class HoldSerializer(serializers.ModelSerializer):
    mark = serializers.CharField(source="truss.mark")
    copies = serializers.SerializerMethodField()
    asked_by = serializers.CharField(source="asked_by.username")
    answered_by = serializers.CharField(source="answered_by.username", default=None, allow_null=True)

    class Meta:
        model = Hold
        fields = ("id", "truss", "mark", "copies", "standing", "asked_by", "asked_at", "answered_by", "answered_at")

    @extend_schema_field(serializers.ListField(child=serializers.IntegerField()))
    def get_copies(self, hold: Hold) -> list[int]:
        return [copy.number for copy in hold.copies.all()]


class ProgressSerializer(serializers.ModelSerializer):
    """How far the worker is with the request, `fraction` from 0 to 1; `trouble` says why it failed."""

    doing = serializers.CharField(source="doing_says")
    trouble = serializers.CharField(source="trouble_says")

    class Meta:
        model = Computation
        fields = ("state", "attempts", "fraction", "doing", "trouble")


class DetailSerializer(serializers.Serializer):
    """One request with all that belongs to it."""

    id = serializers.IntegerField(source="change.id")
    job = serializers.IntegerField(source="change.job_id")
    state = serializers.ChoiceField(choices=State.choices, source="change.state")
    reason = serializers.CharField(source="change.reason")
    needed_by = serializers.DateField(source="change.needed_by")
    filed_by = serializers.CharField(source="change.filed_by.username")
    filed_at = serializers.DateTimeField(source="change.filed_at")
    overtaken = serializers.SerializerMethodField()
    asks = AskSerializer(many=True)
    runs = RunRecordSerializer(many=True)
    pending = PendingSerializer(many=True, help_text="What other open requests ask of the same trusses.")
    holds = HoldSerializer(many=True)
    events = EventSerializer(many=True)
    decision = DecisionSerializer(allow_null=True)
    last_decision = serializers.IntegerField(help_text="Its number, 0 where none was made: `after` of the next one.")
    computing = ProgressSerializer(allow_null=True)

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_overtaken(self, held: dict[str, Any]) -> list[str]:
        """Marks that got a new revision since this was computed, or that stand on something else now; compute again
        before approving."""
        return sorted({*overtaken(held["change"], held["asks"]), *moved_below(held["change"])})


def overtaken(change: Request, asks: list[Ask]) -> list[str]:
    if not change.is_open:
        return []
    return sorted({ask.truss.mark for ask in asks if ask.truss and ask.overtaken})
