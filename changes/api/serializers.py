"""What the API takes and gives for a change. Fields are named one by one; an unknown field in a body is refused."""

from __future__ import annotations

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from changes.asks.holding import HOW
from changes.asks.kinds import BUILDERS, HERE
from changes.carriers import moved_below
from changes.models import Ask, Computation, Consequence, Decision, Event, Hold, Option, Request, Run, State, Verdict
from trusses.forms import number_of
from trusses.serializers import DocumentField, StrictSerializer


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


class NearestSerializer(serializers.Serializer):
    centre_in = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    moved_in = serializers.FloatField()


class FitAnswerSerializer(serializers.Serializer):
    """`spare_in` is negative where the opening would have to move; `never`: it would cut a chord or leave the truss."""

    fits = serializers.BooleanField()
    spare_in = serializers.FloatField()
    touches = serializers.ListField(child=serializers.CharField(), help_text="Ids of the members in the way.")
    called = serializers.ListField(child=serializers.CharField(), help_text="What the drawing calls them.")
    nearest = NearestSerializer(allow_null=True)
    never = serializers.BooleanField()
    says = serializers.CharField()
    beside = serializers.CharField(help_text="That it overlaps an opening which the truss has already; else empty.")
    likely = serializers.CharField(
        help_text="What a redesign would most likely take, where the atlas of the truss knows; no verdict, else empty."
    )


class RunSerializer(StrictSerializer):
    """`run`: its `datum` is bearing, ceiling, floor (this level's own) or storey: the floor of the storey below, with
    how far the bearing is above it (`bearing_above_floor_in`), which else is as the job's heights say or assume."""

    job = serializers.IntegerField()
    run = AsSentField()
    lines = serializers.BooleanField(default=False, help_text="Also lines at which fewer trusses need a change.")


class CrossingSerializer(serializers.Serializer):
    """One truss that a run crosses. `verdict`: fits, moves (it fits if the run moves by `moves_in` in this truss's own
    plane: right, up), redesign, never (a chord would be cut or the truss left). Sizes are as the truss meets it."""

    letter = serializers.CharField()
    truss = serializers.CharField(help_text="Its mark.")
    copy = serializers.IntegerField()
    at_in = serializers.ListField(child=serializers.FloatField(), help_text="In plan.")
    x_in = serializers.FloatField(help_text="In the truss document.")
    height_in = serializers.FloatField(help_text="Of the run's middle above its datum.")
    falls_in = serializers.FloatField(help_text="How far it is below the run's first point there.")
    width_in = serializers.FloatField()
    opening_height_in = serializers.FloatField()
    verdict = serializers.CharField()
    spare_in = serializers.FloatField()
    touches = serializers.ListField(child=serializers.CharField(), help_text="Ids of the members in the way.")
    moves_in = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    says = serializers.CharField()
    as_cut = serializers.ChoiceField(
        choices=HOW,
        allow_null=True,
        help_text="Of a copy that is cut already: fits (as built: nothing is asked of it), in the way, damaged (told of"
        " as such, so not as drawn), or taken (by what goes through there); all but the first are asked `without` it.",
    )
    taken_by = serializers.JSONField(
        allow_null=True,
        help_text="The `request` whose run goes through there already, or the `opening` of its drawing.",
    )
    built_to = serializers.IntegerField(allow_null=True, help_text="The revision that a cut copy was built to.")


class RunLineSerializer(serializers.Serializer):
    """A better line: moved along x or y of the plan and up, or with bends. `cleared`: which of its points were moved
    before that, since they stood in trusses."""

    run = serializers.JSONField()
    cleared = serializers.ListField(child=serializers.JSONField())
    changes = serializers.IntegerField()
    never = serializers.IntegerField()
    along = serializers.CharField()
    sideways_in = serializers.FloatField()
    up_in = serializers.FloatField()
    bends = serializers.IntegerField()
    longer_in = serializers.FloatField()


class RunAnswerSerializer(serializers.Serializer):
    """`changes`: how many trusses it doesn't fit in as they are, `never`: of those, where a chord would be cut or the
    truss left as it runs. `pieces`: the longest rigid length for each leg, before and after the trusses are set."""

    crossings = CrossingSerializer(many=True)
    passes_by = serializers.ListField(child=serializers.CharField())
    passes = serializers.ListField(
        child=serializers.JSONField(),
        help_text="The same, each with the `side` on which the run is (above, below, beside) and what is `clear_in`.",
    )
    other_heights = serializers.JSONField(
        allow_null=True,
        help_text="Where it meets no truss that its line lies over: between which heights of its middle it would"
        " (`meets_in`), and the nearest at which it goes `through` them without cutting a chord; else null.",
    )
    between = serializers.ListField(child=serializers.JSONField(), help_text="Legs that run along trusses.")
    corners = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Corners that stand in a truss; `clear_at_in`: the nearest places in plan where one is clear.",
    )
    ends = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Ends that stand in a truss; they are past it `past_in` farther on, short of it `short_in` less far.",
    )
    meets = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Other runs that it comes into, open or approved, in a truss or between two: `path_in` along it"
        " (on end `within_in`), `by_in` too near with the clear space of both; `joins`: one begins or ends in the"
        " other, as a branch does.",
    )
    meets_itself = serializers.CharField(help_text="Where a piece of it comes into another one of it, in words.")
    pieces = serializers.ListField(child=serializers.JSONField())
    changes = serializers.IntegerField()
    never = serializers.IntegerField()
    verdict = serializers.CharField(help_text="The worst of all.")
    lines = RunLineSerializer(many=True, required=False)
    lines_lack = serializers.CharField(required=False, help_text="Which better lines there are none of, in words.")


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
    """`passes`, `worst_ratio` and `comparison` are null while a drawn option waits for its computation."""

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
    mark = serializers.CharField(source="truss.mark", default=None, allow_null=True)
    copies = serializers.ListField(child=serializers.IntegerField())
    opening = AsSentField(allow_null=True)
    wish = AsSentField(allow_null=True)
    figures = AsSentField(source="shown_figures")
    verdict = serializers.SerializerMethodField()
    says = serializers.CharField()
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
            "nearest",
            "figures",
            "options",
        )

    @extend_schema_field(serializers.ChoiceField(choices=Verdict.choices, allow_null=True))
    def get_verdict(self, ask: Ask) -> str | None:
        return ask.verdict or None

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
