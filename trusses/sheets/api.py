"""The sheets' calls of the API: what is current, its drawing, its figures."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, serializers
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses import kept_drawings, verdicts
from trusses.analysis.format.document import read_stored
from trusses.bearings import standing
from trusses.copies.api import KEYED, once_by_key, plain
from trusses.job import surroundings
from trusses.marks.api import marks_of
from trusses.models import PlateTable, Truss
from trusses.permissions import job_or_404, revision_or_404, truss_or_404
from trusses.pictures import MOST_AT_ONCE, Sent
from trusses.sealing.seals import seals_of
from trusses.serializers import StrictSerializer
from trusses.sheets import fixing, sheet_facts
from trusses.sheets.facts_serializers import RevisionFiguresSerializer
from trusses.sheets.serializers import SheetSerializer


class Sheets(generics.ListAPIView):
    """The current revision of every mark of a job."""

    serializer_class = SheetSerializer

    def get_queryset(self) -> QuerySet[Truss]:
        if getattr(self, "swagger_fake_view", False):
            return Truss.objects.none()
        return marks_of(job_or_404(self.request.user, self.kwargs["pk"])).defer(
            "current__analysis", "current__document"
        )

    def get_serializer_context(self) -> dict[str, Any]:
        if getattr(self, "swagger_fake_view", False):
            return dict(super().get_serializer_context())
        job = job_or_404(self.request.user, self.kwargs["pk"])
        currents = Truss.objects.filter(job=job, current__isnull=False).values_list("current", flat=True)
        return {**super().get_serializer_context(), "seals": seals_of(job, currents)}


class Svg(BaseRenderer):
    """So that a program may ask for `image/svg+xml` by name."""

    media_type = "image/svg+xml"
    format = "svg"
    charset = "utf-8"

    def render(self, data: str, accepted_media_type: Any = None, renderer_context: Any = None) -> str:
        return data


class Elevation(APIView):
    """The drawing of a revision, by the SHA-256 of its truss document."""

    renderer_classes = [Svg, JSONRenderer]

    def handle_exception(self, exc: Exception) -> Response:
        # a refusal is a sentence, not a drawing
        self.request.accepted_renderer = JSONRenderer()
        self.request.accepted_media_type = JSONRenderer.media_type
        return super().handle_exception(exc)

    @extend_schema(
        parameters=[OpenApiParameter("sha256", OpenApiTypes.STR, OpenApiParameter.PATH)],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
    )
    def get(self, request: Request, sha256: str) -> HttpResponse:
        revision = revision_or_404(request.user, sha256=sha256)
        return svg(kept_drawings.elevation(revision.document, analysis=revision.analysis))


class RevisionFigures(APIView):
    """What a revision asks of walls, plates and restraint, and how it moves: the sheet's figures."""

    @extend_schema(
        parameters=[OpenApiParameter("sha256", OpenApiTypes.STR, OpenApiParameter.PATH)],
        responses=RevisionFiguresSerializer,
    )
    def get(self, request: Request, sha256: str) -> Response:
        """Each key ends in its number's unit. Nothing here is a permission to build or to cut."""
        revision = revision_or_404(request.user, sha256=sha256)
        table = PlateTable.of_job(revision.truss.job)
        said = surroundings.of_mark(revision.truss)
        found = sheet_facts.facts(read_stored(revision.document), revision.analysis, table, said)
        verdict = verdicts.of_revision(revision, table, standing.carried(revision.truss).behind)
        return Response(RevisionFiguresSerializer(found, context={"verdict": verdict}).data)


class ItemSerializer(serializers.Serializer):
    """A row of restraint, a hanger or a tie: from where to where, what it is anchored to, whether it is ticked off, and
    by which open `corrections` an inspector disputes it, until which it is not `done`."""

    item = serializers.CharField(source="item.key")
    what = serializers.CharField(source="item.what")
    starts = serializers.CharField(source="item.starts")
    ends = serializers.CharField(source="item.ends")
    anchored = serializers.SerializerMethodField()
    done = serializers.BooleanField()
    corrections = serializers.SerializerMethodField()
    by = serializers.CharField(source="last.by.username", default=None, allow_null=True)
    at = serializers.DateTimeField(source="last.at", default=None, allow_null=True)
    photos = serializers.SerializerMethodField()

    def get_corrections(self, listed: fixing.Listed) -> list[int]:
        return [one.pk for one in listed.disputed]

    def get_photos(self, listed: fixing.Listed) -> list[str]:
        row = listed.last if listed.done else None
        return [reverse("trusses:fixed-photo", args=[row.pk, n]) for n, _ in enumerate(row.photos, 1)] if row else []

    def get_anchored(self, listed: fixing.Listed) -> str:
        return listed.last.anchored if listed.done and listed.last else listed.item.anchored


class TickItemSerializer(StrictSerializer):
    item = serializers.CharField(max_length=120, allow_blank=True)  # nothing chosen is refused in its own words
    done = serializers.BooleanField(default=True)
    anchored = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    photos = serializers.ListField(child=serializers.FileField(), required=False, max_length=MOST_AT_ONCE)


class FixedItems(APIView):
    """What is fixed beside setting a mark: restraint, hangers, ties."""

    parser_classes = [JSONParser, MultiPartParser]

    @extend_schema(responses=ItemSerializer(many=True))
    def get(self, request: Request, pk: int) -> Response:
        return Response(ItemSerializer(fixing.listed(truss_or_404(request.user, pk)), many=True).data)

    @extend_schema(request=TickItemSerializer, parameters=KEYED, responses=ItemSerializer(many=True))
    def post(self, request: Request, pk: int) -> Response:
        """Ticks one off, or takes the tick back; by the site lead. Of a row it says to what it is anchored;
        with photos as a form of several parts."""
        truss = truss_or_404(request.user, pk)
        body = TickItemSerializer(data=plain(request, "photos"))
        body.is_valid(raise_exception=True)
        said = body.validated_data
        photos = [Sent(one.file, one.size) for one in said.get("photos", ())]
        how = {"done": said["done"], "anchored": said.get("anchored", ""), "photos": photos}
        once_by_key(request, lambda: {"changed": fixing.tick(request.user, truss, said["item"], **how)})
        return Response(ItemSerializer(fixing.listed(truss), many=True).data)


def svg(picture: str) -> HttpResponse:
    return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")


urlpatterns = [
    path("trusses/<int:pk>/fixed/", FixedItems.as_view(), name="truss-fixed"),
    path("jobs/<int:pk>/sheets/", Sheets.as_view(), name="job-sheets"),
    path("revisions/<str:sha256>/figures/", RevisionFigures.as_view(), name="revision-figures"),
    path("revisions/<str:sha256>/elevation.svg", Elevation.as_view(), name="revision-elevation"),
]
