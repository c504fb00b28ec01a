"""What the calls of the API share: bodies read as they were sent, and refusals in one shape."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import inline_serializer
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request as Call
from rest_framework.response import Response
from rest_framework.settings import api_settings
from rest_framework.views import APIView

from changes.workflow import Conflict, Refused

KEY = "Idempotency-Key"


class AsSent(api_settings.DEFAULT_PARSER_CLASSES[0]):  # type: ignore[name-defined]
    """A NaN in an opening is let through to where a sentence can name its place."""

    strict = False


class Calls(APIView):
    """A call whose workflow refusals become answers: 400 what was sent is wrong, 403 not in that role, 409 too late."""

    parser_classes = [AsSent]

    def handle_exception(self, trouble: Exception) -> Response:
        # where drawings are given out, a refusal is a sentence all the same
        self.request.accepted_renderer = JSONRenderer()
        self.request.accepted_media_type = JSONRenderer.media_type
        match trouble:
            case Refused():
                body = {trouble.field: [str(trouble)]} if trouble.field else {"detail": str(trouble)}
                return Response(body, status=400, exception=True)
            case Conflict():
                return Response({"detail": trouble.says}, status=409, exception=True)
        return super().handle_exception(trouble)


def body_of(serializer: type[serializers.Serializer], request: Call) -> dict[str, Any]:
    """The validated body. A refusal deep in it is told under its top field, with its place in the sentence."""
    body = serializer(data=request.data)
    try:
        body.is_valid(raise_exception=True)
    except serializers.ValidationError as refused:
        raise serializers.ValidationError(_flat(refused.detail)) from refused
    return body.validated_data


def _flat(errors: Any) -> dict[str, list[str]]:
    if not isinstance(errors, Mapping):
        return {"detail": _sentences(errors, "")}
    return {
        str(field): [says if place == field else f"{place}: {says}" for place, says in _walk(held, str(field))]
        for field, held in errors.items()
    }


def _sentences(errors: Any, place: str) -> list[str]:
    return [says for _, says in _walk(errors, place)]


def _walk(errors: Any, place: str) -> list[tuple[str, str]]:
    if isinstance(errors, Mapping):
        steps = {key: f"[{key}]" if isinstance(key, int) else f".{key}" for key in errors}
        return [pair for key, held in errors.items() for pair in _walk(held, place + steps[key])]
    if isinstance(errors, list):
        deep = any(isinstance(held, (Mapping, list)) for held in errors)
        pairs = [_walk(held, f"{place}[{i}]" if deep else place) for i, held in enumerate(errors)]
        return [pair for each in pairs for pair in each]
    return [(place, str(errors))]


_PROBLEM = inline_serializer(
    "Problem", {"detail": serializers.CharField(required=False, help_text="Or a field with a list of sentences.")}
)


def problems(*statuses: int) -> dict[int, Any]:
    """The refusals of a call, for its schema."""
    return dict.fromkeys(statuses, _PROBLEM)
