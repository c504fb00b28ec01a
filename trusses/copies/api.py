"""The copies' calls of the API: each of a mark with its stage and its revision, moved on, taken back, of an earlier
revision. What is sent with an Idempotency-Key is done once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from django.http import Http404
from django.urls import path
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.copies import earlier, trail, undoing
from trusses.copies.keyed import KeyTaken, keyed
from trusses.marks.api import told
from trusses.marks.serializers import MoveCopiesSerializer, TrussSerializer
from trusses.models import Copy, MarkEvent, Stage, Truss
from trusses.permissions import revision_or_404, truss_or_404
from trusses.production import move
from trusses.refusals import Refused
from trusses.revisions import MOST_COPIES
from trusses.serializers import StrictSerializer, refusal

KEY = "Idempotency-Key"
KEYED = [OpenApiParameter(KEY, str, OpenApiParameter.HEADER, description="Makes a repeat harmless.")]
_LIGHT = ("released_to__document", "released_to__analysis", "built_to__document", "built_to__analysis")


class Taken(APIException):
    status_code = status.HTTP_409_CONFLICT


def once_by_key(request: Request, act: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    """What `act` answers, done once for the key that the call names; refusals are 400, another body 409."""
    body = {"call": request.path, "body": request.data}
    try:
        return keyed(request.user, request.headers.get(KEY), body, act)
    except KeyTaken as trouble:
        raise Taken({"detail": trouble.says}) from trouble
    except Refused as trouble:
        raise refusal(trouble) from trouble


class CopySerializer(serializers.Serializer):
    """One truss of a mark: `move` put it where it stands, and can be taken back with `take-back/` until then. `earlier`
    says, where it is built to another revision than the current one, what is to be done: `stays`, `waits`, or ""
    where nobody said."""

    number = serializers.IntegerField()
    stage = serializers.ChoiceField(choices=Stage.choices)
    released_to = serializers.IntegerField(source="released_to.number", default=None, allow_null=True)
    built_to = serializers.IntegerField(source="built_to.number", default=None, allow_null=True)
    earlier = serializers.CharField(source="earlier_now")
    move = serializers.IntegerField(source="event.pk", default=None, allow_null=True)
    moved_by = serializers.CharField(source="event.by.username", default=None, allow_null=True)
    moved_at = serializers.DateTimeField(source="event.at", default=None, allow_null=True)
    taken_back_until = serializers.DateTimeField(allow_null=True)
    found_at_delivery = serializers.CharField()
    found_at_setting = serializers.CharField()


def each(truss: Truss, copies: Iterable[Copy]) -> list[dict[str, Any]]:
    """What the API gives of copies of a mark."""
    moved = trail.of_family(truss)
    rows: list[Any] = []
    for hand in trail.hands(truss, list(copies), moved):
        for copy in hand.copies:
            told: Any = copy
            told.event = hand.event
            told.earlier_now = copy.earlier if copy.earlier_for_id == truss.current_id else ""
            taken = hand.event is not None and hand.event.code == MarkEvent.Code.MOVED
            told.taken_back_until = undoing.until(hand.event) if taken and hand.event else None
            rows.append(told)
    return [dict(CopySerializer(copy).data) for copy in sorted(rows, key=lambda copy: copy.number)]


class Copies(APIView):
    """The copies of a mark."""

    @extend_schema(responses=CopySerializer(many=True))
    def get(self, request: Request, pk: int) -> Response:
        """Each with its stage, the revision that it is built to, and who put it where it stands."""
        truss = truss_or_404(request.user, pk)
        return Response(each(truss, truss.copies.select_related("released_to", "built_to").defer(*_LIGHT)))

    @extend_schema(request=MoveCopiesSerializer, parameters=KEYED, responses=TrussSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """By the designer up to `built`, by the site lead from there; a repeat moves nothing and is harmless."""
        truss = truss_or_404(request.user, pk)
        body = MoveCopiesSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        numbers = set(said["copies"])
        ids = dict(truss.copies.filter(number__in=numbers).values_list("number", "pk"))
        if len(ids) != len(numbers):
            raise Http404("Not found.")
        seen = None
        if "revision" in said:
            seen = revision_or_404(request.user, truss=truss, number=said["revision"])

        def act() -> dict[str, Any]:
            move(request.user, truss, ids.values(), said["to"], found=said.get("found", ""), seen=seen)
            return {}

        once_by_key(request, act)
        return Response(told([truss])[0])


class TakeBackSerializer(StrictSerializer):
    move = serializers.IntegerField(min_value=1, help_text="The number of the move, as the copies tell it.")
    reason = serializers.CharField(required=False, allow_blank=True, max_length=2000)


class TakeBack(APIView):
    @extend_schema(request=TakeBackSerializer, parameters=KEYED, responses=TrussSerializer)
    def post(self, request: Request, pk: int) -> Response:
        """Takes a move of copies back, within a day, by the role whose move it is; the record keeps both."""
        truss = truss_or_404(request.user, pk)
        body = TakeBackSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        event = MarkEvent.objects.filter(truss=truss, pk=body.validated_data["move"]).first()
        reason = body.validated_data.get("reason", "")
        once_by_key(request, lambda: {"copies": undoing.take_back(request.user, truss, event, reason)})
        return Response(told([truss])[0])


class EarlierSerializer(StrictSerializer):
    """What is to be done with copies that are built to an earlier revision."""

    copies = serializers.ListField(child=serializers.IntegerField(min_value=1), min_length=1, max_length=MOST_COPIES)
    what = serializers.ChoiceField(choices=list(earlier.WHAT.items()))
    reason = serializers.CharField(max_length=2000)
    revision = serializers.IntegerField(min_value=0, help_text="The current one, as it was seen.")


class Earlier(APIView):
    @extend_schema(request=EarlierSerializer, parameters=KEYED, responses=CopySerializer(many=True))
    def post(self, request: Request, pk: int) -> Response:
        """By a designer: they stay by it, they wait, or they are made anew. None is set before somebody said."""
        truss = truss_or_404(request.user, pk)
        body = EarlierSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data
        seen = revision_or_404(request.user, truss=truss, number=said["revision"])

        def act() -> dict[str, Any]:
            return {"changed": earlier.say(request.user, truss, said["copies"], said["what"], said["reason"], seen)}

        once_by_key(request, act)
        return Response(each(truss, truss.copies.select_related("released_to", "built_to").defer(*_LIGHT)))


urlpatterns = [
    path("trusses/<int:pk>/copies/", Copies.as_view(), name="truss-copies"),
    path("trusses/<int:pk>/copies/take-back/", TakeBack.as_view(), name="truss-take-back"),
    path("trusses/<int:pk>/copies/earlier/", Earlier.as_view(), name="truss-earlier"),
]
