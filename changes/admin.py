"""Requests and all that belongs to them, for reading: only `workflow` changes them."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest
from django.utils.safestring import SafeString

from changes.models import Ask, Computation, Consequence, Decision, Event, Hold, IdempotencyKey, Issue, Option, Request
from trusses.admin import ReadOnly, folded
from trusses.templatetags.figures import percent

DOCUMENTS = ("document", "analysis", "comparison")
OF_OPTION = tuple(f"option__{field}" for field in DOCUMENTS)
OF_REVISION = ("revision__document", "revision__analysis")


class Inline(admin.TabularInline):
    extra = 0
    can_delete = False
    show_change_link = True

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class Asks(Inline):
    model = Ask
    fields = ("truss", "kind", "opening", "verdict", "says", "replaced")
    readonly_fields = ("says",)


class Events(Inline):
    model = Event
    fields = ("at", "by", "verb", "from_state", "to_state", "told")
    readonly_fields = ("told",)


class Computations(Inline):
    model = Computation
    fields = ("option", "state", "attempts", "queued_at", "finished_at", "trouble_says")
    readonly_fields = ("trouble_says",)


@admin.register(Request)
class Requests(ReadOnly):
    list_display = ("id", "job", "filed_by", "filed_at", "needed_by", "state")
    list_filter = ("state", "job")
    date_hierarchy = "filed_at"
    inlines = (Asks, Computations, Events)


@admin.register(Option)
class Options(ReadOnly):
    list_display = ("id", "request", "truss", "title", "passes", "worst", "counts")
    list_filter = ("passes", "stale")
    list_select_related = ("request", "truss")
    heavy = DOCUMENTS
    fields = (
        *("request", "asks", "truss", "copies", "revision", "title", "drawn_by", "redrawn_of", "rank", "passes"),
        *("worst", "told_says", "counts", "created_at", "basis", "sha256", "document_text"),
    )
    readonly_fields = fields

    @admin.display(description="worst ratio", ordering="worst_ratio")
    def worst(self, option: Option) -> str:
        return percent(option.worst_ratio)

    @admin.display(description="computation", ordering="stale")
    def counts(self, option: Option) -> str:
        return "earlier" if option.stale else "current"

    @admin.display(description="what decides about it")
    def told_says(self, option: Option) -> str:
        return option.says

    @admin.display(description="truss document")
    def document_text(self, option: Option) -> SafeString:
        return folded(option.document)


@admin.register(Consequence)
class Consequences(ReadOnly):
    list_display = ("option", "carrier", "because", "passes", "trouble_says")
    list_select_related = ("option", "carrier")
    heavy = (*DOCUMENTS, *OF_OPTION)
    fields = (
        *("option", "carrier", "revision", "place", "because", "passes", "told_says", "trouble_says", "sha256"),
        "document_text",
    )
    readonly_fields = fields

    @admin.display(boolean=True)
    def passes(self, row: Consequence) -> bool | None:
        return row.passes

    @admin.display(description="what it comes to")
    def told_says(self, row: Consequence) -> str:
        return row.says

    @admin.display(description="truss document, with the loads of what it carries")
    def document_text(self, row: Consequence) -> SafeString:
        return folded(row.document)


@admin.register(Hold)
class Holds(ReadOnly):
    list_display = ("id", "request", "truss", "standing", "asked_by", "answered_by")
    list_select_related = ("request", "truss", "asked_by", "answered_by")
    list_filter = ("standing",)


@admin.register(Computation)
class ComputationRows(ReadOnly):
    list_display = ("id", "request", "option", "state", "attempts", "rings", "queued_at", "finished_at")
    list_filter = ("state",)
    list_select_related = ("request", "option")
    heavy = OF_OPTION


@admin.register(Decision)
class Decisions(ReadOnly):
    list_display = ("id", "request", "verdict", "by", "at")
    list_filter = ("verdict",)


@admin.register(Issue)
class Issues(ReadOnly):
    list_display = ("id", "decision", "option", "because", "revision")
    list_select_related = ("decision", "option", "revision__truss")
    heavy = (*OF_OPTION, *OF_REVISION)


@admin.register(IdempotencyKey)
class IdempotencyKeys(ReadOnly):
    list_display = ("user", "key", "request", "created_at")
