"""The office's own pages for the set: jobs, people, marks, places, copies. Revisions are read there, never written."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from typing import Any

from django.contrib import admin
from django.core.exceptions import ValidationError
from django.db.models import Count, QuerySet
from django.forms import BaseInlineFormSet, ModelForm
from django.http import HttpRequest
from django.template.defaultfilters import filesizeformat
from django.utils.html import format_html
from django.utils.safestring import SafeString

from trusses.analysis.words.lengths import feet_inches, tape_inches
from trusses.analysis.words.phrases import counted
from trusses.models import (
    BearingLink,
    Copy,
    Job,
    JobBuilding,
    JobRates,
    MarkEvent,
    Membership,
    Placement,
    PlateTable,
    Revision,
    Truss,
    WallLine,
)
from trusses.revisions import MOST_COPIES, begun, settle_copies

admin.site.site_header = "Chord Change"
admin.site.site_title = "Chord Change"
admin.site.index_title = "The office's records"
admin.site.enable_nav_sidebar = False  # its width is the lists'; the way to other records leads over the first page


class Keeping(admin.ModelAdmin):
    """Deleting what other records rest on is refused with a sentence, one by one and in bulk."""

    keeps = "Other records rest on it, and the record of a job is kept."
    named = 10
    """How many of the records that rest on it are named."""

    def kept(self, row: Any) -> bool:
        """Whether this row is kept although nothing rests on it."""
        return False

    def get_deleted_objects(self, objs: Any, request: HttpRequest) -> Any:
        """The sentence first among what protects the rows, instead of a permission that no account has."""
        to_delete, counts, lacking, protected = super().get_deleted_objects(objs, request)
        if lacking or protected or any(self.kept(row) for row in objs):
            rest = len(protected) - self.named
            more = [f"and {counted(rest, 'other record', 'other records')}"] if rest > 0 else []
            return to_delete, counts, set(), [self.keeps, *protected[: self.named], *more]
        return to_delete, counts, lacking, protected


class ReadOnly(admin.ModelAdmin):
    """Rows that the pages and the API write, under their rules; here they are read. `heavy` are fields that a list of
    them doesn't show and leaves in the database."""

    heavy: Sequence[str] = ()

    def get_search_results(self, request: HttpRequest, queryset: QuerySet, search_term: str) -> tuple[QuerySet, bool]:
        rows, many = super().get_search_results(request, queryset, search_term)  # each list asks this
        return rows.defer(*self.heavy), many

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


def folded(document: Any) -> SafeString:
    """A document to read, folded: a line for each thing that it has several of."""
    told = json.dumps(document, indent=1, ensure_ascii=False)
    lines = re.sub(r"\n {3,}|\n {2}(?=[\]}])", " ", told)
    size = filesizeformat(len(lines.encode()))
    return format_html("<details><summary>Show it, {}</summary><pre>{}</pre></details>", size, lines)


class MembershipInline(admin.TabularInline):
    model = Membership
    extra = 1
    autocomplete_fields = ("user",)


@admin.register(Job)
class JobAdmin(Keeping):
    list_display = ("name", "place", "time_zone", "marks", "members", "is_demo")
    search_fields = ("name", "place")
    inlines = (MembershipInline,)
    exclude = ("bearing_heights",)
    keeps = "A job with trusses is kept: their revisions never disappear."

    def get_queryset(self, request: HttpRequest) -> QuerySet[Job]:
        rows = super().get_queryset(request)
        return rows.annotate(n_marks=Count("trusses", distinct=True), n_people=Count("memberships", distinct=True))

    @admin.display(description="marks", ordering="n_marks")
    def marks(self, job: Any) -> int:
        return job.n_marks

    @admin.display(description="people", ordering="n_people")
    def members(self, job: Any) -> int:
        return job.n_people


class Places(BaseInlineFormSet):
    """The places of one mark in plan; its copies follow them, so that the two counts are one."""

    def clean(self) -> None:
        super().clean()
        rows = [form.cleaned_data for form in self.forms if getattr(form, "cleaned_data", None)]
        counts = [row["count"] for row in rows if "count" in row and not row.get("DELETE")]
        going, mark = begun(self.instance), self.instance.mark
        if counts and sum(counts) < going:
            raise ValidationError(
                f"The places hold {sum(counts)} copies, and {going} of {mark} are released or further, or were "
                "looked at on site: none of these can be taken away."
            )
        if sum(counts) > MOST_COPIES:
            raise ValidationError(f"The places hold {sum(counts)} copies; a mark can have {MOST_COPIES}.")


class PlaceForm(ModelForm):
    class Meta:
        labels = {"origin_x_in": "Origin x, in.", "origin_y_in": "Origin y, in.", "spacing_in": "Spacing, in."}


class PlacementInline(admin.TabularInline):
    model = Placement
    form = PlaceForm
    formset = Places
    extra = 0


@admin.register(Truss)
class TrussAdmin(Keeping):
    """A mark. New marks come from the designer's form, which analyses them; here its last day can be set, and its
    places in plan, which say how many copies it has."""

    list_display = ("mark", "job", "revision", "n_copies", "can_change_until")
    list_filter = ("job",)
    search_fields = ("mark", "job__name")
    readonly_fields = ("job", "mark", "current")
    fields = ("mark", "job", "current", "can_change_until")
    inlines = (PlacementInline,)
    keeps = "A mark with revisions is kept: they never disappear."

    def get_queryset(self, request: HttpRequest) -> QuerySet[Truss]:
        rows = super().get_queryset(request).select_related("job", "current")
        return rows.defer("current__document", "current__analysis").annotate(counted=Count("copies"))

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        super().save_related(request, form, formsets, change)
        if any(formset.has_changed() for formset in formsets):
            settle_copies(form.instance, request.user)

    @admin.display(description="revision", ordering="current__number")
    def revision(self, truss: Truss) -> str:
        return str(truss.current.number) if truss.current else "none"

    @admin.display(description="copies", ordering="counted")
    def n_copies(self, truss: Any) -> int:
        return truss.counted


