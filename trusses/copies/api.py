"""The copies' calls of the API: each of a mark with its stage and its revision, moved on, taken back, of an earlier
revision. What is sent with an Idempotency-Key is done once."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from django.http import Http404
from django.urls import path, reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status
from rest_framework.exceptions import APIException
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.copies import earlier, looks, old_ones, trail, undoing
from trusses.copies.keyed import KeyTaken, keyed
from trusses.copies.models import Look
from trusses.marks.api import told
from trusses.marks.serializers import ASKED, CopiesField, MoveCopiesSerializer, TrussSerializer
from trusses.models import Copy, MarkEvent, Stage, Truss
from trusses.permissions import one_or_404, revision_or_404, truss_or_404
from trusses.pictures import MOST_AT_ONCE, Sent
from trusses.production import move
from trusses.refusals import Refused
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
    old_one = serializers.IntegerField(
        allow_null=True, help_text="The number by which it is said that its old truss, which nobody uses, is gone."
    )
    found_at_delivery = serializers.CharField()
    found_at_setting = serializers.CharField()
    asked_first = serializers.CharField(
        help_text="Which designer was asked before it was set on a wall that moves, and what was said."
    )


def each(truss: Truss, copies: Iterable[Copy]) -> list[dict[str, Any]]:
    """What the API gives of copies of a mark."""
    moved = trail.of_family(truss)
    old = {number: one.event.pk for one in old_ones.there(truss) for number in one.copies}
    rows: list[Any] = []
    for hand in trail.hands(truss, list(copies), moved):
        for copy in hand.copies:
            told: Any = copy
            told.event, told.old_one = hand.event, old.get(copy.number)
            first = hand.event.values if hand.event else {}
            told.asked_first = first["asked"] if copy.number in first.get("asked_of", ()) else ""
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
            how = {"found": said.get("found", ""), "asked_first": said.get("asked", "")}
            move(request.user, truss, ids.values(), said["to"], seen=seen, **how)
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

    copies = CopiesField()
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


class GoneSerializer(StrictSerializer):
    """The old trusses of copies that are made anew: destroyed, or set apart and marked."""

    old_one = serializers.IntegerField(min_value=1)
    copies = CopiesField()
    says = serializers.CharField(max_length=2000)


class Gone(APIView):
    @extend_schema(request=GoneSerializer, parameters=KEYED, responses=CopySerializer(many=True))
    def post(self, request: Request, pk: int) -> Response:
        """By a designer or the site lead, by name: what was done with the old trusses of these copies."""
        truss = truss_or_404(request.user, pk)
        body = GoneSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = body.validated_data

        def act() -> dict[str, Any]:
            return {"gone": old_ones.say_gone(request.user, truss, said["old_one"], said["copies"], said["says"])}

        once_by_key(request, act)
        return Response(each(truss, truss.copies.select_related("released_to", "built_to").defer(*_LIGHT)))


class PointsField(serializers.JSONField):
    """{point: whether it is right}; from a form, as JSON."""

    def to_internal_value(self, data: Any) -> Any:
        try:
            said = json.loads(data) if isinstance(data, str) else data
        except ValueError:
            said = None
        if not isinstance(said, dict):
            raise serializers.ValidationError("Say {point: true or false} of each that was looked at.")
        return said


class LookSerializer(serializers.Serializer):
    """What was found of a copy. `keeps_off`: it keeps the copy from being set. `taken_back`: when the tick with
    which it came was taken back, and what it says with it."""

    id = serializers.IntegerField(source="pk")
    copy = serializers.IntegerField(source="copy.number")
    when = serializers.CharField()
    points = serializers.DictField(child=serializers.BooleanField())
    note = serializers.CharField()
    photos = serializers.SerializerMethodField()
    by = serializers.CharField(source="by.username")
    at = serializers.DateTimeField()
    closed = serializers.CharField(source="closed.says", default="")
    closed_by = serializers.CharField(source="closed.by.username", default=None, allow_null=True)
    keeps_off = serializers.SerializerMethodField()
    taken_back = serializers.SerializerMethodField()

    def get_photos(self, look: Look) -> list[str]:
        return [reverse("trusses:look-photo", args=[look.pk, number]) for number, _ in enumerate(look.photos, 1)]

    def get_keeps_off(self, look: Look) -> bool:
        return look.pk in self.context["open"]

    def get_taken_back(self, look: Look) -> datetime | None:
        event = self.context["back"].get(look.pk)
        return event.at if event else None


class NewLookSerializer(StrictSerializer):
    """Copies ticked off as delivered or set, with what was found: at delivery bow, plates, wood; at setting place and
    end besides. With anything wrong nothing is set, and what was found is kept. `counted` is how many there are."""

    copies = CopiesField()
    to = serializers.ChoiceField(choices=[(one, one) for one in looks.POINTS])
    points = PointsField(required=False)
    note = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    counted = serializers.IntegerField(required=False, min_value=0, max_value=99_999)
    asked = serializers.CharField(required=False, allow_blank=True, max_length=500, help_text=ASKED)
    photos = serializers.ListField(child=serializers.FileField(), required=False, max_length=MOST_AT_ONCE)


def _looks(truss: Truss) -> list[dict[str, Any]]:
    copies = list(truss.copies.all())
    found = looks.of_this_wood(copies)
    context = {"open": {look.pk for look in looks.open_looks(copies)}, "back": looks.taken_back(found)}
    return [dict(LookSerializer(look, context=context).data) for look in found]


class Looks(APIView):
    """What was found of the copies of a mark."""

    parser_classes = [JSONParser, MultiPartParser]

    @extend_schema(responses=LookSerializer(many=True))
    def get(self, request: Request, pk: int) -> Response:
        return Response(_looks(truss_or_404(request.user, pk)))

    @extend_schema(request=NewLookSerializer, parameters=KEYED, responses=LookSerializer(many=True))
    def post(self, request: Request, pk: int) -> Response:
        """By the site lead; with photos as a form of several parts."""
        truss = truss_or_404(request.user, pk)
        body = NewLookSerializer(data=plain(request, "copies", "photos"))
        body.is_valid(raise_exception=True)
        said = body.validated_data
        numbers = set(said["copies"])
        ids = dict(truss.copies.filter(number__in=numbers).values_list("number", "pk"))
        if len(ids) != len(numbers):
            raise Http404("Not found.")
        points = said.get("points", {})
        photos = [Sent(one.file, one.size) for one in said.get("photos", ())]

        def act() -> dict[str, Any]:
            how = {"points": points, "note": said.get("note", ""), "photos": photos, "counted": said.get("counted")}
            how["asked_first"] = said.get("asked", "")
            done = looks.tick(request.user, truss, ids.values(), said["to"], **how)
            return {"moved": done.moved, "wrong": list(done.wrong)}

        once_by_key(request, act)
        return Response(_looks(truss))


def plain(request: Request, *lists: str) -> Any:
    """A form's fields as the serializer takes them, `lists` with all that was sent by that name."""
    sent: Any = request.data
    if not hasattr(sent, "getlist"):
        return sent
    return {name: sent.getlist(name) if name in lists else sent[name] for name in sent}


class CloseLookSerializer(StrictSerializer):
    says = serializers.CharField(max_length=2000)


class CloseLook(APIView):
    @extend_schema(request=CloseLookSerializer, parameters=KEYED, responses=LookSerializer(many=True))
    def post(self, request: Request, pk: int) -> Response:
        """A designer says by name that what was found keeps the copy from being set no more."""
        look = one_or_404(Look.objects.select_related("copy__truss__job"), request.user, pk=pk)
        body = CloseLookSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        once_by_key(request, lambda: {"pk": looks.close(request.user, look, body.validated_data["says"]).pk})
        return Response(_looks(look.copy.truss))


urlpatterns = [
    path("trusses/<int:pk>/looks/", Looks.as_view(), name="truss-looks"),
    path("looks/<int:pk>/close/", CloseLook.as_view(), name="close-look"),
    path("trusses/<int:pk>/copies/", Copies.as_view(), name="truss-copies"),
    path("trusses/<int:pk>/copies/take-back/", TakeBack.as_view(), name="truss-take-back"),
    path("trusses/<int:pk>/copies/earlier/", Earlier.as_view(), name="truss-earlier"),
    path("trusses/<int:pk>/copies/gone/", Gone.as_view(), name="truss-gone"),
]
