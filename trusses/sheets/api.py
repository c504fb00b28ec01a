"""The sheets' calls of the API: what is current, its drawing, its figures."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses import kept_drawings, verdicts
from trusses.analysis.format.document import read_stored
from trusses.bearings import standing
from trusses.job import surroundings
from trusses.marks.api import marks_of
from trusses.models import PlateTable, Truss
from trusses.permissions import job_or_404, revision_or_404
from trusses.sheets import sheet_facts
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


def svg(picture: str) -> HttpResponse:
    return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")


urlpatterns = [
    path("jobs/<int:pk>/sheets/", Sheets.as_view(), name="job-sheets"),
    path("revisions/<str:sha256>/figures/", RevisionFigures.as_view(), name="revision-figures"),
    path("revisions/<str:sha256>/elevation.svg", Elevation.as_view(), name="revision-elevation"),
]
