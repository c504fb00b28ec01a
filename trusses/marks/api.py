"""The set's calls of the API: the caller's jobs, their trusses, sheets and drawings."""

from __future__ import annotations

from typing import Any, cast

from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, status
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses import kept_drawings, verdicts
from trusses.analysis.format.document import read_stored
from trusses.bearings import standing
from trusses.bearings.api import Bearings, Loads
from trusses.correcting import VERB, correct, withdraw
from trusses.job import surroundings
from trusses.job.kinds_api import Kinds
from trusses.job.sheathing_api import Sheathing
from trusses.marks.serializers import (
    CorrectionSerializer,
    JobSerializer,
    MarkEventSerializer,
    MoveCopiesSerializer,
    NewMarkSerializer,
    SheetSerializer,
    TrussSerializer,
    WaitingMarkSerializer,
    WithdrawalSerializer,
    refusal,
)
from trusses.models import Job, MarkEvent, NewMark, PlateTable, Truss
from trusses.permissions import job_or_404, jobs_of, one_or_404, require, revision_or_404, truss_or_404
from trusses.production import move, stage_counts
from trusses.revisions import Refused, propose_mark
from trusses.sheets import sheet_facts
from trusses.sheets.facts_serializers import RevisionFiguresSerializer


def marks_of(job: Job) -> QuerySet[Truss]:
    """The job's marks with their current revisions, but without the analyses, which no list shows."""
    rows = Truss.objects.filter(job=job, current__isnull=False)
    return rows.select_related("current").defer("current__analysis").order_by("mark", "id")


class Jobs(generics.ListAPIView):
    """The caller's jobs."""

    serializer_class = JobSerializer

    def get_queryset(self) -> QuerySet[Job]:
        return jobs_of(self.request.user)


class Trusses(generics.ListAPIView):
    """The marks of a job, each with its current revision."""

    serializer_class = TrussSerializer

    def get_queryset(self) -> QuerySet[Truss]:
        if getattr(self, "swagger_fake_view", False):
            return Truss.objects.none()
        return marks_of(job_or_404(self.request.user, self.kwargs["pk"]))

    def list(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        page = cast(list[Truss], self.paginate_queryset(self.get_queryset()))
        return self.get_paginated_response(told(page))

    @extend_schema(request=NewMarkSerializer, responses={201: TrussSerializer, 202: WaitingMarkSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """A new mark with its revision 0 and its copies; by a designer. One whose analysis takes long waits for the
        worker: 202, and `new-marks/{id}/` tells what becomes of it."""
        job = job_or_404(request.user, pk)
        require(request.user, "add a mark", job)
        body = NewMarkSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        try:
            added = propose_mark(job, by=request.user, **body.validated_data)
        except Refused as trouble:
            raise refusal(trouble) from trouble
        if isinstance(added, NewMark):
            return Response(WaitingMarkSerializer(added).data, status=status.HTTP_202_ACCEPTED)
        return Response(told([added])[0], status=status.HTTP_201_CREATED)


class WaitingMark(APIView):
    @extend_schema(responses=WaitingMarkSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What has become of a document that was sent; for a designer."""
        waiting = one_or_404(NewMark.objects.select_related("job", "computation"), request.user, pk=pk)
        require(request.user, "add a mark", waiting.job)
        return Response(WaitingMarkSerializer(waiting).data)


def told(trusses: list[Truss]) -> list[dict[str, Any]]:
    context = {"counts": stage_counts(trusses)}
    return [dict(TrussSerializer(truss, context=context).data) for truss in trusses]


class Sheets(generics.ListAPIView):
    """The current revision of every mark of a job."""

    serializer_class = SheetSerializer

    def get_queryset(self) -> QuerySet[Truss]:
        if getattr(self, "swagger_fake_view", False):
            return Truss.objects.none()
        return marks_of(job_or_404(self.request.user, self.kwargs["pk"])).defer(
            "current__analysis", "current__document"
        )


class Copies(APIView):
    """Copies of a mark go on to their next stage."""

    @extend_schema(request=MoveCopiesSerializer, responses=TrussSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """By the designer up to `built`, by the site lead from there; a repeat moves nothing and is harmless."""
        truss = truss_or_404(request.user, pk)
        body = MoveCopiesSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        numbers = set(body.validated_data["copies"])
        ids = dict(truss.copies.filter(number__in=numbers).values_list("number", "pk"))
        if len(ids) != len(numbers):
            raise Http404("Not found.")
        seen = None
        if "revision" in body.validated_data:
            seen = revision_or_404(request.user, truss=truss, number=body.validated_data["revision"])
        try:
            move(
                request.user,
                truss,
                ids.values(),
                body.validated_data["to"],
                found=body.validated_data.get("found", ""),
                seen=seen,
            )
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return Response(told([truss])[0])


class Correct(APIView):
    @extend_schema(request=CorrectionSerializer, responses=TrussSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """The next revision of a mark whose design is still its first; by a designer, while nothing is released."""
        truss = truss_or_404(request.user, pk)
        require(request.user, VERB, truss.job)
        body = CorrectionSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        seen = revision_or_404(request.user, truss=truss, number=said["revision"])
        try:
            correct(request.user, truss, said["document"], said["reason"], seen, said.get("accepts", ()))
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return Response(told([truss])[0])


class Withdraw(APIView):
    @extend_schema(request=WithdrawalSerializer, responses=TrussSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Takes a mark out of the set while its design is still its first; the record stays."""
        truss = truss_or_404(request.user, pk)
        require(request.user, VERB, truss.job)
        body = WithdrawalSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        seen = revision_or_404(request.user, truss=truss, number=body.validated_data["revision"])
        try:
            withdraw(request.user, truss, body.validated_data["reason"], seen)
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return Response(told([truss])[0])


class Events(generics.ListAPIView):
    """The record of a mark: every stage move of its copies, its corrections and its withdrawal."""

    serializer_class = MarkEventSerializer

    def get_queryset(self) -> QuerySet[MarkEvent]:
        if getattr(self, "swagger_fake_view", False):
            return MarkEvent.objects.none()
        return truss_or_404(self.request.user, self.kwargs["pk"]).events.select_related("by")


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
    path("jobs/", Jobs.as_view(), name="jobs"),
    path("jobs/<int:pk>/trusses/", Trusses.as_view(), name="job-trusses"),
    path("jobs/<int:pk>/sheets/", Sheets.as_view(), name="job-sheets"),
    path("new-marks/<int:pk>/", WaitingMark.as_view(), name="new-mark"),
    path("trusses/<int:pk>/copies/", Copies.as_view(), name="truss-copies"),
    path("trusses/<int:pk>/correct/", Correct.as_view(), name="truss-correct"),
    path("trusses/<int:pk>/withdraw/", Withdraw.as_view(), name="truss-withdraw"),
    path("trusses/<int:pk>/events/", Events.as_view(), name="truss-events"),
    path("jobs/<int:pk>/sheathing/", Sheathing.as_view(), name="job-sheathing"),
    path("trusses/<int:pk>/bearings/", Bearings.as_view(), name="truss-bearings"),
    path("trusses/<int:pk>/kinds/", Kinds.as_view(), name="truss-kinds"),
    path("trusses/<int:pk>/loads/", Loads.as_view(), name="truss-loads"),
    path("revisions/<str:sha256>/figures/", RevisionFigures.as_view(), name="revision-figures"),
    path("revisions/<str:sha256>/elevation.svg", Elevation.as_view(), name="revision-elevation"),
]
