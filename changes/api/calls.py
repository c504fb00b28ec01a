"""The change's calls of the API: the same workflow functions as the pages, under the same permissions."""

from __future__ import annotations

import hashlib
import json
from typing import Any, cast

from django.db.models import Prefetch, QuerySet
from django.http import Http404, HttpResponse
from django.urls import path
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, status
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request as Call
from rest_framework.response import Response

from changes import workflow
from changes.api.base import KEY, Calls, body_of, problems
from changes.api.bodies import (
    AnswerSerializer,
    FitSerializer,
    HoldAnswerSerializer,
    NewDecisionSerializer,
    NewOptionSerializer,
    NewRequestSerializer,
    NewRevisionSerializer,
    RunSerializer,
)
from changes.api.details import detail
from changes.api.figures import OptionFiguresSerializer, figures
from changes.api.live import FitAnswerSerializer, RunAnswerSerializer
from changes.api.photos import Photos
from changes.api.repairs import Repairs
from changes.api.serializers import (
    DetailSerializer,
    FiledSerializer,
    HoldSerializer,
    OptionSerializer,
    RequestSerializer,
    WaitingSerializer,
)
from changes.asks.live_fit import fit_answer
from changes.asks.live_run import run_answer
from changes.models import Ask, Hold, Option, Request, State
from changes.refusals import Refused
from changes.workflow.waiting import Waiting, waiting
from trusses import drawing, kept_drawings
from trusses.models import Truss
from trusses.once import page as reading_once
from trusses.permissions import job_or_404, one_or_404, truss_or_404, visible
from trusses.sheets.api import Svg

JOB = OpenApiParameter("job", int, description="Only requests of this job.")
STATE = OpenApiParameter("state", str, enum=State.values, description="Only requests in this state.")


class Requests(Calls, generics.ListAPIView):
    """The queue, and filing."""

    serializer_class = RequestSerializer

    def get_queryset(self) -> QuerySet[Request]:
        if getattr(self, "swagger_fake_view", False):
            return Request.objects.none()
        rows = visible(Request, self.request.user).select_related("filed_by")
        asks = Ask.objects.select_related("truss").only(
            "request_id", "replaced", "kind", "revision_id", "truss__mark", "truss__current_id"
        )
        rows = rows.prefetch_related(Prefetch("asks", asks))
        if job := self.request.query_params.get("job"):
            rows = rows.filter(job=job_or_404(self.request.user, job))
        if state := self.request.query_params.get("state"):
            if state not in State.values:
                raise Refused("no-such-state", "state", "state", states=list(State.values))
            rows = rows.filter(state=state)
        return rows

    @extend_schema(parameters=[JOB, STATE], responses={200: RequestSerializer(many=True), **problems(400, 404)})
    def get(self, request: Call, *args: Any, **kwargs: Any) -> Response:
        return super().get(request, *args, **kwargs)

    @extend_schema(
        request=NewRequestSerializer,
        parameters=[OpenApiParameter(KEY, str, OpenApiParameter.HEADER, description="Makes a repeat harmless.")],
        responses={201: FiledSerializer, **problems(400, 403, 404, 409)},
    )
    def post(self, request: Call) -> Response:
        """A builder asks. The same Idempotency-Key and body find the request that they made."""
        body = body_of(NewRequestSerializer, request)
        change = workflow.file(
            request.user,
            job_or_404(request.user, body["job"]),
            reason=body["reason"],
            needed_by=body["needed_by"],
            asks=body["asks"],
            key=request.headers.get(KEY),
            body_sha256=_sha256_of(request.data),
        )
        return Response(FiledSerializer(change).data, status=status.HTTP_201_CREATED)


def _sha256_of(body: Any) -> str:
    """Of what was sent, whatever is wrong in it; the order of its keys doesn't count."""
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


