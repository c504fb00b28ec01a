"""An option's figures as the API tells them: walls, plates, restraint, movement and price, before and after."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from changes.asks.documents import departures_of
from changes.models import Option
from trusses import verdicts
from trusses.analysis.departures import Departure
from trusses.analysis.format.document import read_stored
from trusses.analysis.requirements import supports
from trusses.analysis.words.departures import departure
from trusses.job import surroundings
from trusses.models import PlateTable
from trusses.plan import rows
from trusses.sheets import floor_movement, pricing
from trusses.sheets.facts_serializers import FactsSerializer, VerdictSerializer
from trusses.sheets.sheet_facts import facts

_PAIR: dict[str, Any] = {"min_length": 2, "max_length": 2}


def pair(field: type[serializers.Field] = serializers.FloatField, **kwargs: Any) -> serializers.ListField:
    """[before, after]."""
    return serializers.ListField(child=field(**kwargs), **_PAIR)


class SupportChangeSerializer(serializers.Serializer):
    """What a bearing carries, [before, after]: each load case unfactored, down positive, then the most over all
    combinations. Null where that side has no such bearing or case."""

    joint = serializers.CharField()
    what = serializers.CharField(help_text="A load case, “down, at most” or “uplift, at most”.")
    force_lb = serializers.ListField(child=serializers.FloatField(allow_null=True), source="lb", **_PAIR)
    change_lb = serializers.FloatField(source="by_lb", allow_null=True)
    changed = serializers.BooleanField()
    was = serializers.CharField(help_text="Its joint today, which is another where it moved; empty where it is new.")
    moved_in = serializers.FloatField(help_text="How far to the right it moved.")


class PriceLineSerializer(serializers.Serializer):
    """One thing that is paid for, [before, after] for one truss; `rate` and `amount` in the price's `currency`."""

    what = serializers.CharField()
    unit = serializers.CharField()
    quantity = pair()
    rate = serializers.FloatField(allow_null=True)
    amount = serializers.ListField(child=serializers.FloatField(), allow_null=True, **_PAIR)


class PriceSerializer(serializers.Serializer):
    """By the job's own rates; `total` is null where it has none."""

    currency = serializers.CharField()
    note = serializers.CharField()
    lines = PriceLineSerializer(many=True)
    total = serializers.ListField(child=serializers.FloatField(), allow_null=True, **_PAIR)
    more = serializers.FloatField(allow_null=True)


class RowSerializer(serializers.Serializer):
    """A row of restraint that has nothing, or less, to run to. `trusses` as in `R1-4`; `row_lb` is what one row there
    holds by common practice, 2 % of `compression_lb`; null where the web isn't pressed."""

    web = serializers.CharField()
    trusses = serializers.ListField(child=serializers.CharField())
    compression_lb = serializers.FloatField(allow_null=True)
    row_lb = serializers.FloatField(allow_null=True)
    says = serializers.CharField()


class RowsSerializer(serializers.Serializer):
    """Rows that the option cuts off for trusses that keep their design, which are `touched`, its own `lonely` ones, and
    on which `edges` of the webs rows run on from now. Empty once the option's truss has a newer revision."""

    touched = serializers.ListField(child=serializers.CharField())
    cut = RowSerializer(many=True)
    lonely = RowSerializer(many=True)
    edges = serializers.ListField(child=serializers.CharField())


class MovementSerializer(serializers.Serializer):
    """A deflection check, inches."""

    rule = serializers.CharField()
    inches = serializers.FloatField()
    limit_in = serializers.FloatField()
    by = serializers.CharField()


class BesideSerializer(serializers.Serializer):
    """How a design next to a changed floor truss moves; `hz` is an estimate, null where none can be given. No verdict
    hangs on the difference."""

    who = serializers.CharField()
    deflections = MovementSerializer(many=True)
    hz = serializers.FloatField(allow_null=True)


class DepartureSerializer(serializers.Serializer):
    """One difference to today's truss in loads, bearings, use or restraint: a code with its values, and in words.
    `falls`: a design load is smaller than today, and approving it needs a reason."""

    code = serializers.CharField()
    values = serializers.JSONField()
    falls = serializers.BooleanField()
    says = serializers.SerializerMethodField()

    def get_says(self, one: Departure) -> str:
        return departure(one)


class OptionFiguresSerializer(serializers.Serializer):
    """`after` is null, and `supports` empty, while a drawn option waits for its computation or can't be analysed."""

    before = FactsSerializer()
    departures = DepartureSerializer(many=True)
    after = serializers.SerializerMethodField()
    verdict = VerdictSerializer(allow_null=True, help_text="Of its own truss, whatever it makes of the carriers.")
    supports = SupportChangeSerializer(many=True)
    price = PriceSerializer()
    rows = RowsSerializer()
    beside = BesideSerializer(many=True, help_text="Of a floor truss, those next to it that keep their design.")

    @extend_schema_field(FactsSerializer(allow_null=True))
    def get_after(self, told: dict[str, Any]) -> dict[str, Any] | None:
        return dict(FactsSerializer(told["after"]).data) if told["after"] else None


def figures(option: Option) -> dict[str, Any]:
    """The body of `GET options/{id}/figures/`, from the stored analyses of the option and what it departs from."""
    revision, job = option.revision, option.request.job
    table = PlateTable.of_job(job)
    before, after, said = revision.analysis, option.analysis, surroundings.of_mark(option.truss)
    told = {
        "before": facts(read_stored(revision.document), before, table, said),
        "after": facts(read_stored(option.document), after, table, said) if after else None,
        "departures": departures_of(option),
        "verdict": verdicts.of_document(option.truss, option.document, after, table) if after else None,
        "supports": supports.changes(before, after, *map(supports.places, (revision.document, option.document)))
        if after
        else [],
        "price": pricing.price(pricing.rates_of(job), revision.document, option.document),
        "rows": _rows(option),
        "beside": floor_movement.beside(option.truss) if option.truss.current_id == option.revision_id else [],
    }
    return dict(OptionFiguresSerializer(told).data)


def _rows(option: Option) -> dict[str, Any]:
    truss = option.truss
    current = truss.current_id == option.revision_id
    found = rows.touched(truss, option.document, option.analysis) if current else rows.Touched()
    return {"touched": found.trusses, "cut": found.cut, "lonely": found.lonely, "edges": found.edges}
