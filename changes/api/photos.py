"""A photo sent for a job by a program; an ask then names it by its number."""

from __future__ import annotations

from typing import Any

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request as Call
from rest_framework.response import Response

from changes import photos
from changes.api.base import Calls, problems
from changes.models import Photo
from changes.refusals import Refused
from trusses.permissions import job_or_404


class NewPhotoSerializer(serializers.Serializer):
    photo = serializers.ImageField()


class PhotoSerializer(serializers.ModelSerializer):
    url = serializers.SerializerMethodField()

    class Meta:
        model = Photo
        fields = ("id", "width_px", "height_px", "url")

    def get_url(self, photo: Photo) -> str:
        return reverse("changes:photo", args=[photo.pk])


class Photos(Calls):
    """Photos of a job."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        request={"multipart/form-data": NewPhotoSerializer},
        responses={201: PhotoSerializer, **problems(400, 403, 404)},
    )
    def post(self, request: Call, pk: int, *args: Any, **kwargs: Any) -> Response:
        """Sends one picture (JPEG, PNG or WebP), which is written anew without what the camera put into it."""
        job = job_or_404(request.user, pk)
        sent = request.FILES.get("photo")
        if sent is None:
            raise Refused("photo-missing", "photo", "photo")
        kept = photos.keep(request.user, job, sent, sent.size)
        return Response(PhotoSerializer(kept).data, status=status.HTTP_201_CREATED)
