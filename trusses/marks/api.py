"""The marks' calls of the API: the marks of a job, their copies, corrections and record."""

from __future__ import annotations

from typing import Any, cast

from django.db.models import OuterRef, QuerySet, Subquery
from django.urls import path
from drf_spectacular.utils import extend_schema
from rest_framework import generics, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.job.kinds_api import Kinds
from trusses.marks.correcting import VERB, withdraw
from trusses.marks.serializers import (
    CorrectionSerializer,
    MarkEventSerializer,
    NewMarkSerializer,
    SubmissionSerializer,
    TrussSerializer,
    WithdrawalSerializer,
)
from trusses.marks.submissions import add_or_send_mark, send_correction
from trusses.models import STAGE_ORDER, Copy, Job, MarkEvent, Revision, Submission, Truss
from trusses.permissions import job_or_404, one_or_404, require, revision_or_404, truss_or_404
from trusses.refusals import Refused
from trusses.serializers import refusal


def marks_of(job: Job) -> QuerySet[Truss]:
    """The job's marks with their current revisions, but without the analyses, which no list shows."""
    rows = Truss.objects.filter(job=job, current__isnull=False)
    first = Revision.objects.filter(truss=OuterRef("pk"), comes_from__isnull=False)
    came = {
        "came_from": Subquery(first.values("comes_from__truss")[:1]),
        "came_from_mark": Subquery(first.values("comes_from__truss__mark")[:1]),
        "came_from_number": Subquery(first.values("comes_from__number")[:1]),
    }
    return rows.annotate(**came).select_related("current").defer("current__analysis").order_by("mark", "id")


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

    @extend_schema(request=NewMarkSerializer, responses={201: TrussSerializer, 202: SubmissionSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """A new mark with its revision 0 and its copies; by a designer. One whose analysis takes long waits for the
        worker: 202, and `submissions/{id}/` tells what becomes of it."""
        job = job_or_404(request.user, pk)
        require(request.user, "add a mark", job)
        body = NewMarkSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        try:
            added = add_or_send_mark(job, by=request.user, **body.validated_data)
        except Refused as trouble:
            raise refusal(trouble) from trouble
        if isinstance(added, Submission):
            return Response(SubmissionSerializer(added).data, status=status.HTTP_202_ACCEPTED)
        return Response(told([added])[0], status=status.HTTP_201_CREATED)


class Sent(APIView):
    @extend_schema(responses=SubmissionSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What has become of what was sent to the set and computed by the worker; for a designer."""
        rows = Submission.objects.select_related("job", "computation", "truss", "revision")
        sent = one_or_404(rows, request.user, pk=pk)
        require(request.user, "add a mark", sent.job)
        return Response(SubmissionSerializer(sent).data)


def told(trusses: list[Truss]) -> list[dict[str, Any]]:
    numbers: dict[int, list[int]] = {}
    counts: dict[int, dict[str, int]] = {truss.pk: {} for truss in trusses}
    rows = Copy.objects.filter(truss__in=trusses).order_by("number").values_list("truss", "number", "stage")
    for truss, number, stage in rows:
        numbers.setdefault(truss, []).append(number)
        counts[truss][stage] = counts[truss].get(stage, 0) + 1
    in_order = {pk: {at: those[at] for at in STAGE_ORDER if at in those} for pk, those in counts.items()}
    context = {"counts": in_order, "numbers": numbers}
    return [dict(TrussSerializer(truss, context=context).data) for truss in trusses]


class Correct(APIView):
    @extend_schema(request=CorrectionSerializer, responses={202: SubmissionSerializer})
    def post(self, request: Request, pk: int) -> Response:
        """The next revision of a mark whose design is still its first; by a designer, while nothing is released. The
        worker computes it: 202, and `submissions/{id}/` tells what becomes of it."""
        truss = truss_or_404(request.user, pk)
        require(request.user, VERB, truss.job)
        body = CorrectionSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        seen = revision_or_404(request.user, truss=truss, number=said["revision"])
        try:
            sent = send_correction(request.user, truss, said["document"], said["reason"], seen, said.get("accepts", ()))
        except Refused as trouble:
            raise refusal(trouble) from trouble
        return Response(SubmissionSerializer(sent).data, status=status.HTTP_202_ACCEPTED)


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


urlpatterns = [
    path("jobs/<int:pk>/trusses/", Trusses.as_view(), name="job-trusses"),
    path("submissions/<int:pk>/", Sent.as_view(), name="submission"),
    path("trusses/<int:pk>/correct/", Correct.as_view(), name="truss-correct"),
    path("trusses/<int:pk>/withdraw/", Withdraw.as_view(), name="truss-withdraw"),
    path("trusses/<int:pk>/events/", Events.as_view(), name="truss-events"),
    path("trusses/<int:pk>/kinds/", Kinds.as_view(), name="truss-kinds"),
]