class OneRequest(Calls):
    """One request; its verbs below it."""

    def change(self) -> Request:
        return one_or_404(Request.objects.select_related("job", "filed_by"), self.request.user, pk=self.kwargs["pk"])

    def told(self) -> Response:
        return Response(detail(self.change(), self.request.user))


class Detail(OneRequest):
    @extend_schema(responses={200: DetailSerializer, **problems(404)})
    def get(self, request: Call, pk: int) -> Response:
        """What was asked, answered, decided, and all that happened. Asking while it waits rings again."""
        change = self.change()
        for work in change.computations.filter(state__in=("queued", "running")):
            workflow.ring(work)
        return Response(detail(change, request.user))


class Revise(Calls):
    @extend_schema(request=NewRevisionSerializer, responses={201: FiledSerializer, **problems(400, 403, 404)})
    def post(self, request: Call, pk: int) -> Response:
        """A designer starts a revision that no builder asked for; compared and decided like any other."""
        truss = truss_or_404(request.user, pk)
        change = workflow.start_revision(request.user, truss, **body_of(NewRevisionSerializer, request))
        return Response(FiledSerializer(change).data, status=status.HTTP_201_CREATED)


class WaitingOn(Calls, generics.ListAPIView):
    """The marks of a job on which requests or holds are open."""

    serializer_class = WaitingSerializer

    def get_queryset(self) -> QuerySet[Truss]:
        if getattr(self, "swagger_fake_view", False):
            return Truss.objects.none()
        job = job_or_404(self.request.user, self.kwargs["pk"])
        return Truss.objects.filter(job=job, current__isnull=False).order_by("mark", "id")

    @extend_schema(responses={200: WaitingSerializer(many=True), **problems(404)})
    def get(self, request: Call, *args: Any, **kwargs: Any) -> Response:
        page = cast(list[Truss], self.paginate_queryset(self.get_queryset()))
        found = waiting(page)
        rows = [{"truss": truss, "open": found.get(truss.pk, Waiting())} for truss in page]
        return self.get_paginated_response(WaitingSerializer(rows, many=True).data)


