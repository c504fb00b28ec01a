"""What the API gives of a job."""

from __future__ import annotations

from rest_framework import serializers

from trusses.models import Job, Role


class JobSerializer(serializers.ModelSerializer):
    role = serializers.ChoiceField(choices=Role.choices, read_only=True)

    class Meta:
        model = Job
        fields = ("id", "name", "role")
