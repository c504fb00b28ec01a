"""Sealed drawings for programs: the same verbs as the pages', under the same permissions."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.urls import path, reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers, status
from rest_framework.parsers import JSONParser, MultiPartParser
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from trusses.permissions import job_or_404, one_or_404, require, revision_or_404, truss_or_404
from trusses.refusals import Refused
from trusses.sealing import recording, seals
from trusses.sealing.models import COVERS, SealedDrawing, SealRecord, SealRule
from trusses.sealing.page import pdf_response
from trusses.serializers import StrictSerializer, refusal


class RecordSerializer(serializers.ModelSerializer):
    class Meta:
        model = SealRecord
        fields = ("kind", "name", "on", "told_by", "reason", "at")


class SealSerializer(serializers.Serializer):
    """A sealed drawing. It `counts` until it is withdrawn, once the job's review and acceptance are recorded, which it
    `lacks` before, and once it `covers` plates and restraint. `copies` are those that it repairs, none where it is of
    its revision."""

    id = serializers.IntegerField(source="drawing.pk")
    revision = serializers.IntegerField(source="drawing.revision.number")
    copies = serializers.ListField(child=serializers.IntegerField(), source="drawing.copies")
    sealed_by = serializers.CharField(source="drawing.sealed_by")
    licence = serializers.CharField(source="drawing.licence")
    state = serializers.CharField(source="drawing.state")
    sealed_on = serializers.DateField(source="drawing.sealed_on")
    covers = serializers.ListField(child=serializers.CharField())
    sha256 = serializers.CharField(source="drawing.sha256")
    size_bytes = serializers.IntegerField(source="drawing.size_bytes")
    pages = serializers.IntegerField(source="drawing.pages")
    replaces = serializers.IntegerField(source="drawing.replaces_id", allow_null=True)
    attached_at = serializers.DateTimeField(source="drawing.attached_at")
    records = serializers.SerializerMethodField()
    lacks = serializers.ListField(child=serializers.CharField())
    counts = serializers.BooleanField()
    pdf = serializers.SerializerMethodField()

    @extend_schema_field(RecordSerializer(many=True))
    def get_records(self, seal: seals.Seal) -> list[dict[str, Any]]:
        return [dict(RecordSerializer(one).data) for one in seal.records.values()]

    def get_pdf(self, seal: seals.Seal) -> str:
        return reverse("seal-pdf", args=[seal.drawing.pk])


class NewSealSerializer(StrictSerializer):
    """`drawing` is the PDF. One that stands already is replaced by naming it, with a `reason`. A file that is on record
    for another mark is taken only with `also_shows`: somebody looked into it, and it shows this revision as well."""

    drawing = serializers.FileField(error_messages={"required": "Choose the PDF of the sealed drawing."})
    revision = serializers.IntegerField(min_value=0)
    sealed_by = serializers.CharField(max_length=400)
    licence = serializers.CharField(max_length=400)
    state = serializers.CharField(max_length=20)
    sealed_on = serializers.DateField()
    covers = serializers.MultipleChoiceField(choices=COVERS, required=False)
    replaces = serializers.IntegerField(required=False)
    reason = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    also_shows = serializers.BooleanField(required=False)


class NewRecordSerializer(StrictSerializer):
    """`name` is who reviewed or accepted it, and `told_by` what tells of that: a paper, an e-mail, a number. That a
    repair is carried out stands under the caller's own name."""

    name = serializers.CharField(max_length=400, required=False, allow_blank=True)
    on = serializers.DateField()
    told_by = serializers.CharField(max_length=400, required=False, allow_blank=True)


class CoversSerializer(StrictSerializer):
    covers = serializers.MultipleChoiceField(choices=COVERS, allow_empty=False)


class SealWithdrawalSerializer(StrictSerializer):
    reason = serializers.CharField(max_length=2000)


class RuleSerializer(StrictSerializer):
    """What a job asks of sealed drawings: `without` one, cutting and setting are blocked or warned of."""

    review = serializers.BooleanField()
    acceptance = serializers.BooleanField()
    without = serializers.ChoiceField(choices=SealRule.Without.choices)


def told(call: Callable[..., Response]) -> Callable[..., Response]:
    """A call whose refusals are the API's 400."""

    @functools.wraps(call)
    def answered(*args: Any, **kwargs: Any) -> Response:
        try:
            return call(*args, **kwargs)
        except Refused as trouble:
            raise refusal(trouble) from trouble

    return answered


