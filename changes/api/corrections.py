"""Corrections for programs: what inspectors want corrected, and what was said of it, under the pages' rules."""

from __future__ import annotations

from typing import Any

from django.urls import path, reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.request import Request as Call
from rest_framework.response import Response

from changes.api.base import Calls, problems
from changes.inspection import corrections
from changes.models import Correction, CorrectionWord
from trusses.copies.api import KEYED, once_by_key, plain
from trusses.permissions import job_or_404, one_or_404, require
from trusses.pictures import MOST_AT_ONCE, Sent
from trusses.serializers import StrictSerializer


class WordSerializer(serializers.ModelSerializer):
    """`word`: answered or closed by a person of the job, accepted or not yet by an inspector, whose `link` it was."""

    word = serializers.CharField(source="code")
    who = serializers.CharField()
    link = serializers.CharField(source="through.for_whom", default=None, allow_null=True)
    photos = serializers.SerializerMethodField()

    class Meta:
        model = CorrectionWord
        fields = ("word", "says", "who", "link", "at", "photos")

    def get_photos(self, word: CorrectionWord) -> list[str]:
        return _photos("words", word)


class InspectorsCorrectionSerializer(serializers.ModelSerializer):
    """`copies` are of those it is about, all of the mark's where the inspector named none; `item` is the row, hanger or
    tie that it disputes, which is not in place while it is `open`."""

    mark = serializers.CharField(source="truss.mark", default=None, allow_null=True)
    open = serializers.BooleanField(source="is_open")
    link = serializers.CharField(source="link.for_whom")
    photos = serializers.SerializerMethodField()
    words = WordSerializer(many=True)

    class Meta:
        model = Correction
        fields = (
            "id",
            "truss",
            "mark",
            "copies",
            "item",
            "about",
            "says",
            "by_name",
            "link",
            "at",
            "photos",
            "state",
            "open",
            "words",
        )

    def get_photos(self, correction: Correction) -> list[str]:
        return _photos("corrections", correction)


def _photos(of: str, row: Correction | CorrectionWord) -> list[str]:
    return [reverse("changes:correction-photo", args=[of, row.pk, n]) for n, _ in enumerate(row.photos, 1)]


class SaysSerializer(StrictSerializer):
    says = serializers.CharField(max_length=2000)
    photos = serializers.ListField(child=serializers.FileField(), required=False, max_length=MOST_AT_ONCE)


class WhySerializer(StrictSerializer):
    says = serializers.CharField(max_length=2000)


class Corrections(Calls):
    @extend_schema(responses={200: InspectorsCorrectionSerializer(many=True), **problems(404)})
    def get(self, request: Call, pk: int) -> Response:
        """What inspectors want corrected of a job, the newest first, each with all that was said of it."""
        return Response(
            InspectorsCorrectionSerializer(corrections.of_job(job_or_404(request.user, pk)), many=True).data
        )


class AnswerCorrection(Calls):
    parser_classes = [JSONParser, MultiPartParser]

    @extend_schema(
        request=SaysSerializer,
        parameters=KEYED,
        responses={200: InspectorsCorrectionSerializer, **problems(400, 403, 404)},
    )
    def post(self, request: Call, pk: int) -> Response:
        """What was done, with photos as a form of several parts. It stays open until the inspector accepts it."""
        row = _row(request, pk, corrections.ANSWER)
        body = SaysSerializer(data=plain(request, "photos"))
        body.is_valid(raise_exception=True)
        said: dict[str, Any] = body.validated_data
        photos = [Sent(one.file, one.size) for one in said.get("photos", ())]
        return _done(request, row, lambda: corrections.answer(request.user, row, said["says"], photos))


class CloseCorrection(Calls):
    @extend_schema(
        request=WhySerializer,
        parameters=KEYED,
        responses={200: InspectorsCorrectionSerializer, **problems(400, 403, 404)},
    )
    def post(self, request: Call, pk: int) -> Response:
        """Closes it without the inspector's word, by name and with a reason: only what was answered, and only once no
        link is left by which the inspector could accept it."""
        row = _row(request, pk, corrections.CLOSE)
        body = WhySerializer(data=request.data)
        body.is_valid(raise_exception=True)
        return _done(request, row, lambda: corrections.close(request.user, row, body.validated_data["says"]))


def _row(request: Call, pk: int, verb: str) -> Correction:
    row: Correction = one_or_404(Correction.objects.select_related("link__job"), request.user, pk=pk)
    require(request.user, verb, row.link.job)
    return row


def _done(request: Call, row: Correction, say: Any) -> Response:
    def act() -> dict[str, Any]:
        say()
        return {"said": True}

    once_by_key(request, act)
    return Response(InspectorsCorrectionSerializer(corrections.of_job(row.link.job).get(pk=row.pk)).data)


urlpatterns = [
    path("jobs/<int:pk>/corrections/", Corrections.as_view(), name="job-corrections"),
    path("corrections/<int:pk>/answer/", AnswerCorrection.as_view(), name="correction-answer"),
    path("corrections/<int:pk>/close/", CloseCorrection.as_view(), name="correction-close"),
]