class Options(OneRequest):
    @extend_schema(request=NewOptionSerializer, responses={201: OptionSerializer, **problems(400, 403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """A designer's own option for the asks on one truss; computed by the worker like the others."""
        change = self.change()
        option = workflow.draw_option(request.user, change, **body_of(NewOptionSerializer, request))
        return Response(OptionSerializer(option).data, status=status.HTTP_201_CREATED)


class Decide(OneRequest):
    @extend_schema(request=NewDecisionSerializer, responses={200: DetailSerializer, **problems(400, 403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """A designer approves, sends back or declines. Approving issues one revision for each mark. Where neither
        `state` nor `after` says what was seen of the request, the record says so."""
        wanted = body_of(NewDecisionSerializer, request)
        unseen = not wanted.keys() & {"state", "after"}
        workflow.decide(request.user, self.change(), **wanted, unseen=unseen)
        return self.told()


class Withdraw(OneRequest):
    @extend_schema(request=None, responses={200: DetailSerializer, **problems(403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """Its builder ends it before a decision."""
        workflow.withdraw(request.user, self.change())
        return self.told()


class Answer(OneRequest):
    @extend_schema(request=AnswerSerializer, responses={200: DetailSerializer, **problems(400, 403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """Its builder answers a sending back, with other asks in place of the first ones where `asks` stands."""
        workflow.answer(request.user, self.change(), **body_of(AnswerSerializer, request))
        return self.told()


class MoveOnThePlan(OneRequest):
    @extend_schema(request=None, responses={200: DetailSerializer, **problems(400, 403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """A designer moves on the plan, at once, what an approved passage shifts or leaves out."""
        workflow.move_on_the_plan(request.user, self.change())
        return self.told()


class Compute(OneRequest):
    @extend_schema(request=None, responses={200: DetailSerializer, **problems(403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """Computes again what failed, or what was computed from a revision that is no longer current."""
        workflow.compute_again(request.user, self.change())
        return self.told()


class AnswerHold(Calls):
    @extend_schema(request=HoldAnswerSerializer, responses={200: HoldSerializer, **problems(400, 403, 404, 409)})
    def post(self, request: Call, pk: int) -> Response:
        """A designer says by name whether the saw waits."""
        hold = one_or_404(Hold.objects.select_related("request__job", "truss"), request.user, pk=pk)
        hold = workflow.answer_hold(request.user, hold, **body_of(HoldAnswerSerializer, request))
        return Response(HoldSerializer(hold).data)


class Fit(Calls):
    @extend_schema(request=FitSerializer, responses={200: FitAnswerSerializer, **problems(400, 404)})
    def post(self, request: Call) -> Response:
        """Whether an opening fits today's truss and where the nearest place is. Nothing is stored."""
        return Response(fit_answer(request.user, **body_of(FitSerializer, request)))


class RunThrough(Calls):
    @extend_schema(request=RunSerializer, responses={200: RunAnswerSerializer, **problems(400, 404)})
    def post(self, request: Call) -> Response:
        """What a run crosses and what each truss answers, as the set is today. Nothing is stored."""
        body = body_of(RunSerializer, request)
        with reading_once():
            job = job_or_404(request.user, body["job"])
            return Response(run_answer(job, body["run"], offers=body["lines"], together=body["together"]))


class OptionFigures(Calls):
    @extend_schema(responses={200: OptionFiguresSerializer, **problems(404)})
    def get(self, request: Call, pk: int) -> Response:
        """What an option changes for walls, plates, restraint and price: the same figures as the sheet's, twice."""
        rows = Option.objects.select_related("revision", "request__job")
        return Response(figures(one_or_404(rows, request.user, pk=pk)))


class Elevation(Calls):
    renderer_classes = [Svg, JSONRenderer]

    @extend_schema(responses={(200, "image/svg+xml"): OpenApiTypes.STR})
    def get(self, request: Call, pk: int) -> HttpResponse:
        """The drawing of an option, with what it takes out of today's truss ghosted."""
        rows = Option.objects.select_related("revision").only("document", "revision__document")
        option = one_or_404(rows, request.user, pk=pk)
        try:
            picture = kept_drawings.elevation(option.document, before=option.revision.document)
        except drawing.DrawingError as trouble:
            raise Http404("Not found.") from trouble
        return HttpResponse(picture, content_type="image/svg+xml; charset=utf-8")


urlpatterns = [
    path("requests/", Requests.as_view(), name="requests"),
    path("requests/<int:pk>/", Detail.as_view(), name="request"),
    path("requests/<int:pk>/options/", Options.as_view(), name="request-options"),
    path("requests/<int:pk>/decision/", Decide.as_view(), name="request-decision"),
    path("requests/<int:pk>/repair/", Repairs.as_view(), name="request-repair"),
    path("requests/<int:pk>/withdraw/", Withdraw.as_view(), name="request-withdraw"),
    path("requests/<int:pk>/answer/", Answer.as_view(), name="request-answer"),
    path("requests/<int:pk>/plan/", MoveOnThePlan.as_view(), name="request-plan"),
    path("requests/<int:pk>/compute/", Compute.as_view(), name="request-compute"),
    path("holds/<int:pk>/answer/", AnswerHold.as_view(), name="hold-answer"),
    path("trusses/<int:pk>/revise/", Revise.as_view(), name="truss-revise"),
    path("jobs/<int:pk>/waiting/", WaitingOn.as_view(), name="job-waiting"),
    path("jobs/<int:pk>/photos/", Photos.as_view(), name="job-photos"),
    path("fit/", Fit.as_view(), name="fit"),
    path("run/", RunThrough.as_view(), name="run"),
    path("options/<int:pk>/figures/", OptionFigures.as_view(), name="option-figures"),
    path("options/<int:pk>/elevation.svg", Elevation.as_view(), name="option-elevation"),
]