class Seals(APIView):
    parser_classes = [MultiPartParser, JSONParser]

    @extend_schema(responses=SealSerializer(many=True))
    def get(self, request: Request, pk: int) -> Response:
        """Every sealed drawing that was ever attached to a mark, the newest first; withdrawn ones too."""
        return Response(SealSerializer(seals.all_of(truss_or_404(request.user, pk)), many=True).data)

    @extend_schema(request={"multipart/form-data": NewSealSerializer}, responses={201: SealSerializer})
    @told
    def post(self, request: Request, pk: int) -> Response:
        """Attaches the sealed drawing of one revision; by a designer. The PDF is kept byte for byte."""
        truss = truss_or_404(request.user, pk)
        require(request.user, seals.ATTACH, truss.job)
        body = NewSealSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        said = dict(body.validated_data)
        revision = revision_or_404(request.user, truss=truss, number=said.pop("revision"))
        sent = said.pop("drawing")
        if "replaces" in said:
            said["replaces"] = one_or_404(SealedDrawing, request.user, pk=said["replaces"], truss=truss)
        drawing = recording.attach(
            request.user, revision, sent, sent.size, **said | {"covers": sorted(said.get("covers", ()))}
        )
        return Response(SealSerializer(seals.with_records(drawing)).data, status=status.HTTP_201_CREATED)


class OneSeal(APIView):
    def drawing(self, pk: int) -> SealedDrawing:
        rows = SealedDrawing.objects.select_related("truss__job", "revision")
        return one_or_404(rows, self.request.user, pk=pk)


class Recorded(OneSeal):
    kind: str = ""

    @extend_schema(request=NewRecordSerializer, responses={201: SealSerializer})
    @told
    def post(self, request: Request, pk: int) -> Response:
        """Records whose act it was, and on which day; once, and for good."""
        drawing = self.drawing(pk)
        require(request.user, seals.RECORDS[self.kind], drawing.truss.job)
        body = NewRecordSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        recording.record(request.user, drawing, self.kind, **body.validated_data)
        return Response(SealSerializer(seals.with_records(drawing)).data, status=status.HTTP_201_CREATED)


class Covered(OneSeal):
    @extend_schema(request=CoversSerializer, responses={201: SealSerializer})
    @told
    def post(self, request: Request, pk: int) -> Response:
        """Records that it covers plates, restraint or both beside what was said already; by a designer."""
        drawing = self.drawing(pk)
        require(request.user, seals.ATTACH, drawing.truss.job)
        body = CoversSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        recording.cover(request.user, drawing, body.validated_data["covers"])
        return Response(SealSerializer(seals.with_records(drawing)).data, status=status.HTTP_201_CREATED)


class WithdrawSeal(OneSeal):
    @extend_schema(request=SealWithdrawalSerializer, responses=SealSerializer)
    @told
    def post(self, request: Request, pk: int) -> Response:
        """Says that it counts no more, and why; the record and the file stay. By a designer."""
        drawing = self.drawing(pk)
        require(request.user, seals.ATTACH, drawing.truss.job)
        body = SealWithdrawalSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        recording.withdraw(request.user, drawing, body.validated_data["reason"])
        return Response(SealSerializer(seals.with_records(drawing)).data)


class Pdf(BaseRenderer):
    """So that a program may ask for `application/pdf` by name."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> Any:
        return data


class WholePdf(OneSeal):
    renderer_classes = [Pdf, JSONRenderer]

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    def get(self, request: Request, pk: int) -> HttpResponse:
        """The PDF as it was attached."""
        drawing = self.drawing(pk)
        try:
            return pdf_response(drawing)
        except Refused as trouble:
            request.accepted_renderer, request.accepted_media_type = JSONRenderer(), JSONRenderer.media_type
            raise refusal(trouble) from trouble


class Rule(APIView):
    @extend_schema(responses=RuleSerializer)
    def get(self, request: Request, pk: int) -> Response:
        """What the job asks of sealed drawings."""
        return _rule(seals.asked(job_or_404(request.user, pk)))

    @extend_schema(request=RuleSerializer, responses=RuleSerializer)
    @told
    def post(self, request: Request, pk: int) -> Response:
        """Says it, from now on; by a designer. The record keeps what was asked before."""
        job = job_or_404(request.user, pk)
        require(request.user, seals.SAY_WHAT_IS_ASKED, job)
        body = RuleSerializer(data=request.data)
        body.is_valid(raise_exception=True)
        seals.say_what_is_asked(request.user, job, **body.validated_data)
        return _rule(seals.asked(job))


def _rule(asked: seals.Asked) -> Response:
    without = SealRule.Without.BLOCKS if asked.blocks else SealRule.Without.WARNS
    told = {"review": asked.review, "acceptance": asked.acceptance, "without": without.value}
    return Response(RuleSerializer(told).data)


urlpatterns = [
    path("trusses/<int:pk>/seals/", Seals.as_view(), name="truss-seals"),
    path("seals/<int:pk>/review/", Recorded.as_view(kind="reviewed"), name="seal-review"),
    path("seals/<int:pk>/acceptance/", Recorded.as_view(kind="accepted"), name="seal-acceptance"),
    path("seals/<int:pk>/carried-out/", Recorded.as_view(kind="carried out"), name="seal-carried-out"),
    path("seals/<int:pk>/covers/", Covered.as_view(), name="seal-covers"),
    path("seals/<int:pk>/withdraw/", WithdrawSeal.as_view(), name="seal-withdraw"),
    path("seals/<int:pk>/drawing.pdf", WholePdf.as_view(), name="seal-pdf"),
    path("jobs/<int:pk>/seal-rule/", Rule.as_view(), name="job-seal-rule"),
]