@admin.register(Placement)
class PlacementAdmin(ReadOnly):
    """Read only: places are set on their mark, whose copies follow them."""

    search_fields = ("truss__mark", "level")
    list_display = ("truss", "level", "direction", "origin", "spacing", "count", "note")
    list_filter = ("truss__job", "level")
    list_select_related = ("truss",)

    @admin.display(description="origin x, y")
    def origin(self, place: Placement) -> str:
        return f"{feet_inches(place.origin_x_in)}, {feet_inches(place.origin_y_in)}"

    @admin.display(description="spacing", ordering="spacing_in")
    def spacing(self, place: Placement) -> str:
        return tape_inches(place.spacing_in)


@admin.register(WallLine)
class WallLineAdmin(Keeping):
    list_display = ("label", "job", "plate")
    list_filter = ("job",)
    list_select_related = ("job",)
    search_fields = ("label", "job__name")
    autocomplete_fields = ("job",)
    exclude = ("points",)
    keeps = "Bearings stand on this wall line: say first what else they stand on."


@admin.register(BearingLink)
class BearingLinkAdmin(ReadOnly):
    """Read only: a link is set on the mark's own page, which sees whether the two meet and whether a circle closes."""

    list_display = ("truss", "joint", "wall", "carrier", "said_by", "said_at")
    list_filter = ("truss__job",)
    list_select_related = ("truss", "wall", "carrier", "said_by")
    search_fields = ("truss__mark", "carrier__mark", "wall__label")
    fields = ("truss", "joint", "wall", "carrier", "hung", "said_by", "said_at")
    readonly_fields = fields


@admin.register(Copy)
class CopyAdmin(ReadOnly):
    """Read only: a copy's stage moves on its mark's page, one step, by whom it concerns, with an event; how many there
    are follows from the mark's places."""

    list_display = (
        "truss",
        "number",
        "stage",
        "released_to",
        "built_to",
        "placement",
        "found_at_delivery",
        "found_at_setting",
    )
    list_filter = ("truss__job", "stage")
    list_select_related = ("truss", "released_to__truss", "built_to__truss", "placement__truss")
    search_fields = ("truss__mark",)
    heavy = tuple(f"{to}__{field}" for to in ("built_to", "released_to") for field in ("document", "analysis"))


@admin.register(MarkEvent)
class MarkEventAdmin(ReadOnly):
    """What happened to a mark and its copies, and by whom."""

    list_display = ("at", "truss", "by", "code", "says")
    list_filter = ("truss__job", "code")
    list_select_related = ("truss", "by")
    search_fields = ("truss__mark",)

    @admin.display(description="what")
    def says(self, event: MarkEvent) -> str:
        return event.told


@admin.register(Revision)
class RevisionAdmin(ReadOnly):
    """Read only: a revision never changes and never disappears."""

    list_display = ("truss", "job", "number", "is_current", "short_sha256", "issued_by", "issued_at")
    list_filter = ("truss__job",)
    search_fields = ("truss__mark", "sha256")
    fields = ("truss", "number", "sha256", "issued_by", "issued_at", "accepts", "passes", "document_text")
    readonly_fields = fields
    heavy = ("document", "analysis")

    def get_queryset(self, request: HttpRequest) -> QuerySet[Revision]:
        return super().get_queryset(request).select_related("truss__job", "issued_by")

    @admin.display(description="job")
    def job(self, revision: Revision) -> str:
        return str(revision.truss.job)

    @admin.display(description="current", boolean=True)
    def is_current(self, revision: Revision) -> bool:
        return revision.is_current

    @admin.display(description="SHA-256")
    def short_sha256(self, revision: Revision) -> str:
        return revision.sha256[:12]

    @admin.display(description="lumber checks pass", boolean=True)
    def passes(self, revision: Revision) -> bool:
        return revision.analysis["passes"]

    @admin.display(description="truss document")
    def document_text(self, revision: Revision) -> SafeString:
        return folded(revision.document)


@admin.register(JobRates)
class JobRatesAdmin(admin.ModelAdmin):
    """What a job's shop charges. Without rates its pages show no price."""

    list_display = ("job", "currency", "board_foot", "piece", "joint", "note")
    list_filter = ("job",)
    list_select_related = ("job",)
    search_fields = ("job__name",)
    autocomplete_fields = ("job",)


@admin.register(JobBuilding)
class JobBuildingAdmin(ReadOnly):
    """Read only: a designer says it on the job's own page."""

    list_display = ("job", "tolerance_in", "from_joints_in", "longest_piece_in")
    list_filter = ("job",)
    list_select_related = ("job",)
    search_fields = ("job__name",)


@admin.register(PlateTable)
class PlateTableAdmin(ReadOnly):
    """Read only: a table is uploaded by a designer, on the job's own page, and never changes."""

    list_display = ("job", "report", "plates", "uploaded_by", "uploaded_at")
    list_filter = ("job",)
    list_select_related = ("job", "uploaded_by")
    search_fields = ("job__name", "report")
    fields = ("job", "report", "uploaded_by", "uploaded_at", "table")
    readonly_fields = fields

    @admin.display(description="plates")
    def plates(self, table: PlateTable) -> int:
        return len(table.rows)

    @admin.display(description="table")
    def table(self, table: PlateTable) -> SafeString:
        return folded(table.rows)
